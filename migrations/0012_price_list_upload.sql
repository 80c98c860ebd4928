-- A price list's file between its preview and its taking in: what was previewed is what is taken in.
-- A number is never given twice, so that no old page speaks of another file. Gone once it is taken in or given up, and a day later in any case.
CREATE TABLE price_list_upload (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    file_name TEXT NOT NULL,
    content TEXT NOT NULL,
    uploaded_at TEXT NOT NULL
) STRICT;
