-- What only the studio knows of a past event: hours that were worked and costs that stand nowhere else. Every save is a row
-- of its own with all its lines; the latest counts, an undo saves an earlier one again.
CREATE TABLE close_out_save (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES event (id),
    -- Counts the saves of an event: 1, 2, 3.
    version INTEGER NOT NULL CHECK (version >= 1),
    recorded_at TEXT NOT NULL,
    UNIQUE (event_id, version)
) STRICT;

CREATE TABLE close_out_hours (
    id INTEGER PRIMARY KEY,
    save_id INTEGER NOT NULL REFERENCES close_out_save (id),
    position INTEGER NOT NULL,
    task TEXT NOT NULL CHECK (task IN ('condition', 'make', 'load', 'drive', 'set_up', 'strike')),
    -- Which pieces were made, where that was said.
    recipe_id INTEGER REFERENCES recipe (id),
    who TEXT NOT NULL DEFAULT '',
    minutes INTEGER NOT NULL CHECK (minutes BETWEEN 0 AND 60000),
    -- Minor units an hour; empty is the studio's rate.
    rate INTEGER CHECK (rate >= 0)
) STRICT;
CREATE INDEX close_out_hours_save ON close_out_hours (save_id, position);

CREATE TABLE close_out_cost (
    id INTEGER PRIMARY KEY,
    save_id INTEGER NOT NULL REFERENCES close_out_save (id),
    position INTEGER NOT NULL,
    what TEXT NOT NULL CHECK (trim(what) <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('travel', 'help', 'fees', 'other')),
    -- Minor units: what was reckoned with beforehand, and what it came to.
    planned INTEGER NOT NULL DEFAULT 0 CHECK (planned >= 0),
    amount INTEGER NOT NULL CHECK (amount >= 0)
) STRICT;
CREATE INDEX close_out_cost_save ON close_out_cost (save_id, position);

-- That an event was closed, or opened again; the latest row counts. A closing keeps its figures as they were that day.
CREATE TABLE close_out (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES event (id),
    kind TEXT NOT NULL CHECK (kind IN ('closed', 'reopened')),
    -- Pressed twice, closed once.
    once_key TEXT NOT NULL UNIQUE,
    closed_on TEXT NOT NULL,
    -- Minor units, without tax; nothing on a reopening.
    income INTEGER NOT NULL DEFAULT 0,
    cost INTEGER NOT NULL DEFAULT 0,
    figures TEXT NOT NULL DEFAULT 'null' CHECK (json_valid(figures)),
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX close_out_event ON close_out (event_id, id);

CREATE TRIGGER close_out_is_not_changed BEFORE UPDATE ON close_out
BEGIN
    SELECT RAISE (ABORT, 'a close-out is never changed: the event is opened again');
END;
CREATE TRIGGER close_out_is_not_removed BEFORE DELETE ON close_out
BEGIN
    SELECT RAISE (ABORT, 'a close-out is never removed: the event is opened again');
END;
