-- What came of a placed line: counted in at the bench. No row is not counted yet. What is missing of the expected
-- stems is short: it never came, and says nothing about losses.
CREATE TABLE receipt_line (
    line_id INTEGER PRIMARY KEY REFERENCES placed_line (id),
    version INTEGER NOT NULL DEFAULT 1,
    -- Stems that came good, and stems that came dead or broken.
    good INTEGER NOT NULL CHECK (good BETWEEN 0 AND 10000000),
    lost INTEGER NOT NULL CHECK (lost BETWEEN 0 AND 10000000),
    received_on TEXT NOT NULL,
    recorded_at TEXT NOT NULL
) STRICT;

-- Stems that were lost later, at the bench. They were counted good when they came.
CREATE TABLE bench_loss (
    id INTEGER PRIMARY KEY,
    -- Pressed twice, booked once.
    once_key TEXT NOT NULL UNIQUE,
    material_id INTEGER NOT NULL REFERENCES material (id),
    -- From whom it came and for which event it was meant, as far as that is known.
    supplier_id INTEGER REFERENCES supplier (id),
    event_id INTEGER REFERENCES event (id),
    lost INTEGER NOT NULL CHECK (lost BETWEEN 1 AND 10000000),
    lost_on TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL,
    removed_at TEXT
) STRICT;
CREATE INDEX bench_loss_material ON bench_loss (material_id);
CREATE INDEX bench_loss_day ON bench_loss (lost_on);
