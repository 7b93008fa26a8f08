-- Schema 4, SQLite only: what is attached is never written over.

CREATE TRIGGER attachment_no_update BEFORE UPDATE ON attachment
BEGIN SELECT RAISE(ABORT, 'an attachment is never changed'); END;

CREATE TRIGGER attachment_no_delete BEFORE DELETE ON attachment
BEGIN SELECT RAISE(ABORT, 'an attachment is never deleted'); END;

CREATE TRIGGER attachment_once BEFORE INSERT ON attachment
WHEN EXISTS (SELECT 1 FROM attachment WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'an attachment is kept once'); END;

CREATE TRIGGER attached_no_update BEFORE UPDATE ON attached
BEGIN SELECT RAISE(ABORT, 'what is attached is never changed'); END;

CREATE TRIGGER attached_no_delete BEFORE DELETE ON attached
BEGIN SELECT RAISE(ABORT, 'what is attached is never taken off'); END;

CREATE TRIGGER attached_once BEFORE INSERT ON attached
WHEN EXISTS (SELECT 1 FROM attached WHERE act = NEW.act OR of_number = NEW.of_number AND sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'a file is attached once'); END;
