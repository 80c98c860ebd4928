-- Crates and vans, and how large and heavy a piece is as it travels. Lengths in micrometres, weights in grams.
CREATE TABLE crate_kind (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    inner_length INTEGER NOT NULL CHECK (inner_length > 0),
    inner_width INTEGER NOT NULL CHECK (inner_width > 0),
    -- How high a piece may stand in it; up to the rim where it is stacked.
    clear_height INTEGER NOT NULL CHECK (clear_height > 0),
    own_weight INTEGER NOT NULL CHECK (own_weight > 0),
    -- What it may weigh full.
    most_weight INTEGER NOT NULL CHECK (most_weight > own_weight),
    stackable INTEGER NOT NULL DEFAULT 0 CHECK (stackable IN (0, 1)),
    position INTEGER NOT NULL,
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX crate_kind_name ON crate_kind (name) WHERE removed_at IS NULL;

CREATE TABLE van (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    floor_length INTEGER NOT NULL CHECK (floor_length > 0),
    floor_width INTEGER NOT NULL CHECK (floor_width > 0),
    inner_height INTEGER NOT NULL CHECK (inner_height > 0),
    payload INTEGER NOT NULL CHECK (payload > 0),
    position INTEGER NOT NULL,
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX van_name ON van (name) WHERE removed_at IS NULL;

-- One piece of a recipe as it travels, where it was measured; what is empty is estimated. The weight is without water.
CREATE TABLE recipe_travel (
    recipe_id INTEGER PRIMARY KEY REFERENCES recipe (id),
    diameter INTEGER CHECK (diameter > 0),
    height INTEGER CHECK (height > 0),
    weight INTEGER CHECK (weight > 0)
) STRICT;
