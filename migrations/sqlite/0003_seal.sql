-- The history sealed by a chain of hashes for each fleet.
-- The PostgreSQL text of the same version says what every table is for.

CREATE TABLE seal (
    fleet    TEXT    NOT NULL,
    position INTEGER NOT NULL,
    sequence INTEGER NOT NULL,
    hash     BLOB    NOT NULL,
    CONSTRAINT seal_pk PRIMARY KEY (fleet, position),
    CONSTRAINT seal_sequence_unique UNIQUE (sequence),
    CONSTRAINT seal_position_check CHECK (position >= 1),
    CONSTRAINT seal_hash_check CHECK (length(hash) = 32)
) STRICT;

CREATE TRIGGER seal_no_update BEFORE UPDATE ON seal
BEGIN
    SELECT RAISE(ABORT, 'history is append-only');
END;

CREATE TRIGGER seal_no_delete BEFORE DELETE ON seal
BEGIN
    SELECT RAISE(ABORT, 'history is append-only');
END;

CREATE TABLE unsealed (
    sequence INTEGER NOT NULL,
    CONSTRAINT unsealed_pk PRIMARY KEY (sequence)
) STRICT;

CREATE TRIGGER history_await_seal AFTER INSERT ON history
BEGIN
    INSERT INTO unsealed (sequence) VALUES (NEW.sequence);
END;

INSERT INTO unsealed (sequence) SELECT sequence FROM history;

CREATE INDEX history_kind ON history (fleet, kind, sequence);
CREATE INDEX history_actor ON history (fleet, actor, sequence);
CREATE INDEX history_time ON history (fleet, time);
