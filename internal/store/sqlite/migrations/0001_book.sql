-- Schema 1: the book, the log, the definitions, the lines to make.
-- This file is the common text for every engine: another engine's copy differs
-- only in the names of types. What SQLite alone can say is in 0001_guards.sql.

CREATE TABLE book (
    id        INTEGER PRIMARY KEY CHECK (id = 1),
    schema    INTEGER NOT NULL CHECK (schema > 0),
    name      TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    units     TEXT NOT NULL,
    currency  TEXT NOT NULL,
    market    TEXT NOT NULL
) STRICT;

CREATE TABLE person (
    id       TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    pin_hash TEXT NOT NULL,
    may_do   TEXT NOT NULL
) STRICT;

CREATE TABLE device (
    id              TEXT PRIMARY KEY CHECK (id <> ''),
    token_hash      TEXT,
    last_seq        INTEGER NOT NULL CHECK (last_seq >= 0),
    clock_offset_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE act (
    seq          INTEGER PRIMARY KEY CHECK (seq > 0),
    id           TEXT NOT NULL UNIQUE CHECK (id <> ''),
    device       TEXT NOT NULL REFERENCES device (id),
    device_seq   INTEGER NOT NULL CHECK (device_seq > 0),
    person       TEXT NOT NULL,
    at_ms        INTEGER NOT NULL CHECK (at_ms > 0),
    received_ms  INTEGER NOT NULL CHECK (received_ms > 0),
    kind         TEXT NOT NULL CHECK (kind <> ''),
    reason       TEXT NOT NULL,
    corrects_seq INTEGER REFERENCES act (seq) CHECK (corrects_seq < seq),
    body         TEXT NOT NULL,
    prev_hash    TEXT NOT NULL CHECK (length(prev_hash) = 64),
    hash         TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
    UNIQUE (device, device_seq)
) STRICT;

CREATE TABLE thing_kind (
    kind   TEXT PRIMARY KEY,
    place  INTEGER NOT NULL UNIQUE CHECK (place > 0),
    single INTEGER NOT NULL CHECK (single IN (0, 1))
) STRICT;

INSERT INTO thing_kind (kind, place, single) VALUES
    ('shop', 1, 1), ('room', 2, 1), ('kettle', 3, 0), ('slab', 4, 0), ('hook', 5, 0), ('machine', 6, 0),
    ('rolls', 7, 0), ('board', 8, 0), ('bench', 9, 0), ('sieve', 10, 0), ('scale', 11, 0), ('glass', 12, 0),
    ('hand', 13, 0), ('ingredient', 14, 0), ('recipe', 15, 0), ('product', 16, 0), ('day', 17, 1), ('stock', 18, 1);

CREATE TABLE thing (
    id      INTEGER PRIMARY KEY CHECK (id > 0),
    kind    TEXT NOT NULL REFERENCES thing_kind (kind),
    slug    TEXT NOT NULL CHECK (length(slug) BETWEEN 1 AND 64),
    place   INTEGER NOT NULL CHECK (place > 0),
    retired INTEGER NOT NULL CHECK (retired IN (0, 1)),
    head_n  INTEGER NOT NULL CHECK (head_n > 0),
    UNIQUE (kind, slug)
) STRICT;

CREATE TABLE revision (
    id     INTEGER PRIMARY KEY CHECK (id > 0),
    thing  INTEGER NOT NULL REFERENCES thing (id),
    n      INTEGER NOT NULL CHECK (n > 0),
    body   TEXT NOT NULL,
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    act    INTEGER NOT NULL REFERENCES act (seq),
    UNIQUE (thing, n)
) STRICT;

CREATE INDEX revision_by_act ON revision (act);

CREATE TABLE revision_ref (
    revision INTEGER NOT NULL REFERENCES revision (id),
    thing    INTEGER NOT NULL REFERENCES thing (id),
    role     TEXT NOT NULL CHECK (role <> ''),
    PRIMARY KEY (revision, thing, role)
) STRICT;

CREATE INDEX revision_ref_by_thing ON revision_ref (thing);

CREATE TABLE to_make (
    place    INTEGER PRIMARY KEY CHECK (place > 0),
    product  INTEGER NOT NULL REFERENCES thing (id),
    bags     INTEGER NOT NULL CHECK (bags >= 0),
    must     INTEGER NOT NULL CHECK (must IN (0, 1)),
    due      TEXT NOT NULL,
    for_whom TEXT NOT NULL
) STRICT;
