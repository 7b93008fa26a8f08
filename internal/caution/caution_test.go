package caution_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/caution"
)

// Every code declared in texts.go has a text, and every text a declared code.
func TestEveryCodeHasOneText(t *testing.T) {
	t.Parallel()
	file, err := parser.ParseFile(token.NewFileSet(), "texts.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	declared := map[caution.Code]bool{}
	for _, d := range file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST {
			continue
		}
		for _, s := range g.Specs {
			text, err := strconv.Unquote(s.(*ast.ValueSpec).Values[0].(*ast.BasicLit).Value)
			if err != nil {
				t.Fatal(err)
			}
			if declared[caution.Code(text)] {
				t.Errorf("code %q declared twice", text)
			}
			declared[caution.Code(text)] = true
		}
	}
	seen := map[caution.Code]bool{}
	for _, c := range caution.All() {
		if seen[c.Code] {
			t.Errorf("code %q has two texts", c.Code)
		}
		seen[c.Code] = true
	}
	if d := cmp.Diff(declared, seen); d != "" {
		t.Errorf("declared codes and texts differ (-declared +texts):\n%s", d)
	}
}

// The words no caution may use: the house rule that nothing is called safe or
// cool enough, no absence of an allergen is promised, no contact time given.
func TestWordingKeepsTheHouseRule(t *testing.T) {
	t.Parallel()
	banned := regexp.MustCompile(`(?i)\bsafe(ly|ty)?\b|cool enough|free[ -]from|-free\b|\b\d+ ?(s|sec|seconds?|min|minutes?)\b`)
	code := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	for _, c := range caution.All() {
		if m := banned.FindString(c.Text); m != "" {
			t.Errorf("%s says %q", c.Code, m)
		}
		if !strings.HasSuffix(c.Text, ".") || strings.TrimSpace(c.Text) != c.Text || len(c.Text) > 180 {
			t.Errorf("%s: not one short text ending in a full stop: %q", c.Code, c.Text)
		}
		if !code.MatchString(string(c.Code)) {
			t.Errorf("code %q is not lower-case words with hyphens", c.Code)
		}
	}
}

func TestAboutAndMerge(t *testing.T) {
	t.Parallel()
	a := caution.About(caution.OldMetal, `rolls "leaf"`)
	if want := `rolls "leaf": ` + caution.Text(caution.OldMetal); a.Text != want || a.Code != caution.OldMetal {
		t.Errorf("About = %+v", a)
	}
	b := caution.Of(caution.Nips)
	got := caution.Merge([]caution.Caution{a, b}, nil, []caution.Caution{b, caution.Of(caution.Hood), a})
	if d := cmp.Diff([]caution.Caution{a, b, caution.Of(caution.Hood)}, got); d != "" {
		t.Error(d)
	}
	if caution.Known("no-such-caution") || !caution.Known(caution.Choking) {
		t.Error("Known is wrong")
	}
	defer func() {
		if recover() == nil {
			t.Error("Text of an unknown code did not panic")
		}
	}()
	caution.Text("no-such-caution")
}
