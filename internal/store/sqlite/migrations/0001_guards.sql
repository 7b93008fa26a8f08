-- Schema 1, SQLite only: what was written is never written over. REPLACE does
-- not fire delete triggers, so inserts are guarded as well.

CREATE TRIGGER act_no_update BEFORE UPDATE ON act
BEGIN SELECT RAISE(ABORT, 'an act is never changed'); END;

CREATE TRIGGER act_no_delete BEFORE DELETE ON act
BEGIN SELECT RAISE(ABORT, 'an act is never deleted'); END;

CREATE TRIGGER act_follows BEFORE INSERT ON act
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM act)
    OR NEW.prev_hash IS NOT coalesce((SELECT hash FROM act ORDER BY seq DESC LIMIT 1),
        '0000000000000000000000000000000000000000000000000000000000000000')
    OR EXISTS (SELECT 1 FROM act WHERE id = NEW.id)
    OR EXISTS (SELECT 1 FROM act WHERE hash = NEW.hash)
    OR EXISTS (SELECT 1 FROM act WHERE device = NEW.device AND device_seq = NEW.device_seq)
BEGIN SELECT RAISE(ABORT, 'an act follows the last one'); END;

CREATE TRIGGER revision_no_update BEFORE UPDATE ON revision
BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;

CREATE TRIGGER revision_no_delete BEFORE DELETE ON revision
BEGIN SELECT RAISE(ABORT, 'a revision is never deleted'); END;

CREATE TRIGGER revision_follows BEFORE INSERT ON revision
WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM revision)
    OR NEW.n IS NOT (SELECT coalesce(max(n), 0) + 1 FROM revision WHERE thing = NEW.thing)
BEGIN SELECT RAISE(ABORT, 'a revision follows the last one'); END;

CREATE TRIGGER revision_ref_no_update BEFORE UPDATE ON revision_ref
BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;

CREATE TRIGGER revision_ref_no_delete BEFORE DELETE ON revision_ref
BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;

CREATE TRIGGER thing_keeps_name BEFORE UPDATE OF id, kind, slug ON thing
WHEN NEW.id IS NOT OLD.id OR NEW.kind IS NOT OLD.kind OR NEW.slug IS NOT OLD.slug
BEGIN SELECT RAISE(ABORT, 'a thing keeps its kind and slug'); END;

CREATE TRIGGER thing_no_delete BEFORE DELETE ON thing
BEGIN SELECT RAISE(ABORT, 'a thing is retired, not deleted'); END;

CREATE TRIGGER thing_once BEFORE INSERT ON thing
WHEN EXISTS (SELECT 1 FROM thing WHERE id = NEW.id)
    OR EXISTS (SELECT 1 FROM thing WHERE kind = NEW.kind AND slug = NEW.slug)
BEGIN SELECT RAISE(ABORT, 'a thing is made once'); END;
