-- Ticks on the sheets that are worked from: prep, pull, load and run sheets. Each tick set and each tick taken back is a row
-- of its own, never rewritten; the latest row of a line counts (done 1: ticked, 0: taken back).
-- mark: the tick's own name, made where it was set, so that one sent twice is kept once.
-- sheet and line: which sheet ("pull-12", "prep-2026-05-14") and which of its lines.
-- shown: the count that the line showed when it was ticked; empty where it shows none.
-- hand: who ticked, as typed; empty where nobody said. ticked_at: when it was set, not when it arrived.
CREATE TABLE tick (
    id INTEGER PRIMARY KEY,
    mark TEXT NOT NULL UNIQUE CHECK (length(mark) BETWEEN 1 AND 80),
    sheet TEXT NOT NULL CHECK (length(sheet) BETWEEN 1 AND 64),
    line TEXT NOT NULL CHECK (length(line) BETWEEN 1 AND 120),
    done INTEGER NOT NULL CHECK (done IN (0, 1)),
    shown INTEGER,
    hand TEXT NOT NULL DEFAULT '' CHECK (length(hand) <= 40),
    ticked_at TEXT NOT NULL
) STRICT;
CREATE INDEX tick_of_line ON tick (sheet, line, id);
