package source

import (
	"encoding/csv"
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
)

const root = "../.."

// use is one place where a key is named.
type use struct {
	key   Key
	place string
}

// Every key that is used is listed, and every key that is listed is used.
func TestKeys_UsedAndListed(t *testing.T) {
	t.Parallel()
	names := constants(t)
	used := map[Key]bool{}
	for _, u := range uses(t, names) {
		used[u.key] = true
		if _, ok := Lookup(u.key); !ok {
			t.Errorf("%s: key %q is not in sources.csv", u.place, u.key)
		}
	}
	for _, e := range All() {
		if !used[e.Key] {
			t.Errorf("key %q is listed but used nowhere", e.Key)
		}
	}
}

// The constants are the rows of the table, each once.
func TestKeys_ConstantsAreTheTable(t *testing.T) {
	t.Parallel()
	names := constants(t)
	listed := map[Key]bool{}
	for _, e := range All() {
		if listed[e.Key] {
			t.Errorf("key %q is listed twice", e.Key)
		}
		listed[e.Key] = true
	}
	seen := map[Key]string{}
	for name, key := range names {
		if other := seen[key]; other != "" {
			t.Errorf("%s and %s are one key", name, other)
		}
		seen[key] = name
		if !listed[key] {
			t.Errorf("constant %s: key %q has no row", name, key)
		}
	}
	for key := range listed {
		if seen[key] == "" {
			t.Errorf("key %q has no constant", key)
		}
	}
}

// constants returns the exported constants of type Key by their names.
func constants(t *testing.T) map[string]Key {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "keys.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]Key{}
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		for i, name := range spec.Names {
			text, err := strconv.Unquote(spec.Values[i].(*ast.BasicLit).Value)
			if err != nil {
				t.Fatal(err)
			}
			names[name.Name] = Key(text)
		}
		return false
	})
	return names
}

// uses walks the module and returns every use of a key outside this package.
func uses(t *testing.T, names map[string]Key) []use {
	t.Helper()
	var out []use
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if path != root && (strings.HasPrefix(name, ".") || path == filepath.Join(root, "internal", "source")) {
				return filepath.SkipDir
			}
			return nil
		}
		switch filepath.Ext(name) {
		case ".go":
			out = append(out, goUses(t, path, names)...)
		case ".csv":
			out = append(out, csvUses(t, path)...)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 100 {
		t.Fatalf("only %d uses were found: the walk is broken", len(out))
	}
	return out
}

// mention finds keys named in a comment.
var mention = regexp.MustCompile(`source keys? ([a-z0-9][a-z0-9.-]*)((?:(?:,? and|,) [a-z0-9][a-z0-9.-]*)*)`)

var separator = regexp.MustCompile(`,? and |, `)

// goUses returns the constants a file uses, the literals it turns into a key, and
// the keys its comments name.
func goUses(t *testing.T, path string, names map[string]Key) []use {
	t.Helper()
	files := token.NewFileSet()
	file, err := parser.ParseFile(files, path, nil, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	var out []use
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			if pkg, ok := n.X.(*ast.Ident); ok && pkg.Name == "source" {
				if key, ok := names[n.Sel.Name]; ok {
					out = append(out, use{key, files.Position(n.Pos()).String()})
				}
			}
		case *ast.CallExpr:
			if sel, ok := n.Fun.(*ast.SelectorExpr); ok && sel.Sel.Name == "Key" && len(n.Args) == 1 {
				if lit, ok := n.Args[0].(*ast.BasicLit); ok {
					if text, err := strconv.Unquote(lit.Value); err == nil {
						out = append(out, use{Key(text), files.Position(n.Pos()).String()})
					}
				}
			}
		case *ast.KeyValueExpr:
			// A literal in a field named Key of a check row.
			if id, ok := n.Key.(*ast.Ident); ok && id.Name == "Key" {
				if lit, ok := n.Value.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if text, err := strconv.Unquote(lit.Value); err == nil && text != "" {
						if _, ok := Lookup(Key(text)); ok {
							out = append(out, use{Key(text), files.Position(n.Pos()).String()})
						}
					}
				}
			}
		}
		return true
	})
	for _, group := range file.Comments {
		text := strings.Join(strings.Fields(group.Text()), " ")
		for _, m := range mention.FindAllStringSubmatch(text, -1) {
			place := files.Position(group.Pos()).String()
			// The first word must be a key; a list ends at the first word that is none.
			out = append(out, use{trimKey(m[1]), place})
			for _, more := range separator.Split(m[2], -1) {
				if key := trimKey(more); key != "" {
					if _, ok := Lookup(key); !ok {
						break
					}
					out = append(out, use{key, place})
				}
			}
		}
	}
	return out
}

// trimKey drops the full stop that ends a sentence after a key.
func trimKey(word string) Key { return Key(strings.TrimRight(word, ".-")) }

// csvUses returns the keys in the key or src column of a data file.
func csvUses(t *testing.T, path string) []use {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(string(text)))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	var out []use
	for i, row := range rows {
		for _, column := range [2]string{"key", "src"} {
			at := slices.Index(rows[0], column)
			if i == 0 || at < 0 || at >= len(row) {
				continue
			}
			for key := range strings.SplitSeq(row[at], ";") {
				if key = strings.TrimSpace(key); key != "" {
					out = append(out, use{Key(key), path})
				}
			}
		}
	}
	return out
}
