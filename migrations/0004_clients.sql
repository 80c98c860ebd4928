CREATE TABLE client (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    email TEXT NOT NULL DEFAULT '',
    phone TEXT NOT NULL DEFAULT '',
    address TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    removed_at TEXT
) STRICT;
CREATE INDEX client_name ON client (name);
