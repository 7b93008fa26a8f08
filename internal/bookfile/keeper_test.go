package bookfile_test

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
	"slabside/internal/store"
)

func keep(t *testing.T, data []byte) (*bookfile.Keeper, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.toml")
	if data != nil {
		if err := os.WriteFile(path, data, 0o640); err != nil {
			t.Fatal(err)
		}
	}
	k, err := bookfile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return k, path
}

func headOf(t *testing.T, k *bookfile.Keeper) store.Head {
	t.Helper()
	h, err := k.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return h
}

var newLines = []demand.Line{
	{Product: "mint-beads-113", Bags: 12, Must: true, Due: "2026-11-28", For: "stall \"A\""},
	{Product: "barley-jar", Bags: 2},
}

// Replacing the lines to make touches nothing else: whatever stands around them
// is there afterwards, byte for byte.
func TestSetToMakeKeepsEveryOtherByte(t *testing.T) {
	t.Parallel()
	demo := string(bookfile.Demo())
	before, _, ok := strings.Cut(demo, "[[to_make]]\n")
	if !ok {
		t.Fatal("the demo has no lines to make")
	}
	after := "\n# the end, a comment\n"
	inside := strings.Replace(demo, "[[to_make]]\nproduct = \"rhubarb", "# remember the post\n\n[[to_make]]\nproduct = \"rhubarb", 1)
	noLines := before
	const want = `[[to_make]]
product = "mint-beads-113"
bags = 12
must = true
due = "2026-11-28"
for = "stall \"A\""

[[to_make]]
product = "barley-jar"
bags = 2
must = false
`
	crlf := func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }
	for name, c := range map[string]struct{ file, want string }{
		"demo":                  {demo, before + want},
		"comment after":         {demo + after, before + want + after},
		"comment between":       {inside, before + want + "\n# remember the post\n\n"},
		"no final line break":   {strings.TrimSuffix(demo, "\n"), before + want},
		"nothing to make":       {noLines, noLines + "\n" + want},
		"carriage returns":      {crlf(demo), crlf(before + want)},
		"byte order mark":       {"\xef\xbb\xbf" + demo, "\xef\xbb\xbf" + before + want},
		"in the middle":         {strings.Replace(demo, "[[stock]]", "[[to_make]]\nproduct = \"barley-jar\"\nbags = 1 # one\n\n[[stock]]", 1), ""},
		"a list in the head":    {"to_make = [\n  { product = \"barley-jar\", bags = 1 },\n] # wish\n" + noLines, noLines + "\n" + want},
		"an indented block":     {before + "  [[to_make]] # first\n  product = \"barley-jar\"\n  bags = 1\n" + after, before + want + after},
		"blank lines pile up":   {before + "[[to_make]]\nproduct = \"barley-jar\"\nbags = 1\n\n\n\n[[to_make]]\nproduct = \"barley-jar\"\nbags = 4\nfor = \"x\"\n" + after, before + want + after},
		"keys after a to_make":  {before + "[[to_make]]\nbags = 3\n# how many\nproduct = \"barley-jar\"\n\n[[stock]]\nproduct = \"barley-jar\"\nbags = 1\n", before + want + "\n[[stock]]\nproduct = \"barley-jar\"\nbags = 1\n"},
		"quotes around the key": {before + "[[\"to_make\"]]\nproduct = \"barley-jar\"\nbags = 3\n", before + want},
	} {
		if name == "in the middle" { // the first block is where the new ones go
			head, tail, _ := strings.Cut(c.file, "[[to_make]]\nproduct = \"barley-jar\"\nbags = 1 # one\n")
			c.want = head + want + strings.Split(tail, "[[to_make]]")[0]
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			k, path := keep(t, []byte(c.file))
			old, head, err := k.Book(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			next, err := k.SetToMake(t.Context(), newLines, head, store.Meta{})
			if err != nil {
				t.Fatal(err)
			}
			got := string(read(t, path))
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
			if next <= head || next != headOf(t, k) {
				t.Errorf("head went from %d to %d, then %d", head, next, headOf(t, k))
			}
			b, _, err := k.Book(t.Context())
			old.ToMake = newLines
			if d := cmp.Diff(old, b); d != "" || err != nil {
				t.Errorf("%v\n%s", err, d)
			}
			// Again and again: the file does not grow.
			for range 3 {
				next, err = k.SetToMake(t.Context(), newLines[:1], next, store.Meta{})
				if err != nil {
					t.Fatal(err)
				}
				next, err = k.SetToMake(t.Context(), newLines, next, store.Meta{})
				if err != nil {
					t.Fatal(err)
				}
			}
			if d := cmp.Diff(got, string(read(t, path))); d != "" {
				t.Errorf("after setting them again:\n%s", d)
			}
			if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o640 {
				t.Errorf("the file's mode is %v (%v)", info.Mode(), err)
			}
			if left, _ := os.ReadDir(filepath.Dir(path)); len(left) != 1 {
				t.Errorf("%d files in the directory", len(left))
			}
		})
	}
}

func TestSetToMakeRefuses(t *testing.T) {
	t.Parallel()
	k, path := keep(t, bookfile.Demo())
	head := headOf(t, k)
	if _, err := k.SetToMake(t.Context(), []demand.Line{{Product: "no-such", Bags: 1}}, head, store.Meta{}); fault.KindOf(err) != fault.KindInvalid ||
		!strings.Contains(err.Error(), "to_make[0].product") {
		t.Errorf("unknown product: %v", err)
	}
	if _, err := k.SetToMake(t.Context(), newLines, head-1, store.Meta{}); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("old head: %v", err)
	}
	if !bytes.Equal(read(t, path), bookfile.Demo()) {
		t.Error("a refused change changed the file")
	}
	b, _, err := k.Book(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if same, err := k.SetToMake(t.Context(), b.ToMake, head, store.Meta{}); err != nil || same != head {
		t.Errorf("the same lines again: head %d → %d, %v", head, same, err)
	}
	none, err := k.SetToMake(t.Context(), nil, head, store.Meta{})
	if err != nil || none <= head {
		t.Errorf("no lines: %v", err)
	}
	if b, _, err = k.Book(t.Context()); err != nil || len(b.ToMake) != 0 {
		t.Errorf("still %d lines to make (%v)", len(b.ToMake), err)
	}
}

// An edit made in an editor moves the head, even if the clock of the file
// system did not; the same bytes written again do not.
func TestHeadFollowsTheContent(t *testing.T) {
	t.Parallel()
	k, path := keep(t, bookfile.Demo())
	head := headOf(t, k)
	if again := headOf(t, k); again != head {
		t.Errorf("nothing happened, but the head moved from %d to %d", head, again)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	edit := func(data []byte) {
		if err := os.WriteFile(path, data, 0o640); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, info.ModTime(), info.ModTime()); err != nil {
			t.Fatal(err)
		}
	}
	edit(append(bookfile.Demo(), "# a thought\n"...))
	edited := headOf(t, k)
	if edited <= head {
		t.Errorf("an edit, but the head went from %d to %d", head, edited)
	}
	if _, err := k.SetToMake(t.Context(), newLines, head, store.Meta{}); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("a change over somebody's edit: %v", err)
	}
	edit(bookfile.Demo())
	if back := headOf(t, k); back <= edited {
		t.Errorf("an edit back is an edit too: %d after %d", back, edited)
	}
}

func TestImportIntoAFile(t *testing.T) {
	t.Parallel()
	k, path := keep(t, nil)
	if _, _, err := k.Book(t.Context()); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("no file: %v", err)
	}
	if h := headOf(t, k); h != 0 {
		t.Errorf("no file, head %d", h)
	}
	want := shoptest.Book()
	head, ch, err := k.Import(t.Context(), want, 0, store.Meta{})
	if err != nil || len(ch.Added) == 0 || len(ch.Revised)+len(ch.Kept) > 0 {
		t.Fatalf("%+v, %v", ch, err)
	}
	got, at, err := k.Book(t.Context())
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" || err != nil || at != head {
		t.Fatalf("%v, head %d and %d\n%s", err, head, at, d)
	}
	before := read(t, path)
	if same, ch, err := k.Import(t.Context(), want, head, store.Meta{}); err != nil || same != head || len(ch.Added)+len(ch.Revised) > 0 || ch.Unchanged == 0 {
		t.Errorf("the same again: %+v, head %d → %d, %v", ch, head, same, err)
	}
	if !bytes.Equal(before, read(t, path)) {
		t.Error("the same again rewrote the file")
	}
	if _, _, err := k.Import(t.Context(), want, head-1, store.Meta{}); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("old head: %v", err)
	}

	// A part of a book: one recipe changed, one new; nothing else goes.
	part := shoptest.Book()
	part.Recipes = part.Recipes[1:2]
	part.Recipes[0].Name = "Aniseed beads, new"
	more := part.Recipes[0]
	more.ID = "aniseed-new"
	part.Recipes = append(part.Recipes, more)
	part.Shop.Name, part.Products, part.ToMake = want.Shop.Name, nil, nil
	head2, ch, err := k.Import(t.Context(), part, head, store.Meta{})
	if err != nil || head2 <= head {
		t.Fatal(err)
	}
	if d := cmp.Diff([]string{"recipe aniseed-new"}, ch.Added); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]string{"recipe aniseed-beads"}, ch.Revised); d != "" {
		t.Error(d)
	}
	got, _, err = k.Book(t.Context())
	if err != nil || len(got.Recipes) != 4 || len(got.Products) != 3 || len(got.ToMake) != 3 {
		t.Errorf("%d recipes, %d products, %d lines (%v)", len(got.Recipes), len(got.Products), len(got.ToMake), err)
	}

	// Lines that are there and none empty the list.
	day := got.Day
	day.Opens = "07:30"
	if head2, _, err = k.Import(t.Context(), book.Book{Day: day, ToMake: []demand.Line{}}, head2, store.Meta{}); err != nil {
		t.Fatal(err)
	}
	if got, _, err = k.Book(t.Context()); err != nil || len(got.ToMake) != 0 || got.Day.Opens != "07:30" {
		t.Errorf("%d lines, opens %s (%v)", len(got.ToMake), got.Day.Opens, err)
	}

	bad := shoptest.Book()
	bad.Recipes[0].Rolls = "no-such"
	if _, _, err := k.Import(t.Context(), bad, head2, store.Meta{}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a book that does not hang together: %v", err)
	}
	if headOf(t, k) != head2 {
		t.Error("a refused import moved the head")
	}
}

func retire(t *testing.T, k *bookfile.Keeper, kind, slug string, expect store.Head) (store.Head, error) {
	t.Helper()
	return k.Change(t.Context(), store.Change{Out: []store.Name{{Kind: kind, Slug: slug}}}, expect, store.Meta{})
}

func TestRetireFromAFile(t *testing.T) {
	t.Parallel()
	k, _ := keep(t, bookfile.Demo())
	head := headOf(t, k)
	for _, c := range []struct {
		kind, slug string
		want       fault.Kind
	}{
		{"recipe", "mint-beads", fault.KindConflict}, {"recipe", "no-such", fault.KindNotFound}, {"toffee", "x", fault.KindNotFound},
		{"shop", "shop", fault.KindInvalid}, {"to_make", "", fault.KindNotFound},
	} {
		if _, err := retire(t, k, c.kind, c.slug, head); fault.KindOf(err) != c.want {
			t.Errorf("%s %s: %v", c.kind, c.slug, err)
		}
	}
	if _, err := retire(t, k, "slab", "trial-slab", head-1); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("old head: %v", err)
	}
	if _, err := retire(t, k, "slab", "trial-slab", head); err != nil {
		t.Fatal(err)
	}
	b, _, err := k.Book(t.Context())
	if err != nil || len(b.Slabs) != 1 || b.Slabs[0].ID != "marble" {
		t.Errorf("%+v, %v", b.Slabs, err)
	}
}

func TestAFileKeepsNoHistory(t *testing.T) {
	t.Parallel()
	k, path := keep(t, bookfile.Demo())
	if _, err := k.Acts(t.Context(), 0, 9); fault.KindOf(err) != fault.KindNotFound || !strings.Contains(err.Error(), "import it into a .db") {
		t.Errorf("acts: %v", err)
	}
	if _, err := k.Versions(t.Context(), "recipe", "mint-beads", 0, 9); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("revisions: %v", err)
	}
	if err := k.ExportAll(t.Context(), io.Discard); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("export: %v", err)
	}
	if _, err := k.ImportAll(t.Context(), strings.NewReader("")); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("import: %v", err)
	}
	a, err := k.Verify(t.Context())
	if err != nil || len(a.Problems) > 0 || a.Head != headOf(t, k) || len(a.Hash) != 64 {
		t.Errorf("%+v, %v", a, err)
	}
	if err := os.WriteFile(path, []byte("format = 1\nfoo = 2\n"), 0o640); err != nil {
		t.Fatal(err)
	}
	if a, err = k.Verify(t.Context()); err != nil || !cmp.Equal(a.Problems[len(a.Problems)-1].Where, "line 2") {
		t.Errorf("%+v, %v", a, err)
	}
	if _, _, err := k.Book(t.Context()); fault.KindOf(err) != fault.KindInvalid || !strings.Contains(err.Error(), "shop.toml:1:") {
		t.Errorf("a broken file: %v", err)
	}
}

func TestOpenRefusesADirectory(t *testing.T) {
	t.Parallel()
	if _, err := bookfile.Open(t.TempDir()); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a directory: %v", err)
	}
}

// A file made read-only, and a link: the one is not got round, the other is
// followed and stays a link.
func TestReadOnlyAndLinks(t *testing.T) {
	t.Parallel()
	_, path := keep(t, bookfile.Demo())
	link := filepath.Join(filepath.Dir(path), "link.toml")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	k, err := bookfile.Open(link)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := k.SetToMake(t.Context(), newLines, headOf(t, k), store.Meta{}); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone (%v)", err)
	}
	if bytes.Equal(read(t, path), bookfile.Demo()) {
		t.Error("the file behind the link did not change")
	}
	if err := os.Chmod(path, 0o440); err != nil {
		t.Fatal(err)
	}
	if _, err := k.SetToMake(t.Context(), nil, headOf(t, k), store.Meta{}); fault.KindOf(err) != fault.KindForbidden {
		t.Errorf("a read-only file: %v", err)
	}
}
