package app

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/day"
	q "slabside/internal/quantity"
)

// Compared is a trial day beside the kept one.
type Compared struct {
	Changes []ChangeSaid `json:"changes"`
	Cost    string       `json:"cost"` // what the changes cost, in one sentence
	Kept    Figures      `json:"kept"`
	Trial   Figures      `json:"trial"`
	Gained  []Caution    `json:"cautions_gained"`
	Lost    []Caution    `json:"cautions_lost"`
}

// ChangeSaid is a change as it is written and as it is said.
type ChangeSaid struct {
	Kind     string `json:"kind"`
	Text     string `json:"text"`
	Says     string `json:"says"`
	DateOnly bool   `json:"date_only"` // not written to the shop book when the trial is kept
}

// Figures are what two days are compared by.
type Figures struct {
	WorkEnd     time.Time `json:"work_end"` // when the last bag is packed
	Closed      time.Time `json:"closed"`
	CleaningMin int       `json:"cleaning_min"`
	Boils       int       `json:"boils"`
	ChargeKg    q.Number  `json:"charge_kg"` // into the kettle, all boils
	BagsAsked   int       `json:"bags_asked"`
	BagsMade    int       `json:"bags_made"`  // filled by the day, as many as are expected
	BagsShort   int       `json:"bags_short"` // asked, not on the shelf and not made
	PoursKept   int       `json:"pours_kept"`
	PoursMissed int       `json:"pours_missed"`
	LeftKg      q.Number  `json:"left_kg"`
	Unplaced    int       `json:"unplaced"` // boils without a place in the day
	Order       []string  `json:"order"`    // names of the boils
	ProvedBest  bool      `json:"proved_best"`
}

// FiguresOf reads the figures of a plan.
func FiguresOf(d *DayPlan) Figures {
	f := Figures{WorkEnd: d.WorkEnd, Closed: d.Closed, Boils: len(d.Batches), Unplaced: len(d.Unplaced), Order: []string{}, ProvedBest: d.ProvedBest}
	for _, b := range d.Batches {
		f.ChargeKg += b.ChargeKg
		f.Order = append(f.Order, b.Name)
	}
	for _, o := range d.Objectives {
		if o.Name == day.ObjClean {
			f.CleaningMin = int(o.Value)
		}
	}
	for _, m := range d.Bags {
		made := int(math.Round(m.Made.Value))
		f.BagsAsked += m.Asked
		f.BagsMade += made
		f.BagsShort += max(0, m.Asked-m.FromStock-made)
	}
	for _, p := range d.Pours {
		if p.Batch != "" {
			f.PoursKept++
		} else {
			f.PoursMissed++
		}
	}
	for _, l := range d.LeftOver {
		f.LeftKg += q.Number(math.Max(0, l.Kg.Value))
	}
	return f
}

// Said says what a request asks for otherwise than the book has it.
func (r PlanRequest) Said(b *book.Book) []ChangeSaid {
	out := []ChangeSaid{}
	if r.Start != "" && r.Start != b.Day.Opens {
		out = append(out, ChangeSaid{Kind: "start", Text: r.Start, Says: fmt.Sprintf("the room opens at %s instead of %s", r.Start, b.Day.Opens), DateOnly: true})
	}
	if r.End != "" && r.End != b.Day.Ends {
		out = append(out, ChangeSaid{Kind: "end", Text: r.End, Says: fmt.Sprintf("the day ends at %s instead of %s", r.End, b.Day.Ends), DateOnly: true})
	}
	for _, c := range r.If {
		out = append(out, ChangeSaid{Kind: c.Kind, Text: c.Text(), Says: c.Say(b), DateOnly: c.DateOnly()})
	}
	return out
}

// Compare puts a trial day beside the kept one; both are of the same date.
func Compare(b *book.Book, req PlanRequest, kept, trial *DayPlan) *Compared {
	c := &Compared{Changes: req.Said(b), Kept: FiguresOf(kept), Trial: FiguresOf(trial),
		Gained: cautionsBeyond(trial, kept), Lost: cautionsBeyond(kept, trial)}
	c.Cost = cost(trial.Units, c.Kept, c.Trial)
	return c
}

// cautionsBeyond lists what one day asks to mind, of the whole and of its boils,
// and another does not.
func cautionsBeyond(d, other *DayPlan) []Caution {
	all := func(p *DayPlan) []Caution {
		out := slices.Clone(p.Cautions)
		for _, b := range p.Batches {
			out = append(out, b.Cautions...)
		}
		return out
	}
	said := map[string]bool{}
	for _, c := range all(other) {
		said[c.Text] = true
	}
	out := []Caution{}
	for _, c := range all(d) {
		if !said[c.Text] {
			said[c.Text] = true
			out = append(out, c)
		}
	}
	return out
}

// cost says in one sentence what becomes of the day.
func cost(u q.Reader, kept, trial Figures) string {
	var parts []string
	add := func(n int, more, less string) {
		switch {
		case n > 0:
			parts = append(parts, fmt.Sprintf(more, duration(n)))
		case n < 0:
			parts = append(parts, fmt.Sprintf(less, duration(-n)))
		}
	}
	number := func(n int, one, many, more, less string) {
		word, what := more, many
		if n < 0 {
			n, word = -n, less
		}
		if n == 1 {
			what = one
		}
		if n != 0 {
			parts = append(parts, fmt.Sprintf("%d %s %s", n, what, word))
		}
	}
	if trial.Boils == 0 {
		parts = append(parts, "nothing is boiled")
	} else if kept.Boils > 0 {
		add(int(trial.Closed.Sub(kept.Closed)/time.Minute), "closed %s later", "closed %s earlier")
	}
	add(trial.CleaningMin-kept.CleaningMin, "%s more cleaning", "%s less cleaning")
	number(trial.Boils-kept.Boils, "boil", "boils", "more", "fewer")
	number(trial.BagsMade-kept.BagsMade, "bag", "bags", "more", "fewer")
	number(trial.BagsShort-kept.BagsShort, "bag", "bags", "more short", "fewer short")
	number(trial.PoursMissed-kept.PoursMissed, "announced pour", "announced pours", "more missed", "fewer missed")
	if d := float64(trial.LeftKg - kept.LeftKg); math.Abs(d) >= 0.05 {
		word := "more"
		if d < 0 {
			word = "less"
		}
		parts = append(parts, fmt.Sprintf("%s %s left over", u.Mass(q.Kilograms(math.Abs(d))), word))
	}
	if len(parts) == 0 {
		if slices.Equal(kept.Order, trial.Order) {
			return "It costs nothing: the day stays as it is."
		}
		return "It costs nothing but another order."
	}
	s := strings.Join(parts, ", ")
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
