-- Who changed what, when. One write transaction that changed something is one act.
CREATE TABLE act (
    id INTEGER PRIMARY KEY,
    done_at TEXT NOT NULL,
    -- Who did it; empty where nobody said: somebody at the studio's computer.
    who TEXT NOT NULL DEFAULT '',
    -- By which way: "POST /clients/{id}", "trug import".
    way TEXT NOT NULL DEFAULT '',
    -- The act that this one takes back, if it does.
    undoes_id INTEGER REFERENCES act (id)
) STRICT;
CREATE INDEX act_done ON act (done_at);
CREATE INDEX act_undoes ON act (undoes_id) WHERE undoes_id IS NOT NULL;

-- What an act did to one row. Written by triggers of the connection that writes (src/db/history), never by a store.
-- An added row has neither before nor after: its own columns say what was added, and the changes since what was otherwise.
-- Of a changed row before and after hold the columns that changed, of a deleted one before holds the row; columns that
-- were empty are left out. JSON objects by column.
CREATE TABLE act_change (
    id INTEGER PRIMARY KEY,
    act_id INTEGER NOT NULL REFERENCES act (id),
    table_name TEXT NOT NULL,
    -- The row's number; a JSON array where its key has several columns.
    row_key TEXT NOT NULL,
    -- The record it is part of, as its page is asked for: "event-12", "kit".
    record TEXT NOT NULL,
    before TEXT CHECK (json_valid(before)),
    after TEXT CHECK (json_valid(after)),
    CHECK (before IS NOT NULL OR after IS NULL)
) STRICT;
CREATE INDEX act_change_act ON act_change (act_id);
CREATE INDEX act_change_row ON act_change (table_name, row_key);
CREATE INDEX act_change_record ON act_change (record, act_id);
