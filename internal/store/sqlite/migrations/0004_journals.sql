-- Schema 4: journals, ledgers of further kinds. An entry is an act; jot says in which
-- ledger of which journal it stands. A row of jot_subject follows the ledger as it
-- stands, so that it is found without reading the log: its day and number, what of the
-- shop book it is of, and whether anything is left or to do.

CREATE TABLE jot_subject (
    journal TEXT NOT NULL CHECK (journal <> ''),
    subject TEXT NOT NULL CHECK (subject <> ''),
    on_date TEXT NOT NULL,
    n       INTEGER NOT NULL CHECK (n >= 0),
    of_id   TEXT NOT NULL,
    live    INTEGER NOT NULL CHECK (live IN (0, 1)),
    stands  INTEGER NOT NULL CHECK (stands IN (0, 1)),
    PRIMARY KEY (journal, subject)
) STRICT;

CREATE INDEX jot_subject_by_day ON jot_subject (journal, on_date, n, subject);

CREATE INDEX jot_subject_live ON jot_subject (journal, live, on_date);

CREATE TABLE jot (
    act     INTEGER PRIMARY KEY REFERENCES act (seq),
    journal TEXT NOT NULL,
    subject TEXT NOT NULL,
    kind    TEXT NOT NULL CHECK (kind <> ''),
    FOREIGN KEY (journal, subject) REFERENCES jot_subject (journal, subject)
) STRICT;

CREATE INDEX jot_by_subject ON jot (journal, subject, act);
