-- From the enquiry to the close. What later stages know (quoted, booked, ordered) is read from their own dated rows.
CREATE TABLE event (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    client_id INTEGER NOT NULL REFERENCES client (id),
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    day TEXT NOT NULL,
    set_up_time TEXT,
    start_time TEXT,
    end_time TEXT,
    strike_time TEXT,
    venue TEXT NOT NULL DEFAULT '',
    venue_address TEXT NOT NULL DEFAULT '',
    venue_contact TEXT NOT NULL DEFAULT '',
    guests INTEGER CHECK (guests BETWEEN 1 AND 100000),
    -- Typed, or left empty and computed from guests and seats.
    tables INTEGER CHECK (tables BETWEEN 1 AND 10000),
    seats INTEGER CHECK (seats BETWEEN 1 AND 1000),
    budget INTEGER CHECK (budget >= 0),
    note TEXT NOT NULL DEFAULT '',
    enquired_on TEXT NOT NULL,
    -- How it ended, if it has: lost before booking, cancelled after, or closed when all is done.
    ended_on TEXT,
    ending TEXT CHECK (ending IN ('lost', 'cancelled', 'closed')),
    removed_at TEXT,
    CHECK ((ended_on IS NULL) = (ending IS NULL))
) STRICT;
CREATE INDEX event_day ON event (day);
CREATE INDEX event_client ON event (client_id);

CREATE TABLE place (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES event (id),
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    position INTEGER NOT NULL,
    UNIQUE (event_id, name)
) STRICT;

-- A recipe with a count at a place.
CREATE TABLE piece (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES event (id),
    place_id INTEGER NOT NULL REFERENCES place (id),
    recipe_id INTEGER NOT NULL REFERENCES recipe (id),
    position INTEGER NOT NULL,
    count_rule TEXT NOT NULL CHECK (count_rule IN ('number', 'per_table', 'per_guest')),
    -- Thousandths: 14 pieces, 1 a table, 0.5 a guest (always rounded up to whole pieces).
    count INTEGER NOT NULL CHECK (count > 0),
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX piece_event ON piece (event_id, position);
CREATE INDEX piece_place ON piece (place_id);
CREATE INDEX piece_recipe ON piece (recipe_id);
