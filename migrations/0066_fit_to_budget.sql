-- Recipes that may stand for each other in a set ("Low centre": lush, as designed, light), and how much each is worth to the
-- eye, in per cent of the piece as it was designed. A recipe is in one set at most.
CREATE TABLE recipe_alternative (
    recipe_id INTEGER PRIMARY KEY REFERENCES recipe (id),
    set_name TEXT NOT NULL COLLATE NOCASE CHECK (trim(set_name) <> ''),
    worth INTEGER NOT NULL CHECK (worth BETWEEN 1 AND 1000),
    position INTEGER NOT NULL
) STRICT;

-- How much a piece matters to the client, 0 to 10, and whether it may be left out (0 no, 1 yes). No row is 5 and no.
CREATE TABLE piece_wish (
    piece_id INTEGER PRIMARY KEY REFERENCES piece (id) ON DELETE CASCADE,
    importance INTEGER NOT NULL CHECK (importance BETWEEN 0 AND 10),
    may_leave_out INTEGER NOT NULL CHECK (may_leave_out IN (0, 1))
) STRICT;
