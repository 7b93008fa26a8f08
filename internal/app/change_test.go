package app

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/demand"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
)

func mins(n int) q.Duration { return q.Duration(n) * 60e9 }

func TestReadChange(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	for _, c := range []struct {
		kind, text string
		want       Change
		says       string
	}{
		{"first", "hazel-leaves", Change{Rule: book.Rule{Kind: "first", Recipe: "hazel-leaves"}}, "Hazel leaves first"},
		{"next", "hazel-leaves,pear-barrels", Change{Rule: book.Rule{Kind: "next", After: "hazel-leaves", Recipe: "pear-barrels"}}, "Pear barrels straight after Hazel leaves"},
		{"not-next", "a,b", Change{Rule: book.Rule{Kind: "not_next", After: "a", Recipe: "b"}}, "b not straight after a"},
		{"at-least", "wash,b", Change{Rule: book.Rule{Kind: "at_least", Act: "wash", Recipe: "b"}}, "before b at least: wash"},
		{"at-least", "allergen clean,a,b", Change{Rule: book.Rule{Kind: "at_least", Act: "allergen clean", After: "a", Recipe: "b"}}, "from a to b at least: allergen clean"},
		{"break", "tea in  the yard 10:30-11:00 20min", Change{Break: book.Break{Name: "tea in the yard", From: "10:30", To: "11:00", Duration: mins(20)}},
			"break tea in the yard, 20 min, begun from 10:30 to 11:00"},
		{"pour", "class of 12:00 14:00 10min 1h", Change{Pour: book.Pour{Name: "class of 12:00", At: "14:00", Early: mins(10), Late: mins(60)}},
			"class of 12:00 announced for 14:00, kept from 10 min early to 60 min late"},
		{"pour", "school 11:00 0min 5min pear-barrels", Change{Pour: book.Pour{Name: "school", At: "11:00", Late: mins(5), Recipe: "pear-barrels"}},
			"school announced for 11:00, kept from 0 min early to 5 min late, of Pear barrels"},
		{"hand", "Dora 09:00-13:00 adult,weigh,pack", Change{Hand: rig.Hand{Name: "Dora", Adult: true, From: "09:00", To: "13:00", May: []rig.Task{rig.MayWeigh, rig.MayPack}}},
			"with Dora from 09:00 to 13:00, who may weigh and pack"},
		{"hand", "Old Tom pack", Change{Hand: rig.Hand{Name: "Old Tom", May: []rig.Task{rig.MayPack}}}, "with Old Tom, who may pack"},
		{"without-hand", "bela", Change{Hand: rig.Hand{ID: "bela"}}, "without Bela"},
		{"without", "row-mix@market stall", Change{Line: demand.Line{Product: "row-mix", For: "market stall"}}, "without Row mix for market stall"},
		{"bags", "row-mix@a=b=60", Change{Line: demand.Line{Product: "row-mix", For: "a=b", Bags: 60}}, "60 bags of Row mix for a=b"},
		{"must", "row-mix", Change{Line: demand.Line{Product: "row-mix"}}, "Row mix must go"},
		{"not-today", "hazel-leaves", Change{Rule: book.Rule{Recipe: "hazel-leaves"}}, "no Hazel leaves"},
	} {
		got, err := ReadChange(c.kind, c.text)
		if err != nil {
			t.Errorf("%s %s: %v", c.kind, c.text, err)
			continue
		}
		c.want.Kind = c.kind
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s %s -want +got:\n%s", c.kind, c.text, d)
		}
		if says := got.Say(&b); says != c.says {
			t.Errorf("%s %s is said as %q, want %q", c.kind, c.text, says, c.says)
		}
	}
	for _, c := range [][2]string{
		{"first", ""}, {"first", "a,b"}, {"next", "a"}, {"next", "a,"}, {"at-least", "wash"}, {"break", "10:30-11:00 20min"}, {"break", "tea 10:30-11:00"},
		{"break", "tea 10:30-11:00 90s"}, {"pour", "school 11:00"}, {"pour", "school 11:00 10min"}, {"pour", "school 11:00 10min -5min"}, {"hand", "Dora"},
		{"hand", "Dora adult"}, {"bags", "row-mix"}, {"bags", "row-mix=many"}, {"without", "row-mix@"}, {"frist", "a"},
	} {
		if got, err := ReadChange(c[0], c[1]); err == nil {
			t.Errorf("%s %q is read as %+v", c[0], c[1], got)
		}
	}
}

// Every kind's own example can be read and reads back the same.
func TestChangeKinds_Examples(t *testing.T) {
	t.Parallel()
	for _, k := range ChangeKinds() {
		c, err := ReadChange(k.Name, k.Example)
		if err != nil || c.Text() != k.Example {
			t.Errorf("%s %s: read as %q, %v", k.Name, k.Example, c.Text(), err)
		}
	}
}

// What is read once is written so that it reads the same again.
func FuzzReadChange(f *testing.F) {
	for _, k := range ChangeKinds() {
		f.Add(k.Name, k.Example)
	}
	f.Add("hand", "a 09:00-10:00 09:00-10:00 pack")
	f.Add("pour", "a 10:00 5min 5min 11:00 1h 0.5h 12:00")
	f.Add("bags", "a@b=1=+2")
	f.Fuzz(func(t *testing.T, kind, text string) {
		c, err := ReadChange(kind, text)
		if err != nil {
			return
		}
		again, err := ReadChange(kind, c.Text())
		if err != nil {
			t.Fatalf("%s %q is written %q, which is refused: %v", kind, text, c.Text(), err)
		}
		if d := cmp.Diff(c, again); d != "" {
			t.Errorf("%s %q -read +again:\n%s", kind, text, d)
		}
	})
}
