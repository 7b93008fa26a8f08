package sqlite

import (
	"context"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/store"
)

// lintSQL returns what is wrong with a statement for the two engines to share.
func lintSQL(text string) []string {
	var p []string
	next := 1
	for _, m := range regexp.MustCompile(`\$(\d+)|\?`).FindAllStringSubmatch(text, -1) {
		n, _ := strconv.Atoi(m[1])
		switch {
		case m[1] == "":
			p = append(p, "? for an argument")
		case n > next:
			p = append(p, m[0]+" before $"+strconv.Itoa(next))
		case n == next:
			next++
		}
	}
	for rule, bad := range map[string]string{
		"LIKE on text":             `(?i)\b(I?LIKE|GLOB|REGEXP)\b`,
		"INSERT OR":                `(?i)\bINSERT\s+OR\b|\bREPLACE\b`,
		"IS NOT between values":    `(?i)\bIS\s+NOT\s+[^N]`,
		"a double-quoted string":   `"`,
		"a function of one engine": `(?i)\b(ifnull|iif|strftime|datetime|unixepoch|json_\w+|last_insert_rowid|rowid|now|random)\b`,
	} {
		if regexp.MustCompile(bad).MatchString(text) {
			p = append(p, rule)
		}
	}
	for _, at := range regexp.MustCompile(`(?i)\b(sum|avg|total)\s*\(`).FindAllStringIndex(text, -1) {
		if !strings.HasSuffix(strings.ToLower(text[:at[0]]), "cast(coalesce(") {
			p = append(p, "a sum that is not cast")
		}
	}
	for _, m := range regexp.MustCompile(`(?is)ORDER BY(.*?)(?:\)|LIMIT|$)`).FindAllStringSubmatch(text, -1) {
		for _, term := range strings.Split(m[1], ",") {
			words := strings.Fields(term)
			column := words[0][strings.LastIndex(words[0], ".")+1:]
			if slices.Contains(nullable, column) && !regexp.MustCompile(`(?i)NULLS (FIRST|LAST)`).MatchString(term) {
				p = append(p, "order by "+column+" without NULLS FIRST or LAST")
			}
		}
	}
	slices.Sort(p)
	return p
}

// nullable are the columns that may be null; TestNullable holds the list to the schema.
var nullable = []string{"corrects_seq", "token_hash"}

func TestLintSQL_catches(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		bad  bool
	}{
		{`SELECT a FROM t WHERE b = $1 AND c = $2 AND d = $1`, false},
		{`SELECT a FROM t WHERE b = $2 AND c = $1`, true},
		{`SELECT a FROM t WHERE b = $2`, true},
		{`SELECT a FROM t WHERE b = ?`, true},
		{`SELECT a FROM t WHERE b LIKE $1`, true},
		{`SELECT sum(a) FROM t`, true},
		{`SELECT CAST(coalesce(sum(a), 0) AS bigint) FROM t`, false},
		{`SELECT a FROM t ORDER BY token_hash`, true},
		{`SELECT a FROM t ORDER BY a, d.corrects_seq DESC LIMIT 3`, true},
		{`SELECT a FROM t ORDER BY token_hash NULLS LAST`, false},
		{`INSERT OR REPLACE INTO t (a) VALUES ($1)`, true},
		{`SELECT a FROM t WHERE b = "c"`, true},
		{`SELECT a FROM t WHERE rowid = $1`, true},
	} {
		if got := lintSQL(c.text); (len(got) > 0) != c.bad {
			t.Errorf("%s: %v, want bad = %t", c.text, got, c.bad)
		}
	}
}

// TestStatements lints every statement and prepares it on a fresh book.
func TestStatements(t *testing.T) {
	t.Parallel()
	k := openTemp(t)
	for name, text := range statements() {
		for _, p := range lintSQL(text) {
			t.Errorf("%s: %s", name, p)
		}
		s, err := k.writer.PrepareContext(context.Background(), text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		s.Close()
	}
}

// TestStatements_place: every statement stands in statements.go and is listed;
// other files hold none but pragmas.
func TestStatements_place(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	listed := statements()
	found := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			text, _ := strconv.Unquote(lit.Value)
			if !regexp.MustCompile(`^\s*(SELECT|INSERT|UPDATE|DELETE|WITH|CREATE|DROP|ALTER)\s`).MatchString(text) {
				return true
			}
			found++
			if name != "statements.go" {
				t.Errorf("%s holds a statement: %s", name, text)
			}
			inList := false
			for _, s := range listed {
				inList = inList || s == text
			}
			if !inList {
				t.Errorf("not listed: %s", text)
			}
			return true
		})
	}
	if found != len(listed) || found == 0 {
		t.Errorf("%d statements found, %d listed", found, len(listed))
	}
}

// TestNullable holds the lint's list of columns that may be null, and the kinds
// of thing, to the schema as it is.
func TestNullable(t *testing.T) {
	t.Parallel()
	k := openTemp(t)
	ctx := context.Background()
	var found []string
	err := each(ctx, k.reader, `SELECT c.name FROM sqlite_schema s JOIN pragma_table_info(s.name) c
WHERE s.type = 'table' AND c."notnull" = 0 AND c.pk = 0`, nil, func(scan func(...any) error) error {
		var column string
		err := scan(&column)
		found = append(found, column)
		return err
	})
	slices.Sort(found)
	if err != nil || !slices.Equal(found, nullable) {
		t.Errorf("columns that may be null: %v, %v, the lint knows %v", found, err, nullable)
	}
	var kinds []string
	err = each(ctx, k.reader, "SELECT kind, single FROM thing_kind ORDER BY place", nil, func(scan func(...any) error) error {
		var kind string
		var single bool
		err := scan(&kind, &single)
		kinds = append(kinds, kind)
		if single != store.Single(kind) {
			t.Errorf("%s: single is %t in the table", kind, single)
		}
		return err
	})
	if err != nil || !slices.Equal(kinds, store.Kinds()) {
		t.Errorf("kinds: %v, %v, the program knows %v", kinds, err, store.Kinds())
	}
}

// TestTables_common: the common migrations hold nothing that only SQLite knows,
// but for STRICT, and every table is strict.
func TestTables_common(t *testing.T) {
	t.Parallel()
	text, err := fs.ReadFile(migrations, "migrations/0001_book.sql")
	if err != nil {
		t.Fatal(err)
	}
	plain := regexp.MustCompile(`--[^\n]*`).ReplaceAllString(string(text), "")
	if m := regexp.MustCompile(`(?i)\b(TRIGGER|AUTOINCREMENT|WITHOUT ROWID|DEFERRABLE|BLOB|GLOB|json_\w+)\b`).FindString(plain); m != "" {
		t.Errorf("0001_book.sql uses %s", m)
	}
	tables, strict := strings.Count(plain, "CREATE TABLE"), strings.Count(plain, ") STRICT;")
	if tables != 9 || strict != tables {
		t.Errorf("%d tables, %d strict, want 9", tables, strict)
	}
	// A table may refer only to itself and to tables before it.
	made := ""
	for _, part := range strings.Split(plain, "CREATE TABLE ")[1:] {
		made += " " + strings.Fields(part)[0] + " "
		for _, m := range regexp.MustCompile(`REFERENCES (\w+)`).FindAllStringSubmatch(part, -1) {
			if !strings.Contains(made, " "+m[1]+" ") {
				t.Errorf("%s refers to %s, which comes later", strings.Fields(part)[0], m[1])
			}
		}
	}
}

// TestDoc: docs/store.md tells of every table and column.
func TestDoc(t *testing.T) {
	t.Parallel()
	k := openTemp(t)
	doc, err := os.ReadFile("../../../docs/store.md")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	err = each(context.Background(), k.reader, `SELECT s.name, c.name FROM sqlite_schema s JOIN pragma_table_info(s.name) c WHERE s.type = 'table'`,
		nil, func(scan func(...any) error) error {
			var table, column string
			if err := scan(&table, &column); err != nil {
				return err
			}
			n++
			for _, word := range []string{table, column} {
				if !strings.Contains(string(doc), "`"+word+"`") {
					t.Errorf("docs/store.md does not tell of `%s` (column %s of %s)", word, column, table)
				}
			}
			return nil
		})
	if err != nil || n < 40 {
		t.Errorf("%d columns, %v", n, err)
	}
}

func openTemp(t *testing.T) *Keeper {
	t.Helper()
	k, err := Open(context.Background(), filepath.Join(t.TempDir(), "book.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return k
}
