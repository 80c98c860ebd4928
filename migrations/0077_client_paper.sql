-- What stands on papers for clients: the studio's sign and its own words.
CREATE TABLE logo (
    id INTEGER PRIMARY KEY,
    -- In pixels.
    width INTEGER NOT NULL CHECK (width > 0),
    height INTEGER NOT NULL CHECK (height > 0),
    -- Re-encoded by us: what was uploaded is never served. Never changed: a new sign is a new row.
    image BLOB NOT NULL
) STRICT;

ALTER TABLE studio ADD COLUMN logo_id INTEGER REFERENCES logo (id);
-- A new quote begins with this.
ALTER TABLE studio ADD COLUMN greeting TEXT NOT NULL DEFAULT '';
-- How a client accepts; empty for the usual sentence.
ALTER TABLE studio ADD COLUMN accept_words TEXT NOT NULL DEFAULT '';
-- How a quote ends.
ALTER TABLE studio ADD COLUMN closing TEXT NOT NULL DEFAULT '';
