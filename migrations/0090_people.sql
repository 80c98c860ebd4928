-- Who may come in where Trug listens beyond its own machine. `name_key` is the name as it is compared: small letters, single
-- spaces; it may come again once its bearer is removed.
CREATE TABLE person (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL DEFAULT 1,
    name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 40),
    name_key TEXT NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('owner', 'desk', 'bench')),
    removed_at TEXT
) STRICT;

CREATE UNIQUE INDEX person_name ON person (name_key) WHERE removed_at IS NULL;

-- A person's passphrase, as argon2id's string of parameters, salt and hash. A table of its own, so that the export of the
-- whole book and the history of records can leave it out whole.
CREATE TABLE passphrase (
    person_id INTEGER PRIMARY KEY REFERENCES person (id),
    hash TEXT NOT NULL
) STRICT;

-- Who is in. The key is the SHA-256 of a random token that only the browser has. It ends at `ends_at`, or when it was not
-- used for some hours since `seen_at` (which is kept to some minutes).
CREATE TABLE session (
    token_hash TEXT PRIMARY KEY,
    person_id INTEGER NOT NULL REFERENCES person (id),
    device TEXT NOT NULL,
    begun_at TEXT NOT NULL,
    seen_at TEXT NOT NULL,
    ends_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX session_person ON session (person_id);
