-- Schema 4, SQLite only: an entry of a lot is never written over.

CREATE TRIGGER lot_entry_no_update BEFORE UPDATE ON lot_entry
BEGIN SELECT RAISE(ABORT, 'an entry of a lot is never changed'); END;

CREATE TRIGGER lot_entry_no_delete BEFORE DELETE ON lot_entry
BEGIN SELECT RAISE(ABORT, 'an entry of a lot is never deleted'); END;

CREATE TRIGGER lot_entry_once BEFORE INSERT ON lot_entry
WHEN EXISTS (SELECT 1 FROM lot_entry WHERE act = NEW.act AND lot = NEW.lot)
BEGIN SELECT RAISE(ABORT, 'an entry of a lot is made once'); END;

CREATE TRIGGER lot_no_delete BEFORE DELETE ON lot
BEGIN SELECT RAISE(ABORT, 'a lot is never deleted'); END;
