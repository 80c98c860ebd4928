-- That a version, or a change note, was declined. It may still be accepted later: then it counts as accepted.
CREATE TABLE quote_decline (
    version_id INTEGER PRIMARY KEY REFERENCES quote_version (id),
    declined_on TEXT NOT NULL,
    declined_by TEXT NOT NULL CHECK (trim(declined_by) <> ''),
    -- What they said.
    reason TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL
) STRICT;
