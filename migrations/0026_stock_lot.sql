-- What lies in the cooler and on the shelf, all of one age: so many were there when they were last counted.
-- Fresh stems keep from the day they arrived.
CREATE TABLE stock_lot (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    material_id INTEGER NOT NULL REFERENCES material (id),
    arrived_on TEXT NOT NULL,
    on_hand INTEGER NOT NULL CHECK (on_hand BETWEEN 0 AND 10000000),
    counted_on TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT '',
    -- Sent twice, taken in once; empty where nothing can be sent twice.
    once_key TEXT UNIQUE,
    removed_at TEXT,
    CHECK (arrived_on <= counted_on)
) STRICT;
CREATE INDEX stock_lot_material ON stock_lot (material_id, arrived_on);

-- Pieces of a lot that are kept for an event. One of an event that has passed since the lot was counted is used up; one of
-- an event before the count, of an event that was called off, or one that was released, counts for nothing.
CREATE TABLE stock_reservation (
    id INTEGER PRIMARY KEY,
    lot_id INTEGER NOT NULL REFERENCES stock_lot (id),
    event_id INTEGER NOT NULL REFERENCES event (id),
    count INTEGER NOT NULL CHECK (count BETWEEN 1 AND 10000000),
    -- The order's key: pressed twice, reserved once.
    once_key TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    released_at TEXT,
    UNIQUE (once_key, lot_id, event_id)
) STRICT;
CREATE INDEX stock_reservation_lot ON stock_reservation (lot_id);
CREATE INDEX stock_reservation_event ON stock_reservation (event_id);

-- What happened to a lot, never rewritten: taken in, counted (that many were there) or written off (that many went).
CREATE TABLE stock_change (
    id INTEGER PRIMARY KEY,
    lot_id INTEGER NOT NULL REFERENCES stock_lot (id),
    kind TEXT NOT NULL CHECK (kind IN ('taken_in', 'counted', 'written_off')),
    count INTEGER NOT NULL CHECK (count BETWEEN 0 AND 10000000),
    changed_on TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL,
    undone_at TEXT
) STRICT;
CREATE INDEX stock_change_lot ON stock_change (lot_id, id);

-- What became of the stems of a delivered line that no event needs: into stock, or written off. One row a line.
CREATE TABLE left_over (
    line_id INTEGER PRIMARY KEY REFERENCES placed_line (id),
    taken_in INTEGER NOT NULL CHECK (taken_in BETWEEN 0 AND 10000000),
    written_off INTEGER NOT NULL CHECK (written_off BETWEEN 0 AND 10000000),
    lot_id INTEGER REFERENCES stock_lot (id),
    decided_on TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    removed_at TEXT
) STRICT;
CREATE INDEX left_over_lot ON left_over (lot_id);

-- Counts so far said no age: they are taken to have arrived on the day they were counted.
INSERT INTO stock_lot (material_id, arrived_on, on_hand, counted_on)
SELECT material_id, counted_on, on_hand, counted_on FROM stock_count WHERE on_hand > 0 ORDER BY material_id;
INSERT INTO stock_change (lot_id, kind, count, changed_on, recorded_at)
SELECT id, 'counted', on_hand, counted_on, counted_on || 'T00:00:00Z' FROM stock_lot;
DROP TABLE stock_count;
