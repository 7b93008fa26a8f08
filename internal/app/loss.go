package app

import (
	"context"
	"fmt"
	"slices"
	"time"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/day"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/store"
)

// Loss is what a batch leaves short of its day if nothing of it is sold, and until when
// another can be lit in its place.
type Loss struct {
	Short  []ShortLine `json:"short"` // lines that get fewer bags without it
	Why    string      `json:"why"`   // nothing is short; empty: something is
	Remake Remake      `json:"remake"`
}

// ShortLine is a line to make that gets fewer bags.
type ShortLine struct {
	Product string     `json:"product"`
	Name    string     `json:"name"`
	For     string     `json:"for,omitempty"`
	Must    bool       `json:"must"`
	Asked   int        `json:"asked"`
	Short   q.Estimate `json:"short"` // bags, draw by draw
	Left    q.Estimate `json:"left"`  // bags that are made all the same
}

// Remake is the last moment for another boil.
type Remake struct {
	Until   time.Time `json:"until,omitzero"` // latest flame-up by which all of the day is still made; none: Why says why
	Proved  bool      `json:"proved"`         // a minute later it cannot be; else perhaps it can
	Overrun int       `json:"overrun_min"`    // minutes that the day would run over; 0: it would not, or nothing was found
	Boils   int       `json:"boils"`          // that are still to be made, this one among them
	Why     string    `json:"why"`
}

// lossKey names a loss: all it depends on.
type lossKey struct {
	head   store.Head
	batch  string
	minute int64
	reader q.Reader
}

// lossCall is a loss that is being worked out, or was.
type lossCall struct {
	done chan struct{}
	loss *Loss
	err  error
}

const (
	keptLosses = 16
	// remakeStates ends each search for the last moment by a count, so that an answer
	// comes in a second or so: what is given up there says so.
	remakeStates = 50_000
)

// lossOf works out what a batch leaves short, or takes what is being worked out. It goes
// on when nobody waits any longer.
func (a *App) lossOf(ctx context.Context, b book.Book, head store.Head, r record.Record) (*Loss, error) {
	key := lossKey{head, r.ID, a.now().Unix() / 60, b.Shop.Units}
	a.mu.Lock()
	c, ok := a.losses[key]
	if !ok {
		if a.losses == nil || len(a.losses) >= keptLosses {
			a.losses = map[lossKey]*lossCall{}
		}
		c = &lossCall{done: make(chan struct{})}
		a.losses[key] = c
		go func() {
			defer close(c.done)
			defer func() {
				if p := recover(); p != nil {
					c.loss, c.err = nil, fault.Internal(fmt.Errorf("panic: %v", p), "what it leaves short could not be finished")
				}
			}()
			own, cancel := context.WithTimeout(context.WithoutCancel(ctx), planLimit)
			defer cancel()
			c.loss, c.err = a.workLoss(own, &b, r)
		}()
	}
	a.mu.Unlock()
	select {
	case <-c.done:
		return c.loss, c.err
	case <-ctx.Done():
		return nil, fault.Busy("what it leaves short is being worked out").WithCause(ctx.Err()).WithHint("ask again in a moment")
	}
}

func (a *App) workLoss(ctx context.Context, b *book.Book, r record.Record) (*Loss, error) {
	begun := r.Begun()
	p, err := a.Plan(ctx, PlanRequest{Date: begun.On})
	if err != nil {
		return nil, err
	}
	out := &Loss{Short: []ShortLine{}}
	name := entry.NameOf(b, store.KindRecipe, begun.Recipe)
	m := p.made
	list, err := a.ofDay(ctx, begun.On)
	if err != nil {
		return nil, err
	}
	t := m.tally(list, r.ID)
	recipeAt := slices.IndexFunc(m.recipes, func(x recipe.Recipe) bool { return x.ID == begun.Recipe })
	switch {
	case recipeAt < 0 || m.madeOf(recipeAt) == 0:
		out.Why = "no line of the day waits for " + name
		out.Remake.Why = "nothing of the day hangs on it"
		return out, nil
	case t.good[recipeAt] >= m.madeOf(recipeAt):
		out.Why = "it is made up for: as many good boils of " + name + " are begun as the day needs"
		out.Remake.Why = "another is begun"
		return out, nil
	}
	if out.Short, err = m.short(recipeAt); err != nil {
		return nil, err
	}
	if len(out.Short) == 0 {
		out.Why = "the other boils of " + name + " fill every line"
	}
	out.Remake, err = m.remake(ctx, t, recipeAt, a.now(), begun.On == a.Today(*b))
	return out, err
}

// tally is how far a day has come by its records.
type tally struct {
	good []int // of each recipe of the plan: batches that are begun and not lost
	done int   // boils of the plan up to the last that is begun
}

// lost reports whether nothing of a batch goes into the bags of its day.
func lost(r record.Record) bool {
	switch r.Place().As {
	case record.Free:
		return false
	case record.Relabel: // its sweets are what they were to be
		return false
	}
	return true
}

// freed reports whether somebody has looked at a batch since its last trouble and found
// that it may be used.
func freed(r record.Record) bool {
	k, ok := r.Stands(record.Placing)
	if !ok || lost(r) {
		return false
	}
	troubled, _ := r.Stands(record.Troubling)
	return k.Act > troubled.Act
}

// tally counts the batches of a day; the one that is asked about counts as lost until
// somebody has freed it.
func (m *making) tally(list []record.Record, asked string) tally {
	t := tally{good: make([]int, len(m.recipes))}
	var begun []string
	for _, r := range list {
		begun = append(begun, r.Begun().Recipe)
		if i := m.boilBegun(m.prob, begun); i >= 0 {
			t.done = max(t.done, m.place(i)+1)
		}
		at := slices.IndexFunc(m.recipes, func(x recipe.Recipe) bool { return x.ID == r.Begun().Recipe })
		if at >= 0 && !lost(r) && (r.ID != asked || freed(r)) {
			t.good[at]++
		}
	}
	return t
}

// short returns the lines that get fewer bags with one boil of a recipe less, draw by draw.
func (m *making) short(r int) ([]ShortLine, error) {
	fewer := *m
	plan := *m.plan
	last := -1
	for i, p := range plan.Made {
		if m.lots[p.Boil].recipe == r {
			last = i
		}
	}
	plan.Made = slices.Delete(slices.Clone(plan.Made), last, last+1)
	fewer.plan = &plan
	with, without := m.madeDraws(), fewer.madeDraws()
	out := []ShortLine{}
	for _, asked := range m.result.Lines {
		line := m.lines[asked.Line]
		p, _ := m.b.Product(line.Product)
		blend, err := bag.NewBlend(p, m.sweets)
		if err != nil {
			return nil, err
		}
		all, _ := m.fill(blend, asked.ToPack, with)
		rest, _ := m.fill(blend, asked.ToPack, without)
		short := make([]float64, len(all))
		for d := range short {
			short[d] = all[d] - rest[d]
		}
		x := ShortLine{Product: p.ID, Name: p.Name, For: line.For, Must: line.Must, Asked: line.Bags}
		if x.Short, err = estimate(short); err != nil {
			return nil, err
		}
		if x.Left, err = estimate(rest); err != nil {
			return nil, err
		}
		if x.Short.High > 0 {
			out = append(out, x)
		}
	}
	return out, nil
}

// remake finds the latest flame-up of another boil of a recipe, from now on, by which all
// that is not made of the day still is. What is begun counts as off the line and what is
// lost is made again.
func (m *making) remake(ctx context.Context, t tally, r int, now time.Time, today bool) (Remake, error) {
	var out Remake
	at := max(0, int(now.Sub(m.opens).Minutes()+1))
	switch {
	case !today:
		out.Why = "its day is not today: put its bags on the lines of another day"
		return out, nil
	case at >= m.prob.End:
		out.Why = "the day is over: put its bags on the lines of another day"
		return out, nil
	}
	rest := day.Rest(m.prob, m.plan, t.done, at, m.toCome(t, r), m.lies())
	out.Boils = len(rest.Boils)
	late, err := day.Latest(ctx, rest, r, remakeStates)
	if err != nil {
		return out, err
	}
	if late.Fits {
		out.Until, out.Proved = m.at(at+late.Flame), late.Proved
		out.Why = fmt.Sprintf("lit by then, all that is left of the day (%s) is made and cleaned down by %s", sayBoils(out.Boils), m.ends.Format("15:04"))
		return out, nil
	}
	out.Why = fmt.Sprintf("with another boil the day does not end by %s", m.ends.Format("15:04"))
	if !late.Proved {
		out.Why = "no order was found in which another boil fits"
	}
	if out.Overrun, err = day.Overrun(ctx, rest); err != nil {
		return out, err
	}
	if out.Overrun > 0 {
		out.Why += fmt.Sprintf("; lit at once it would run %s longer", duration(out.Overrun))
	}
	return out, nil
}

func sayBoils(n int) string {
	if n == 1 {
		return "1 boil"
	}
	return fmt.Sprintf("%d boils", n)
}

// toCome are the boils of the plan that are not made yet, that of a recipe last: of each
// recipe as many as the plan makes less those that are good.
func (m *making) toCome(t tally, last int) []day.Boil {
	var out, end []day.Boil
	seen := make([]int, len(m.recipes))
	for _, i := range m.madeInOrder() {
		b := m.prob.Boils[i]
		if seen[b.Recipe]++; seen[b.Recipe] <= t.good[b.Recipe] {
			continue
		}
		b.Emit = slices.Clone(b.Emit)
		for c, ch := range m.channels {
			if ch.grain != "" {
				b.Emit[c] = 0 // the next one is not expected to grain
			}
		}
		if b.Recipe == last {
			end = append(end, b)
		} else {
			out = append(out, b)
		}
	}
	return append(out, end...)
}

// madeInOrder are the boils of the plan in the order in which they are listed.
func (m *making) madeInOrder() []int {
	var out []int
	for _, p := range m.plan.Made {
		out = append(out, p.Boil)
	}
	slices.Sort(out)
	return out
}

// lies is what lies on the line now that the plan does not know of: grain that nobody has
// washed off.
func (m *making) lies() []int {
	out := make([]int, len(m.channels))
	for c, ch := range m.channels {
		if ch.grain != "" {
			out[c] = grainLevel
		}
	}
	return out
}
