-- An answer can be taken back: a row of the kind 'placed' says that nothing is known of the line again, so that it counts
-- as placed. SQLite changes no CHECK, so the table is made anew.
CREATE TABLE placed_line_answer_new (
    id INTEGER PRIMARY KEY,
    line_id INTEGER NOT NULL REFERENCES placed_line (id),
    kind TEXT NOT NULL CHECK (kind IN ('confirmed', 'cancelled', 'placed')),
    packs INTEGER NOT NULL CHECK (packs >= 0),
    price INTEGER NOT NULL CHECK (price >= 0),
    note TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL
) STRICT;
INSERT INTO placed_line_answer_new SELECT id, line_id, kind, packs, price, note, recorded_at FROM placed_line_answer;
DROP TABLE placed_line_answer;
ALTER TABLE placed_line_answer_new RENAME TO placed_line_answer;
CREATE INDEX placed_line_answer_line ON placed_line_answer (line_id, id);
