package app

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"slabside/internal/boil"
	"slabside/internal/caution"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/slab"
)

// slabSteps puts steps together, one after the other.
type slabSteps struct {
	v    *slabView
	list []SlabStep
}

// add adds a step that is written by a tap; due and until are the ranges of its time, nil
// where nobody can say.
func (s *slabSteps) add(tap record.Happening, verb, do, look string) *SlabStep {
	step := SlabStep{Tap: tap, Verb: verb, Do: do, Look: look}
	if at, ok := s.v.r.When(tap); ok {
		step.DoneAt = &at
	}
	s.list = append(s.list, step)
	return &s.list[len(s.list)-1]
}

// due sets when a step is due: a base and, after it, an estimate in seconds.
func (st *SlabStep) due(b base, after q.Estimate, basis string) {
	mid := b.at.Add(seconds(after.Value))
	low := mid.Add(-seconds(math.Hypot(after.Value-after.Low, ninety*b.sd)))
	high := mid.Add(seconds(math.Hypot(after.High-after.Value, ninety*b.sd)))
	st.Due, st.Early, st.Late, st.Basis = &mid, &low, &high, basis
}

// steps lays the work out, from the flame to the last sheet.
func (v *slabView) steps() []SlabStep {
	s := &slabSteps{v: v}
	s.boil()
	s.pour()
	s.onSlab()
	s.rolls()
	return s.list
}

// next is the step that comes after the last that was done.
func next(steps []SlabStep) int {
	for i, s := range slices.Backward(steps) {
		if s.DoneAt != nil {
			return i + 1
		}
	}
	return 0
}

func (s *slabSteps) boil() {
	v := s.v
	course := v.plan.Boil.Course
	light := s.add(record.Lit, "LIGHT", "Light the flame; stir until all is dissolved.", "hood on, flame blue")
	light.Cautions = plainCautions([]caution.Caution{caution.Of(caution.Presence), caution.Of(caution.Gas)})
	if course == nil {
		s.lift()
		return
	}
	for _, m := range course.Moments {
		var step *SlabStep
		switch m.Step {
		case boil.StepBoils:
			step = s.add(record.Boils, "BOILS", "Stir no more.", "it boils all over and no sugar is left on the bottom")
		case boil.StepWash:
			step = s.add(record.WashedDown, "WASH", "Lid off, or wash the sides of the pan down.", "no crystal above the syrup")
		case boil.StepGlass:
			step = s.add(record.GlassIn, "GLASS", "Hang the glass in; keep it off the metal.", "its bulb is covered")
		default:
			continue
		}
		if b, ok := v.boilAt(m.AtS); ok {
			step.due(b, q.Estimate{}, v.boilBasis())
		}
	}
	s.lift()
}

// boilBasis says what the times of the boil rest on.
func (v *slabView) boilBasis() string {
	if lit, ok := v.r.When(record.Lit); ok && v.plan.Boil.Course != nil {
		if _, _, from, _ := v.fire(v.plan.Boil.Course, lit); from.After(lit) {
			return "by what was tapped and read of this batch"
		}
	}
	if e := v.plan.Boil.LitS; e != nil && e.Basis == q.Learned {
		return basisWords(*e)
	}
	return "estimated"
}

func (s *slabSteps) lift() {
	v := s.v
	r := v.plan.Boil
	mark := r.MarkC
	if r.LiftMarkC != nil {
		mark = *r.LiftMarkC
	}
	step := s.add(record.FlameOff, "LIFT", "Flame off at this reading. Heat gloves on, the path clear.", "the glass, not the clock")
	step.Figure, step.Of, step.Loud = readOn(v.book.Shop.Units, *v.in.Glass, mark), "read on "+v.in.Glass.Name, true
	step.Cautions = plainCautions([]caution.Caution{caution.Of(caution.Thermometer), caution.Of(caution.HotSugar)})
	if b, ok := v.lift(); ok {
		step.due(b, q.Estimate{}, v.boilBasis())
	}
}

func (s *slabSteps) pour() {
	v := s.v
	kg := v.plan.Boil.MassKg.Value
	do := "Pour, scrape the pan, and tap when the last of it is on the slab."
	if more := s.weighed(recipe.AtEnd, recipe.AtPour); more != "" {
		do = "Flame down or off: " + more + ". Then pour, scrape, and tap when the last of it is on the slab."
	}
	step := s.add(record.Poured, "POUR", do, "nobody between kettle and slab")
	step.Figure, step.Of = v.book.Shop.Units.Mass(q.Kilograms(kg)), "in the kettle"
	list := []caution.Caution{caution.Of(caution.HotSugar)}
	for _, c := range v.plan.Cautions {
		if c.Code == caution.TwoToPour || c.Code == caution.LiquidsErupt {
			list = append(list, c)
		}
	}
	step.Cautions = plainCautions(list)
	if b, ok := v.pour(); ok && v.poured.IsZero() {
		step.due(b, q.Estimate{}, v.boilBasis())
	}
}

// weighed lists what was weighed for some stages, as "citric acid 42 g, pear 6 g".
func (s *slabSteps) weighed(stages ...recipe.Stage) string {
	var out []string
	for _, w := range s.v.plan.Boil.Weighings {
		if slices.Contains(stages, w.Stage) {
			out = append(out, w.Name+" "+s.v.book.Shop.Units.Weight(w.Rounded, w.Resolution))
		}
	}
	return strings.Join(out, ", ")
}

// foldsAcid reports whether something sour is folded into a sweet.
func foldsAcid(rec recipe.Recipe, list []ingredient.Ingredient) bool {
	return slices.ContainsFunc(rec.Additions, func(a recipe.Addition) bool {
		i := slices.IndexFunc(list, func(x ingredient.Ingredient) bool { return x.ID == a.Ingredient })
		return a.Stage == recipe.AtFold && i >= 0 && list[i].Kind == ingredient.Acid
	})
}

func (s *slabSteps) onSlab() {
	v := s.v
	b, known := v.pour()
	known = known && v.run != nil
	at := func(step *SlabStep, e func() q.Estimate) {
		if known {
			step.due(b, e(), v.says(e()))
		}
	}
	until := func(step *SlabStep, e func() q.Estimate) {
		if known {
			t := b.at.Add(seconds(e().Value))
			step.Until = &t
		}
	}
	turn := s.add(record.EdgeUp, "TURN", "Turn the edges to the middle. Scraper and gloves, no bare skin.", "the edge lifts clean off the slab")
	turn.Loud = true
	hot := plainCautions([]caution.Caution{caution.Of(caution.HotSugar)})
	turn.Cautions = hot
	at(turn, func() q.Estimate { return v.run.FirstTurnS })
	folded := s.weighed(recipe.AtFold)
	if folded != "" {
		step := s.add(record.AcidIn, "FOLD IN", "Fold in "+folded+".", "it folds in dry and leaves no wet place")
		step.Cautions = hot
		if foldsAcid(v.in.Recipe, v.in.Ingredients) {
			units := v.book.Shop.Units
			step.Figure, step.Of = units.TemperatureRange(slab.AcidTo, slab.AcidFrom, 0), "of the sugar for acid"
			step.Cautions = plainCautions([]caution.Caution{caution.Of(caution.AcidDust), caution.Of(caution.HotSugar)})
			at(step, func() q.Estimate { return v.run.AcidFromS })
			until(step, func() q.Estimate { return v.run.AcidToS })
		} else {
			at(step, func() q.Estimate { return v.run.TurnedS })
		}
	}
	knead := s.add(record.Kneaded, "KNEAD", "Folded enough: knead it through, and keep it turning.", "one stiffness all through, no hot core")
	knead.Cautions = hot
	at(knead, func() q.Estimate { return v.run.TurnedS })
	if v.pulls() {
		pull := s.add(record.PullBegun, "PULL", "Cut off the part that is pulled, and pull it.", "it draws out and does not run")
		pull.Cautions = hot
		done := s.add(record.PullDone, "PULLED", "Lay it with the clear part.", "satin all through")
		if known && v.run.PullFromS != nil {
			at(pull, func() q.Estimate { return *v.run.PullFromS })
			at(done, func() q.Estimate { return *v.run.PullDoneS })
		}
		v.figure(pull, func() q.Estimate { return v.run.PullFromC })
	}
	s.order()
}

// order puts what is done first, as it was done, and after it what hangs on temperatures
// alone in the order in which it comes: nothing that is still to be done can slip before
// what is done and be lost.
func (s *slabSteps) order() {
	from := slices.IndexFunc(s.list, func(x SlabStep) bool { return x.Tap == record.EdgeUp }) + 1
	tail := s.list[from:]
	slices.SortStableFunc(tail, func(a, b SlabStep) int {
		switch {
		case a.DoneAt != nil && b.DoneAt != nil:
			return a.DoneAt.Compare(*b.DoneAt)
		case a.DoneAt != nil:
			return -1
		case b.DoneAt != nil:
			return 1
		case a.Due == nil || b.Due == nil:
			return 0
		}
		return a.Due.Compare(*b.Due)
	})
}

// figure shows a temperature of the sugar with a step.
func (v *slabView) figure(step *SlabStep, e func() q.Estimate) {
	if v.run != nil {
		step.Figure, step.Of = v.book.Shop.Units.Temperature(q.Celsius(e().Value), 0), "of the sugar"
	}
}

func (s *slabSteps) rolls() {
	v := s.v
	b, known := v.pour()
	known = known && v.run != nil
	first := s.add(record.FirstSheet, "ROLL", "To the rolls: bars cut, first sheet through. Guards on, hands off the nip.", "it takes the print and does not stick")
	first.Loud = true
	v.figure(first, func() q.Estimate { return v.run.RollFromC })
	first.Cautions = plainCautions([]caution.Caution{caution.Of(caution.Nips)})
	if _, gone := v.r.When(record.Cracked); gone && first.DoneAt == nil {
		first.Verb, first.Loud = "GONE SHORT", false
		first.Do, first.Look = "It cracks: do not force it through the rolls. Keep it to be cooked back, and write down the trouble.", "what is still warm inside may yet be rolled"
	}
	last := s.add(record.LastSheet, "LAST", "Last good sheet through. Stop the rolls.", "cracked or dull at the edge: it has gone short")
	last.Cautions = plainCautions([]caution.Caution{caution.Of(caution.RollsClean)})
	if !known {
		return
	}
	first.due(b, v.run.OpensS, v.says(v.run.OpensS))
	closes := b.at.Add(seconds(v.run.ClosesS.Value))
	first.Until, last.Until = &closes, &closes
	start := base{*first.Due, math.Hypot(b.sd, (v.run.OpensS.High-v.run.OpensS.Low)/2/ninety)}
	if first.DoneAt != nil {
		start = base{*first.DoneAt, 0}
	}
	last.due(start, v.run.NeedsS, v.says(v.run.NeedsS))
}

// live is what is foreseen of the hot run.
func (v *slabView) live() *SlabLive {
	if v.run == nil {
		return nil
	}
	r, u := v.run, v.book.Shop.Units
	out := &SlabLive{Fits: q.Number(r.Fits), RollFromC: q.Number(r.RollFromC.Value), RollToC: q.Number(r.RollToC.Value), Basis: v.says(r.OpensS), Matters: []string{}, Curve: []SlabPoint{}}
	needs, has := r.NeedsS.Value, r.HasS.Value
	b, known := v.pour()
	if now := v.at.Sub(v.poured).Seconds(); !v.poured.IsZero() && now > r.OpensS.Value { // what is left of both
		has = math.Max(0, r.ClosesS.Value-now)
		if first, ok := v.r.When(record.FirstSheet); ok {
			needs = math.Max(0, needs-v.at.Sub(first).Seconds())
		}
		out.Fits = q.Number(r.FitsFrom(now, needs/math.Max(r.NeedsS.Value, 1)))
	}
	out.NeedsMin, out.HasMin = q.Number(needs/60), q.Number(has/60)
	out.Say = fmt.Sprintf("%s min of sugar, %s min of time", u.Number(needs/60, 0), u.Number(has/60, 0))
	switch {
	case needs <= has:
	case v.poured.IsZero() || v.at.Sub(v.poured).Seconds() < r.OpensS.Value:
		out.Advice = v.hot.Advice(*r)
	default: // it lies there: it cannot be made smaller any more
		out.Advice = "roll what is softest first and keep the rest together and warm; what cracks is kept to be cooked back; never feed faster"
	}
	for _, m := range r.Matters {
		out.Matters = append(out.Matters, sayMatter(u, m))
	}
	out.State = v.state()
	if !known {
		return out
	}
	opens, closes := b.at.Add(seconds(r.OpensS.Value)), b.at.Add(seconds(r.ClosesS.Value))
	out.Opens, out.Closes = &opens, &closes
	if now := v.at.Sub(b.at).Seconds(); !v.poured.IsZero() && now >= 0 && now < r.ClosesS.Value+600 {
		e := r.TempAt(now)
		c, low, high := q.Number(e.Value), q.Number(e.Low), q.Number(e.High)
		out.NowC, out.LowC, out.HighC = &c, &low, &high
	}
	end := math.Min(r.ClosesS.Value*1.05, 5400)
	for i := range curvePoints + 1 {
		s := end * float64(i) / curvePoints
		e := r.TempAt(s)
		out.Curve = append(out.Curve, SlabPoint{At: b.at.Add(seconds(s)), C: q.Number(e.Value), LowC: q.Number(e.Low), HighC: q.Number(e.High)})
	}
	return out
}

// curvePoints is how finely a curve that is foreseen is drawn.
const curvePoints = 48

// state is where the batch is, in words.
func (v *slabView) state() string {
	has := func(h record.Happening) bool { _, ok := v.r.When(h); return ok }
	switch {
	case has(record.LastSheet):
		return "done"
	case has(record.Cracked):
		return "gone short"
	case v.poured.IsZero() && has(record.Lit):
		return "on the fire"
	case v.poured.IsZero():
		return "not lit"
	}
	now := v.at.Sub(v.poured).Seconds()
	switch {
	case now > v.run.ClosesS.Value:
		return "gone short"
	case now >= v.run.OpensS.Value || has(record.FirstSheet):
		return "in condition"
	case has(record.EdgeUp) && has(record.Kneaded):
		return "too soft"
	}
	return "on the slab"
}
