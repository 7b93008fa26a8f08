package app

import (
	"context"
	"math"
	"slices"
	"time"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/learn"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/store"
)

// AtSlab follows a batch beside kettle and slab, as it stands at a time: what was done,
// what comes next and when, by all that was tapped and read of it.
//
// Faults: NotFound for a batch that was never begun.
func (a *App) AtSlab(ctx context.Context, id string, at time.Time) (AtSlab, error) {
	if err := record.CheckID(id); err != nil {
		return AtSlab{}, err
	}
	b, _, err := a.Book(ctx)
	if err != nil {
		return AtSlab{}, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: id, Limit: 1})
	if err != nil {
		return AtSlab{}, err
	}
	if len(list) == 0 || list[0].Begun() == nil {
		return AtSlab{}, fault.NotFound("batch %s has no record", id).At("batch").WithHint("begin one on its page")
	}
	return a.atSlab(ctx, &b, list[0], at)
}

// SlabBatches lists the batches under way: begun on the day of at or the one before, not
// through the rolls, not given up. The one that waits for least comes first.
func (a *App) SlabBatches(ctx context.Context, at time.Time) ([]SlabLine, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	from := at.Add(-24 * time.Hour).In(zoneOf(&b)).Format(time.DateOnly)
	list, err := a.keeper.Records(ctx, store.Find{From: from, Limit: mostUnderWay})
	if err != nil {
		return nil, err
	}
	out := []SlabLine{}
	for _, r := range list {
		if r.Begun() == nil || ended(r) {
			continue
		}
		x, err := a.atSlab(ctx, &b, r, at)
		if err != nil { // it is on the list all the same: the others must not fall silent with it
			if fault.KindOf(err) == fault.KindInternal {
				return nil, err
			}
			why, _ := fault.Said(err)
			out = append(out, SlabLine{Batch: r.ID, Name: entry.NameOf(&b, store.KindRecipe, r.Begun().Recipe), Stop: why})
			continue
		}
		line := SlabLine{Batch: x.Batch, Name: x.Name, Paint: x.Paint, Stop: x.Stop}
		if x.Next < len(x.Steps) {
			line.Step = &x.Steps[x.Next]
		}
		out = append(out, line)
	}
	due := func(l SlabLine) time.Time {
		if l.Step == nil || l.Step.Due == nil {
			return at.Add(24 * time.Hour)
		}
		return *l.Step.Due
	}
	slices.SortStableFunc(out, func(x, y SlabLine) int { return due(x).Compare(due(y)) })
	return out, nil
}

// mostUnderWay is how many records of two days are looked through.
const mostUnderWay = 100

// ended reports whether a batch is through the rolls, or is not to be gone on with.
func ended(r record.Record) bool {
	_, last := r.When(record.LastSheet)
	return last || r.Made() != nil || r.Place().As == record.Binned
}

// slabView is a batch under way while its view is put together.
type slabView struct {
	*underWay
	r      record.Record
	at     time.Time
	read   []SlabReading
	run    *batch.HotRun
	poured time.Time // false at zero
	own    bool      // taps or readings of this batch bend what is foreseen
}

// atSlab puts the view of a batch together.
func (a *App) atSlab(ctx context.Context, b *book.Book, r record.Record, at time.Time) (AtSlab, error) {
	u, err := a.underWayNow(ctx, b, r)
	if err != nil {
		return AtSlab{}, err
	}
	v := slabView{underWay: u, r: r, at: at}
	if v.read, err = a.readingsAt(ctx, u, r); err != nil {
		return AtSlab{}, err
	}
	out := AtSlab{Batch: r.ID, Recipe: u.in.Recipe.ID, Name: u.in.Recipe.Name, Paint: u.in.Recipe.Portions[0].Paint, At: at, Act: r.Through(),
		Readings: v.read, Glasses: []SlabGlass{}, Cautions: []Caution{}, Open: []string{}}
	for _, g := range u.book.Glasses {
		out.Glasses = append(out.Glasses, SlabGlass{ID: g.ID, Name: g.Name, Step: q.Number(math.Max(float64(g.Division), 0.1))})
	}
	if err := a.opens(ctx, &v, &out); err != nil {
		return AtSlab{}, err
	}
	if err := v.foreseeOnce(); err != nil {
		out.Why, _ = fault.Said(err)
	}
	out.Steps = v.steps()
	out.Next = next(out.Steps)
	out.Live = v.live()
	v.ends(&out)
	out.Cautions = plainCautions(caution.Merge(v.spoken()))
	return out, nil
}

// opens says what is still to be looked at before the flame.
func (a *App) opens(ctx context.Context, v *slabView, out *AtSlab) error {
	before, err := a.beforeFlame(ctx, v.book, v.r)
	if err != nil {
		return err
	}
	_, lit := v.r.When(record.Lit)
	out.Ready = before == nil || before.Ready || lit
	if before == nil || before.Ready {
		return nil
	}
	for _, c := range before.Asked {
		if c.Says != record.Yes && c.Says != record.NotHere {
			out.Open = append(out.Open, CheckName(c.Item))
		}
	}
	out.Open = append(out.Open, before.OutOfUse...)
	return nil
}

// ends says whether it is over, and why.
func (v *slabView) ends(out *AtSlab) {
	if at, ok := v.r.When(record.LastSheet); ok {
		out.Ended = &at
	} else if ended(v.r) { // written to since it was followed
		at := v.r.Entries[len(v.r.Entries)-1].At
		out.Ended = &at
	}
	if out.Ended != nil {
		out.Next = len(out.Steps)
	}
	if k, ok := v.r.Stands(record.Troubling); ok {
		out.Stop = string(k.Troubled.What)
	}
}

// foresee works the hot run out, bent by what was tapped and read.
func (v *slabView) foresee() error {
	if v.hot == nil {
		return v.why
	}
	seen, poured, ok := v.seenAtSlab(v.r, v.read)
	hot := v.hot
	if ok {
		v.poured = poured
		seen = v.overdue(seen)
		if len(seen) > 0 {
			own, err := learn.Bend(hot, seen)
			if err != nil {
				return err
			}
			hot, v.own = hot.Knowing(own), true
		}
	}
	run, err := hot.Forecast()
	if err != nil {
		return err
	}
	v.run = &run
	return nil
}

// runKey is what a forecast hangs on: the record, the readings and, since what has not come
// about tells too, the time to some seconds.
type runKey struct {
	act   int64
	reads int
	last  int64 // ms of the last reading
	at    int64
}

// keepRun is how long a forecast is taken for the same [s]: a tablet looks again sooner,
// and several look at once.
const keepRun = 5

func (v *slabView) key() runKey {
	k := runKey{act: v.r.Through(), reads: len(v.read), at: v.at.Unix() / keepRun}
	if n := len(v.read); n > 0 {
		k.last = v.read[n-1].At.UnixMilli()
	}
	return k
}

// foreseeOnce is [slabView.foresee], once for all who ask at the same time.
func (v *slabView) foreseeOnce() error {
	u := v.underWay
	u.mu.Lock()
	defer u.mu.Unlock()
	if key := v.key(); u.run == nil || u.runOf != key {
		if err := v.foresee(); err != nil {
			u.run = nil
			return err
		}
		u.run, u.runOf, u.own = v.run, key, v.own
	}
	v.run, v.own = u.run, u.own
	v.poured, _ = v.r.When(record.Poured)
	return nil
}

// overdue adds that what comes next has not come about by now, where it was to have.
func (v *slabView) overdue(seen []learn.HotSeen) []learn.HotSeen {
	now := v.at.Sub(v.poured).Seconds()
	has := func(list ...record.Happening) bool {
		return slices.ContainsFunc(list, func(h record.Happening) bool { _, ok := v.r.When(h); return ok })
	}
	middle, err := v.hot.At(v.hot.HeldOwn().Mean)
	if err != nil {
		return seen
	}
	rolled := has(record.FirstSheet, record.LastSheet, record.Cracked, record.ToRolls)
	switch {
	case !has(record.EdgeUp, record.Kneaded, record.AcidIn, record.PullBegun, record.PullDone) && !rolled && now > middle.FirstTurn:
		return append(seen, learn.HotSeen{What: learn.HotEdge, S: math.Min(now, mostOverdue*middle.FirstTurn), Yet: true})
	case !rolled && now > middle.Ready:
		return append(seen, learn.HotSeen{What: learn.HotFirst, S: math.Min(now, mostOverdue*middle.Ready), Yet: true})
	}
	return seen
}

// mostOverdue is how far a thing that does not come about bends what is foreseen: beyond
// it somebody has forgotten to tap.
const mostOverdue = 1.5

// spoken are the cautions that belong to the whole of it.
func (v *slabView) spoken() []caution.Caution {
	out := []caution.Caution{caution.Of(caution.HotSugar), caution.Of(caution.Thermometer)}
	if v.run != nil {
		out = append(out, v.run.Cautions...)
	}
	return out
}

// base is when a boil's flame goes off, and when its last is on the slab: what was tapped,
// else what is foreseen, with one standard deviation [s]; false where nobody can say.
type base struct {
	at time.Time
	sd float64
}

// fire is how much longer this flame takes than is foreseen: a factor of the time that is
// left, and one standard deviation of its logarithm. What was tapped and read in the
// kettle since the flame was lit is held against what the kettle is known for.
func (v *slabView) fire(course *boil.Course, lit time.Time) (factor, logSD float64, from time.Time, fromS float64) {
	factor, logSD, from = 1, firePrior, lit
	if e := v.plan.Boil.LitS; e != nil && e.Low > 0 {
		logSD = math.Hypot(flameOwn, math.Log(e.High/e.Low)/2/ninety)
	}
	hold := func(at time.Time, s float64) {
		took := at.Sub(lit).Seconds()
		if s < leastFlame || took < leastFlame || !at.After(from) {
			return
		}
		sd := math.Hypot(flameSight, tapNoise/took)
		w := logSD * logSD / (logSD*logSD + sd*sd)
		factor = math.Exp(w * math.Log(took/s))
		from, fromS = at, s
	}
	prior := logSD
	for tap, step := range map[record.Happening]boil.Step{record.Boils: boil.StepBoils} {
		if at, ok := v.r.When(tap); ok {
			for _, m := range course.Moments {
				if m.Step == step {
					hold(at, m.AtS)
				}
			}
		}
	}
	for _, k := range v.read {
		if k.Where != record.AtKettle || k.At.Before(lit) {
			continue
		}
		for i := 1; i < len(course.Points); i++ {
			if p, o := course.Points[i], course.Points[i-1]; o.TempC < float64(k.TrueC) && p.TempC >= float64(k.TrueC) {
				hold(k.At, o.AtS+(p.AtS-o.AtS)*(float64(k.TrueC)-o.TempC)/(p.TempC-o.TempC))
				break
			}
		}
	}
	if fromS > 0 { // what it is known to now
		sd := flameSight
		logSD = prior * sd / math.Hypot(prior, sd)
	}
	return factor, logSD, from, fromS
}

// A kettle that is known for nothing, and what a flame takes longer one time than another,
// one standard deviation of the logarithm (judgement, as in package learn); how well a tap
// or a reading tells of it, and by how many seconds a tap comes late. Before leastFlame
// nothing is told by either.
const (
	firePrior  = 0.15
	flameOwn   = 0.04
	flameSight = 0.06
	tapNoise   = 15.0
	leastFlame = 120.0
)

// boilAt is when a step of the boil is due.
func (v *slabView) boilAt(s float64) (base, bool) {
	course := v.plan.Boil.Course
	lit, ok := v.r.When(record.Lit)
	if course == nil || !ok {
		return base{}, false
	}
	factor, logSD, from, fromS := v.fire(course, lit)
	left := s - fromS
	return base{from.Add(seconds(left * factor)), math.Abs(left) * factor * logSD}, true
}

func seconds(s float64) time.Duration {
	return time.Duration(s * float64(time.Second)).Round(100 * time.Millisecond)
}

// lift is when the flame goes off.
func (v *slabView) lift() (base, bool) {
	if at, ok := v.r.When(record.FlameOff); ok {
		return base{at, 0}, true
	}
	if v.plan.Boil.Course == nil {
		return base{}, false
	}
	for _, m := range v.plan.Boil.Course.Moments {
		if m.Step == boil.StepLift {
			return v.boilAt(m.AtS)
		}
	}
	return base{}, false
}

// pour is when the last of it is on the slab.
func (v *slabView) pour() (base, bool) {
	if !v.poured.IsZero() {
		return base{v.poured, 0}, true
	}
	l, ok := v.lift()
	took := v.book.Room.Times.Pour.Std().Seconds()
	return base{l.at.Add(seconds(took)), math.Hypot(l.sd, 0.25*took)}, ok
}

// pulls reports whether something is pulled.
func (v *slabView) pulls() bool {
	return slices.ContainsFunc(v.in.Recipe.Portions, func(p recipe.Portion) bool { return p.Work == recipe.Pulled })
}

func (v *slabView) says(e q.Estimate) string {
	switch {
	case v.own:
		return "by what was tapped and read of this batch"
	}
	return basisWords(e)
}
