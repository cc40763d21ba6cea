-- What a token is limited to, and when it was last used.
-- fleets, vehicles: full names, one a line; empty: not limited.
-- last_use_time: within a minute, so that reading does not become writing.
ALTER TABLE token ADD COLUMN fleets TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE token ADD COLUMN vehicles TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE token ADD COLUMN last_use_time BIGINT;
