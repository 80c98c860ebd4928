-- What the studio made of a material's counted losses.
CREATE TABLE loss_rule (
    material_id INTEGER PRIMARY KEY REFERENCES material (id),
    version INTEGER NOT NULL DEFAULT 1,
    -- Only what was counted from this day on speaks; empty is everything.
    counted_from TEXT,
    -- A loss fixed by the studio, in parts per million: the counts are left out. Empty lets them speak.
    overruled INTEGER CHECK (overruled BETWEEN 0 AND 900000)
) STRICT;
