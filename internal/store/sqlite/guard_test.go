package sqlite_test

import (
	"context"
	"database/sql"
	"errors"
	"strings"
	"testing"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"slabside/internal/fault"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
)

// rawDB opens a book's file past the Keeper, as a careless tool would: with the
// foreign keys off.
func rawDB(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// TestGuards tries to write over what was written.
func TestGuards(t *testing.T) {
	t.Parallel()
	path := filled(t)
	db := rawDB(t, path)
	before := export(t, open(t, path, sqlite.Options{}))
	again := "INSERT OR REPLACE INTO act SELECT seq, id, device, device_seq, person, at_ms, received_ms, kind, 'another', corrects_seq, body, prev_hash, hash FROM act WHERE seq = "
	const cols = "device, 7, person, at_ms, received_ms, kind, reason, corrects_seq, body, hash, "
	for _, s := range []string{
		"UPDATE act SET reason = 'another' WHERE seq = 2",
		"UPDATE act SET seq = 9 WHERE seq = 6",
		"DELETE FROM act WHERE seq = 6",
		"DELETE FROM act",
		again + "6",
		again + "1",
		"INSERT INTO act SELECT 8, 'x', " + cols + "'" + strings.Repeat("a", 64) + "' FROM act WHERE seq = 6",                                          // a gap
		"INSERT INTO act SELECT 7, 'x', " + cols + "'" + strings.Repeat("a", 64) + "' FROM act WHERE seq = 5",                                          // another's hash before it
		"INSERT OR REPLACE INTO act SELECT 7, 'desk-2', " + cols + "'" + strings.Repeat("a", 64) + "' FROM act WHERE seq = 6",                          // puts out by id
		"INSERT OR REPLACE INTO act SELECT 7, 'x', " + cols + "(SELECT hash FROM act WHERE seq = 2) FROM act WHERE seq = 6",                            // by hash
		"INSERT OR REPLACE INTO act SELECT 7, 'x', " + strings.Replace(cols, "7", "3", 1) + "'" + strings.Repeat("a", 64) + "' FROM act WHERE seq = 6", // by device
		"UPDATE batch_entry SET kind = 'worked' WHERE act = 7",
		"DELETE FROM batch_entry",
		"INSERT OR REPLACE INTO batch_entry SELECT act, batch, 'worked' FROM batch_entry",
		"DELETE FROM batch",
		"UPDATE lot_entry SET kind = 'used' WHERE act = 12",
		"DELETE FROM lot_entry",
		"INSERT OR REPLACE INTO lot_entry SELECT act, lot, 'counted' FROM lot_entry",
		"DELETE FROM lot",
		"UPDATE attachment SET data = x'00'",
		"DELETE FROM attachment",
		"INSERT OR REPLACE INTO attachment SELECT sha256, x'00' FROM attachment",
		"UPDATE attached SET of_number = 'other'",
		"DELETE FROM attached",
		"INSERT OR REPLACE INTO attached SELECT act, 'other', sha256 FROM attached",
		"INSERT OR REPLACE INTO attached SELECT 12, of_number, sha256 FROM attached",
		"UPDATE reading SET milli_c = 0",
		"DELETE FROM reading WHERE n > 0",
		"INSERT OR REPLACE INTO reading SELECT probe, at_ms, n, 0, looks_in, batch, source, brought_by, received_ms FROM reading",
		"UPDATE revision SET body = '{}' WHERE id = 3",
		"DELETE FROM revision WHERE id = 35",
		"INSERT OR REPLACE INTO revision SELECT id, thing, n, '{}', sha256, act FROM revision WHERE id = 3",
		"INSERT OR REPLACE INTO revision SELECT 36, thing, n, '{}', sha256, act FROM revision WHERE id = 3",
		"INSERT INTO revision SELECT 4000, thing, n + 1, '{}', sha256, act FROM revision WHERE id = 3",
		"INSERT INTO revision SELECT 36, thing, n + 2, '{}', sha256, act FROM revision WHERE id = 3",
		"UPDATE revision_ref SET role = 'other'",
		"DELETE FROM revision_ref",
		"UPDATE thing SET slug = 'renamed' WHERE slug = 'spare'",
		"UPDATE thing SET kind = 'recipe' WHERE slug = 'spare'",
		"UPDATE OR REPLACE thing SET slug = 'other' WHERE slug = 'spare'",
		"DELETE FROM thing WHERE slug = 'spare'",
		"INSERT OR REPLACE INTO thing SELECT id, kind, slug, 1, 0, 1 FROM thing WHERE slug = 'spare'",
		"INSERT OR REPLACE INTO thing SELECT 99, kind, slug, 1, 0, 1 FROM thing WHERE slug = 'spare'",
	} {
		_, err := db.Exec(s)
		var e *driver.Error
		if !errors.As(err, &e) || e.Code() != lib.SQLITE_CONSTRAINT_TRIGGER {
			t.Errorf("%s: %v, want the trigger's refusal", s, err)
		}
	}
	if after := export(t, open(t, path, sqlite.Options{})); after != before {
		t.Error("the book changed")
	}
}

// TestChecks tries values the tables do not take.
func TestChecks(t *testing.T) {
	t.Parallel()
	db := rawDB(t, filled(t))
	if _, err := db.Exec("PRAGMA foreign_keys = ON"); err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	for _, s := range []string{
		"UPDATE thing SET place = 0",
		"UPDATE thing SET retired = 2",
		"UPDATE thing SET place = 'first'",
		"UPDATE to_make SET bags = -1",
		"UPDATE to_make SET must = 2",
		"UPDATE to_make SET product = 999",
		"UPDATE to_make SET bags = 'many'",
		"UPDATE to_make SET due = NULL",
		"UPDATE book SET id = 2",
		"UPDATE book SET schema = 0",
		"UPDATE device SET last_seq = -1",
		"INSERT INTO thing (id, kind, slug, place, retired, head_n) VALUES (99, 'biscuit', 'a', 1, 0, 1)",
		"INSERT INTO thing (id, kind, slug, place, retired, head_n) VALUES (99, 'recipe', '', 1, 0, 1)",
		"INSERT INTO revision_ref (revision, thing, role) VALUES (1, 999, 'boil')",
		"INSERT INTO revision_ref (revision, thing, role) VALUES (1, 1, '')",
		"INSERT INTO device (id, last_seq, clock_offset_ms) VALUES ('', 0, 0)",
		"UPDATE batch SET recipe = 999",
		"UPDATE batch SET stands = 2",
		"INSERT INTO batch_entry (act, batch, kind) VALUES (2, 'other', 'lifted')",
		"INSERT INTO reading SELECT 999, at_ms, n, milli_c, looks_in, batch, source, brought_by, received_ms FROM reading WHERE n > 0",
		"INSERT INTO reading SELECT probe, at_ms, n + 5, 400001, looks_in, batch, source, brought_by, received_ms FROM reading WHERE n > 0",
		"INSERT INTO reading SELECT probe, at_ms, -1, milli_c, looks_in, batch, source, brought_by, received_ms FROM reading WHERE n > 0",
		"INSERT INTO reading SELECT probe, at_ms, n + 5, milli_c, looks_in, NULL, source, brought_by, received_ms FROM reading WHERE n > 0",
		"UPDATE lot SET ingredient = 999",
		"UPDATE lot SET status = 'lost'",
		"UPDATE lot SET on_hand_mg = on_hand_mg + 1", // it adds up to the milligram
		"UPDATE lot SET unaccounted_mg = unaccounted_mg + 20000000, on_hand_mg = on_hand_mg - 20000000",
		"UPDATE lot SET on_hand_mg = 0.5",
		"INSERT INTO lot_entry (act, lot, kind) VALUES (2, 'other', 'used')",
		"INSERT INTO attachment (sha256, data) VALUES ('short', x'00')",
		"INSERT INTO attachment (sha256, data) VALUES ('" + strings.Repeat("a", 64) + "', x'')",
		"INSERT INTO attachment (sha256, data) VALUES ('" + strings.Repeat("a", 64) + "', zeroblob(1048577))",
		"INSERT INTO attached (act, of_number, sha256) VALUES (2, 'r2026-03-14-1', '" + strings.Repeat("a", 64) + "')",
	} {
		_, err := db.Exec(s)
		var e *driver.Error
		if !errors.As(err, &e) || e.Code()&0xff != lib.SQLITE_CONSTRAINT {
			t.Errorf("%s: %v, want a constraint's refusal", s, err)
		}
	}
}

// TestVerify takes the guards off, changes one thing at a time and wants the
// audit to name it.
func TestVerify(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	from := filled(t)
	noGuards := dropGuards(t, from)
	for _, c := range []struct{ change, where, text string }{
		{"UPDATE act SET reason = 'another' WHERE seq = 2", "act 2", "does not match its hash"},
		{"UPDATE act SET person = 'Eve' WHERE seq = 6", "act 6", "does not match its hash"},
		{"UPDATE act SET at_ms = at_ms + 1 WHERE seq = 3", "act 3", "does not match its hash"},
		{"UPDATE act SET body = '{}' WHERE seq = 6", "act 6", "does not match its hash"},
		{"UPDATE act SET prev_hash = hash WHERE seq = 4", "act 4", "does not hold on to"},
		{"DELETE FROM act WHERE seq = 3", "act 4", "act 4 follows act 2"},
		{"DELETE FROM act WHERE seq = 1", "act 2", "act 2 follows act 0"},
		{"UPDATE act SET corrects_seq = 1 WHERE seq = 4", "act 4", "does not match its hash"},
		{"UPDATE revision SET body = replace(body, 'Another', 'Anothen')", "revision", "does not match its sum"},
		{"UPDATE revision SET sha256 = '" + strings.Repeat("a", 64) + "' WHERE id = 4", "revision 4", "does not match its sum"},
		{"UPDATE revision SET thing = thing + 1 WHERE id = (SELECT max(id) FROM revision)", "revision", "has another revision here"},
		{"DELETE FROM revision WHERE id = 10", "act 1", "1 of the revisions of act 1 are missing"},
		{"DELETE FROM revision_ref WHERE role = 'rolls'", "revision", "its uses are kept as"},
		{"UPDATE revision_ref SET role = 'other' WHERE role = 'glass'", "revision", "its uses are kept as"},
		{"INSERT INTO revision_ref (revision, thing, role) VALUES (1, 2, 'boil')", "revision 1", "its uses are kept as [boil"},
		{"INSERT INTO revision_ref (revision, thing, role) VALUES (99, 2, 'boil')", "uses", "revisions that are not there"},
		{"UPDATE thing SET retired = 1 WHERE slug = 'spare'", "things", "ingredient spare is kept as revision 1, retired true"},
		{"UPDATE thing SET place = 99 WHERE slug = 'glass-y1'", "things", "the order of the glass list"},
		{"UPDATE thing SET head_n = 1 WHERE slug = 'recipe-z0'", "things", "recipe recipe-z0 is kept as revision 1"},
		{"UPDATE thing SET slug = 'renamed' WHERE slug = 'spare'", "revision 27", "has another revision here"},
		{"UPDATE to_make SET bags = bags + 1", "to make", "are not the log's"},
		{"DELETE FROM to_make", "to make", "are not the log's"},
		{"UPDATE to_make_before SET body = '[{}]'", "to make before", "are not the log's"},
		{"UPDATE to_make_before SET body = 'x'", "to make before", "cannot be read"},
		{"UPDATE book SET time_zone = 'UTC'", "book", "is not its shop's"},
		{"UPDATE book SET schema = 9", "book", "schema 9"},
		{"DELETE FROM book", "book", "is not its shop's"},
		{"UPDATE device SET last_seq = 99", "device desk", "kept as 99, the log says 14"},
		{"INSERT INTO device (id, last_seq, clock_offset_ms) VALUES ('x', 1, 0)", "devices", "are not the log's"},
		{"UPDATE batch SET on_date = '2026-03-13'", "batch 2026-03-14-1", "its row is not the log's"},
		{"UPDATE batch SET stands = 0", "batch 2026-03-14-1", "its row is not the log's"},
		{"DELETE FROM batch", "batch 2026-03-14-1", "its row is not the log's"},
		{"DELETE FROM batch_entry WHERE act = 7", "batch 2026-03-14-1", "its entries are kept as"},
		{"UPDATE batch_entry SET kind = 'worked' WHERE act = 7", "batch 2026-03-14-1", "its entries are kept as"},
		{"INSERT INTO batch_entry (act, batch, kind) VALUES (1, '2026-03-14-1', 'lifted')", "batch 2026-03-14-1", "its entries are kept as"},
		{"INSERT INTO batch (id, on_date, n, recipe, glass, begun, stands) SELECT '2026-03-14-2', on_date, 2, recipe, glass, begun, 1 FROM batch", "batches", "1 that are not in the log"},
		{"UPDATE lot SET on_hand_mg = on_hand_mg + 1, unaccounted_mg = unaccounted_mg - 1", "lot r2026-03-14-1", "its row is not the log's"},
		{"UPDATE lot SET status = 'usable'", "lot r2026-03-14-1", "its row is not the log's"},
		{"UPDATE lot SET best_before = '2027-01-01'", "lot r2026-03-14-1", "its row is not the log's"},
		{"UPDATE lot SET stands = 0", "lot r2026-03-14-1", "its row is not the log's"},
		{"DELETE FROM lot", "lot r2026-03-14-1", "its row is not the log's"},
		{"DELETE FROM lot_entry WHERE act = 12", "lot r2026-03-14-1", "its entries are kept as"},
		{"UPDATE lot_entry SET kind = 'wasted' WHERE act = 10", "lot r2026-03-14-1", "its entries are kept as"},
		{"INSERT INTO lot_entry (act, lot, kind) VALUES (2, 'r2026-03-14-2', 'used')", "lots", "1 that are not in the log"},
		{"UPDATE attachment SET data = CAST(data || x'00' AS BLOB)", "act 13", "not those of the sum"},
		{"UPDATE attachment SET data = x'00'", "act 13", "neither a JPEG"},
		{"DELETE FROM attachment", "act 13", "are missing"},
		{"INSERT INTO attachment (sha256, data) VALUES ('" + strings.Repeat("a", 64) + "', x'00')", "attachments", "1 files are kept that no act attaches"},
		{"UPDATE attached SET act = 12", "attached to 2026-03-14-1", "is not what the log attaches"},
		{"UPDATE attached SET of_number = 'r2026-03-14-1'", "attached to 2026-03-14-1", "is not what the log attaches"},
		{"UPDATE attached SET of_number = 'r2026-03-14-1'", "attached", "1 numbers have attachments"},
		{"DELETE FROM attached", "attached to 2026-03-14-1", "is not what the log attaches"},
		{"UPDATE reading SET probe = (SELECT id FROM thing WHERE slug = 'spare')", "reading of spare at 2026-03-14T12:00:00.25Z", "of the kind ingredient"},
		{"UPDATE reading SET probe = 999", "table reading", "refers to a row of thing"},
		{"UPDATE reading SET at_ms = at_ms + 86400000", "reading of", "has not come yet"},
		{"UPDATE reading SET at_ms = at_ms - 1700000000000", "reading of", "before there were readings"},
		{"DELETE FROM reading WHERE n = 0", "reading of", "it is number 1 of its time where 0 were kept"},
		{"UPDATE reading SET n = n + 1 WHERE n = 2", "reading of", "it is number 3 of its time where 2 were kept"},
		{"UPDATE reading SET milli_c = (SELECT max(milli_c) FROM reading), looks_in = 'kettle'", "reading of", "it is kept twice"},
		{"UPDATE reading SET looks_in = 'moon'", "reading of", "does not look at"},
		{"UPDATE reading SET batch = '2026-03-14-9' WHERE batch <> ''", "reading of", "of a batch that is not there"},
		{"UPDATE reading SET source = 'guessed'", "reading of", "no way in which a reading comes"},
		{"UPDATE to_make SET product = 999", "table to_make", "refers to a row of thing"},
	} {
		path := t.TempDir() + "/book.db"
		copyFile(t, noGuards, path)
		db := rawDB(t, path)
		if r, err := db.Exec(c.change); err != nil {
			t.Fatalf("%s: %v", c.change, err)
		} else if n, err := r.RowsAffected(); n == 0 || err != nil {
			t.Fatalf("%s: changed nothing", c.change)
		}
		db.Close()
		a, err := open(t, path, sqlite.Options{}).Verify(ctx)
		if err != nil {
			t.Errorf("%s: %v", c.change, err)
			continue
		}
		found := false
		for _, p := range a.Problems {
			found = found || strings.HasPrefix(p.Where, c.where) && strings.Contains(p.Text, c.text)
		}
		if !found {
			t.Errorf("%s: the audit found %v, want %q at %q", c.change, a.Problems, c.text, c.where)
		}
	}
	// A person whom a line is for may be taken out, and nothing breaks.
	db := rawDB(t, from)
	if _, err := db.Exec("UPDATE to_make SET for_whom = ''"); err != nil {
		t.Fatal(err)
	}
	if a, err := open(t, from, sqlite.Options{}).Verify(ctx); err != nil || len(a.Problems) > 0 {
		t.Errorf("a name taken out: %v, %v", a.Problems, err)
	}
}

// TestSums: a body that does not match its sum is not handed out as if it did,
// even where it still reads as a definition.
func TestSums(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := dropGuards(t, filled(t))
	db := rawDB(t, path)
	if _, err := db.Exec("UPDATE revision SET body = replace(body, 'Another', 'Anothen')"); err != nil {
		t.Fatal(err)
	}
	k := open(t, path, sqlite.Options{})
	if _, _, err := k.Book(ctx); fault.KindOf(err) != fault.KindInternal || !strings.Contains(err.Error(), "is damaged (restore a backup") {
		t.Errorf("Book: %v, want damaged", err)
	}
	if _, err := k.Versions(ctx, store.KindRecipe, "recipe-z0", 0, 9); fault.KindOf(err) != fault.KindInternal {
		t.Errorf("Revisions: %v, want damaged", err)
	}
}

// dropGuards returns a copy of a book without its triggers.
func dropGuards(t *testing.T, from string) string {
	t.Helper()
	path := t.TempDir() + "/bare.db"
	copyFile(t, from, path)
	db := rawDB(t, path)
	rows, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	if err := rows.Close(); err != nil || len(names) < 10 {
		t.Fatalf("triggers %v, %v", names, err)
	}
	for _, name := range names {
		if _, err := db.Exec("DROP TRIGGER " + name); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}
