-- Tools, water, spares and safety things that go along to every event, by rule.
CREATE TABLE kit_item (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('tool', 'sundry', 'spare', 'safety')),
    quantity INTEGER NOT NULL CHECK (quantity >= 1),
    -- For each started so many pieces; empty is once an event.
    per_pieces INTEGER CHECK (per_pieces >= 1),
    position INTEGER NOT NULL,
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX kit_item_name ON kit_item (name) WHERE removed_at IS NULL;

-- What one event needs beside its pieces and the kit.
CREATE TABLE pull_extra (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES event (id),
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    quantity INTEGER NOT NULL CHECK (quantity >= 1),
    place TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX pull_extra_event ON pull_extra (event_id);
