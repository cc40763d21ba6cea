-- The record: resources, what they refer to, revisions, history, requests, tokens.
-- The PostgreSQL text of the same version says what every table is for.

CREATE TABLE resource (
    name        TEXT    NOT NULL,
    kind        TEXT    NOT NULL,
    parent      TEXT,
    scope       TEXT    NOT NULL,
    revision    INTEGER NOT NULL,
    create_time INTEGER NOT NULL,
    update_time INTEGER NOT NULL,
    body        BLOB    NOT NULL,
    CONSTRAINT resource_pk PRIMARY KEY (name),
    CONSTRAINT resource_parent_fk FOREIGN KEY (parent) REFERENCES resource (name) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT resource_name_check CHECK (name <> '' AND instr(name, char(0)) = 0),
    CONSTRAINT resource_kind_check CHECK (kind <> ''),
    CONSTRAINT resource_scope_check CHECK (scope <> ''),
    CONSTRAINT resource_parent_check CHECK (substr(name, 1, length(parent) + 1) = parent || '/'),
    CONSTRAINT resource_revision_check CHECK (revision >= 1)
) STRICT;

CREATE INDEX resource_scope ON resource (scope, kind);
CREATE INDEX resource_listing ON resource (parent, kind, name);

CREATE TABLE reference (
    source TEXT NOT NULL,
    target TEXT NOT NULL,
    CONSTRAINT reference_pk PRIMARY KEY (source, target),
    CONSTRAINT reference_source_fk FOREIGN KEY (source) REFERENCES resource (name)
        ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT reference_target_fk FOREIGN KEY (target) REFERENCES resource (name)
        DEFERRABLE INITIALLY DEFERRED
) STRICT;

CREATE INDEX reference_target ON reference (target, source);

CREATE TABLE revision (
    scope TEXT    NOT NULL,
    value INTEGER NOT NULL,
    CONSTRAINT revision_pk PRIMARY KEY (scope),
    CONSTRAINT revision_value_check CHECK (value >= 1)
) STRICT;

CREATE TABLE history (
    sequence   INTEGER NOT NULL CONSTRAINT history_pk PRIMARY KEY AUTOINCREMENT,
    fleet      TEXT    NOT NULL,
    resource   TEXT    NOT NULL,
    kind       TEXT    NOT NULL,
    time       INTEGER NOT NULL,
    actor      TEXT    NOT NULL,
    action     TEXT    NOT NULL,
    request_id TEXT,
    before     BLOB,
    after      BLOB
) STRICT;

CREATE INDEX history_fleet ON history (fleet, sequence);
CREATE INDEX history_resource ON history (resource, sequence);

CREATE TRIGGER history_no_update BEFORE UPDATE ON history
BEGIN
    SELECT RAISE(ABORT, 'history is append-only');
END;

CREATE TRIGGER history_no_delete BEFORE DELETE ON history
BEGIN
    SELECT RAISE(ABORT, 'history is append-only');
END;

CREATE TABLE request (
    actor      TEXT    NOT NULL,
    request_id TEXT    NOT NULL,
    method     TEXT    NOT NULL,
    digest     BLOB    NOT NULL,
    response   BLOB    NOT NULL,
    time       INTEGER NOT NULL,
    CONSTRAINT request_pk PRIMARY KEY (actor, request_id),
    CONSTRAINT request_id_check CHECK (request_id <> '')
) STRICT;

CREATE INDEX request_time ON request (time);

CREATE TABLE token (
    id           TEXT    NOT NULL,
    hash         BLOB    NOT NULL,
    display_name TEXT    NOT NULL,
    role         TEXT    NOT NULL,
    create_time  INTEGER NOT NULL,
    expire_time  INTEGER,
    revoke_time  INTEGER,
    CONSTRAINT token_pk PRIMARY KEY (id),
    CONSTRAINT token_hash_unique UNIQUE (hash),
    CONSTRAINT token_hash_check CHECK (length(hash) = 32)
) STRICT;
