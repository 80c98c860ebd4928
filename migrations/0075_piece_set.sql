-- Named sets of pieces, with which an event begins. Counts a table and a guest follow the event; counts in all come as they are.
CREATE TABLE piece_set (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX piece_set_name ON piece_set (name) WHERE removed_at IS NULL;

CREATE TABLE piece_set_line (
    set_id INTEGER NOT NULL REFERENCES piece_set (id),
    position INTEGER NOT NULL,
    place TEXT NOT NULL CHECK (trim(place) <> ''),
    recipe_id INTEGER NOT NULL REFERENCES recipe (id),
    count_rule TEXT NOT NULL CHECK (count_rule IN ('number', 'per_table', 'per_guest')),
    -- Thousandths, as a piece's.
    count INTEGER NOT NULL CHECK (count > 0),
    note TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (set_id, position)
) STRICT;
