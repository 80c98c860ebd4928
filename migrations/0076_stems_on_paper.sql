-- Whether a quote's papers say how many stems are in each piece; it may be chosen anew for each version.
ALTER TABLE studio ADD COLUMN stems_on_paper INTEGER NOT NULL DEFAULT 0 CHECK (stems_on_paper IN (0, 1));
