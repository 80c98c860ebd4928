-- What was ordered from a supplier, frozen when it was placed. Nothing here is rewritten: what the supplier answers,
-- what is cancelled and what comes are rows of their own.
CREATE TABLE placed_order (
    id INTEGER PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE CHECK (number >= 1),
    -- The plan's key with the supplier's number: pressed twice, placed once.
    once_key TEXT NOT NULL UNIQUE,
    supplier_id INTEGER NOT NULL REFERENCES supplier (id),
    -- The supplier's name and terms of address as they were.
    supplier TEXT NOT NULL CHECK (trim(supplier) <> ''),
    account TEXT NOT NULL DEFAULT '',
    contact TEXT NOT NULL DEFAULT '',
    email TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    placed_on TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX placed_order_supplier ON placed_order (supplier_id);

-- For which events it was placed.
CREATE TABLE placed_order_event (
    id INTEGER PRIMARY KEY,
    order_id INTEGER NOT NULL REFERENCES placed_order (id),
    event_id INTEGER NOT NULL REFERENCES event (id),
    UNIQUE (order_id, event_id)
) STRICT;
CREATE INDEX placed_order_event_event ON placed_order_event (event_id);

CREATE TABLE placed_delivery (
    id INTEGER PRIMARY KEY,
    order_id INTEGER NOT NULL REFERENCES placed_order (id),
    day TEXT NOT NULL,
    -- Until when it could be ordered, changed or cancelled.
    order_by_day TEXT NOT NULL,
    order_by_time TEXT NOT NULL,
    fee INTEGER NOT NULL CHECK (fee >= 0),
    UNIQUE (order_id, day)
) STRICT;
CREATE INDEX placed_delivery_day ON placed_delivery (day);

CREATE TABLE placed_line (
    id INTEGER PRIMARY KEY,
    delivery_id INTEGER NOT NULL REFERENCES placed_delivery (id),
    position INTEGER NOT NULL,
    offer_id INTEGER NOT NULL REFERENCES offer (id),
    material_id INTEGER NOT NULL REFERENCES material (id),
    -- Name, looks (colour and grade) and pack as they were.
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    looks TEXT NOT NULL DEFAULT '',
    pack_name TEXT NOT NULL,
    pack_size INTEGER NOT NULL CHECK (pack_size >= 1),
    packs INTEGER NOT NULL CHECK (packs >= 1),
    price INTEGER NOT NULL CHECK (price >= 0),
    -- Why so many: the need and its spares in words, as they were.
    working TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX placed_line_delivery ON placed_line (delivery_id, position);
CREATE INDEX placed_line_material ON placed_line (material_id);

-- Stems of a line that were meant for an event, and its share of the line's goods. What is left over is nobody's.
CREATE TABLE placed_share (
    id INTEGER PRIMARY KEY,
    line_id INTEGER NOT NULL REFERENCES placed_line (id),
    event_id INTEGER NOT NULL REFERENCES event (id),
    stems INTEGER NOT NULL CHECK (stems >= 0),
    goods INTEGER NOT NULL CHECK (goods >= 0),
    UNIQUE (line_id, event_id)
) STRICT;
CREATE INDEX placed_share_event ON placed_share (event_id);

-- What is known of a line since: the supplier's answer (so many packs will come, at this price), or a cancellation by
-- the studio (so many packs are left). The latest row counts; none is rewritten.
CREATE TABLE placed_line_answer (
    id INTEGER PRIMARY KEY,
    line_id INTEGER NOT NULL REFERENCES placed_line (id),
    kind TEXT NOT NULL CHECK (kind IN ('confirmed', 'cancelled')),
    packs INTEGER NOT NULL CHECK (packs >= 0),
    price INTEGER NOT NULL CHECK (price >= 0),
    note TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX placed_line_answer_line ON placed_line_answer (line_id, id);
