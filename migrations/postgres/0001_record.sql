-- The record: resources, what they refer to, revisions, history, requests, tokens.
-- Every time is in microseconds since 1970-01-01T00:00:00Z. Names compare byte by byte
-- (COLLATE "C"), as they do in SQLite, so that pages and prefix ranges are the same in both.

-- One row a resource. The body is encoded by the server and opaque here: the record is always
-- consumed whole, so only identity, scope, revision and references are columns.
-- scope: the fleet, vehicle or departure whose record this row is read with.
-- revision: 1 when created, one more at every change; what an etag is made of.
CREATE TABLE resource (
    name        TEXT COLLATE "C" NOT NULL,
    kind        TEXT COLLATE "C" NOT NULL,
    parent      TEXT COLLATE "C",
    scope       TEXT COLLATE "C" NOT NULL,
    revision    BIGINT NOT NULL,
    create_time BIGINT NOT NULL,
    update_time BIGINT NOT NULL,
    body        BYTEA  NOT NULL,
    CONSTRAINT resource_pk PRIMARY KEY (name),
    CONSTRAINT resource_parent_fk FOREIGN KEY (parent) REFERENCES resource (name) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT resource_name_check CHECK (name <> ''),
    CONSTRAINT resource_kind_check CHECK (kind <> ''),
    CONSTRAINT resource_scope_check CHECK (scope <> ''),
    CONSTRAINT resource_parent_check CHECK (substr(name, 1, length(parent) + 1) = parent || '/'),
    CONSTRAINT resource_revision_check CHECK (revision >= 1)
);

CREATE INDEX resource_scope ON resource (scope, kind);
-- Serves the listing of one kind under one parent, and the foreign key on parent.
CREATE INDEX resource_listing ON resource (parent, kind, name);

-- Which resource names which other in its body. A resource that is still named cannot be deleted.
-- The checks wait for the end of the transaction, so an import may come in any order.
CREATE TABLE reference (
    source TEXT COLLATE "C" NOT NULL,
    target TEXT COLLATE "C" NOT NULL,
    CONSTRAINT reference_pk PRIMARY KEY (source, target),
    CONSTRAINT reference_source_fk FOREIGN KEY (source) REFERENCES resource (name)
        ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT reference_target_fk FOREIGN KEY (target) REFERENCES resource (name)
        DEFERRABLE INITIALLY DEFERRED
);

CREATE INDEX reference_target ON reference (target, source);

-- How often anything in a scope has changed. A row outlives its scope: a vehicle deleted and
-- made again goes on counting, so a result cached by revision can never be mistaken for its own.
CREATE TABLE revision (
    scope TEXT COLLATE "C" NOT NULL,
    value BIGINT NOT NULL,
    CONSTRAINT revision_pk PRIMARY KEY (scope),
    CONSTRAINT revision_value_check CHECK (value >= 1)
);

-- Who did what, when, with the body before and after. Append-only, and kept so by a trigger.
CREATE TABLE history (
    sequence   BIGINT GENERATED ALWAYS AS IDENTITY,
    fleet      TEXT COLLATE "C" NOT NULL,
    resource   TEXT COLLATE "C" NOT NULL,
    kind       TEXT COLLATE "C" NOT NULL,
    time       BIGINT NOT NULL,
    actor      TEXT COLLATE "C" NOT NULL,
    action     TEXT COLLATE "C" NOT NULL,
    request_id TEXT COLLATE "C",
    before     BYTEA,
    after      BYTEA,
    CONSTRAINT history_pk PRIMARY KEY (sequence)
);

CREATE INDEX history_fleet ON history (fleet, sequence);
CREATE INDEX history_resource ON history (resource, sequence);

CREATE FUNCTION refuse_history_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'history is append-only' USING ERRCODE = 'integrity_constraint_violation';
END
$$;

CREATE TRIGGER history_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON history
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_history_change();

-- The first answer to each write, so that a repeat changes nothing and is answered the same.
CREATE TABLE request (
    actor      TEXT COLLATE "C" NOT NULL,
    request_id TEXT COLLATE "C" NOT NULL,
    method     TEXT COLLATE "C" NOT NULL,
    digest     BYTEA  NOT NULL,
    response   BYTEA  NOT NULL,
    time       BIGINT NOT NULL,
    CONSTRAINT request_pk PRIMARY KEY (actor, request_id),
    CONSTRAINT request_id_check CHECK (request_id <> '')
);

CREATE INDEX request_time ON request (time);

-- Access tokens. Only the SHA-256 hash of a token is kept, never the token.
CREATE TABLE token (
    id           TEXT COLLATE "C" NOT NULL,
    hash         BYTEA  NOT NULL,
    display_name TEXT COLLATE "C" NOT NULL,
    role         TEXT COLLATE "C" NOT NULL,
    create_time  BIGINT NOT NULL,
    expire_time  BIGINT,
    revoke_time  BIGINT,
    CONSTRAINT token_pk PRIMARY KEY (id),
    CONSTRAINT token_hash_unique UNIQUE (hash),
    CONSTRAINT token_hash_check CHECK (length(hash) = 32)
);
