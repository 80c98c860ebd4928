-- A part of a payment that was invoiced and wholly credited since can be taken out of the plan; the row stays, since its
-- invoice names it. When it was taken out; empty while it is in the plan.
ALTER TABLE event_instalment ADD COLUMN removed_at TEXT;

-- What an invoice charges for lent pieces that did not come back whole: how many of which material, at how much each.
-- Append-only, as the invoice is; that of an invoice that was credited whole counts for nothing.
CREATE TABLE charged_loan (
    invoice_id INTEGER NOT NULL REFERENCES invoice (id),
    material_id INTEGER NOT NULL REFERENCES material (id),
    pieces INTEGER NOT NULL CHECK (pieces >= 1),
    -- Minor units.
    each INTEGER NOT NULL CHECK (each >= 0),
    PRIMARY KEY (invoice_id, material_id)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER charged_loan_is_not_changed BEFORE UPDATE ON charged_loan
BEGIN
    SELECT RAISE (ABORT, 'a charge is never changed: its invoice is credited');
END;
CREATE TRIGGER charged_loan_is_not_removed BEFORE DELETE ON charged_loan
BEGIN
    SELECT RAISE (ABORT, 'a charge is never removed: its invoice is credited');
END;
