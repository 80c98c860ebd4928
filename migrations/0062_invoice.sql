-- Invoices and credit notes: one series of numbers without gaps, the whole computed document as JSON, never rewritten.
CREATE TABLE invoice (
    id INTEGER PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE CHECK (number >= 1),
    kind TEXT NOT NULL CHECK (kind IN ('deposit', 'final', 'other', 'cancellation', 'credit')),
    client_id INTEGER NOT NULL REFERENCES client (id),
    event_id INTEGER REFERENCES event (id),
    -- Which part of the event's payment it asks for, if one.
    instalment_id INTEGER REFERENCES event_instalment (id),
    -- The invoice that a credit note takes back, whole or in part.
    credits_id INTEGER REFERENCES invoice (id),
    issued_on TEXT NOT NULL,
    due_on TEXT NOT NULL,
    -- Minor units; a credit note's are above nothing too.
    total INTEGER NOT NULL CHECK (total >= 0),
    document TEXT NOT NULL CHECK (json_valid(document)),
    once_key TEXT NOT NULL UNIQUE,
    recorded_at TEXT NOT NULL,
    CHECK ((kind = 'credit') = (credits_id IS NOT NULL))
) STRICT;
CREATE INDEX invoice_client ON invoice (client_id);
CREATE INDEX invoice_event ON invoice (event_id);
CREATE INDEX invoice_credits ON invoice (credits_id);
CREATE INDEX invoice_issued ON invoice (issued_on);

CREATE TRIGGER invoice_is_not_changed BEFORE UPDATE ON invoice
BEGIN
    SELECT RAISE (ABORT, 'an invoice is never changed: it is credited');
END;
CREATE TRIGGER invoice_is_not_removed BEFORE DELETE ON invoice
BEGIN
    SELECT RAISE (ABORT, 'an invoice is never removed: it is credited');
END;
