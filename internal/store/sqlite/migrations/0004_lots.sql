-- Schema 4: what came into the stores. An entry is an act; lot_entry says whose it is.
-- A row of lot follows the ledger as it stands, so that what is on hand is found without
-- reading the log; its masses are whole milligrams and always add up. A lot without a
-- best-before date has '9999-99-99' there, so that it goes out last.

CREATE TABLE lot (
    id             TEXT PRIMARY KEY CHECK (id <> ''),
    on_date        TEXT NOT NULL,
    n              INTEGER NOT NULL CHECK (n >= 0),
    ingredient     INTEGER NOT NULL REFERENCES thing (id),
    best_before    TEXT NOT NULL CHECK (best_before <> ''),
    status         TEXT NOT NULL CHECK (status IN ('usable', 'quarantine', 'hold', 'condemned')),
    received_mg    INTEGER NOT NULL CHECK (received_mg >= 0),
    used_mg        INTEGER NOT NULL CHECK (used_mg >= 0),
    wasted_mg      INTEGER NOT NULL CHECK (wasted_mg >= 0),
    unaccounted_mg INTEGER NOT NULL,
    on_hand_mg     INTEGER NOT NULL CHECK (on_hand_mg >= 0),
    stands         INTEGER NOT NULL CHECK (stands IN (0, 1)),
    CHECK (received_mg - used_mg - wasted_mg - unaccounted_mg = on_hand_mg)
) STRICT;

CREATE INDEX lot_first_out ON lot (best_before, on_date, n, id);

CREATE INDEX lot_by_ingredient ON lot (ingredient, on_hand_mg);

CREATE INDEX lot_by_day ON lot (on_date, n);

CREATE TABLE lot_entry (
    act  INTEGER NOT NULL REFERENCES act (seq),
    lot  TEXT NOT NULL REFERENCES lot (id),
    kind TEXT NOT NULL CHECK (kind <> ''),
    PRIMARY KEY (act, lot)
) STRICT;

CREATE INDEX lot_entry_by_lot ON lot_entry (lot, act);
