-- Money that came in or went back, append-only. A mistaken row is reversed by a row of its own, of the same amount.
CREATE TABLE payment (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('payment', 'refund')),
    client_id INTEGER NOT NULL REFERENCES client (id),
    event_id INTEGER REFERENCES event (id),
    -- The invoice that it is said to be for; what it does not need goes to the oldest.
    invoice_id INTEGER REFERENCES invoice (id),
    reverses_id INTEGER UNIQUE REFERENCES payment (id),
    paid_on TEXT NOT NULL,
    amount INTEGER NOT NULL CHECK (amount > 0),
    -- By transfer, in cash, by card.
    how TEXT NOT NULL DEFAULT '',
    reference TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    once_key TEXT NOT NULL UNIQUE,
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX payment_client ON payment (client_id);
CREATE INDEX payment_event ON payment (event_id);

CREATE TRIGGER payment_is_not_changed BEFORE UPDATE ON payment
BEGIN
    SELECT RAISE (ABORT, 'a payment is never changed: it is reversed');
END;
CREATE TRIGGER payment_is_not_removed BEFORE DELETE ON payment
BEGIN
    SELECT RAISE (ABORT, 'a payment is never removed: it is reversed');
END;
