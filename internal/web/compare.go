package web

import (
	"fmt"
	"math"
	"strconv"
	"sync"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
	"slabside/internal/store"
)

// changeView is what a change of the lines does to the plan.
type changeView struct {
	Sentence string
	Rows     []changeRow
}

type changeRow struct {
	What, Before, After string
	Differs             bool
}

// compare says what became of a plan. Both plans are of the same day.
func compare(before, after *app.DayPlan) *changeView {
	u := after.Units
	rows := []changeRow{
		{What: "bags asked", Before: strconv.Itoa(asked(before)), After: strconv.Itoa(asked(after))},
		{What: "boils", Before: strconv.Itoa(len(before.Batches)), After: strconv.Itoa(len(after.Batches))},
		{What: "into the kettle", Before: u.Mass(charged(before)), After: u.Mass(charged(after))},
		{What: "last bag packed", Before: clockOr(before.WorkEnd), After: clockOr(after.WorkEnd)},
		{What: "closed", Before: clockOr(before.Closed), After: clockOr(after.Closed)},
		{What: "left over", Before: u.Mass(left(before)), After: u.Mass(left(after))},
		{What: "boils not placed", Before: strconv.Itoa(len(before.Unplaced)), After: strconv.Itoa(len(after.Unplaced))},
	}
	for i := range rows {
		r := &rows[i]
		r.Differs = r.Before != r.After
	}
	return &changeView{Sentence: changeSentence(before, after), Rows: rows}
}

// changeSentence says the change in one breath: "12 more bags: one more half
// boil of Barley drops; done 14:10 instead of 13:30".
func changeSentence(before, after *app.DayPlan) string {
	var s string
	switch d := asked(after) - asked(before); {
	case d > 0:
		s = fmt.Sprintf("%d more %s", d, many(d, "bag", "bags"))
	case d < 0:
		s = fmt.Sprintf("%d fewer %s", -d, many(-d, "bag", "bags"))
	default:
		s = "As many bags as before"
	}
	s += ": "
	if boils := boilChanges(before, after); len(boils) > 0 {
		s += listOf(boils)
	} else {
		s += "the same boils"
	}
	a, b := clockOr(after.WorkEnd), clockOr(before.WorkEnd)
	switch {
	case a == "" || b == "":
	case a == b:
		s += "; done at " + a + " as before"
	default:
		s += "; done " + a + " instead of " + b
	}
	if n := len(after.Unplaced); n > len(before.Unplaced) {
		s += fmt.Sprintf("; %s now %s no place in the day", count(n, "boil", "boils"), many(n, "has", "have"))
	}
	return s
}

// boilChanges counts boils by recipe and size before and after, in the order
// in which they stand in the day.
func boilChanges(before, after *app.DayPlan) []string {
	type key struct{ name, size string }
	n := map[key]int{}
	var order []key
	tally := func(p *app.DayPlan, by int) {
		for _, b := range p.Batches {
			k := key{b.Name, sizeWord(b.Size)}
			if _, ok := n[k]; !ok {
				order = append(order, k)
			}
			n[k] += by
		}
	}
	tally(after, 1)
	tally(before, -1)
	var out []string
	for _, k := range order {
		d, word := n[k], "more"
		if d < 0 {
			d, word = -d, "fewer"
			if d == 1 {
				word = "less"
			}
		}
		if d > 0 {
			out = append(out, fmt.Sprintf("%s %s %s %s of %s", few(d), word, k.size, many(d, "boil", "boils"), k.name))
		}
	}
	return out
}

func asked(p *app.DayPlan) int {
	n := 0
	for _, m := range p.Bags {
		n += m.Asked
	}
	return n
}

func charged(p *app.DayPlan) q.Kilograms {
	kg := 0.0
	for _, b := range p.Batches {
		kg += float64(b.ChargeKg)
	}
	return q.Kilograms(kg)
}

func left(p *app.DayPlan) q.Kilograms {
	kg := 0.0
	for _, l := range p.LeftOver {
		kg += l.Kg.Value
	}
	return q.Kilograms(math.Max(kg, 0))
}

// saves remembers the plan before each of the last few changes, so that the
// page after a save can say what became of it. It is a courtesy, lost when the
// program ends.
type saves struct {
	mu   sync.Mutex
	last []saved
}

type saved struct {
	head store.Head // the book's head after the change
	plan *app.DayPlan
}

const mostSaves = 16

func (s *saves) keep(head store.Head, before *app.DayPlan) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.last = append(s.last, saved{head, before})
	if len(s.last) > mostSaves {
		s.last = s.last[1:]
	}
}

// before returns the plan before the change that led to head, or nil.
func (s *saves) before(head store.Head) *app.DayPlan {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, x := range s.last {
		if x.head == head {
			return x.plan
		}
	}
	return nil
}

// emptyDay stands for a day without boils, to compare the first lines with.
func emptyDay(like *app.DayPlan) *app.DayPlan {
	return &app.DayPlan{Units: like.Units, WorkEnd: time.Time{}, Closed: time.Time{}}
}
