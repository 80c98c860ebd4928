-- How stems stand in pails: stems a pail by the size of their heads, thousandths of litres a pail, and how many pails the
-- cooler holds (empty where nobody says). At most one row; without one the usual figures hold.
CREATE TABLE pail_rule (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    small INTEGER NOT NULL CHECK (small >= 1),
    medium INTEGER NOT NULL CHECK (medium >= 1),
    large INTEGER NOT NULL CHECK (large >= 1),
    foliage INTEGER NOT NULL CHECK (foliage >= 1),
    litres INTEGER NOT NULL CHECK (litres > 0),
    cooler INTEGER CHECK (cooler >= 0)
) STRICT;
