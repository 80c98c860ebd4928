-- What can be bought, from whom, in which packs, at which price on which day.
CREATE TABLE supplier (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    contact TEXT NOT NULL DEFAULT '',
    email TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    account TEXT NOT NULL DEFAULT '',
    -- Bit 0 is Monday, bit 6 Sunday.
    delivery_weekdays INTEGER NOT NULL CHECK (delivery_weekdays BETWEEN 0 AND 127),
    -- Orders close this many days before the delivery, at this hour.
    cutoff_days INTEGER NOT NULL CHECK (cutoff_days BETWEEN 0 AND 60),
    cutoff_time TEXT NOT NULL,
    delivery_fee INTEGER NOT NULL CHECK (delivery_fee >= 0),
    fee_waived_over INTEGER CHECK (fee_waived_over >= 0),
    least_order INTEGER NOT NULL CHECK (least_order >= 0),
    note TEXT NOT NULL DEFAULT '',
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX supplier_name ON supplier (name) WHERE removed_at IS NULL;

CREATE TABLE material (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL COLLATE NOCASE CHECK (trim(name) <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('flower', 'foliage', 'vessel', 'stand', 'candle', 'mechanics', 'sundry')),
    colour TEXT NOT NULL DEFAULT '',
    grade TEXT NOT NULL DEFAULT '',
    unit TEXT NOT NULL CHECK (unit IN ('stem', 'each', 'roll')),
    head_class TEXT CHECK (head_class IN ('small', 'medium', 'large')),
    -- The length that can be cut from one stem or one roll.
    usable_length INTEGER CHECK (usable_length > 0),
    loss INTEGER CHECK (loss BETWEEN 0 AND 900000),
    preferred_supplier_id INTEGER REFERENCES supplier (id),
    -- Hard goods: inside measures, and whether the piece comes back.
    inner_height INTEGER CHECK (inner_height > 0),
    inner_diameter INTEGER CHECK (inner_diameter > 0),
    loaned INTEGER NOT NULL DEFAULT 0 CHECK (loaned IN (0, 1)),
    owned INTEGER NOT NULL DEFAULT 0 CHECK (owned >= 0),
    loan_fee INTEGER NOT NULL DEFAULT 0 CHECK (loan_fee >= 0),
    -- Hard goods: one spare for each started so many; 0 is none.
    spare_per INTEGER NOT NULL DEFAULT 20 CHECK (spare_per >= 0),
    -- Care of what is fresh.
    conditioning_minutes INTEGER NOT NULL DEFAULT 0 CHECK (conditioning_minutes BETWEEN 0 AND 600),
    hydrate_hours INTEGER NOT NULL DEFAULT 0 CHECK (hydrate_hours BETWEEN 0 AND 240),
    opening_days INTEGER NOT NULL DEFAULT 0 CHECK (opening_days BETWEEN 0 AND 30),
    holding_days INTEGER CHECK (holding_days BETWEEN 0 AND 400),
    storage_celsius INTEGER CHECK (storage_celsius BETWEEN -10 AND 40),
    vase_days INTEGER CHECK (vase_days BETWEEN 0 AND 400),
    -- Once cut to pieces it keeps this long.
    cut_keeps_hours INTEGER CHECK (cut_keeps_hours BETWEEN 1 AND 720),
    care_source TEXT NOT NULL DEFAULT 'own' CHECK (care_source IN ('own', 'published', 'memory')),
    -- Bits of ground::caution.
    cautions INTEGER NOT NULL DEFAULT 0 CHECK (cautions >= 0),
    note TEXT NOT NULL DEFAULT '',
    removed_at TEXT,
    CHECK (loaned = 0 OR kind IN ('vessel', 'stand', 'candle', 'mechanics'))
) STRICT;
CREATE UNIQUE INDEX material_name ON material (name) WHERE removed_at IS NULL;
CREATE INDEX material_kind ON material (kind, name);

CREATE TABLE offer (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    supplier_id INTEGER NOT NULL REFERENCES supplier (id),
    material_id INTEGER NOT NULL REFERENCES material (id),
    pack_name TEXT NOT NULL COLLATE NOCASE CHECK (trim(pack_name) <> ''),
    pack_size INTEGER NOT NULL CHECK (pack_size >= 1),
    least_packs INTEGER NOT NULL DEFAULT 1 CHECK (least_packs >= 1),
    most_packs INTEGER CHECK (most_packs >= least_packs),
    -- Bit 0 is January, bit 11 December.
    season INTEGER NOT NULL DEFAULT 4095 CHECK (season BETWEEN 1 AND 4095),
    removed_at TEXT
) STRICT;
CREATE UNIQUE INDEX offer_pack ON offer (supplier_id, material_id, pack_name, pack_size) WHERE removed_at IS NULL;
CREATE INDEX offer_material ON offer (material_id);

-- Price history: append only. A price holds from its first day until the next one begins,
-- or until its last day where it has one.
CREATE TABLE offer_price (
    id INTEGER PRIMARY KEY,
    offer_id INTEGER NOT NULL REFERENCES offer (id),
    from_day TEXT NOT NULL,
    until_day TEXT CHECK (until_day >= from_day),
    price INTEGER NOT NULL CHECK (price >= 0),
    recorded_at TEXT NOT NULL
) STRICT;
CREATE INDEX offer_price_day ON offer_price (offer_id, from_day);
