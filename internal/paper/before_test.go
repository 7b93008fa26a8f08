package paper_test

import (
	"strings"
	"testing"

	"slabside/internal/app"
)

// What is cleaned and changed before a boil stands on its sheet, with its time and
// hand; an allergen clean is signed for by who verifies it.
func TestBatchSheetSaysWhatComesBefore(t *testing.T) {
	t.Parallel()
	p := planOf(t, demoBook(t), app.PlanRequest{})
	verified, n := 0, 0
	for i, b := range p.Batches {
		one := *p
		one.Batches = p.Batches[i : i+1]
		text := tool(t, "pdftotext", "-layout", printed(t, &one, batchSheets), "-")
		list := p.Before(b.ID)
		for _, x := range list {
			n++
			if want := x.Begin.Format("15:04") + "–" + x.End.Format("15:04"); !strings.Contains(text, want) || !strings.Contains(text, x.Act+", "+x.Hand) {
				t.Errorf("the sheet of %s does not say %s %s, %s", b.Name, want, x.Act, x.Hand)
			}
			if x.Verify {
				verified++
			}
		}
		if strings.Contains(text, "Clean and change first") != (len(list) > 0) {
			t.Errorf("%s: %d things before it", b.Name, len(list))
		}
		if strings.Contains(text, "verified by, at") != containsVerified(list) {
			t.Errorf("%s: whether somebody signs for a clean is wrong", b.Name)
		}
	}
	if n == 0 || verified == 0 {
		t.Errorf("%d set-ups, %d verified: the day tests too little", n, verified)
	}
}

func containsVerified(list []app.SetUp) bool {
	for _, x := range list {
		if x.Verify {
			return true
		}
	}
	return false
}
