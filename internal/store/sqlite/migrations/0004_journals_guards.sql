-- Schema 4, SQLite only: an entry of a journal is never written over.

CREATE TRIGGER jot_no_update BEFORE UPDATE ON jot
BEGIN SELECT RAISE(ABORT, 'an entry of a journal is never changed'); END;

CREATE TRIGGER jot_no_delete BEFORE DELETE ON jot
BEGIN SELECT RAISE(ABORT, 'an entry of a journal is never deleted'); END;

CREATE TRIGGER jot_once BEFORE INSERT ON jot
WHEN EXISTS (SELECT 1 FROM jot WHERE act = NEW.act)
BEGIN SELECT RAISE(ABORT, 'an entry of a journal is made once'); END;

CREATE TRIGGER jot_subject_no_delete BEFORE DELETE ON jot_subject
BEGIN SELECT RAISE(ABORT, 'a ledger is never deleted'); END;
