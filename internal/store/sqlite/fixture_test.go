package sqlite_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/access"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

var update = flag.Bool("update", false, "write the fixture of the schema of today again")

// fixtureOf names the fixture of a schema: a book and all that is in its log.
func fixtureOf(schema int) (db, lines string) {
	name := fmt.Sprintf("testdata/schema-v%d", schema)
	return name + ".db", name + ".jsonl"
}

// TestFixture opens a book as the programs that brought in each schema left it.
// The fixture of a schema that was released is never written again: a later schema
// gets its own, and all must go on opening. Run with -update only while the schema
// is being made.
func TestFixture(t *testing.T) {
	t.Parallel()
	if *update {
		writeFixture(t)
	}
	for schema := 1; schema <= sqlite.Schema; schema++ {
		t.Run(fmt.Sprint(schema), func(t *testing.T) {
			t.Parallel()
			testFixture(t, schema)
		})
	}
}

func testFixture(t *testing.T, schema int) {
	db, lines := fixtureOf(schema)
	path := filepath.Join(t.TempDir(), "book.db")
	copyFile(t, db, path)
	want, err := os.ReadFile(lines)
	if err != nil {
		t.Fatal(err)
	}
	k := open(t, path, sqlite.Options{MustExist: true})
	if d := cmp.Diff(string(want), export(t, k)); d != "" {
		t.Errorf("the fixture's content (-want +got):\n%s", d)
	}
	if a, err := k.Verify(context.Background()); err != nil || len(a.Problems) > 0 {
		t.Errorf("Verify = %+v, %v", a, err)
	}
	b, head, err := k.Book(context.Background())
	acts := store.Head(6)
	if schema >= 4 {
		acts = storetest.Acts
	}
	if err != nil || head != acts {
		t.Fatalf("Book: head %d, %v, want %d", head, err, acts)
	}
	b.Shop.Name = "Written by a later program"
	if _, _, err := k.Import(context.Background(), b, head, at(1)); err != nil {
		t.Errorf("Import: %v", err)
	}
	s, err := k.Access(context.Background())
	if err != nil || s.Open() != (schema < 2) {
		t.Errorf("who may do what: %+v, %v", s, err)
	}
}

func writeFixture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "fixture.db")
	k := open(t, path, sqlite.Options{})
	storetest.History(t, k)
	err := k.ChangeAccess(context.Background(), func(s *access.State) error {
		_, err := s.AddPerson("Ada", access.Owner, "204713", rand.NewChaCha8([32]byte{1}))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	text := export(t, k)
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	db, lines := fixtureOf(sqlite.Schema)
	copyFile(t, path, db)
	if err := os.WriteFile(lines, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func open(t *testing.T, path string, o sqlite.Options) *sqlite.Keeper {
	t.Helper()
	k, err := sqlite.Open(context.Background(), path, o)
	if err != nil {
		t.Fatalf("Open: %v", err)
	}
	t.Cleanup(func() { k.Close() })
	return k
}

func export(t *testing.T, k store.Keeper) string {
	t.Helper()
	var buf bytes.Buffer
	if err := k.ExportAll(context.Background(), &buf); err != nil {
		t.Fatalf("ExportAll: %v", err)
	}
	return buf.String()
}

func at(minutes int) store.Meta { return store.Meta{Person: "Ada", At: storetest.Noon(minutes)} }

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	data, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, data, 0o644); err != nil {
		t.Fatal(err)
	}
}
