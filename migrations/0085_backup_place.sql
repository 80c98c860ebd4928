-- A second place for the daily backups: another disk, a folder that is carried away. At most one row; without one, or with
-- an empty folder, backups lie beside the book only. `folder` is an absolute path on the machine that serves the book.
CREATE TABLE backup_place (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version INTEGER NOT NULL DEFAULT 1,
    folder TEXT NOT NULL
) STRICT;
