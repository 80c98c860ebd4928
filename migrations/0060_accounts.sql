-- How the studio invoices: what an invoice says of it beside the settings' name and address, the usual parts of a
-- payment, what it keeps of a cancelled event. At most one row; without one the usual figures hold.
CREATE TABLE account_settings (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    -- ISO 3166-1 alpha-2; empty where nobody said.
    country TEXT NOT NULL DEFAULT '' CHECK (length(country) IN (0, 2)),
    -- The number in the register of companies, if it stands in one.
    legal_id TEXT NOT NULL DEFAULT '',
    account_holder TEXT NOT NULL DEFAULT '',
    iban TEXT NOT NULL DEFAULT '',
    bic TEXT NOT NULL DEFAULT '',
    -- Stands before an invoice's number on paper.
    number_prefix TEXT NOT NULL DEFAULT '',
    -- The number of the very first invoice, for a studio that comes from paper.
    first_number INTEGER NOT NULL DEFAULT 1 CHECK (first_number BETWEEN 1 AND 1000000000),
    -- Days from an invoice's date until it is due where its instalment names no day that is still to come.
    payment_days INTEGER NOT NULL DEFAULT 14 CHECK (payment_days BETWEEN 0 AND 365),
    -- What every invoice says under its figures.
    words TEXT NOT NULL DEFAULT ''
) STRICT;

-- The usual parts of a payment: a share of the total (parts per million) or an amount, due on acceptance or so many days
-- before or after the event.
CREATE TABLE usual_instalment (
    id INTEGER PRIMARY KEY,
    position INTEGER NOT NULL,
    label TEXT NOT NULL CHECK (trim(label) <> ''),
    share INTEGER CHECK (share BETWEEN 1 AND 1000000),
    amount INTEGER CHECK (amount > 0),
    due TEXT NOT NULL CHECK (due IN ('acceptance', 'before', 'after')),
    due_days INTEGER NOT NULL DEFAULT 0 CHECK (due_days BETWEEN 0 AND 3650),
    CHECK ((share IS NULL) <> (amount IS NULL))
) STRICT;

-- What is kept of the accepted total when an event is called off so many days before its day, or fewer.
CREATE TABLE cancellation_step (
    id INTEGER PRIMARY KEY,
    days_before INTEGER NOT NULL UNIQUE CHECK (days_before BETWEEN 0 AND 3650),
    retained INTEGER NOT NULL CHECK (retained BETWEEN 0 AND 1000000)
) STRICT;

-- What a tax rate is to EN 16931 (its VAT category code), and why nothing is charged where it is exempt.
CREATE TABLE tax_treatment (
    tax_rate_id INTEGER PRIMARY KEY REFERENCES tax_rate (id),
    category TEXT NOT NULL CHECK (category IN ('S', 'Z', 'E', 'O')),
    reason TEXT NOT NULL DEFAULT ''
) STRICT;

-- What an invoice says of a client beside name and address.
CREATE TABLE client_account (
    client_id INTEGER PRIMARY KEY REFERENCES client (id),
    version INTEGER NOT NULL DEFAULT 1,
    country TEXT NOT NULL DEFAULT '' CHECK (length(country) IN (0, 2)),
    tax_number TEXT NOT NULL DEFAULT '',
    legal_id TEXT NOT NULL DEFAULT '',
    -- What the client wants to see on every invoice: a cost centre, an order number.
    reference TEXT NOT NULL DEFAULT ''
) STRICT;
