-- What lies in the cooler and on the shelf, as last counted.
CREATE TABLE stock_count (
    material_id INTEGER PRIMARY KEY REFERENCES material (id),
    on_hand INTEGER NOT NULL CHECK (on_hand >= 0),
    counted_on TEXT NOT NULL
) STRICT;
