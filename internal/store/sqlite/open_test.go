package sqlite_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"slabside/internal/fault"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

// refused opens what cannot be opened and wants a clear fault and the file as it was.
func refused(t *testing.T, path string, o sqlite.Options, kind fault.Kind) *fault.Error {
	t.Helper()
	before, _ := os.ReadFile(path)
	if o.BusyTimeout == 0 {
		o.BusyTimeout = 20 * time.Millisecond
	}
	k, err := sqlite.Open(context.Background(), path, o)
	if err == nil {
		k.Close()
		t.Errorf("%s opens", path)
		return nil
	}
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != kind || f.Text == "" || f.Hint == "" {
		t.Errorf("%s: %v (cause %v), want kind %v with a hint", path, err, errors.Unwrap(err), kind)
		return f
	}
	if strings.Contains(strings.ToLower(f.Text+f.Hint), "sqlite") {
		t.Errorf("%s: the public text speaks of the engine: %s", path, f)
	}
	if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
		t.Errorf("%s: opening changed the file", path)
	}
	return f
}

// filled makes a closed book with content and returns its path.
func filled(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.db")
	k := open(t, path, sqlite.Options{})
	storetest.History(t, k)
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestOpen_refused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	refused(t, filepath.Join(dir, "missing.db"), sqlite.Options{MustExist: true}, fault.KindNotFound)
	refused(t, filepath.Join(dir, "no", "folder.db"), sqlite.Options{}, fault.KindNotFound)
	refused(t, dir, sqlite.Options{}, fault.KindInvalid)
	refused(t, file("empty.db", nil), sqlite.Options{}, fault.KindInternal)
	refused(t, file("short.db", []byte("x")), sqlite.Options{}, fault.KindInternal)
	refused(t, file("text.db", bytes.Repeat([]byte("[shop]\nname = 'a'\n"), 500)), sqlite.Options{}, fault.KindInternal)
	refused(t, filepath.Join(file("file.db", []byte("x")), "under.db"), sqlite.Options{}, fault.KindInvalid)
	refused(t, filepath.Join(dir, "a.db"), sqlite.Options{Device: "Büro"}, fault.KindInvalid)

	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", other)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE songs (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	refused(t, other, sqlite.Options{}, fault.KindInvalid)

	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 5 {
		t.Errorf("files left over: %v, %v", entries, err)
	}
}

func TestOpen_names(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for _, name := range []string{"plain.db", "with space.db", "q?mode=memory.db", "h#ash.db", "p%20ercent.db", "and&_pragma=x.db", "飴.db", "file:x.db"} {
		path := filepath.Join(dir, name)
		k := open(t, path, sqlite.Options{})
		storetest.History(t, k)
		if err := k.Close(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if info, err := os.Stat(path); err != nil || info.Size() < 50_000 {
			t.Errorf("%s: %v, %v", name, info, err)
		}
		open(t, path, sqlite.Options{MustExist: true}).Close()
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 8 {
		t.Errorf("files in the folder: %v, %v", entries, err)
	}
}

// TestOpen_together has eight open the same missing book at once: there is one
// book in the end, and what each was told is in it.
func TestOpen_together(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "book.db")
	ctx := context.Background()
	var wg sync.WaitGroup
	var mu sync.Mutex
	won := 0
	for i := range 8 {
		wg.Go(func() {
			k, err := sqlite.Open(ctx, path, sqlite.Options{})
			if err != nil {
				t.Errorf("Open: %v (cause %v)", err, errors.Unwrap(err))
				return
			}
			defer k.Close()
			b := storetest.Full()
			b.Shop.Name = fmt.Sprint("shop ", i)
			_, _, err = k.Import(ctx, b, 0, at(1))
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				won++
			case fault.KindOf(err) != fault.KindConflict:
				t.Errorf("Import: %v (cause %v)", err, errors.Unwrap(err))
			}
		})
	}
	wg.Wait()
	if won != 1 {
		t.Errorf("%d first imports of one book", won)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 {
		t.Errorf("files in the folder: %v, %v", entries, err)
	}
}

// TestBusy holds the write lock as another program would.
func TestBusy(t *testing.T) {
	t.Parallel()
	path := filled(t)
	ctx := context.Background()
	k := open(t, path, sqlite.Options{BusyTimeout: 20 * time.Millisecond})
	raw, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer raw.Close()
	conn, err := raw.Conn(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	_, err = k.SetToMake(ctx, nil, storetest.Acts, at(1))
	if fault.KindOf(err) != fault.KindBusy {
		t.Errorf("SetToMake: %v, want busy", err)
	}
	if _, head, err := k.Book(ctx); err != nil || head != storetest.Acts {
		t.Errorf("reading goes on: head %d, %v", head, err)
	}
	refused(t, path, sqlite.Options{}, fault.KindBusy)
	if _, err := conn.ExecContext(ctx, "ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if head, err := k.SetToMake(ctx, nil, storetest.Acts, at(1)); err != nil || head != storetest.Acts+1 {
		t.Errorf("afterwards: %d, %v", head, err)
	}
	k.Close()
	// Locked against reading too.
	if _, err := conn.ExecContext(ctx, "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE"); err != nil {
		t.Fatal(err)
	}
	refused(t, path, sqlite.Options{}, fault.KindBusy)
}

func TestCancelled(t *testing.T) {
	t.Parallel()
	k := open(t, filled(t), sqlite.Options{})
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := k.Book(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("Book: %v, want cancelled", err)
	}
	if _, err := k.SetToMake(ctx, nil, storetest.Acts, at(1)); !errors.Is(err, context.Canceled) {
		t.Errorf("SetToMake: %v, want cancelled", err)
	}
	if head, err := k.Head(context.Background()); head != storetest.Acts || err != nil {
		t.Errorf("head = %d, %v", head, err)
	}
}

// TestNewer opens a book as a later program might leave it: its number is
// higher, a table is new and a definition holds a field this program lacks.
func TestNewer(t *testing.T) {
	t.Parallel()
	path := filled(t)
	ctx := context.Background()
	raw, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	want, _, err := open(t, path, sqlite.Options{}).Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	body := `{"id":"later","name":"Later","offset":"0 K","class":"1 K","division":"1 K","colour":"of a later program"}`
	for _, s := range []string{
		"PRAGMA user_version = 99", "CREATE TABLE later (id INTEGER PRIMARY KEY)",
		"INSERT INTO thing (id, kind, slug, place, retired, head_n) SELECT max(id) + 1, 'glass', 'later', 99, 0, 1 FROM thing",
		"INSERT INTO revision (id, thing, n, body, sha256, act) SELECT max(id) + 1, (SELECT max(id) FROM thing), 1, '" + body + "', '" +
			store.Sum([]byte(body)) + "', 6 FROM revision",
	} {
		if _, err := raw.Exec(s); err != nil {
			t.Fatal(s, err)
		}
	}
	if err := raw.Close(); err != nil {
		t.Fatal(err)
	}
	k := open(t, path, sqlite.Options{})
	if schema, newer := k.Newer(); schema != 99 || !newer {
		t.Errorf("Newer = %d, %t", schema, newer)
	}
	got, head, err := k.Book(ctx)
	if err != nil || head != storetest.Acts || len(got.Glasses) != len(want.Glasses)+1 || got.Shop != want.Shop {
		t.Errorf("Book: head %d, %v, %d glasses", head, err, len(got.Glasses))
	}
	before, _ := os.ReadFile(path)
	_, _, importErr := k.Import(ctx, got, head, at(1))
	_, toMakeErr := k.SetToMake(ctx, nil, head, at(1))
	_, retireErr := k.Change(ctx, store.Change{Out: []store.Name{{Kind: store.KindGlass, Slug: "later"}}}, head, at(1))
	_, allErr := k.ImportAll(ctx, strings.NewReader(""))
	for what, err := range map[string]error{"Import": importErr, "SetToMake": toMakeErr, "Retire": retireErr, "ImportAll": allErr} {
		if fault.KindOf(err) != fault.KindForbidden || !strings.Contains(err.Error(), "newer program (schema 99, this one knows 4)") {
			t.Errorf("%s: %v, want forbidden and why", what, err)
		}
	}
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
		t.Error("the file of a newer program was changed")
	}
	if _, newer := open(t, filled(t), sqlite.Options{}).Newer(); newer {
		t.Error("a book of today is newer")
	}
}

// TestNewer_unreadable: tables of a newer schema that this program cannot read
// give the same clear answer, not one that speaks of damage.
func TestNewer_unreadable(t *testing.T) {
	t.Parallel()
	path := filled(t)
	raw, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := raw.Exec("PRAGMA user_version = 99; ALTER TABLE to_make RENAME COLUMN bags TO jars"); err != nil {
		t.Fatal(err)
	}
	raw.Close()
	k := open(t, path, sqlite.Options{})
	if _, _, err := k.Book(context.Background()); fault.KindOf(err) != fault.KindForbidden || !strings.Contains(err.Error(), "newer program") {
		t.Errorf("Book: %v, want forbidden and why", err)
	}
}

func TestReceived(t *testing.T) {
	t.Parallel()
	clock := time.Date(2026, 3, 14, 13, 0, 0, 999_999_999, time.UTC)
	k := open(t, filepath.Join(t.TempDir(), "book.db"), sqlite.Options{Device: "slab-side", Now: func() time.Time { return clock }})
	storetest.History(t, k)
	acts, err := k.Acts(context.Background(), 0, 1)
	if err != nil || !acts[0].Received.Equal(clock.Truncate(time.Millisecond)) || acts[0].At.Equal(acts[0].Received) || acts[0].ID != "slab-side-1" {
		t.Errorf("act = %+v, %v", acts, err)
	}
}
