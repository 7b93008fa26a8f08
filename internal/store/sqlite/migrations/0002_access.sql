-- Schema 2: who may do what, one document that is changed whole, and no part of
-- the log. The table of people that nothing was ever kept in goes.

CREATE TABLE access (
    id   INTEGER PRIMARY KEY CHECK (id = 1),
    body TEXT NOT NULL
) STRICT;

DROP TABLE person;
