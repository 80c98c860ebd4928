-- When the desk reminds, in days; at most one row. Without one the usual days hold.
CREATE TABLE reminder_setting (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    -- A quote that was not answered for so long.
    unanswered INTEGER NOT NULL CHECK (unanswered BETWEEN 1 AND 365),
    -- So long before a quote's last day.
    before_last INTEGER NOT NULL CHECK (before_last BETWEEN 0 AND 365),
    -- So long before an event open counts are confirmed.
    counts INTEGER NOT NULL CHECK (counts BETWEEN 0 AND 365),
    -- So long before an invoice is to be paid.
    before_due INTEGER NOT NULL CHECK (before_due BETWEEN 0 AND 365)
) STRICT;

-- That somebody saw to a reminder (asked the client, put it off): it is not shown until a day. Appended; the latest row of
-- a key counts, and taking one back is a row of its own.
CREATE TABLE reminder_mark (
    id INTEGER PRIMARY KEY,
    -- What it is about: "quote-12-2" is version 2 of event 12's quote.
    key TEXT NOT NULL CHECK (trim(key) <> ''),
    marked_on TEXT NOT NULL,
    marked_by TEXT NOT NULL DEFAULT '',
    -- The day on which it is shown again.
    again_on TEXT NOT NULL,
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX reminder_mark_key ON reminder_mark (key, id);
