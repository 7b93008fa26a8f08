package quantity_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Every exported type of this package has a row in docs/nomenclature.md, and
// every type the page names exists.
func TestNomenclature_HasEveryType(t *testing.T) {
	t.Parallel()
	page, err := os.ReadFile(filepath.Join("..", "..", "docs", "nomenclature.md"))
	if err != nil {
		t.Fatal(err)
	}
	var onPage []string
	for _, m := range regexp.MustCompile("(?m)^\\|[^|]*\\| `quantity\\.([A-Za-z]+)` \\|").FindAllStringSubmatch(string(page), -1) {
		if slices.Contains(onPage, m[1]) {
			t.Errorf("%s has two rows", m[1])
		}
		onPage = append(onPage, m[1])
	}
	inCode := exportedTypes(t)
	if len(inCode) < 10 {
		t.Fatalf("only %v were found in the code", inCode)
	}
	for _, name := range inCode {
		if !slices.Contains(onPage, name) {
			t.Errorf("quantity.%s is not on the page", name)
		}
	}
	for _, name := range onPage {
		if !slices.Contains(inCode, name) {
			t.Errorf("the page names quantity.%s, which does not exist", name)
		}
	}
}

// exportedTypes returns the names of the package's exported types.
func exportedTypes(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range file.Decls {
			gen, ok := decl.(*ast.GenDecl)
			if !ok {
				continue
			}
			for _, spec := range gen.Specs {
				if ts, ok := spec.(*ast.TypeSpec); ok && ts.Name.IsExported() {
					names = append(names, ts.Name.Name)
				}
			}
		}
	}
	return names
}
