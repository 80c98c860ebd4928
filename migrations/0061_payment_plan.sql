-- An event's own parts of the payment. No plan: those of the accepted quote, else the studio's usual ones.
CREATE TABLE payment_plan (
    event_id INTEGER PRIMARY KEY REFERENCES event (id),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE event_instalment (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES payment_plan (event_id),
    position INTEGER NOT NULL,
    label TEXT NOT NULL CHECK (trim(label) <> ''),
    -- Parts per million, or minor units.
    share INTEGER CHECK (share BETWEEN 1 AND 1000000),
    amount INTEGER CHECK (amount > 0),
    due TEXT NOT NULL CHECK (due IN ('acceptance', 'before', 'after', 'day')),
    due_days INTEGER NOT NULL DEFAULT 0 CHECK (due_days BETWEEN 0 AND 3650),
    due_on TEXT,
    CHECK ((share IS NULL) <> (amount IS NULL)),
    CHECK ((due = 'day') = (due_on IS NOT NULL))
) STRICT;
CREATE INDEX event_instalment_event ON event_instalment (event_id, position);
