-- What an event takes beside the making. Loading, setting and striking are person-minutes; driving is minutes by the clock,
-- one way. What is empty is taken as usual.
CREATE TABLE event_work (
    event_id INTEGER PRIMARY KEY REFERENCES event (id),
    version INTEGER NOT NULL DEFAULT 1,
    load_minutes INTEGER CHECK (load_minutes >= 0),
    drive_minutes INTEGER CHECK (drive_minutes >= 0),
    set_minutes INTEGER CHECK (set_minutes >= 0),
    strike_minutes INTEGER CHECK (strike_minutes >= 0),
    crew INTEGER CHECK (crew >= 1)
) STRICT;

-- Who works on which weekday (0 is Monday): from when, how many people, each for how many minutes, and person-minutes of
-- those who come for less. Without any row nobody has said who works when.
CREATE TABLE shift (
    weekday INTEGER PRIMARY KEY CHECK (weekday BETWEEN 0 AND 6),
    begin_time TEXT NOT NULL,
    people INTEGER NOT NULL CHECK (people >= 0),
    minutes INTEGER NOT NULL CHECK (minutes BETWEEN 0 AND 1440),
    more_minutes INTEGER NOT NULL DEFAULT 0 CHECK (more_minutes >= 0)
) STRICT;

-- A day that is otherwise: so many people for so many minutes each instead of the usual, or more, or fewer.
CREATE TABLE shift_exception (
    id INTEGER PRIMARY KEY,
    day TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('instead', 'more', 'fewer')),
    people INTEGER NOT NULL CHECK (people >= 0),
    minutes INTEGER NOT NULL CHECK (minutes BETWEEN 0 AND 1440),
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX shift_exception_day ON shift_exception (day);

-- Minutes that washing and dressing a vessel takes. At most one row; without one the usual figure holds.
CREATE TABLE bench_rule (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    dress_minutes INTEGER NOT NULL CHECK (dress_minutes >= 0)
) STRICT;

-- Work that the designer wants on a day: so many pieces of a task of the bench plan, named by its key.
CREATE TABLE bench_pin (
    id INTEGER PRIMARY KEY,
    event_id INTEGER NOT NULL REFERENCES event (id),
    task TEXT NOT NULL CHECK (trim(task) <> ''),
    day TEXT NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 1),
    pinned_at TEXT NOT NULL,
    UNIQUE (task, day)
) STRICT;
CREATE INDEX bench_pin_event ON bench_pin (event_id);
