-- Schema 4, SQLite only: an entry of a batch is never written over.

CREATE TRIGGER batch_entry_no_update BEFORE UPDATE ON batch_entry
BEGIN SELECT RAISE(ABORT, 'an entry of a batch is never changed'); END;

CREATE TRIGGER batch_entry_no_delete BEFORE DELETE ON batch_entry
BEGIN SELECT RAISE(ABORT, 'an entry of a batch is never deleted'); END;

CREATE TRIGGER batch_entry_once BEFORE INSERT ON batch_entry
WHEN EXISTS (SELECT 1 FROM batch_entry WHERE act = NEW.act)
BEGIN SELECT RAISE(ABORT, 'an entry of a batch is made once'); END;

CREATE TRIGGER batch_no_delete BEFORE DELETE ON batch
BEGIN SELECT RAISE(ABORT, 'a batch is never deleted'); END;
