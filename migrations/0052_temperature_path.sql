-- How warm flowers stand on their way from the door to the last guest, whole degrees Celsius, and by what factor 10 degrees
-- more speed up their ageing (thousandths) where nothing is published. At most one row; without one the usual figures hold.
-- cooler: empty where each material stands at its own storage temperature. finished: finished pieces until they are
-- loaded; empty where they stand at the bench.
CREATE TABLE temperature_path (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    cooler INTEGER CHECK (cooler BETWEEN -5 AND 45),
    bench INTEGER NOT NULL CHECK (bench BETWEEN -5 AND 45),
    finished INTEGER CHECK (finished BETWEEN -5 AND 45),
    van INTEGER NOT NULL CHECK (van BETWEEN -5 AND 45),
    venue INTEGER NOT NULL CHECK (venue BETWEEN -5 AND 45),
    q10 INTEGER NOT NULL CHECK (q10 BETWEEN 1000 AND 5000)
) STRICT;

-- How warm one event's venue is, where that was typed: a hot marquee. Empty celsius is the usual venue again.
CREATE TABLE venue_temperature (
    event_id INTEGER PRIMARY KEY REFERENCES event (id),
    version INTEGER NOT NULL DEFAULT 1,
    celsius INTEGER CHECK (celsius BETWEEN -5 AND 45)
) STRICT;
