-- An extra taken off a pull list can be put back.
ALTER TABLE pull_extra ADD COLUMN removed_at TEXT;
