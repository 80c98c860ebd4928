-- Days on which a supplier (or, without one, every supplier) delivers nothing and takes no orders, and feast days, in
-- the week before which prices and supply are tight. From the first day to the last, both included.
CREATE TABLE closed_day (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    supplier_id INTEGER REFERENCES supplier (id),
    first_day TEXT NOT NULL,
    last_day TEXT NOT NULL,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('closed', 'feast', 'closed_feast')),
    removed_at TEXT,
    CHECK (first_day <= last_day)
) STRICT;
CREATE INDEX closed_day_last ON closed_day (last_day);
