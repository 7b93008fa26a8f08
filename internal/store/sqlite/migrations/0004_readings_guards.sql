-- Schema 4, SQLite only: a reading is never written over.

CREATE TRIGGER reading_no_update BEFORE UPDATE ON reading
BEGIN SELECT RAISE(ABORT, 'a reading is never changed'); END;

CREATE TRIGGER reading_no_delete BEFORE DELETE ON reading
BEGIN SELECT RAISE(ABORT, 'a reading is never deleted'); END;

CREATE TRIGGER reading_once BEFORE INSERT ON reading
WHEN EXISTS (SELECT 1 FROM reading WHERE probe = NEW.probe AND at_ms = NEW.at_ms AND n = NEW.n)
BEGIN SELECT RAISE(ABORT, 'a reading is kept once'); END;
