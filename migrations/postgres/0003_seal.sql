-- The history sealed by a chain of hashes for each fleet.
-- fleet, position: the place in the fleet's chain, 1, 2, 3, … without gaps.
-- sequence: the entry of history that is sealed there.
-- hash: SHA-256 over the hash before it and every field of the entry (server/store/src/seal.rs).
CREATE TABLE seal (
    fleet    TEXT COLLATE "C" NOT NULL,
    position BIGINT NOT NULL,
    sequence BIGINT NOT NULL,
    hash     BYTEA  NOT NULL,
    CONSTRAINT seal_pk PRIMARY KEY (fleet, position),
    CONSTRAINT seal_sequence_unique UNIQUE (sequence),
    CONSTRAINT seal_position_check CHECK (position >= 1),
    CONSTRAINT seal_hash_check CHECK (length(hash) = 32)
);

CREATE TRIGGER seal_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON seal
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_history_change();

-- Entries that wait for their seal. A trigger fills it in the transaction that writes the entry, so that none is forgotten,
-- also none of a server that knows nothing of seals.
CREATE TABLE unsealed (
    sequence BIGINT NOT NULL,
    CONSTRAINT unsealed_pk PRIMARY KEY (sequence)
);

CREATE FUNCTION await_seal() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO unsealed (sequence) SELECT sequence FROM added;
    RETURN NULL;
END
$$;

CREATE TRIGGER history_await_seal AFTER INSERT ON history
    REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION await_seal();

INSERT INTO unsealed (sequence) SELECT sequence FROM history;

-- For lists of history by kind, by person and by time.
CREATE INDEX history_kind ON history (fleet, kind, sequence);
CREATE INDEX history_actor ON history (fleet, actor, sequence);
CREATE INDEX history_time ON history (fleet, time);
