-- Schema 4: what is written of batches. An entry is an act; these tables say whose
-- it is, so that a record is found without reading the log. A batch row follows the
-- entry that begins the batch as it stands; a batch whose beginning was taken back
-- has none that stands.

CREATE TABLE batch (
    id      TEXT PRIMARY KEY CHECK (id <> ''),
    on_date TEXT NOT NULL,
    n       INTEGER NOT NULL CHECK (n >= 0),
    recipe  INTEGER NOT NULL REFERENCES thing (id),
    glass   INTEGER NOT NULL REFERENCES thing (id),
    begun   INTEGER NOT NULL REFERENCES act (seq),
    stands  INTEGER NOT NULL CHECK (stands IN (0, 1)),
    place   TEXT NOT NULL DEFAULT 'usable' CHECK (place <> '') -- what may be done with it
) STRICT;

CREATE INDEX batch_by_day ON batch (on_date, n, id);

CREATE INDEX batch_stopped ON batch (on_date) WHERE place IN ('hold', 'reboil', 'bin');

CREATE TABLE batch_entry (
    act   INTEGER PRIMARY KEY REFERENCES act (seq),
    batch TEXT NOT NULL REFERENCES batch (id),
    kind  TEXT NOT NULL CHECK (kind <> '')
) STRICT;

CREATE INDEX batch_entry_by_batch ON batch_entry (batch, act);
