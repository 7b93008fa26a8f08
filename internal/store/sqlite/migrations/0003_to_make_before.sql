-- Schema 3: the lines to make as they stood before the last act, if that act
-- changed them: an act does not say whom a line was for, and to undo it that must
-- be known. One row at most; the next act clears it.

CREATE TABLE to_make_before (
    act  INTEGER PRIMARY KEY REFERENCES act (seq),
    body TEXT NOT NULL
) STRICT;
