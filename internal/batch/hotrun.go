package batch

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/roller"
	"slabside/internal/slab"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// HotRun is a hot run with its ranges; times are seconds since the end of the pour. The
// values are those of the run in which nothing is off; the ranges those of [HotMembers]
// outcomes. All say "estimated", or "learned" where records of the room moved an unknown
// that they hang on.
type HotRun struct {
	PourC      q.Estimate  // on the slab
	FirstTurnS q.Estimate  // the edge lifts clean
	TurnedS    q.Estimate  // the folds are made; from here it is kneaded
	AcidFromS  q.Estimate  // powdered acid is folded in from here
	AcidToS    q.Estimate  // to here: later it stays gritty
	PullFromS  *q.Estimate // it can be pulled; nil: nothing is
	PullDoneS  *q.Estimate

	OpensS  q.Estimate // it goes to the rolls
	ClosesS q.Estimate // what is left of it is gone short
	HasS    q.Estimate // between the two
	NeedsS  q.Estimate // what the rolls take for all of it
	LastC   q.Estimate // of the sugar, as the last bar is cut
	PairC   q.Estimate // of the rolls, at the last sheet
	Fits    q.Fraction // chance that all is rolled in condition

	LargestKg q.Estimate  // the most on the slab that is rolled in condition
	BreakS    *q.Estimate // a sheet breaks clean, since it left the rolls; nil: the room is too warm
	BagS      *q.Estimate // its drops are hand-warm, since then; nil likewise

	PullFromC, RollFromC, RollToC q.Estimate // the temperatures of the thicknesses

	Reach   []Reach
	Matters []Matter // what the time left at the rolls hangs on most, the first the most
	Middle  Run
	Lost    int // outcomes that lie beyond the models and are left out

	Cautions []caution.Caution
	Sources  []source.Key

	runs []Run
}

// TempAt returns what the batch is at, so many seconds after the pour [°C]; until the last
// sheet, as if nothing more was tapped.
func (r HotRun) TempAt(s float64) q.Estimate {
	all := summary{runs: r.runs, middle: r.Middle}
	return all.of(q.Estimate{Basis: q.Estimated}, func(x Run) float64 { return x.TempAt(s) })
}

// FitsFrom returns the chance that a share of what is to be rolled is rolled in condition,
// from a moment on at which it still is.
func (r HotRun) FitsFrom(s, share float64) q.Fraction {
	fit, all := 0, 0
	for _, x := range r.runs {
		if x.Closes() <= s {
			continue
		}
		all++
		if math.Max(s, x.Ready)+share*x.Fed.LastS <= x.Closes() {
			fit++
		}
	}
	if all == 0 {
		return 0
	}
	return q.Fraction(float64(fit) / float64(all))
}

// Reach is when the batch on the slab comes to a temperature.
type Reach struct {
	C     q.Celsius
	MeanS *q.Estimate // nil: it has gone to the rolls by then
	CoreS *q.Estimate // where it is hottest
}

// Matter is how much of the spread one thing brings.
type Matter struct {
	Says  string
	Share q.Fraction
}

// reaches are the temperatures that are told of a slab.
func reaches() []q.Celsius { return []q.Celsius{110, 95, 85, 80} }

// Forecast works the hot run out.
func (h *Hot) Forecast() (HotRun, error) { return h.ForecastOf(HotMembers) }

// ForecastOf works the hot run out in so many outcomes, at least two.
func (h *Hot) ForecastOf(members int) (HotRun, error) {
	middle, err := h.At(h.HeldOwn().Mean)
	if err != nil {
		return HotRun{}, err
	}
	runs, columns, lost, err := h.members(members)
	if err != nil {
		return HotRun{}, err
	}
	s := summary{runs: runs, middle: middle}
	r := HotRun{Middle: middle, Lost: lost, runs: runs, Sources: []source.Key{source.ModelSugar, source.ModelHeat, source.Practice}}
	lies, edge, rolls := h.basis(slab.Lies, slab.Loses), h.basis(slab.Lies, slab.Loses, slab.Edges), h.basis(slab.Lies, slab.Loses, slab.Habit, slab.Works)
	r.PourC = s.of(h.basis(slab.Loses), func(r Run) float64 { return r.PourC })
	r.FirstTurnS = s.of(edge, func(r Run) float64 { return r.FirstTurn })
	r.TurnedS = s.of(edge, func(r Run) float64 { return r.Turned })
	r.AcidFromS = s.of(lies, func(r Run) float64 { return r.passes(float64(slab.AcidFrom)) })
	r.AcidToS = s.of(lies, func(r Run) float64 { return r.passes(float64(slab.AcidTo)) })
	if h.in.Pulled > 0 {
		from, done := s.of(rolls, func(r Run) float64 { return r.PullFrom }), s.of(rolls, func(r Run) float64 { return r.PullDone })
		r.PullFromS, r.PullDoneS = &from, &done
	}
	waits := h.basis(slab.Lies, slab.Loses, slab.Habit, slab.Works, slab.Keeps, slab.Rate)
	r.OpensS = s.of(rolls, func(r Run) float64 { return r.Ready })
	r.ClosesS = s.of(waits, Run.Closes)
	r.HasS = s.of(waits, func(r Run) float64 { return r.Fed.GoneS })
	r.NeedsS = s.of(h.basis(slab.Rate), func(r Run) float64 { return r.Fed.LastS })
	r.LastC = s.of(waits, func(r Run) float64 { return r.Fed.LastC })
	r.PairC = s.of(waits, func(r Run) float64 { return r.Fed.PairC })
	if r.LargestKg, err = h.largestOf(s, waits); err != nil {
		return HotRun{}, err
	}
	r.PullFromC = s.of(h.basis(slab.Habit), func(r Run) float64 { return r.Windows.PullFrom })
	r.RollFromC = s.of(h.basis(slab.Habit), func(r Run) float64 { return r.Windows.RollFrom })
	r.RollToC = s.of(h.basis(slab.Habit), func(r Run) float64 { return r.Windows.RollTo })
	fit := 0
	for _, run := range runs {
		if run.Fed.LastS <= run.Fed.GoneS {
			fit++
		}
	}
	r.Fits = q.Fraction(float64(fit) / float64(len(runs)))
	for _, c := range reaches() {
		r.Reach = append(r.Reach, Reach{C: c, MeanS: s.maybe(lies, func(r Run) (float64, bool) { return r.Path.Mean(float64(c)) }),
			CoreS: s.maybe(lies, func(r Run) (float64, bool) { return r.Path.Core(float64(c)) })})
	}
	h.cools(&r, s)
	r.Matters = matters(runs, columns)
	if s.err != nil {
		return HotRun{}, fault.Internal(s.err, "the hot run could not be summarised")
	}
	r.Cautions = h.cautions(r)
	return r, nil
}

// largestOf is the most that is rolled in condition, with its range. A batch that is
// pulled is another one where it is of another size, so it is followed in that size.
func (h *Hot) largestOf(s summary, basis q.Estimate) (q.Estimate, error) {
	largest, err := h.largest(s.middle)
	if err != nil {
		return q.Estimate{}, err
	}
	if h.in.Pulled > 0 && largest > 0 {
		other := *h
		scale := largest / float64(h.in.Mass)
		other.in.Mass, other.in.Draws.Mass = q.Kilograms(largest), scaled(h.in.Draws.Mass, scale)
		if s.middle, err = other.At(other.HeldOwn().Mean); err != nil {
			return q.Estimate{}, err
		}
		switch runs, _, _, err := other.members(largestMembers); {
		case err == nil:
			s.runs = runs
		case fault.KindOf(err) == fault.KindInternal:
			return q.Estimate{}, err
		} // so many of that size lie beyond the models that its own range must do
	}
	out := s.of(basis, func(r Run) float64 { return r.Feeding.Largest(largestAsked) })
	out.Value = largest
	out.Low, out.High = math.Min(out.Low, largest), math.Max(out.High, largest)
	return out, s.err
}

// largestMembers is how many outcomes are followed again for the largest batch.
const largestMembers = 64

func scaled(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * by
	}
	return out
}

// largest is the most that is rolled in condition of a batch like one that was followed.
func (h *Hot) largest(run Run) (float64, error) {
	if h.in.Pulled == 0 { // how it comes to the rolls hangs little on how much it is
		return run.Feeding.Largest(largestAsked), nil
	}
	return h.Largest(h.HeldOwn().Mean, largestAsked)
}

// largestAsked is the largest boil that is spoken of [kg].
const largestAsked = 40.0

// passes is when the batch comes down to a temperature; what is poured colder has, and
// what goes to the rolls hotter does as it goes.
func (r Run) passes(tempC float64) float64 {
	if s, ok := r.Path.Mean(tempC); ok {
		return s
	}
	return r.Ready
}

// cools fills in what becomes of the sheets.
func (h *Hot) cools(r *HotRun, s summary) {
	wait := func(run Run, to float64) (float64, bool) {
		sheet := roller.Sheet{Sweet: run.Feeding.Sweet, PieceKg: h.piece, AirC: float64(h.in.Room.Air)}
		return sheet.CoolsTo(run.Fed.SheetC, to)
	}
	r.BreakS = s.maybe(h.basis(), func(run Run) (float64, bool) {
		return wait(run, math.Max(run.Windows.Carry-breakBelow, roller.HandWarm))
	})
	r.BagS = s.maybe(h.basis(), func(run Run) (float64, bool) { return wait(run, roller.HandWarm) })
}

// breakBelow is how far below the temperature at which a sheet can be carried it breaks
// clean (judgement: nothing is published; a shop logs its own).
const breakBelow = 15.0

// summary turns outcomes into estimates.
type summary struct {
	runs   []Run
	middle Run
	err    error
}

func (s *summary) of(basis q.Estimate, f func(Run) float64) q.Estimate {
	column := make([]float64, len(s.runs))
	for i, r := range s.runs {
		column[i] = f(r)
	}
	v := f(s.middle)
	m, err := numeric.Summarise(column)
	if err != nil && s.err == nil {
		s.err = err
	}
	basis.Value, basis.Low, basis.High = v, math.Min(m.Low, v), math.Max(m.High, v)
	return basis
}

// maybe is of what happens in the middle run; where it does not in an outcome, that one
// says as much as the last that does.
func (s *summary) maybe(basis q.Estimate, f func(Run) (float64, bool)) *q.Estimate {
	if _, ok := f(s.middle); !ok {
		return nil
	}
	e := s.of(basis, func(r Run) float64 {
		if v, ok := f(r); ok {
			return v
		}
		return r.Path.End()
	})
	return &e
}

// basis says what a figure rests on that hangs on some unknowns: estimated, or learned
// from so many batches.
func (h *Hot) basis(unknowns ...slab.Unknown) q.Estimate {
	e := q.Estimate{Basis: q.Estimated}
	held := h.HeldOwn()
	for _, u := range unknowns {
		if n := held.Batches[u]; n > 0 {
			e.Basis, e.Batches = q.Learned, max(e.Batches, n)
		}
	}
	return e
}

// matters returns what the time to spare at the rolls hangs on: squared rank correlations,
// as shares of their sum. What brings less than a twentieth is left out.
func matters(runs []Run, columns []Column) []Matter {
	spare := make([]float64, len(runs))
	for i, r := range runs {
		spare[i] = r.Fed.GoneS - r.Fed.LastS
	}
	ranked := ranks(spare)
	var out []Matter
	sum := 0.0
	for _, c := range columns {
		rho := stat.Correlation(ranks(c.Draws), ranked, nil)
		if math.IsNaN(rho) {
			continue // it is the same in all
		}
		out = append(out, Matter{c.Says, q.Fraction(rho * rho)})
		sum += rho * rho
	}
	for i := range out {
		out[i].Share /= q.Fraction(sum)
	}
	slices.SortStableFunc(out, func(a, b Matter) int { return cmp.Compare(b.Share, a.Share) })
	return slices.DeleteFunc(out, func(m Matter) bool { return m.Share < 0.05 })
}

// ranks returns the places of values in order; nothing where they are all one.
func ranks(x []float64) []float64 {
	at := make([]int, len(x))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	out := make([]float64, len(x))
	if x[at[0]] == x[at[len(at)-1]] {
		return out
	}
	for place, i := range at {
		out[i] = float64(place)
	}
	return out
}

// Codes of the cautions of a hot run.
const (
	CodeSlabSweats caution.Code = "slab-sweats"   // water below the dew point
	CodeWarmPair   caution.Code = "rolls-warm"    // late sheets wrap
	CodeBeyond     caution.Code = "beyond-models" // some outcomes are left out
	CodeNotTable   caution.Code = "slab-estimated"
	CodePullLate   caution.Code = "pull-late" // pulling ends when it is too cold to roll
)

// dewMargin is how much warmer than the dew point a slab's water is kept (source key
// practice).
const dewMargin q.Kelvins = 2

func (h *Hot) cautions(r HotRun) []caution.Caution {
	say := h.in.Units
	out := []caution.Caution{caution.Of(caution.HotSugar), caution.Of(caution.Prediction)}
	if c, ok := h.sweats(); ok {
		out = append(out, c)
	}
	spare := r.HasS.Value - r.NeedsS.Value
	if spare < 0 || r.Fits < 0.5 {
		out = append(out, caution.Caution{Code: roller.CodeRollTime, Text: fmt.Sprintf(
			"%s min of sugar, %s min of time: %s; never feed faster", say.Number(r.NeedsS.Value/60, 0), say.Number(r.HasS.Value/60, 0), h.Advice(r))})
	}
	out = append(out, h.pullLate(r.Middle)...)
	if r.PairC.Value > roller.WarmPair {
		out = append(out, caution.Caution{Code: CodeWarmPair, Text: fmt.Sprintf(
			"The rolls come to about %s by the last sheet: warm rolls lose the print and sheets wrap round them; stop them, wipe, and let them rest or use a fan", say.Temperature(q.Celsius(r.PairC.Value), 0))})
	}
	if r.Lost > 0 {
		out = append(out, caution.Caution{Code: CodeBeyond, Text: fmt.Sprintf("%d of %d possible outcomes lie beyond the models and are left out of the ranges", r.Lost, r.Lost+len(r.runs))})
	}
	if r.OpensS.Basis != q.Learned {
		out = append(out, caution.Caution{Code: CodeNotTable, Text: "No time here was measured on this slab yet: how well sugar lies on one is known to a factor of three either way; watch the sugar, not the clock"})
	}
	return out
}

// pullLate is what to be said of a batch that is too cold to roll once all is pulled.
func (h *Hot) pullLate(run Run) []caution.Caution {
	if run.PullDone == 0 || run.ReadyC >= run.Windows.RollTo {
		return nil
	}
	return []caution.Caution{{Code: CodePullLate, Text: fmt.Sprintf(
		"When all is pulled it is at %s and too cold to roll: pull less at a time, with more hands, or keep the clear part warm", h.in.Units.Temperature(q.Celsius(run.ReadyC), 0))}}
}

// Advice is what to do with a batch that is too large for its time.
func (h *Hot) Advice(r HotRun) string {
	say := h.in.Units
	least := fmt.Sprintf("make charges that leave at most %s on the slab", say.Mass(q.Kilograms(r.LargestKg.Value)))
	// The half that waits is put on the board hotter, so that it comes into condition as
	// the other is through; then each half has a time of its own.
	half := r.Middle.Feeding
	half.MassKg /= 2
	if f := half.Run(); f.LastS <= f.GoneS && h.in.Board != nil {
		return "split it: half B goes onto the board sooner and hotter, and waits there until half A is through; or " + least
	}
	return least
}

// sweats reports a slab whose water is near the dew point of the room or below it.
func (h *Hot) sweats() (caution.Caution, bool) {
	if h.in.Slab.Cooling == "" {
		return caution.Caution{}, false
	}
	dew, err := sugar.DewPoint(h.in.Room.Air, h.in.Room.Humidity)
	water := slab.WaterOf(h.in.Slab)
	if err != nil || water >= dew+q.Celsius(dewMargin) {
		return caution.Caution{}, false
	}
	say := h.in.Units
	return caution.Caution{Code: CodeSlabSweats, Text: fmt.Sprintf(
		"The slab's water of %s is less than %s above the dew point of the room, %s: the slab sweats and wets the batch; let it run warmer or the room drier",
		say.Temperature(water, 0), say.Difference(dewMargin, 0), say.Temperature(dew, 0))}, true
}
