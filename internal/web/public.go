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

// publicEvery is how often the public page looks at the plan.
const publicEvery = time.Minute

// board keeps what the public page says. Visitors never make the program plan: it
// is looked at in the background, once a minute at most, and only what is planned
// for the shop's own pages costs a search.
type board struct {
	s *server

	mu      sync.Mutex
	plan    *app.DayPlan
	shop    base
	looked  time.Time
	looking bool
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
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		switch {
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			w.Header().Set("Allow", "GET, HEAD")
			s.showStatus(w, r, http.StatusMethodNotAllowed, fault.Invalid("nothing is taken here"))
		case r.URL.Path != "/":
			s.showStatus(w, r, http.StatusNotFound, fault.NotFound("there is no such page"))
		default:
			if err := b.show(w); err != nil {
				s.showError(w, r, err)
			}
		}
	})
	mux.HandleFunc("/static/{path...}", func(w http.ResponseWriter, r *http.Request) {
		if err := s.static(w, r); err != nil {
			s.showError(w, r, err)
		}
	})
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
		var plan *app.DayPlan
		var shop base
		if bk, _, err := b.s.shop.Book(ctx); err == nil {
			shop.Shop, shop.Place = bk.Shop.Name, bk.Shop.Place
			if len(bk.ToMake) > 0 {
				plan, _ = b.s.shop.Plan(ctx, app.PlanRequest{Date: b.s.shop.Today(bk)})
			}
		}
		b.mu.Lock()
		defer b.mu.Unlock()
		b.plan, b.shop, b.looking = plan, shop, false
	}()
}

func (b *board) show(w http.ResponseWriter) error {
	now := b.s.opt.Now()
	b.look(now)
	b.mu.Lock()
	plan, shop, looking := b.plan, b.shop, b.looking
	b.mu.Unlock()
	v := publicView{Base: shop}
	v.Base.Title = "Next pours"
	switch {
	case plan == nil && looking:
		v.Quiet = "The day is being looked up. Open the page again in a moment."
	case plan == nil:
		v.Quiet = "Nothing is planned for today."
	default:
		v.tell(plan, now)
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
