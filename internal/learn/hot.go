package learn

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"slabside/internal/batch"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	"slabside/internal/slab"
)

// HotSeen is one thing seen of a batch between the pour and the last sheet.
type HotSeen struct {
	What  HotWhat
	S     float64 // when, since the end of the pour
	C     float64 // of [HotRead]: what the sugar was at
	Glass string  // of [HotRead]: which
	SureK float64 // of [HotRead]: one standard deviation of the thermometer
	Yet   bool    // it has not come about by then
	LogSD float64 // of a time, beside what is usual; 0: nothing
}

// HotWhat says what was seen.
type HotWhat string

// What can be seen of a hot run.
const (
	HotEdge   HotWhat = "edge lifts"
	HotPull   HotWhat = "pull begun"
	HotFirst  HotWhat = "first sheet"
	HotRolled HotWhat = "rolling" // so long after the first sheet all of it was, S counted from there
	HotGone   HotWhat = "gone short"
	HotHas    HotWhat = "in condition" // for so long, S counted from when it went to the rolls
	HotRead   HotWhat = "read"
)

// HotBatch is a batch of which something was seen at the slab.
type HotBatch struct {
	ID   string
	Days float64 // since it was made
	Hot  *batch.Hot
	Seen []HotSeen
}

// How well what is seen says what the models mean, one standard deviation: of the
// logarithm of a time, and beside it so many seconds until somebody taps (judgement;
// source key practice); of a temperature, where in the batch the thermometer stands.
const (
	edgeSD   = 0.15
	pullSD   = 0.15 // whoever pulls may begin late
	firstSD  = 0.10
	rolledSD = 0.08
	goneSD   = 0.12
	tapSD    = 6.0 // s
	placeSD  = 2.0 // K

	sameProbe = 0.5 // of the variance of where it stands is the same in all readings of a batch
)

// sayFrom is the share of what is known of a figure that must come from batches for it to
// be called learned; below it what is held is what was held without them (judgement).
const sayFrom = 0.10

// HalfLife is after how many days a batch counts half as much: a slab is oiled otherwise
// by then, its water comes colder or warmer, and hands have changed (judgement).
const HalfLife = 60.0

// HotBend is where a residual is too wild to be only noise.
const hotBend = numeric.HuberBend

// A glance is a batch made ready to be held against figures: what was seen of it, in the
// scale in which errors are even (the logarithm of a time, a temperature), and the root
// of their covariance.
type glance struct {
	HotBatch
	seen []float64
	sd   []float64
	root [][]float64 // of the covariance of sights, the batch's own scatter in
}

func (b HotBatch) glance() glance {
	g := glance{HotBatch: b}
	for _, x := range b.Seen {
		seen, sd := math.Log(math.Max(x.S, 1)), 0.0
		switch x.What {
		case HotEdge:
			sd = edgeSD
		case HotPull:
			sd = pullSD
		case HotFirst:
			sd = firstSD
		case HotRolled:
			sd = rolledSD
		case HotGone, HotHas:
			sd = goneSD
		case HotRead:
			seen, sd = x.C, math.Hypot(placeSD, x.SureK)
		}
		if x.What != HotRead {
			sd = math.Hypot(math.Hypot(sd, x.LogSD), tapSD/math.Max(x.S, tapSD))
		}
		g.seen, g.sd = append(g.seen, seen), append(g.sd, numeric.Forget(sd, b.Days, HalfLife))
	}
	return g
}

// misses writes by how much what was seen is beyond what figures foresee.
func (g *glance) misses(f slab.Figures, out []float64) error {
	run, err := g.Hot.At(f)
	if err != nil {
		return err
	}
	for i, x := range g.Seen {
		expect := 0.0
		switch x.What {
		case HotEdge:
			expect = math.Log(math.Max(run.FirstTurn, 1))
		case HotPull:
			expect = math.Log(math.Max(run.PullFrom, 1))
		case HotFirst:
			expect = math.Log(math.Max(run.Ready, 1))
		case HotRolled:
			expect = math.Log(run.Fed.LastS)
		case HotGone:
			expect = math.Log(run.Closes())
		case HotHas:
			expect = math.Log(math.Max(run.Fed.GoneS, 1))
		case HotRead:
			expect, _ = run.Probed(x.S)
		}
		out[i] = g.seen[i] - expect
	}
	return nil
}

// spread works out the covariance of the sights around figures: their own errors, what one
// thermometer and its place have in common, and what the scatter of the batch makes of them
// all together. What has not come about yet stands alone: it says nothing unless it was to
// have come about, and then it must not speak for the others.
func (g *glance) spread(f, scatter slab.Figures) error {
	n := len(g.Seen)
	var b numeric.Belief
	slopes := make([][]float64, 0, slab.Unknowns)
	low, high := make([]float64, n), make([]float64, n)
	for u := range slab.Unknowns {
		if scatter[u] == 0 {
			continue
		}
		a, c := f, f
		a[u] -= scatter[u]
		c[u] += scatter[u]
		if g.misses(a, low) != nil || g.misses(c, high) != nil {
			continue // at the edge of the models: it scatters as if it did not hang on it
		}
		slope := make([]float64, n) // by one standard deviation
		for i := range slope {
			slope[i] = (low[i] - high[i]) / 2
		}
		slopes = append(slopes, slope)
	}
	run, err := g.Hot.At(f)
	if err != nil {
		return err
	}
	place := make([]float64, n) // error of a reading by where the probe stands, beside its own
	for i, x := range g.Seen {
		if x.What == HotRead {
			_, place[i] = run.Probed(x.S)
		}
	}
	all := make([]int, n)
	for i, x := range g.Seen {
		all[i] = i
		cov := make([]float64, i+1)
		for j, o := range g.Seen[:i] {
			if x.Yet || o.Yet {
				continue
			}
			for _, s := range slopes {
				cov[j] += s[i] * s[j]
			}
			if x.What == HotRead && o.What == HotRead {
				cov[j] += sameProbe * (placeSD*placeSD + place[i]*place[j])
				if x.Glass == o.Glass {
					cov[j] += x.SureK * o.SureK
				}
			}
		}
		for _, s := range slopes {
			cov[i] += s[i] * s[i]
		}
		cov[i] += g.sd[i]*g.sd[i] + place[i]*place[i]
		b.Join(0, cov)
	}
	g.root = b.Root(all)
	return nil
}

// residuals writes the misses as independent standard deviations, by forward substitution.
func (g *glance) residuals(f slab.Figures, out []float64) error {
	if err := g.misses(f, out); err != nil {
		return err
	}
	for i := range out {
		for k := range i {
			out[i] -= g.root[i][k] * out[k]
		}
		out[i] /= g.root[i][i]
	}
	for i, x := range g.Seen {
		if x.Yet { // it is only wrong if it was to have come about
			out[i] = math.Max(0, out[i])
		}
	}
	return nil
}

// fitHot finds the figures behind what was seen, from what is held of them before. What
// scatters besides goes with every batch for itself.
func fitHot(before slab.Learned, scatter slab.Figures, batches []HotBatch) (numeric.Fit, error) {
	var list []glance
	total := 0
	for _, b := range batches {
		if g := b.glance(); len(g.Seen) > 0 {
			list = append(list, g)
			total += len(g.Seen)
		}
	}
	// In standard deviations of what was held, which hang on one another no more.
	figures := func(z []float64) slab.Figures { return before.At(slab.Figures(z)) }
	each := func(f slab.Figures, do func(g *glance, from int) error) error {
		errs := make([]error, len(list))
		var wg sync.WaitGroup
		from := 0
		for i := range list {
			at := from
			wg.Go(func() { errs[i] = do(&list[i], at) })
			from += len(list[i].Seen)
		}
		wg.Wait()
		for _, err := range errs {
			if err != nil {
				return err
			}
		}
		return nil
	}
	z := make([]float64, slab.Unknowns)
	var fit numeric.Fit
	rounds := 2 // the covariance of the sights is that around what was found
	if scatter == (slab.Figures{}) {
		rounds = 1 // it hangs on none of it
	}
	for range rounds {
		f := figures(z)
		if err := each(f, func(g *glance, _ int) error { return g.spread(f, scatter) }); err != nil {
			return fit, err
		}
		p := numeric.LeastSquares{N: total, Loss: numeric.Huber(hotBend), Noise: 0.1, Tol: 0.02,
			Residuals: func(z, r []float64) error {
				f := figures(z)
				return each(f, func(g *glance, from int) error { return g.residuals(f, r[from:from+len(g.Seen)]) })
			}}
		for u := range slab.Unknowns {
			p.Unknowns = append(p.Unknowns, numeric.Unknown{Name: u.String(), SD: 1})
		}
		var err error
		if fit, err = p.Fit(z); err != nil {
			return fit, err
		}
		copy(z, fit.X)
	}
	return fit, nil
}

// after is what is held once a fit is made.
func after(before slab.Learned, fit numeric.Fit, batches [slab.Unknowns]int) slab.Learned {
	var b numeric.Belief
	f := before.At(slab.Figures(fit.X))
	for u := range slab.Unknowns {
		cov := make([]float64, u+1)
		for v := range u + 1 {
			for i := range slab.Unknowns {
				for j := range slab.Unknowns {
					cov[v] += before.Root[u][i] * before.Root[v][j] * fit.Cov(int(i), int(j))
				}
			}
		}
		b.Join(f[u], cov)
	}
	return slab.Believed(b, batches)
}

// HotLessons is what the batches of a slab teach.
type HotLessons struct {
	Before  slab.Learned
	Held    slab.Learned
	Taught  [slab.Unknowns][]string // batches that each figure was taught by
	Shares  [slab.Unknowns]float64  // of what is known of it, that comes from them
	Widened float64                 // by how much what was seen scatters more than it should; 1: not
	Refused []HotRefused
	batches []HotBatch
}

// HotRefused is a figure that is not learned, and why.
type HotRefused struct {
	Unknown slab.Unknown
	Why     string
}

// What a batch must show to teach anything: fewer sights, or of temperatures that lie
// closer together, are explained by too many figures (source key model-heat).
const (
	fewestSeen = 4
	leastFall  = 20.0 // K
)

// Enough reports whether a batch shows enough to teach, and what it lacks.
func (b HotBatch) Enough() (lacks string, ok bool) {
	n, low, high := 0, math.Inf(1), math.Inf(-1)
	f := b.Hot.Held().Mean
	run, err := b.Hot.At(f)
	if err != nil {
		text, _ := fault.Said(err)
		return text, false
	}
	for _, x := range b.Seen {
		if x.Yet {
			continue
		}
		n++
		c := x.C
		if x.What != HotRead && x.What != HotRolled {
			c = run.TempAt(x.S)
		}
		if x.What != HotRolled {
			low, high = math.Min(low, c), math.Max(high, c)
		}
	}
	switch {
	case n < fewestSeen:
		return "fewer than four taps and readings", false
	case high-low < leastFall:
		return "its taps and readings lie within 20 K", false
	}
	return "", true
}

// statedSD is how far a time that a room states may lie from what its batches do, one
// standard deviation of its logarithm (judgement): nobody times them all.
const statedSD = 0.30

// Stated is what is held of the unknowns of a room that states how long its usual jobs
// take of a whole boil [s]: until the edge lifts, until it goes to the rolls, and how long
// it then stays in condition. A time that is stated is taken as seen once, and loosely.
//
// Faults are those of the fit.
func Stated(whole *batch.Hot, firstTurn, ready, has float64) (slab.Learned, error) {
	var seen []HotSeen
	for _, x := range []HotSeen{{What: HotEdge, S: firstTurn}, {What: HotFirst, S: ready}, {What: HotHas, S: has}} {
		if x.LogSD = statedSD; x.S > 0 {
			seen = append(seen, x)
		}
	}
	before := slab.Untaught()
	if len(seen) == 0 {
		return before, nil
	}
	fit, err := fitHot(before, slab.Figures{}, []HotBatch{{Hot: whole, Seen: seen}})
	if err != nil {
		return before, err
	}
	return after(before, fit, before.Batches), nil
}

// LearnHot draws what it can from batches of one slab, beyond what is held without them;
// their order does not matter.
// Batches that do not show enough teach nothing. Without any that do, all is refused.
//
// Faults are those of the fit.
func LearnHot(held slab.Learned, batches []HotBatch) (*HotLessons, error) {
	l := &HotLessons{Before: held, Held: held, Widened: 1}
	for _, b := range batches {
		if _, ok := b.Enough(); ok {
			l.batches = append(l.batches, b)
		}
	}
	slices.SortFunc(l.batches, func(a, b HotBatch) int { return cmp.Compare(a.ID, b.ID) })
	if len(l.batches) == 0 {
		l.refuse("no batch has four taps or readings over 20 K from the pour to the last sheet")
		return l, nil
	}
	fit, err := fitHot(l.Held, batch.Scatter(), l.batches)
	if err != nil {
		return nil, err
	}
	if r := fit.Birge(); r > 1 && len(fit.Residuals) > enough { // they contradict each other
		l.Widened = r
	}
	var counts [slab.Unknowns]int
	found := after(l.Held, fit, counts)
	for u := range slab.Unknowns {
		narrower := found.SD(u) / l.Before.SD(u)
		if l.Shares[u] = math.Max(0, 1-narrower*narrower); l.Shares[u] < sayFrom {
			continue
		}
		for _, b := range l.batches {
			if b.tells(u) {
				l.Taught[u] = append(l.Taught[u], b.ID)
			}
		}
		counts[u] = len(l.Taught[u])
	}
	found.Batches = counts
	l.Held = found.Widened(l.Widened)
	l.refuse("what was seen of the batches tells hardly anything of it")
	return l, nil
}

// refuse names the figures that nothing taught.
func (l *HotLessons) refuse(why string) {
	for u := range slab.Unknowns {
		if len(l.Taught[u]) == 0 {
			l.Refused = append(l.Refused, HotRefused{u, why})
		}
	}
}

// tells reports whether something was seen of a batch that hangs on an unknown.
func (b HotBatch) tells(u slab.Unknown) bool {
	return slices.ContainsFunc(b.Seen, func(x HotSeen) bool {
		switch u {
		case slab.Edges:
			return x.What == HotEdge
		case slab.Habit:
			return x.What == HotFirst || x.What == HotGone || x.What == HotPull
		case slab.Works:
			return x.What != HotEdge && x.What != HotRolled
		case slab.Keeps:
			return x.What == HotGone || x.What == HotRead || x.What == HotRolled
		case slab.Rate:
			return x.What == HotRolled
		}
		return x.What != HotRolled
	})
}

// Batches returns the batches that teach.
func (l *HotLessons) Batches() []HotBatch { return l.batches }

// Bend returns what is held of the figures of a batch under way, by all that was seen of
// it so far and what is held of any batch.
func Bend(h *batch.Hot, seen []HotSeen) (slab.Learned, error) {
	before := h.Held().With(batch.Scatter())
	if len(seen) == 0 {
		return before, nil
	}
	fit, err := fitHot(before, slab.Figures{}, []HotBatch{{Hot: h, Seen: seen}})
	if err != nil {
		return before, err
	}
	return after(before, fit, before.Batches), nil
}

// SortSeen puts what was seen in order: by time, then by what it is.
func SortSeen(seen []HotSeen) {
	slices.SortFunc(seen, func(a, b HotSeen) int { return cmp.Or(cmp.Compare(a.S, b.S), cmp.Compare(a.What, b.What)) })
}
