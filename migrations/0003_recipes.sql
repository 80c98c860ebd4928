-- What one piece is made of, and how.
CREATE TABLE picture (
    id INTEGER PRIMARY KEY,
    width INTEGER NOT NULL CHECK (width > 0),
    height INTEGER NOT NULL CHECK (height > 0),
    -- Both re-encoded by us: what was uploaded is never served.
    full BLOB NOT NULL,
    small BLOB NOT NULL
) STRICT;

CREATE TABLE recipe (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    category TEXT NOT NULL CHECK (category IN ('table', 'ceremony', 'personal', 'installation', 'part', 'other')),
    -- Bench minutes a piece, in thousandths.
    minutes INTEGER NOT NULL CHECK (minutes >= 0),
    -- How long a finished piece holds before the event.
    holding_hours INTEGER NOT NULL CHECK (holding_hours BETWEEN 0 AND 720),
    -- One step a line.
    steps TEXT NOT NULL DEFAULT '',
    client_words TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    -- Hand-tied pieces: from under the heads to the second binding, and from the stems' ends to the vessel's floor.
    second_binding INTEGER CHECK (second_binding > 0),
    stem_clearance INTEGER CHECK (stem_clearance >= 0),
    cautions INTEGER NOT NULL DEFAULT 0 CHECK (cautions >= 0),
    picture_id INTEGER REFERENCES picture (id),
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX recipe_name ON recipe (name) WHERE removed_at IS NULL;

CREATE TABLE recipe_line (
    id INTEGER PRIMARY KEY,
    recipe_id INTEGER NOT NULL REFERENCES recipe (id),
    position INTEGER NOT NULL,
    material_id INTEGER REFERENCES material (id),
    part_id INTEGER REFERENCES recipe (id),
    -- count: n a piece. cut: n pieces of a length. wound: n lengths of turns round a diameter.
    -- one_per: n for each started per_count pieces, or for the event where per_count is empty.
    measure TEXT NOT NULL CHECK (measure IN ('count', 'cut', 'wound', 'one_per')),
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    piece_length INTEGER CHECK (piece_length > 0),
    turns INTEGER CHECK (turns > 0),
    diameter INTEGER CHECK (diameter > 0),
    ends INTEGER CHECK (ends >= 0),
    per_count INTEGER CHECK (per_count >= 1),
    note TEXT NOT NULL DEFAULT '',
    CHECK ((material_id IS NULL) <> (part_id IS NULL)),
    CHECK (part_id IS NULL OR measure = 'count'),
    CHECK ((measure = 'cut') = (piece_length IS NOT NULL)),
    CHECK ((measure = 'wound') = (turns IS NOT NULL AND diameter IS NOT NULL)),
    CHECK (measure = 'one_per' OR per_count IS NULL)
) STRICT;
CREATE INDEX recipe_line_recipe ON recipe_line (recipe_id, position);
CREATE INDEX recipe_line_material ON recipe_line (material_id);
CREATE INDEX recipe_line_part ON recipe_line (part_id);

-- What the designer allows to stand in for a line's material.
CREATE TABLE recipe_substitute (
    line_id INTEGER NOT NULL REFERENCES recipe_line (id) ON DELETE CASCADE,
    material_id INTEGER NOT NULL REFERENCES material (id),
    PRIMARY KEY (line_id, material_id)
) STRICT, WITHOUT ROWID;
