-- Schema 4: what thermometers showed. Readings are no acts: one thermometer brings more of
-- them in an hour than a shop does acts in a year. n is 0 for the value that stands at a
-- time; another value for that time is set aside under 1, 2, and so on. Values are whole
-- thousandths of a degree Celsius; batch is empty where none was said.

CREATE TABLE reading (
    probe       INTEGER NOT NULL REFERENCES thing (id),
    at_ms       INTEGER NOT NULL CHECK (at_ms > 0),
    n           INTEGER NOT NULL CHECK (n >= 0),
    milli_c     INTEGER NOT NULL CHECK (milli_c BETWEEN -40000 AND 400000),
    looks_in    TEXT NOT NULL CHECK (looks_in <> ''),
    batch       TEXT NOT NULL,
    source      TEXT NOT NULL CHECK (source <> ''),
    brought_by  TEXT NOT NULL CHECK (brought_by <> ''),
    received_ms INTEGER NOT NULL,
    PRIMARY KEY (probe, at_ms, n)
) STRICT;

CREATE INDEX reading_by_time ON reading (at_ms);

CREATE INDEX reading_by_batch ON reading (batch, at_ms);
