package slabside

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "slabside"

// room is one row of the import rules: what a package may import of this
// module, and why it is a package of its own.
type room struct {
	layer  layer
	may    string // packages under internal/, separated by spaces
	reason string
}

type layer int

const (
	root layer = iota
	words
	physics
	rooms
	useCases
	adapters
	command
	testOnly
)

// house lists every package. A package that is not here fails the test, and so
// does a row whose package is gone.
var house = map[string]room{
	"": {root, "", "the map"},

	"internal/fault":    {words, "", "errors are the first word"},
	"internal/quantity": {words, "fault", "parsing answers with faults"},
	"internal/source":   {words, "", "the bibliography"},
	"internal/caution":  {words, "", "fixed sentences"},
	"docs/schema":       {words, "", "the committed schemas, embedded"},

	"internal/journal": {words, "fault", "what ledgers have in common"},

	"internal/numeric": {physics, "fault", "solvers know no sugar"},
	"internal/heat":    {physics, "fault", "conduction knows no sugar: it is told what matter does with heat"},
	"internal/sugar":   {physics, "fault quantity source numeric", "what sugar does"},

	"internal/inversion": {physics, "fault quantity source numeric sugar", "sugar falling to invert is chemistry in time; properties have none"},

	"internal/ingredient": {rooms, "fault quantity", "raw materials"},
	"internal/recipe":     {rooms, "fault quantity", "recipes name ingredients and rolls by id only"},
	"internal/rig":        {rooms, "fault quantity", "the boiling room's facts"},
	"internal/boil":       {rooms, "fault quantity source caution numeric sugar inversion ingredient recipe rig", "a charge in a kettle"},
	"internal/record":     {rooms, "fault source lot", "what is written of a batch, and how it is corrected; knows no sugar"},
	"internal/reading":    {rooms, "fault", "what thermometers showed, and how loggers write it; knows no batch and no sugar"},
	"internal/trace":      {rooms, "", "what went into what; knows nothing of what they are"},
	"internal/scan":       {rooms, "fault", "codes as scanners type them; knows no stores"},
	"internal/lot":        {rooms, "fault", "what came into the stores and what became of it, to the milligram; knows no recipe"},
	"internal/packing":    {rooms, "fault journal source", "what became of sweets after the sieve, to the bag; knows no recipe"},
	"internal/supply":     {rooms, "fault quantity journal lot", "packaging, gas and consumables, to the piece; knows no bag and no boil"},
	"internal/care":       {rooms, "fault journal", "what is wrong with the room's things and what was done; knows no plan"},
	"internal/learn":      {rooms, "fault quantity source numeric sugar rig boil slab batch record", "what records teach of a room; the boil knows no records"},
	"internal/limit":      {rooms, "fault quantity source ingredient", "what laws allow in a sweet, dated; knows no boil and no book"},
	"internal/verdict":    {rooms, "fault quantity source numeric sugar rig boil", "what a boil's figures mean for its keeping; the boil knows no shelf and no post"},
	"internal/slab":       {rooms, "fault quantity source numeric sugar heat rig", "from the lift to the rolls; what the rolls do is roller's"},
	"internal/roller":     {rooms, "fault quantity source caution numeric heat rig recipe", "mass to pieces, and how long the rolls take for it"},
	"internal/batch":      {rooms, "fault quantity source caution numeric sugar ingredient recipe rig boil slab roller", "the chain from charge to pieces"},
	"internal/bag":        {rooms, "fault quantity source numeric recipe", "products and mixtures"},
	"internal/keeping":    {rooms, "fault quantity source caution numeric sugar bag", "water through a wall, for weeks; knows no boil"},
	"internal/demand":     {rooms, "fault quantity source numeric recipe bag", "bags to boils; yields come in as functions"},
	"internal/day":        {rooms, "fault numeric", "minutes and hands; knows no sugar"},
	"internal/book":       {rooms, "fault quantity source caution ingredient limit recipe rig boil bag demand supply", "all definitions together; asks the boil whether a charge fits its pan"},

	"internal/access": {rooms, "fault", "who may do what; the time and chance come in"},
	"internal/entry":  {rooms, "fault quantity source book", "the things of a book as people type them"},

	"internal/app": {useCases, "fault quantity source caution numeric sugar ingredient limit recipe rig boil verdict slab roller batch bag keeping demand day book entry access record reading trouble learn lot scan packing trace care journal supply store", "wires the rooms"},

	"internal/trouble": {rooms, "quantity source record", "what to do when a batch goes wrong, and what the record says of it; reads no book, predicts nothing"},

	"internal/store":        {rooms, "fault quantity ingredient recipe rig bag demand book record reading lot journal packing care supply", "what keeping a book means; engines are adapters"},
	"internal/store/sqlite": {adapters, "fault quantity ingredient recipe rig bag demand book access record reading lot journal store", "the embedded engine"},
	"internal/bookfile":     {adapters, "fault quantity caution ingredient recipe rig bag demand book record reading lot store", "the TOML shop-book file"},
	"internal/paper":        {adapters, "fault quantity caution app", "PDF sheets of a plan"},
	"internal/web":          {adapters, "fault quantity caution ingredient limit recipe rig bag demand book entry access record reading lot care journal packing supply store app source", "pages over the use cases"},
	"internal/cli":          {adapters, "fault quantity caution source limit demand book access record reading lot care packing supply store app", "commands over the use cases; files, pages and prints come in from cmd"},

	"internal/probe": {adapters, "fault rig book access reading store app", "thermometers that speak MQTT"},
	"internal/certs": {adapters, "fault", "the shop's own certificates"},
	"cmd/slabside":   {command, "cli app bookfile certs fault store store/sqlite paper web probe quantity book", "wires adapters together"},

	"internal/batch/hottest":   {testOnly, "quantity numeric sugar rig record batch", "rooms that cool batches by another, finer model; only its shop speaks the words of the forecast"},
	"internal/day/daytest":     {testOnly, "day", "an independent checker of plans"},
	"internal/validation":      {testOnly, "*", "collects the checks of models against tables"},
	"internal/store/storetest": {testOnly, "*", "one suite for every engine"},
	"internal/shoptest":        {testOnly, "*", "a small shop for tests"},
}

// wordStd is all the standard library words and physics may use.
var wordStd = strings.Fields("bytes cmp embed encoding encoding/csv encoding/json errors fmt io iter maps math math/bits slices sort strconv strings sync time unicode unicode/utf8")

// only maps a third-party or standard package to the packages that may import it.
var only = map[string][]string{
	"database/sql":               {"internal/store/"},
	"modernc.org/sqlite":         {"internal/store/"},
	"net/http":                   {"internal/web"},
	"html/template":              {"internal/web"},
	"codeberg.org/go-pdf":        {"internal/paper"},
	"github.com/boombuler":       {"internal/paper"},
	"github.com/alecthomas":      {"internal/cli"},
	"flag":                       {},
	"github.com/pelletier":       {"internal/bookfile"},
	"github.com/mochi-mqtt":      {"internal/probe"},
	"gonum.org/v1/gonum":         {"internal/numeric", "internal/sugar", "internal/bag", "internal/demand", "internal/batch", "internal/boil", "internal/roller"},
	"golang.org/x/text/currency": {"internal/quantity"},
	"golang.org/x/text/message":  {"internal/quantity"},
	"math/rand":                  {},
	"math/rand/v2":               {},
}

// modules is every third-party module of the binary, with its reason.
var modules = map[string]string{
	"codeberg.org/go-pdf/fpdf":         "PDF sheets",
	"github.com/alecthomas/kong":       "command line from structs",
	"github.com/boombuler/barcode":     "lot barcodes on the sheets",
	"github.com/pelletier/go-toml/v2":  "shop-book files with positions",
	"golang.org/x/crypto":              "argon2id for PINs",
	"golang.org/x/time":                "limits of rates",
	"golang.org/x/text":                "currencies, decimal marks of languages, names to ids without accents",
	"gonum.org/v1/gonum":               "distributions",
	"modernc.org/sqlite":               "the embedded store, without cgo",
	"github.com/mochi-mqtt/server/v2":  "the broker for thermometers, behind a switch: what radio thermometers speak, and not worth writing anew",
	"github.com/rs/xid":                "of github.com/mochi-mqtt/server/v2",
	"github.com/gorilla/websocket":     "of github.com/mochi-mqtt/server/v2, whose other listeners it does not leave out",
	"modernc.org/libc":                 "of modernc.org/sqlite",
	"modernc.org/mathutil":             "of modernc.org/sqlite",
	"modernc.org/memory":               "of modernc.org/sqlite",
	"github.com/dustin/go-humanize":    "of modernc.org/libc",
	"github.com/google/uuid":           "of modernc.org/libc",
	"github.com/remyoudompheng/bigfft": "of modernc.org/mathutil",
	"golang.org/x/sys":                 "of modernc.org/libc",
}

type listed struct {
	ImportPath, Dir      string
	Imports              []string
	GoFiles, TestGoFiles []string
	XTestGoFiles         []string
	Module               *struct{ Path string }
	Standard             bool
}

func goList(t *testing.T, args ...string) []listed {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,Imports,GoFiles,TestGoFiles,XTestGoFiles,Module,Standard"}, args...)...)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var l listed
		if err := dec.Decode(&l); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, l)
	}
}

func short(importPath string) string {
	return strings.TrimPrefix(strings.TrimPrefix(importPath, module), "/")
}

func TestImports(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, p := range goList(t, "./...") {
		name := short(p.ImportPath)
		r, ok := house[name]
		if !ok {
			t.Errorf("package %q has no row in the house: add one with its reason", name)
			continue
		}
		seen[name] = true
		may := strings.Fields(r.may)
		for _, imp := range p.Imports {
			if rest, ours := strings.CutPrefix(imp, module+"/internal/"); ours {
				if r.may != "*" && !slices.Contains(may, rest) {
					t.Errorf("%s imports %s: not in its row (%s)", name, rest, r.reason)
				}
				if r.layer != testOnly && house["internal/"+rest].layer == testOnly {
					t.Errorf("%s imports the test package %s", name, rest)
				}
				if r.layer != testOnly && house["internal/"+rest].layer > r.layer {
					t.Errorf("%s imports %s against the direction of flow", name, rest)
				}
				continue
			}
			if r.layer == testOnly {
				continue
			}
			if r.layer == words || r.layer == physics {
				if !slices.Contains(wordStd, imp) && !strings.HasPrefix(imp, "gonum.org/") && !strings.HasPrefix(imp, "golang.org/x/text/") {
					t.Errorf("%s imports %s: words and physics use a short list only", name, imp)
				}
			}
			for pkg, where := range only {
				if imp != pkg && !strings.HasPrefix(imp, pkg+"/") {
					continue
				}
				if !slices.ContainsFunc(where, func(w string) bool { return strings.HasPrefix(name, w) }) {
					t.Errorf("%s imports %s, which belongs to %v", name, imp, where)
				}
			}
		}
	}
	for name := range house {
		if !seen[name] {
			t.Errorf("the row %q has no package: take it out", name)
		}
	}
}

func TestAdaptersDoNotMeet(t *testing.T) {
	t.Parallel()
	for name, r := range house {
		if r.layer != adapters {
			continue
		}
		for _, m := range strings.Fields(r.may) {
			if house["internal/"+m].layer == adapters && m != "store" {
				t.Errorf("%s may import the adapter %s", name, m)
			}
		}
	}
}

func TestModules(t *testing.T) {
	t.Parallel()
	got := map[string]bool{}
	for _, p := range goList(t, "-deps", "./cmd/...") {
		if strings.HasPrefix(p.ImportPath, module+"/") && house[short(p.ImportPath)].layer == testOnly {
			t.Errorf("the binary carries the test package %s", p.ImportPath)
		}
		if p.Module != nil && p.Module.Path != module {
			got[p.Module.Path] = true
		}
	}
	for m := range got {
		if modules[m] == "" {
			t.Errorf("the binary uses %s: add it to the list with its reason", m)
		}
	}
	for m := range modules {
		if !got[m] {
			t.Errorf("%s is listed but the binary does not use it", m)
		}
	}
}

// TestHabits demands one package comment a package, and in words, physics and
// rooms no init, no reading of the clock and no exported package variable but errors.
func TestHabits(t *testing.T) {
	t.Parallel()
	fset := token.NewFileSet()
	for _, p := range goList(t, "./...") {
		name := short(p.ImportPath)
		layer := house[name].layer
		comments := 0
		for _, f := range p.GoFiles {
			file, err := parser.ParseFile(fset, filepath.Join(p.Dir, f), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			if file.Doc != nil {
				comments++
			}
			if layer == words || layer == physics || layer == rooms {
				habits(t, fset, name, file)
			}
		}
		if comments != 1 {
			t.Errorf("%s has %d package comments, want one", name, comments)
		}
	}
}

func habits(t *testing.T, fset *token.FileSet, name string, file *ast.File) {
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil && d.Name.Name == "init" {
				t.Errorf("%s: init in %s", fset.Position(d.Pos()), name)
			}
		case *ast.GenDecl:
			if d.Tok != token.VAR {
				continue
			}
			for _, s := range d.Specs {
				for _, n := range s.(*ast.ValueSpec).Names {
					if n.IsExported() && !strings.HasPrefix(n.Name, "Err") {
						t.Errorf("%s: exported variable %s", fset.Position(n.Pos()), n.Name)
					}
				}
			}
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && (sel.Sel.Name == "Now" || sel.Sel.Name == "Since") {
			t.Errorf("%s: the clock comes in as a value", fset.Position(n.Pos()))
		}
		return true
	})
}

// TestTreeWords keeps words about how the work is organised, and this machine's
// paths, out of the tree.
func TestTreeWords(t *testing.T) {
	t.Parallel()
	bad := []string{"/wo" + "rk/", "/far" + "m/", ".libr" + "ary", "TO" + "DO", "FIX" + "ME"}
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == ".git" || n == "vendor" || n == "build" || n == "fonts" {
				return fs.SkipDir
			}
			return nil
		}
		switch filepath.Ext(path) {
		case ".go", ".md", ".toml", ".html", ".css", ".sql", ".csv", ".txtar":
		default:
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, w := range bad {
			if bytes.Contains(b, []byte(w)) {
				t.Errorf("%s contains %q", path, w)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
