-- The studio itself: one row, read by every page. Amounts are minor units of its currency (ISO 4217),
-- shares are parts per million, mark-ups and quantities are thousandths, lengths are micrometres
-- (1 in = 25 400 exactly), days are YYYY-MM-DD, times HH:MM, moments RFC 3339 in UTC.
CREATE TABLE studio (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    address TEXT NOT NULL DEFAULT '',
    email TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    tax_number TEXT NOT NULL DEFAULT '',
    terms TEXT NOT NULL DEFAULT '',
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    length_unit TEXT NOT NULL CHECK (length_unit IN ('in', 'cm')),
    date_style TEXT NOT NULL CHECK (date_style IN ('dmy', 'mdy', 'iso')),
    paper TEXT NOT NULL CHECK (paper IN ('a4', 'letter')),
    time_zone TEXT NOT NULL,
    fresh_markup INTEGER NOT NULL CHECK (fresh_markup BETWEEN 0 AND 100000),
    hard_goods_markup INTEGER NOT NULL CHECK (hard_goods_markup BETWEEN 0 AND 100000),
    sundries_markup INTEGER NOT NULL CHECK (sundries_markup BETWEEN 0 AND 100000),
    labour_rule TEXT NOT NULL CHECK (labour_rule IN ('minutes', 'share')),
    labour_rate INTEGER NOT NULL CHECK (labour_rate >= 0),
    labour_share INTEGER NOT NULL CHECK (labour_share BETWEEN 0 AND 1000000),
    rounding_step INTEGER NOT NULL CHECK (rounding_step >= 1),
    rounding_direction TEXT NOT NULL CHECK (rounding_direction IN ('up', 'nearest')),
    allowance_rule TEXT NOT NULL CHECK (allowance_rule IN ('assured', 'flat')),
    loss INTEGER NOT NULL CHECK (loss BETWEEN 0 AND 900000),
    assurance INTEGER NOT NULL CHECK (assurance BETWEEN 500000 AND 999900),
    prices_include_tax INTEGER NOT NULL CHECK (prices_include_tax IN (0, 1))
) STRICT;

CREATE TABLE tax_rate (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    rate INTEGER NOT NULL CHECK (rate BETWEEN 0 AND 1000000),
    position INTEGER NOT NULL,
    removed_at TEXT
) STRICT;
