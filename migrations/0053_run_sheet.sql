-- The event's day: drives between venues, hand-overs, and what came back with the van. Who wrote what is appended, never
-- rewritten: the latest row counts.

-- How long the drive between two venues takes, by the clock, where it was typed. No row is by way of the studio.
CREATE TABLE run_drive (
    from_event_id INTEGER NOT NULL REFERENCES event (id),
    to_event_id INTEGER NOT NULL REFERENCES event (id),
    version INTEGER NOT NULL DEFAULT 1,
    -- Empty again: by way of the studio.
    minutes INTEGER CHECK (minutes BETWEEN 0 AND 1440),
    PRIMARY KEY (from_event_id, to_event_id),
    CHECK (from_event_id <> to_event_id)
) STRICT, WITHOUT ROWID;

-- That what was set up was handed over at the venue: to whom, when, and what was changed or is missing.
CREATE TABLE hand_over (
    id INTEGER PRIMARY KEY,
    -- Sent twice, kept once.
    once_key TEXT NOT NULL UNIQUE,
    event_id INTEGER NOT NULL REFERENCES event (id),
    handed_to TEXT NOT NULL CHECK (trim(handed_to) <> ''),
    handed_on TEXT NOT NULL,
    handed_time TEXT NOT NULL,
    remarks TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX hand_over_event ON hand_over (event_id, id);

-- That crates, water cans and tools were counted after an event. What was lent is counted by loan_count.
CREATE TABLE van_return (
    id INTEGER PRIMARY KEY,
    once_key TEXT NOT NULL UNIQUE,
    event_id INTEGER NOT NULL REFERENCES event (id),
    counted_on TEXT NOT NULL,
    counted_by TEXT NOT NULL DEFAULT '',
    -- What became of the flowers: left with the client, given away, composted.
    flowers TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX van_return_event ON van_return (event_id, id);

CREATE TABLE van_return_line (
    id INTEGER PRIMARY KEY,
    return_id INTEGER NOT NULL REFERENCES van_return (id),
    position INTEGER NOT NULL,
    -- As it was called then.
    what TEXT NOT NULL CHECK (trim(what) <> ''),
    went INTEGER NOT NULL CHECK (went >= 1),
    back INTEGER NOT NULL CHECK (back BETWEEN 0 AND went),
    UNIQUE (return_id, position)
) STRICT;

-- How heavy one kit item or extra is (grams), and how much room it takes (thousandths of a litre), where that was typed.
CREATE TABLE kit_travel (
    kit_item_id INTEGER PRIMARY KEY REFERENCES kit_item (id),
    weight INTEGER CHECK (weight > 0),
    bulk INTEGER CHECK (bulk > 0)
) STRICT;

CREATE TABLE extra_travel (
    pull_extra_id INTEGER PRIMARY KEY REFERENCES pull_extra (id),
    weight INTEGER CHECK (weight > 0),
    bulk INTEGER CHECK (bulk > 0)
) STRICT;
