-- Schema 4: pictures and papers of batches and lots. The bytes are found by their sum and
-- kept once; attached says which act brought which to what. Of an attachment without its
-- act nothing is known but its bytes.

CREATE TABLE attachment (
    sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    data   BLOB NOT NULL CHECK (length(data) BETWEEN 1 AND 1048576)
) STRICT;

CREATE TABLE attached (
    act       INTEGER PRIMARY KEY REFERENCES act (seq),
    of_number TEXT NOT NULL CHECK (of_number <> ''),
    sha256    TEXT NOT NULL REFERENCES attachment (sha256),
    UNIQUE (of_number, sha256)
) STRICT;

CREATE INDEX attached_by_number ON attached (of_number, act);

CREATE INDEX attached_by_sum ON attached (sha256, act);
