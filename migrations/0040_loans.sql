-- What is lent to an event and comes back. What goes out is computed from its pieces; here stands what was typed.

-- From when to when an event keeps it, in days about its own, so that it moves along with the event.
-- No row is one day before to one day after.
CREATE TABLE loan_period (
    event_id INTEGER PRIMARY KEY REFERENCES event (id),
    version INTEGER NOT NULL DEFAULT 1,
    leaves_before INTEGER NOT NULL CHECK (leaves_before BETWEEN 0 AND 60),
    returns_after INTEGER NOT NULL CHECK (returns_after BETWEEN 0 AND 60)
) STRICT;

-- That an event's loans were counted back, when and by whom, and whether what is lost is charged (0 no, 1 yes).
CREATE TABLE loan_count (
    event_id INTEGER PRIMARY KEY REFERENCES event (id),
    version INTEGER NOT NULL DEFAULT 1,
    counted_on TEXT NOT NULL,
    counted_by TEXT NOT NULL DEFAULT '',
    charged INTEGER NOT NULL CHECK (charged IN (0, 1)),
    note TEXT NOT NULL DEFAULT ''
) STRICT;

-- What came back of each material. What is neither back, broken nor missing is still out.
-- Broken and missing pieces were taken off material.owned when this was saved.
CREATE TABLE loan_return (
    event_id INTEGER NOT NULL REFERENCES loan_count (event_id),
    material_id INTEGER NOT NULL REFERENCES material (id),
    taken INTEGER NOT NULL CHECK (taken >= 1),
    back INTEGER NOT NULL CHECK (back >= 0),
    broken INTEGER NOT NULL CHECK (broken >= 0),
    missing INTEGER NOT NULL CHECK (missing >= 0),
    -- What one lost is charged at, in minor units; 0 where nothing is charged.
    charge_each INTEGER NOT NULL DEFAULT 0 CHECK (charge_each >= 0),
    PRIMARY KEY (event_id, material_id),
    CHECK (back + broken + missing <= taken)
) STRICT, WITHOUT ROWID;
CREATE INDEX loan_return_material ON loan_return (material_id);

-- What a lost piece of a material is charged at when the studio charges it; empty is not charged.
CREATE TABLE loan_charge (
    material_id INTEGER PRIMARY KEY REFERENCES material (id),
    version INTEGER NOT NULL DEFAULT 1,
    price INTEGER CHECK (price >= 0)
) STRICT;
