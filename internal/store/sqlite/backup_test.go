package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

func entries(t *testing.T, dir string) []string {
	t.Helper()
	all, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range all {
		names = append(names, e.Name())
	}
	return names
}

// TestBackup: a copy holds what the book holds, alone in its file, and nothing is
// written over.
func TestBackup(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	k := open(t, filled(t), sqlite.Options{})
	dir := t.TempDir()
	file := filepath.Join(dir, "copy of 飴?mode=memory.db")
	c, err := k.Backup(ctx, file)
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(file); err != nil || c.File != file || c.Bytes != info.Size() || c.Audit.Head != storetest.Acts || c.Audit.Batches != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	if d := cmp.Diff([]string{filepath.Base(file)}, entries(t, dir)); d != "" {
		t.Errorf("files in the folder (-want +got):\n%s", d)
	}
	if d := cmp.Diff(export(t, k), export(t, open(t, file, sqlite.Options{MustExist: true, ReadOnly: true}))); d != "" {
		t.Errorf("the copy (-book +copy):\n%s", d)
	}
	if _, err := k.Backup(ctx, file); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("over a file that is there: %v", err)
	}
	if _, err := k.Backup(ctx, filepath.Join(dir, "no", "copy.db")); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("without its folder: %v", err)
	}
}

// TestBackup_together backs up while acts come in: each copy ends at one of them, with
// nothing half done, and no act waits for longer than the copy.
func TestBackup_together(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	k := open(t, filled(t), sqlite.Options{})
	dir := t.TempDir()
	done := make(chan struct{})
	var group sync.WaitGroup
	group.Go(func() {
		defer close(done)
		for i := range 12 {
			if c, err := k.Backup(ctx, filepath.Join(dir, fmt.Sprint(i, ".db"))); err != nil || len(c.Audit.Problems) > 0 {
				t.Errorf("backup %d: %+v, %v", i, c, err)
			}
		}
	})
	head := store.Head(storetest.Acts)
	for busy := true; busy; {
		if err := doBags(ctx, k, &head); err != nil {
			t.Fatal(err)
		}
		select {
		case <-done:
			busy = false
		default:
		}
	}
	group.Wait()
	if head < storetest.Acts+12 {
		t.Errorf("only %d acts came in beside 12 backups", head-storetest.Acts)
	}
}

func doBags(ctx context.Context, k store.Keeper, head *store.Head) error {
	lines := storetest.Full().ToMake[:1]
	lines[0].Bags = int(*head)
	next, err := k.SetToMake(ctx, lines, *head, at(int(*head)))
	*head = next
	return err
}

// TestBackup_damaged: what does not pass its audit is no backup.
func TestBackup_damaged(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := dropGuards(t, filled(t))
	if _, err := rawDB(t, path).Exec("UPDATE act SET reason = 'another' WHERE seq = 2"); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	k := open(t, path, sqlite.Options{})
	if _, err := k.Backup(ctx, filepath.Join(dir, "a.db")); fault.KindOf(err) != fault.KindInternal || !strings.Contains(err.Error(), "act 2") {
		t.Errorf("Backup: %v, want what the audit found", err)
	}
	if left := entries(t, dir); len(left) > 0 {
		t.Errorf("left over: %v", left)
	}
}

// TestBackups: a folder of backups is kept short, and nothing in it is touched that is
// not one of this book's, by name and content.
func TestBackups(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filled(t)
	k := open(t, path, sqlite.Options{})
	dir := t.TempDir()
	noon := time.Date(2026, 11, 28, 12, 0, 0, 0, time.FixedZone("", 3600))
	for i := range 4 {
		if _, err := k.BackupIn(ctx, dir, noon.AddDate(0, 0, []int{2, 0, 3, 1}[i])); err != nil {
			t.Fatal(err)
		}
	}
	others := []string{"book-20261101T000000Z.db", "book-notes.db", "shop-20261101T000000Z.db", "book-20261102T000000Z.db-wal"}
	for _, name := range others {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("mine"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	all, err := k.Backups(dir)
	if err != nil || len(all) != 4 || !all[0].At.Equal(noon.AddDate(0, 0, 3)) || filepath.Base(all[0].File) != "book-20261201T110000Z.db" {
		t.Fatalf("Backups = %+v, %v", all, err)
	}
	if _, err := k.Prune(dir, 0); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("Prune to none: %v", err)
	}
	gone, err := k.Prune(dir, 3)
	if err != nil || len(gone) != 1 || !gone[0].At.Equal(noon) {
		t.Errorf("Prune = %+v, %v", gone, err)
	}
	want := append(slices.Clone(others), "book-20261129T110000Z.db", "book-20261130T110000Z.db", "book-20261201T110000Z.db")
	slices.Sort(want)
	if d := cmp.Diff(want, entries(t, dir)); d != "" {
		t.Errorf("files left (-want +got):\n%s", d)
	}
	if _, err := k.Backups(filepath.Join(dir, "none")); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("no folder: %v", err)
	}
}

// TestRestore: what was backed up comes back, and what was in its place is kept.
func TestRestore(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filled(t)
	k := open(t, path, sqlite.Options{})
	want := export(t, k)
	copied := filepath.Join(t.TempDir(), "copy.db")
	if _, err := k.Backup(ctx, copied); err != nil {
		t.Fatal(err)
	}
	head := store.Head(storetest.Acts)
	if err := doBags(ctx, k, &head); err != nil {
		t.Fatal(err)
	}
	when := store.RestoreOptions{Replace: true, At: time.Date(2026, 11, 28, 6, 0, 0, 0, time.UTC)}
	if _, err := sqlite.Restore(ctx, copied, path, store.RestoreOptions{}); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("over a book: %v", err)
	}
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	// A log of nobody's beside the book must not be taken for the new one's.
	for _, end := range []string{"-wal", "-shm"} {
		if err := os.WriteFile(path+end, []byte("of before"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	r, err := sqlite.Restore(ctx, copied, path, when)
	if err != nil || r.Audit.Head != storetest.Acts {
		t.Fatalf("Restore = %+v, %v", r, err)
	}
	name := path + ".aside-20261128T060000Z"
	if d := cmp.Diff([]string{name, name + "-wal", name + "-shm"}, r.Aside); d != "" {
		t.Errorf("moved aside (-want +got):\n%s", d)
	}
	if d := cmp.Diff(want, export(t, open(t, path, sqlite.Options{MustExist: true}))); d != "" {
		t.Errorf("the book (-backed up +restored):\n%s", d)
	}
	os.Remove(name + "-wal")
	os.Remove(name + "-shm")
	if got, err := open(t, name, sqlite.Options{MustExist: true}).Head(ctx); err != nil || got != head {
		t.Errorf("the book of before: head %d, %v, want %d", got, err, head)
	}
	if left, _ := filepath.Glob(path + ".new-*"); len(left) > 0 {
		t.Errorf("left over: %v", left)
	}
}

// TestRestore_refused: nothing is moved for a backup that is none, or while the book
// is in use.
func TestRestore_refused(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filled(t)
	dir := t.TempDir()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	file := func(name string, data []byte) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, data, 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	newer := file("newer.db", good)
	if _, err := rawDB(t, newer).Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	spoiled := dropGuards(t, path)
	if _, err := rawDB(t, spoiled).Exec("UPDATE act SET person = 'Eve' WHERE seq = 6"); err != nil {
		t.Fatal(err)
	}
	all := store.RestoreOptions{Replace: true, At: storetest.Noon(1)}
	for from, kind := range map[string]fault.Kind{
		filepath.Join(dir, "none.db"):              fault.KindNotFound,
		file("empty.db", nil):                      fault.KindInternal,
		file("cut.db", good[:len(good)/2]):         fault.KindInternal,
		file("text.db", []byte("not a shop book")): fault.KindInternal,
		newer:   fault.KindForbidden,
		spoiled: fault.KindInternal,
	} {
		for _, err := range []error{second(sqlite.Restore(ctx, from, path, all)), second(sqlite.Try(ctx, from))} {
			if fault.KindOf(err) != kind || kind == fault.KindInternal && !strings.Contains(err.Error(), filepath.Base(from)) {
				t.Errorf("%s: %v (kind %v), want kind %v and the name", filepath.Base(from), err, fault.KindOf(err), kind)
			}
		}
	}
	if _, err := sqlite.Restore(ctx, path, path, all); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a book of itself: %v", err)
	}
	if _, err := sqlite.Restore(ctx, path, filepath.Join(dir, "no", "book.db"), all); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("without the folder: %v", err)
	}
	if d := cmp.Diff([]string{"book.db"}, entries(t, filepath.Dir(path))); d != "" {
		t.Errorf("files beside the book (-want +got):\n%s", d)
	}
}

func second[T any](_ T, err error) error { return err }

// TestRestore_schemas restores what the programs of each released schema left.
func TestRestore_schemas(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for schema := 1; schema <= sqlite.Schema; schema++ {
		db, lines := fixtureOf(schema)
		before, err := os.ReadFile(db)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "book.db")
		if _, err := sqlite.Restore(ctx, db, path, store.RestoreOptions{}); err != nil {
			t.Errorf("schema %d: %v", schema, err)
			continue
		}
		want, err := os.ReadFile(lines)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), export(t, open(t, path, sqlite.Options{MustExist: true}))); d != "" {
			t.Errorf("schema %d (-want +got):\n%s", schema, d)
		}
		if after, _ := os.ReadFile(db); string(before) != string(after) {
			t.Errorf("schema %d: the backup was changed", schema)
		}
	}
}

// TestRestore_unclosed restores a copy of the files of a book that nobody closed.
func TestRestore_unclosed(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filled(t)
	k := open(t, path, sqlite.Options{})
	head := store.Head(storetest.Acts)
	if err := doBags(ctx, k, &head); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, end := range []string{"", "-wal"} {
		copyFile(t, path+end, filepath.Join(dir, "copy.db"+end))
	}
	to := filepath.Join(dir, "book.db")
	if r, err := sqlite.Restore(ctx, filepath.Join(dir, "copy.db"), to, store.RestoreOptions{}); err != nil || r.Audit.Head != head {
		t.Errorf("%+v, %v, want act %d", r.Audit, err, head)
	}
	if d := cmp.Diff([]string{"book.db", "copy.db", "copy.db-wal"}, entries(t, dir)); d != "" {
		t.Errorf("files (-want +got):\n%s", d)
	}
}

// TestLook_newer audits a book of a later program without changing it.
func TestLook_newer(t *testing.T) {
	t.Parallel()
	path := filled(t)
	raw, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := raw.Exec("PRAGMA user_version = 99; UPDATE book SET schema = 99; CREATE TABLE later (id INTEGER PRIMARY KEY)"); err != nil {
		t.Fatal(err)
	}
	raw.Close()
	before, _ := os.ReadFile(path)
	a, err := sqlite.Look(context.Background(), path)
	if err != nil || a.Head != storetest.Acts || len(a.Problems) > 0 {
		t.Errorf("Look = %+v, %v", a, err)
	}
	if after, _ := os.ReadFile(path); string(before) != string(after) {
		t.Error("the file was changed")
	}
}

// TestReadOnly: a book that is looked at is not written.
func TestReadOnly(t *testing.T) {
	t.Parallel()
	path := filled(t)
	before, _ := os.ReadFile(path)
	k := open(t, path, sqlite.Options{MustExist: true, ReadOnly: true})
	head := store.Head(storetest.Acts)
	if err := doBags(context.Background(), k, &head); fault.KindOf(err) != fault.KindForbidden {
		t.Errorf("a write: %v", err)
	}
	k.Close()
	if after, _ := os.ReadFile(path); string(before) != string(after) {
		t.Error("the file was changed")
	}
}
