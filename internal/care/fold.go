package care

import (
	"slices"
	"strings"
	"time"

	"slabside/internal/journal"
)

// Fault is a fault that was found, and what became of it.
type Fault struct {
	Found
	Act    int64  // of the entry that wrote it first, by which it is settled
	As     int64  // of the entry that stands of it
	Person string // who wrote that
	Done   *Done  // what settled it; nil: it is open
}

// Last is when a kind of work was done last.
type Last struct {
	Done
	Act int64
}

// Duty is something that is due, now and again or once.
type Duty struct {
	Due
	Act  int64
	Done string // day it was done last; empty: not yet
}

// Ledger is what stands written of one thing.
type Ledger struct {
	Thing   Thing
	Entries []Kept // all, in the order in which they were taken in
	Faults  []Fault
	Last    []Last // the last of each kind of work, in the order of [Works]
	Duties  []Duty // what is due, now or later, in the order in which each What was first written

	first map[int64]int64 // entry → the one that it corrects first of all
}

// Fold reads the entries of one thing, in the order in which they were taken in. A
// correction stands in the place of what it corrects.
func Fold(entries []Kept) Ledger {
	l := Ledger{Entries: entries, first: map[int64]int64{}}
	for _, k := range entries {
		l.Thing = k.Entry.Thing
		l.first[k.Act] = k.Act
		if k.Corrects != 0 {
			l.first[k.Act] = l.first[k.Corrects]
		}
	}
	standing := journal.Standing(entries)
	for _, k := range standing {
		if f := k.Entry.Found; f != nil {
			l.Faults = append(l.Faults, Fault{Found: *f, Act: l.first[k.Act], As: k.Act, Person: k.Person})
		}
	}
	last := map[Work]Last{}
	for _, k := range standing {
		switch e := k.Entry; {
		case e.Done != nil:
			l.settle(*e.Done)
			if was, ok := last[e.Done.Work]; !ok || e.Done.On >= was.On {
				last[e.Done.Work] = Last{*e.Done, k.Act}
			}
			for i := range l.Duties {
				if d := &l.Duties[i]; sameWhat(d.What, e.Done.For) {
					d.Done = max(d.Done, e.Done.On)
				}
			}
		case e.Due != nil:
			l.due(*e.Due, k.Act)
		}
	}
	l.Duties = slices.DeleteFunc(l.Duties, func(d Duty) bool { return d.By != "" && d.Done != "" })
	for _, w := range Works() {
		if x, ok := last[w]; ok {
			l.Last = append(l.Last, x)
		}
	}
	return l
}

// settle marks the fault that was done with.
func (l *Ledger) settle(d Done) {
	for i := range l.Faults {
		if f := &l.Faults[i]; d.Settles != 0 && f.Act == l.first[d.Settles] && f.Done == nil {
			f.Done = &d
		}
	}
}

// due puts what is due in the place of what was of the same words, or ends it.
func (l *Ledger) due(d Due, act int64) {
	i := slices.IndexFunc(l.Duties, func(x Duty) bool { return sameWhat(x.What, d.What) })
	switch {
	case d.Ends && i >= 0:
		l.Duties = slices.Delete(l.Duties, i, i+1)
	case d.Ends:
	case i >= 0:
		if l.Duties[i].Due, l.Duties[i].Act = d, act; d.By != "" {
			l.Duties[i].Done = "" // what was done counted for the date before
		}
	default:
		l.Duties = append(l.Duties, Duty{Due: d, Act: act})
	}
}

// sameWhat compares words of what is due as people write them.
func sameWhat(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// Open returns the faults that nothing has settled, those that stop the thing first.
func (l Ledger) Open() []Fault {
	out := slices.DeleteFunc(slices.Clone(l.Faults), func(f Fault) bool { return f.Done != nil })
	slices.SortStableFunc(out, func(a, b Fault) int {
		switch {
		case a.Stops == b.Stops:
			return 0
		case a.Stops:
			return -1
		}
		return 1
	})
	return out
}

// Stopped returns the open faults that stop the thing.
func (l Ledger) Stopped() []Fault {
	return slices.DeleteFunc(l.Open(), func(f Fault) bool { return !f.Stops })
}

// OutOfUse reports whether the thing is not to be used.
func (l Ledger) OutOfUse() bool { return len(l.Stopped()) > 0 }

// Corrected reports whether a later entry corrects that of an act.
func (l Ledger) Corrected(act int64) bool {
	return slices.ContainsFunc(l.Entries, func(k Kept) bool { return k.Corrects == act })
}

// Next is when something falls due.
type Next struct {
	Duty
	On      string // day by which it is due; empty: by batches alone
	Days    int    // until then, below zero past it; meaningless without a day
	Batches int    // until it is due, below zero past it; meaningless where it is not due by batches
	Since   string // day from which it is counted
}

// Over reports whether it is past due: its day is over, or its batches are more than made.
func (n Next) Over() bool {
	return n.On != "" && n.Days < 0 || n.EveryBatches > 0 && n.Batches < 0
}

// Now reports whether it is due on the day or before the next batch, or past it.
func (n Next) Now() bool {
	return n.On != "" && n.Days <= 0 || n.EveryBatches > 0 && n.Batches <= 0
}

// NextOf returns when a duty falls due, as a day has it. Made counts the batches that were
// made on the thing after a day; it is asked only for what is due by batches.
func (d Duty) NextOf(today string, made func(since string) int) Next {
	n := Next{Duty: d, On: d.By, Since: max(d.From, d.Done)}
	if d.EveryDays > 0 {
		n.On = plusDays(n.Since, d.EveryDays)
	}
	if n.On != "" {
		n.Days = daysTo(today, n.On)
	}
	if d.EveryBatches > 0 {
		n.Batches = d.EveryBatches - made(n.Since)
	}
	return n
}

// plusDays returns the date so many days after another.
func plusDays(date string, n int) string {
	on, _ := time.Parse(time.DateOnly, date)
	return on.AddDate(0, 0, n).Format(time.DateOnly)
}

// daysTo counts the days from one date to another.
func daysTo(from, to string) int {
	f, _ := time.Parse(time.DateOnly, from)
	t, _ := time.Parse(time.DateOnly, to)
	return int(t.Sub(f).Hours() / 24)
}
