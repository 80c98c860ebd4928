-- The studio's calendar as other programs read it; at most one row, made when the calendar is first used.
-- `book` tells this book's entries from another's in the same calendar program: random, never changed.
-- `token` is the secret part of the feed's address, random; empty where there is no feed. `token_at` says since when.
-- `version` counts saves of the reminder. `reminder`: minutes before orders close at which the calendar program rings; empty for never.
CREATE TABLE calendar_feed (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    book TEXT NOT NULL CHECK (length(book) = 32),
    token TEXT CHECK (length(token) = 32),
    token_at TEXT,
    reminder INTEGER CHECK (reminder BETWEEN 1 AND 10080),
    CHECK ((token IS NULL) = (token_at IS NULL))
) STRICT;
