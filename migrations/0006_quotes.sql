-- An event's quote: how its pieces are priced, what is added, what was sent and what was accepted.
CREATE TABLE quote (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    event_id INTEGER NOT NULL UNIQUE REFERENCES event (id),
    -- The day whose prices it uses.
    priced_on TEXT NOT NULL,
    valid_until TEXT,
    words TEXT NOT NULL DEFAULT '',
    terms TEXT NOT NULL DEFAULT '',
    prices_include_tax INTEGER NOT NULL CHECK (prices_include_tax IN (0, 1)),
    discount_kind TEXT NOT NULL DEFAULT 'none' CHECK (discount_kind IN ('none', 'share', 'amount')),
    -- Parts per million, or minor units.
    discount INTEGER NOT NULL DEFAULT 0 CHECK (discount >= 0)
) STRICT;

-- The price of a piece, or a line of its own (a fee, a hire) that no recipe makes.
CREATE TABLE quote_line (
    id INTEGER PRIMARY KEY,
    quote_id INTEGER NOT NULL REFERENCES quote (id),
    position INTEGER NOT NULL,
    piece_id INTEGER UNIQUE REFERENCES piece (id) ON DELETE CASCADE,
    place TEXT NOT NULL DEFAULT '',
    words TEXT NOT NULL DEFAULT '',
    count INTEGER CHECK (count >= 1),
    typed_price INTEGER CHECK (typed_price >= 0),
    discount_kind TEXT NOT NULL DEFAULT 'none' CHECK (discount_kind IN ('none', 'share', 'amount')),
    discount INTEGER NOT NULL DEFAULT 0 CHECK (discount >= 0),
    tax_rate_id INTEGER NOT NULL REFERENCES tax_rate (id),
    CHECK (piece_id IS NOT NULL OR (count IS NOT NULL AND typed_price IS NOT NULL AND trim(words) <> ''))
) STRICT;
CREATE INDEX quote_line_quote ON quote_line (quote_id, position);

CREATE TABLE quote_charge (
    id INTEGER PRIMARY KEY,
    quote_id INTEGER NOT NULL REFERENCES quote (id),
    kind TEXT NOT NULL CHECK (kind IN ('service', 'delivery', 'set_up', 'strike')),
    -- An amount, or a share of the lines after discount.
    rule TEXT NOT NULL CHECK (rule IN ('amount', 'share')),
    value INTEGER NOT NULL CHECK (value >= 0),
    tax_rate_id INTEGER NOT NULL REFERENCES tax_rate (id),
    UNIQUE (quote_id, kind)
) STRICT;

CREATE TABLE quote_instalment (
    id INTEGER PRIMARY KEY,
    quote_id INTEGER NOT NULL REFERENCES quote (id),
    position INTEGER NOT NULL,
    label TEXT NOT NULL,
    share INTEGER NOT NULL CHECK (share BETWEEN 1 AND 1000000),
    due_on TEXT
) STRICT;
CREATE INDEX quote_instalment_quote ON quote_instalment (quote_id, position);

-- What was sent, frozen: the whole computed document as JSON, never rewritten.
CREATE TABLE quote_version (
    id INTEGER PRIMARY KEY,
    quote_id INTEGER NOT NULL REFERENCES quote (id),
    number INTEGER NOT NULL CHECK (number >= 1),
    once_key TEXT NOT NULL UNIQUE,
    sent_on TEXT NOT NULL,
    sent_to TEXT NOT NULL DEFAULT '',
    total INTEGER NOT NULL,
    document TEXT NOT NULL CHECK (json_valid(document)),
    UNIQUE (quote_id, number)
) STRICT;

CREATE TABLE quote_acceptance (
    version_id INTEGER PRIMARY KEY REFERENCES quote_version (id),
    accepted_on TEXT NOT NULL,
    accepted_by TEXT NOT NULL CHECK (trim(accepted_by) <> ''),
    how TEXT NOT NULL DEFAULT '',
    recorded_at TEXT NOT NULL
) STRICT;
