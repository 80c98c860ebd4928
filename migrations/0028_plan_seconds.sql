-- How many seconds the plan of a stem order may take before it is shown as far as it has come.
ALTER TABLE studio ADD COLUMN plan_seconds INTEGER NOT NULL DEFAULT 10 CHECK (plan_seconds BETWEEN 1 AND 120);
