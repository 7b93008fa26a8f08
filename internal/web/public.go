package web

import (
	"context"
	"net/http"
	"sync"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
)

// publicView is what a visitor is told: about when sugar is poured today.
type publicView struct {
	Base  base
	Date  string
	Quiet string // why there is nothing to tell
	Now   string // what is being made
	Pours []publicPour
}

type publicPour struct{ Name, At, Window string }

// publicEvery is how often the public page looks at the plan, publicHolds how long
// what it found is told: the first visitor after a quiet night is not told of yesterday.
const (
	publicEvery = time.Minute
	publicHolds = 2 * publicEvery
)

// board keeps what the public page says. Visitors never make the program plan: it
// is looked at in the background, once a minute at most, and only what is planned
// for the shop's own pages costs a search.
type board struct {
	s *server

	mu      sync.Mutex
	found   found
	looked  time.Time // when a look began
	looking bool
}

// found is what a look found.
type found struct {
	at   time.Time    // the look's begin; zero: none yet
	shop base         // name and place
	plan *app.DayPlan // nil: nothing is to be made
	err  error        // why it is not known
}

// Public returns the page for visitors, to be served apart from the shop's own
// pages: the pours of today that were announced and about when they are, and what
// is being made now. No name of anybody, no address of the shop's pages, no
// cookie.
func (x *Site) Public() http.Handler {
	s := x.server
	s.bare = true
	s.in = entrance{network: true, limits: newLimits(), answers: func(string) bool { return true }}
	b := &board{s: &s}
	mux := http.NewServeMux()
	mux.Handle("/{$}", s.reads(func(w http.ResponseWriter, _ *http.Request) error { return b.show(w) }))
	mux.Handle("/static/{path...}", s.reads(s.static))
	mux.Handle("/", s.reads(func(http.ResponseWriter, *http.Request) error { return fault.NotFound("there is no such page") }))
	return s.guard(mux)
}

// look asks for today's plan in the background if it is time to.
func (b *board) look(now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.looking || !b.looked.IsZero() && now.Sub(b.looked) < publicEvery {
		return
	}
	b.looking, b.looked = true, now
	go func() {
		ctx, cancel := context.WithTimeout(context.Background(), planPatience)
		defer cancel()
		f := b.find(ctx)
		f.at = now
		if f.err != nil {
			b.s.log.Warn("the page for visitors has no plan to tell of", "error", f.err.Error())
		}
		b.mu.Lock()
		defer b.mu.Unlock()
		b.found, b.looking = f, false
	}()
}

// find looks up today's plan. No request stands over it, so a panic would end the
// program: it is an error here.
func (b *board) find(ctx context.Context) (f found) {
	defer func() {
		if v := recover(); v != nil {
			f.err = fault.Internal(nil, "panic: %v", v)
		}
	}()
	bk, _, err := b.s.shop.Book(ctx)
	if err != nil {
		return found{err: err}
	}
	f.shop = base{Shop: bk.Shop.Name, Place: bk.Shop.Place}
	if len(bk.ToMake) > 0 {
		f.plan, f.err = b.s.shop.Plan(ctx, app.PlanRequest{Date: b.s.shop.Today(bk)})
	}
	return f
}

func (b *board) show(w http.ResponseWriter) error {
	now := b.s.opt.Now()
	b.look(now)
	b.mu.Lock()
	f := b.found
	b.mu.Unlock()
	v := publicView{Base: f.shop}
	v.Base.Title = "Next pours"
	switch {
	case f.at.IsZero() || now.Sub(f.at) >= publicHolds:
		v.Quiet = "The day is being looked up. Open the page again in a moment."
	case f.err != nil:
		v.Quiet = "The pours of today cannot be told just now. Ask in the shop."
	case f.plan == nil:
		v.Quiet = "Nothing is planned for today."
	default:
		v.tell(f.plan, now)
	}
	return b.s.render(w, http.StatusOK, "public", v)
}

// tell says what of a plan is for visitors: to five minutes, and never as a promise.
func (v *publicView) tell(p *app.DayPlan, now time.Time) {
	v.Date = longDate(p.Date)
	for _, a := range p.Pours {
		if a.Batch == "" || a.At.Add(minutes(float64(a.Late))).Before(now) {
			continue
		}
		at := a.At
		for _, b := range p.Batches {
			if b.ID == a.Batch {
				at = b.Pour
			}
		}
		v.Pours = append(v.Pours, publicPour{Name: a.Name, At: clock(at.Round(5 * time.Minute)),
			Window: clock(a.At.Add(-minutes(float64(a.Early)))) + "–" + clock(a.At.Add(minutes(float64(a.Late))))})
	}
	for _, b := range p.Batches {
		if !now.Before(b.FlameUp) && now.Before(b.RollEnd) {
			v.Now = b.Name
		}
	}
	if len(v.Pours) == 0 {
		v.Quiet = "No more pours are announced for today."
	}
}
