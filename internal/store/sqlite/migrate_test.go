package sqlite

import (
	"context"
	"database/sql"
	"io/fs"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"

	"slabside/internal/book"
	q "slabside/internal/quantity"
	"slabside/internal/store"
)

// folder is the program's migrations and more.
func folder(t *testing.T, more map[string]string) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	files, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		text, err := fs.ReadFile(migrations, name)
		if err != nil {
			t.Fatal(err)
		}
		m[name] = &fstest.MapFile{Data: text}
	}
	for name, text := range more {
		m["migrations/"+name] = &fstest.MapFile{Data: []byte(text)}
	}
	return m
}

// TestMigrate_next brings a book with content up to a made-up next schema, and
// leaves it as it is if a statement of that fails.
func TestMigrate_next(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	k := openTemp(t)
	b := book.Book{Shop: book.Shop{Name: "a", Units: q.US.With(q.Point), TimeZone: "UTC"}}
	if _, _, err := k.Import(ctx, b, 0, store.Meta{At: time.UnixMilli(1)}); err != nil {
		t.Fatal(err)
	}
	bad := folder(t, map[string]string{"0005_a.sql": "CREATE TABLE more (id INTEGER PRIMARY KEY) STRICT;", "0005_b.sql": "CREATE TABLE more (again INTEGER);"})
	if err := migrate(ctx, k.writer, bad); err == nil {
		t.Fatal("a table made twice is no error")
	}
	version := func() (file, row, tables int) {
		file, err := number(ctx, k.writer, "user_version")
		if err == nil {
			err = k.writer.QueryRowContext(ctx, "SELECT schema, (SELECT count(*) FROM sqlite_schema WHERE name = 'more') FROM book").Scan(&row, &tables)
		}
		if err != nil {
			t.Fatal(err)
		}
		return file, row, tables
	}
	if file, row, tables := version(); file != Schema || row != Schema || tables != 0 {
		t.Errorf("after a failed migration: file %d, row %d, %d new tables", file, row, tables)
	}
	good := folder(t, map[string]string{"0005_a.sql": "CREATE TABLE more (id INTEGER PRIMARY KEY) STRICT;", "0006_b.sql": "INSERT INTO more VALUES (1);"})
	for range 2 { // the second time there is nothing to do
		if err := migrate(ctx, k.writer, good); err != nil {
			t.Fatal(err)
		}
		if file, row, tables := version(); file != 6 || row != 6 || tables != 1 {
			t.Errorf("after migrations to 6: file %d, row %d, %d new tables", file, row, tables)
		}
	}
	if a, err := k.Verify(ctx); err != nil || len(a.Problems) > 0 {
		t.Errorf("Verify: %+v, %v", a, err)
	}
}

// TestSchema: the program's version is that of its last migration.
func TestSchema(t *testing.T) {
	t.Parallel()
	k := openTemp(t)
	if v, err := number(context.Background(), k.writer, "user_version"); v != Schema || err != nil {
		t.Errorf("a new book has schema %d, %v, the program %d", v, err, Schema)
	}
	raw, err := sql.Open("sqlite", filepath.Join(t.TempDir(), "x.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer raw.Close()
	if err := migrate(context.Background(), raw, folder(t, map[string]string{"x.sql": ""})); err == nil {
		t.Error("a migration without a number is no error")
	}
}
