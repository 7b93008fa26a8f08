package app

import (
	"slices"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/shoptest"
)

// Two sweets that may not follow one another, and no third between them: time is
// not what keeps the second out, and in a day too short it is.
func TestRuledOut(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.ToMake = []demand.Line{{Product: "pear-bag", Bags: 30, Must: true}, {Product: "aniseed-jar", Bags: 8}}
	apart := []book.Rule{
		{Kind: "not_next", Recipe: "pear-barrels", After: "aniseed-beads"},
		{Kind: "not_next", Recipe: "aniseed-beads", After: "pear-barrels"},
	}
	whys := func(rules []book.Rule, ends string) (out []string) {
		b.Day.Rules, b.Day.Ends = rules, ends
		for _, u := range plan(t, b, PlanRequest{}).Unplaced {
			out = append(out, u.Why)
		}
		return out
	}
	if got := whys(nil, "16:30"); len(got) != 0 {
		t.Fatalf("without the rules %d boils are left out: %q", len(got), got)
	}
	ruled := func(why string) bool { return strings.Contains(why, "in the order that is asked for") }
	if got := whys(apart, "16:30"); len(got) == 0 || !slices.ContainsFunc(got, ruled) {
		t.Errorf("kept out by the rules, and the reason is %q", got)
	}
	b.Day.Breaks, b.Day.Pours = nil, nil
	if got := whys(apart, "10:30"); len(got) == 0 || slices.ContainsFunc(got, ruled) {
		t.Errorf("kept out by the clock, and the reason is %q", got)
	}
}

// What is merely borne is not called clean.
func TestFirstOn(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.ToMake = []demand.Line{{Product: "aniseed-jar", Bags: 8, Must: true}}
	for _, c := range []struct {
		residue []book.Residue
		want    string
	}{
		{nil, "first on a clean line"},
		{[]book.Residue{{Family: "aniseed", Level: 2}}, "first, and it bears what is on the line from before"},
	} {
		b.Day.Residue = c.residue
		p := plan(t, b, PlanRequest{})
		if len(p.Batches) == 0 || !slices.Contains(p.Batches[0].WhyHere, c.want) {
			t.Errorf("with %v on the line the first boil does not say %q", c.residue, c.want)
		}
	}
}

// A pour announced for a time before the room opens is neither kept nor missed.
func TestPastPours(t *testing.T) {
	t.Parallel()
	for start, want := range map[string]struct{ pours, said int }{
		"08:00": {1, 0},
		"11:15": {1, 0}, // five minutes of its time are left
		"11:21": {0, 1}, // it could be kept until 11:20
	} {
		p := plan(t, shoptest.Book(), PlanRequest{Start: start})
		said := 0
		for _, c := range p.Cautions {
			if c.Code == "pour-past" {
				said++
			}
		}
		if len(p.Pours) != want.pours || said != want.said {
			t.Errorf("from %s: %d pours, said %d times to be over, want %+v", start, len(p.Pours), said, want)
		}
		if want.pours == 0 && slices.ContainsFunc(p.Objectives, func(o Objective) bool { return o.Name == "appointments_missed" && o.Value != 0 }) {
			t.Errorf("from %s a pour that is over counts as missed", start)
		}
	}
}
