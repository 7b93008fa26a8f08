package paper_test

import (
	"strings"
	"testing"

	"slabside/internal/app"
)

// Every page of a trial says that it is one and what it changes, in the room that
// is free there; no page of a kept day does.
func TestTrial(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	first, err := app.ReadChange("last", b.Recipes[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	kept := planOf(t, b, app.PlanRequest{})
	if text := tool(t, "pdftotext", "-layout", printed(t, kept, sheets), "-"); strings.Contains(text, "TRIAL") {
		t.Error("a kept day is called a trial")
	}
	req := app.PlanRequest{If: []app.Change{first}}
	trial := planOf(t, b, req)
	trial.Compared = app.Compare(&b, req, kept, trial)
	file := printed(t, trial, sheets)
	pages := words(t, file)
	check(t, pages)
	for i, page := range strings.Split(strings.TrimSuffix(tool(t, "pdftotext", "-layout", file, "-"), "\f"), "\f") {
		if !strings.Contains(page, "TRIAL, NOT KEPT: "+first.Say(&b)) {
			t.Errorf("page %d does not say that it is a trial", i+1)
		}
	}
}
