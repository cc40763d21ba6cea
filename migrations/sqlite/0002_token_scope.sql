-- What a token is limited to, and when it was last used.
-- The PostgreSQL text of the same version says what every column is for.
ALTER TABLE token ADD COLUMN fleets TEXT NOT NULL DEFAULT '';
ALTER TABLE token ADD COLUMN vehicles TEXT NOT NULL DEFAULT '';
ALTER TABLE token ADD COLUMN last_use_time INTEGER;
