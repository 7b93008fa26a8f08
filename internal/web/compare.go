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
	Was, Now string // heads of the two columns
	Rows     []changeRow
}

type changeRow struct {
	What, Before, After string
	By                  string // the difference, where it can be counted
	Differs             bool
}

// compare says what became of a plan. Both plans are of the same day.
func compare(before, after *app.DayPlan) *changeView {
	return &changeView{Sentence: changeSentence(before, after), Was: "before", Now: "after", Rows: figureRows(after.Units, app.FiguresOf(before), app.FiguresOf(after))}
}

// figureRows lays the figures of two days side by side.
func figureRows(u q.Reader, before, after app.Figures) []changeRow {
	var rows []changeRow
	add := func(what, was, now, by string) {
		r := changeRow{What: what, Before: was, After: now, Differs: was != now}
		if r.Differs {
			r.By = by
		}
		rows = append(rows, r)
	}
	number := func(what string, was, now int) {
		add(what, strconv.Itoa(was), strconv.Itoa(now), fmt.Sprintf("%+d", now-was))
	}
	mass := func(what string, was, now q.Number) {
		sign := "+"
		if now < was {
			sign = "−"
		}
		add(what, u.Mass(q.Kilograms(was)), u.Mass(q.Kilograms(now)), sign+u.Mass(q.Kilograms(math.Abs(float64(now-was)))))
	}
	at := func(what string, was, now time.Time) {
		by := ""
		if !was.IsZero() && !now.IsZero() {
			by = fmt.Sprintf("%+d min", minutesOf(was, now))
		}
		add(what, clockOr(was), clockOr(now), by)
	}
	best := map[bool]string{true: "proved", false: "not proved"}
	at("closed", before.Closed, after.Closed)
	at("last bag packed", before.WorkEnd, after.WorkEnd)
	add("cleaning", fmt.Sprintf("%d min", before.CleaningMin), fmt.Sprintf("%d min", after.CleaningMin), fmt.Sprintf("%+d min", after.CleaningMin-before.CleaningMin))
	number("boils", before.Boils, after.Boils)
	number("boils not placed", before.Unplaced, after.Unplaced)
	mass("into the kettle", before.ChargeKg, after.ChargeKg)
	number("bags asked", before.BagsAsked, after.BagsAsked)
	number("bags made", before.BagsMade, after.BagsMade)
	number("bags short", before.BagsShort, after.BagsShort)
	number("announced pours kept", before.PoursKept, after.PoursKept)
	mass("left over", before.LeftKg, after.LeftKg)
	add("best order", best[before.ProvedBest], best[after.ProvedBest], "")
	return rows
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
		s += app.Listed(boils)
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
