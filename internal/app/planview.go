package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"slabside/internal/boil"
	"slabside/internal/day"
	"slabside/internal/demand"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/source"
)

// at returns the wall-clock time of a minute of the day.
func (m *making) at(minute int) time.Time { return m.opens.Add(time.Duration(minute) * time.Minute) }

// view turns what was decided into what people read.
func (m *making) view() (*DayPlan, error) {
	p, err := boil.AirPressure(m.b.Room)
	if err != nil {
		return nil, err
	}
	d := &DayPlan{
		Date: m.req.Date, Shop: m.b.Shop.Name, Place: m.b.Shop.Place, Units: m.b.Shop.Units,
		Opens: m.opens, Ends: m.ends, WorkEnd: m.at(m.plan.End), Closed: m.at(m.plan.End),
		AltitudeM: q.Number(m.b.Room.Altitude), PressurePa: p, Glass: m.glass.Name, Kettle: Listed(m.kettleNames()),
		Batches: []Batch{}, Changeovers: []Changeover{}, Breaks: []BreakTime{}, Pours: []PourKept{}, Duties: []Duty{},
		Clock: []Moment{}, Rows: []Row{}, Bags: []BagsMade{}, LeftOver: []LeftOver{}, Unplaced: []Unplaced{}, Offers: []string{},
		Objectives: []Objective{}, ProvedBest: m.plan.ProvedBest, StoppedEarly: m.plan.StoppedEarly, StoppedBy: m.stoppedBy, States: m.plan.Labels,
		Cautions: []Caution{}, Sources: []string{}, made: m,
	}
	if len(m.plan.Made) > 0 {
		d.Closed = m.at(m.plan.End + m.prob.Closing)
	}
	for _, o := range m.plan.Objectives {
		d.Objectives = append(d.Objectives, Objective{Name: o.Name, Value: q.Number(o.Value), Bound: q.Number(o.Bound)})
	}
	slots, err := day.Sweep(m.prob, m.plan)
	if err != nil {
		return nil, err
	}
	duties, err := day.Assign(m.prob, m.plan)
	if err != nil {
		return nil, err
	}
	reasons := day.Explain(m.prob, m.plan)
	m.batches(d, slots, duties, reasons)
	m.changeovers(d, duties, reasons)
	m.breaksAndPours(d)
	m.duties(d, duties)
	if err := m.bags(d); err != nil {
		return nil, err
	}
	m.unplaced(d)
	m.clock(d)
	m.rows(d, slots, duties)
	m.dayCautions(d)
	m.sources(d)
	return d, nil
}

// kettleNames lists the kettles of the boils in the day, in their order; the day's
// own where nothing is boiled.
func (m *making) kettleNames() []string {
	var names []string
	for _, made := range m.plan.Made {
		if n := m.lots[made.Boil].kettle.Name; !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	if k, ok := m.b.DayKettle(); ok && len(names) == 0 {
		names = append(names, k.Name)
	}
	return names
}

// sizeName says which part of a whole boil a charge is.
func sizeName(charge, whole q.Kilograms) string {
	for _, s := range []struct {
		part float64
		name string
	}{{1, "whole"}, {1.0 / 2, "half"}, {1.0 / 3, "third"}} {
		if math.Abs(float64(charge/whole)-s.part) < 1e-6 {
			return s.name
		}
	}
	return "odd"
}

// batchID is the date and the place in the day, so that a plan has the same ids every time.
func (m *making) batchID(n int) string { return fmt.Sprintf("%s-%d", m.req.Date, n) }

func (m *making) batches(d *DayPlan, slots []day.Slot, duties []day.Duty, reasons []day.Reasons) {
	for i, made := range m.plan.Made {
		l := m.lots[made.Boil]
		b := m.prob.Boils[made.Boil]
		s := b.Shapes[made.Shape]
		t := made.Pour
		out := Batch{
			ID: m.batchID(i + 1), N: i + 1, Recipe: l.rec.ID, Name: l.rec.Name, Size: sizeName(l.charge, l.kettle.UsualCharge),
			ChargeKg: q.Number(l.charge), WeighBy: m.at(t - b.Lit - b.Charge), ChargeAt: m.at(t - b.Lit - b.Charge),
			FlameUp: m.at(t - b.Lit), Hold: m.at(t - b.Watch), Pour: m.at(t), PourEnd: m.at(t + b.Pour),
			RollStart: m.at(t + s.RollFrom), RollEnd: m.at(t + s.RollTo), Cool: m.at(t + s.RollTo + b.Cool),
			Done: m.at(t + s.RollTo + b.Cool), RollsName: m.prob.Pairs[b.Rolls].Name, Shape: s.Name,
			Pieces: l.pred.Pieces, WhyHere: some(m.whyHere(i, reasons[i])), Portions: []Portion{},
		}
		for _, sl := range slots {
			if sl.Boil != made.Boil {
				continue
			}
			switch to := m.at(sl.To); sl.Kind {
			case day.SlotWeigh:
				out.WeighBy = to
			case day.SlotAfter:
				if to.After(out.Done) {
					out.Done = to
				}
			}
		}
		for _, du := range duties {
			if du.Boil == made.Boil && du.Kind == day.DutyFlame {
				out.Lead = m.prob.Hands[du.Hand].Name
			}
		}
		for j, p := range l.pred.Portions {
			r := l.rec.Portions[j]
			out.Portions = append(out.Portions, Portion{ID: p.ID, Colour: r.Colour, Paint: r.Paint, Work: string(r.Work),
				MassKg: q.Number(p.SlabKg.Value), SoundKg: p.SoundKg, Pieces: p.Pieces, PieceG: p.PieceG})
		}
		out.Sheet = m.sheet(l)
		out.Cautions = m.batchCautions(l, b, made)
		d.Batches = append(d.Batches, out)
	}
}

// orZero dereferences an estimate that may be missing.
func orZero(e *q.Estimate) q.Estimate {
	if e == nil {
		return q.Estimate{}
	}
	return *e
}

func (m *making) sheet(l lot) Sheet {
	r := l.pred.Boil
	lookup := func(id string) (ingredient.Ingredient, bool) { return m.b.Ingredient(id) }
	s := Sheet{DialC: r.DialC, MarkC: q.Number(r.MarkC), Read: readOn(m.b.Shop.Units, m.glass, r.MarkC), BoilC: r.BoilC, RecipeC: q.Number(l.rec.BoilTo), WaterFrac: r.WaterFrac, LiftKg: r.MassKg,
		WaterOffKg: r.WaterOffKg, FinishedKg: r.FinishedKg, GlassC: r.GlassC, BoilTimeS: orZero(r.LitS),
		EnergyKWh: orZero(r.EnergyKWh), RollMin: q.Number(l.pred.RollMinutes.Value), RollBandMin: q.Number(l.pred.RollBand.Minutes()),
		Kettle: l.kettle.Name, Metal: string(l.kettle.Touches())}
	s.Weigh, s.Stock = weighLines(r.Weighings, m.b.Scales, m.b.Shop.Units, lookup)
	contains, unstated := m.allergensOf(l.rec.Ingredients())
	s.Allergens, s.Unstated = some(contains), some(unstated)
	s.MayContain = m.mayContain(l.rec, contains)
	for i, u := range s.Unstated {
		if in, ok := lookup(u); ok {
			s.Unstated[i] = in.Name
		}
	}
	return s
}

// mayContain lists what suppliers say a recipe's ingredients may contain beside
// what the recipe contains.
func (m *making) mayContain(r recipe.Recipe, contains []string) []MayContain {
	out := []MayContain{}
	for _, id := range r.Ingredients() {
		in, ok := m.b.Ingredient(id)
		for _, a := range in.MayContain {
			may := MayContain{Allergen: a, Ingredient: in.Name, StatedOn: in.StatementOn}
			if ok && !slices.Contains(contains, a) && !slices.Contains(out, may) {
				out = append(out, may)
			}
		}
	}
	return out
}

// some returns a list that prints as one, none as empty.
func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (m *making) breaksAndPours(d *DayPlan) {
	for i, at := range m.plan.Breaks {
		if at >= 0 {
			b := m.prob.Breaks[i]
			d.Breaks = append(d.Breaks, BreakTime{Name: b.Name, From: m.at(at), To: m.at(at + b.Minutes)})
		}
	}
	for i, made := range m.plan.Kept {
		a := m.prob.Appoint[i]
		p := PourKept{Name: a.Name, At: m.at(a.At), Early: q.Number(a.Early), Late: q.Number(a.Late)}
		if made >= 0 {
			p.Batch = m.batchID(made + 1)
		} else {
			p.Why = m.whyMissed(a)
		}
		d.Pours = append(d.Pours, p)
	}
}

// whyMissed says why no pour falls on an announced time.
func (m *making) whyMissed(a day.Appointment) string {
	switch {
	case len(m.plan.Made) == 0:
		return "nothing is boiled today"
	case a.Recipe >= len(m.recipes):
		return "what was announced is not boiled today; tell the visitors, or add a line to make"
	case a.At+a.Late < m.prob.Boils[m.plan.Made[0].Boil].Lit:
		return "no boil can be ready so early; open earlier or announce a later pour"
	}
	return "keeping it would leave a line that must go unmade, or no boil fits it; announce another time"
}

func (m *making) duties(d *DayPlan, duties []day.Duty) {
	for _, du := range duties {
		out := Duty{Hand: m.prob.Hands[du.Hand].Name, What: string(du.Kind), From: m.at(du.From), To: m.at(du.To)}
		if n := m.place(du.Boil); n >= 0 {
			out.Batch = m.batchID(n + 1)
		}
		d.Duties = append(d.Duties, out)
	}
}

// place returns the place in the day of a boil, −1 if it is not made.
func (m *making) place(boil int) int {
	return slices.IndexFunc(m.plan.Made, func(p day.Placed) bool { return p.Boil == boil })
}

// madeDraws adds up, draw by draw, the sound pieces of the boils in the day and
// the loose stock, sweet by sweet [kg].
func (m *making) madeDraws() [][]float64 {
	kg := make([][]float64, len(m.sweets))
	for i := range kg {
		kg[i] = make([]float64, planDraws)
	}
	for _, made := range m.plan.Made {
		l := m.lots[made.Boil]
		for j, y := range l.yields {
			for d, v := range y.Kg {
				kg[m.first[l.recipe]+j][d] += v
			}
		}
	}
	for _, s := range m.b.Stock {
		for i, sw := range m.sweets {
			loose := float64(s.Loose)
			switch {
			case s.Recipe != sw.Recipe || s.Portion != "" && s.Portion != sw.Portion:
				continue
			case s.Portion == "":
				loose *= float64(sw.Share) // the portions as made
			}
			for d := range kg[i] {
				kg[i][d] += loose
			}
		}
	}
	return kg
}

func (m *making) onlyPortion(id string) bool {
	r, _ := m.b.Recipe(id)
	return len(r.Portions) == 1
}

// unplaced lists the boils that are not in the day, with the lines they leave
// short, and offers what would make them fit.
func (m *making) unplaced(d *DayPlan) {
	for _, bl := range m.blockers {
		l := m.lots[bl.Boil]
		u := Unplaced{Recipe: l.rec.ID, Name: l.rec.Name, ChargeKg: q.Number(l.charge), Why: m.whyNot(bl), Lines: []string{}}
		for i, line := range m.result.Best.Lines {
			if line.Own[l.recipe] > m.madeOf(l.recipe) {
				u.Lines = append(u.Lines, m.lineName(m.result.Lines[i]))
			}
		}
		d.Unplaced = append(d.Unplaced, u)
	}
	m.offers(d)
}

func (m *making) madeOf(r int) int {
	n := 0
	for _, p := range m.plan.Made {
		if m.lots[p.Boil].recipe == r {
			n++
		}
	}
	return n
}

func (m *making) lineName(a demand.Asked) string {
	l := m.lines[a.Line]
	p, _ := m.b.Product(l.Product)
	return fmt.Sprintf("%d × %s", l.Bags, p.Name)
}

// sources collects the bibliography keys behind the plan's figures, and the
// judgement of the trade for its durations.
func (m *making) sources(d *DayPlan) {
	seen := []source.Key{source.Practice}
	for _, l := range m.lots {
		for _, k := range l.pred.Boil.Sources {
			if !slices.Contains(seen, k) {
				seen = append(seen, k)
			}
		}
	}
	slices.Sort(seen)
	d.Sources = source.Strings(seen...)
}

// rows lays the plan on a row a resource.
func (m *making) rows(d *DayPlan, slots []day.Slot, duties []day.Duty) {
	kettle := Row{Name: "Kettle", Kind: "kettle"}
	slab := Row{Name: "Slab", Kind: "slab"}
	hook := Row{Name: "Hook", Kind: "hook"}
	rolls := Row{Name: "Rolls", Kind: "rolls"}
	bench := Row{Name: "Bench", Kind: "bench"}
	bar := func(r *Row, from, to int, stage string, n int, text string, hot bool) {
		if to > from {
			b := Bar{From: m.at(from), To: m.at(to), Stage: stage, N: n, Text: text, Hot: hot}
			if n > 0 {
				b.Batch = m.batchID(n)
			}
			r.Bars = append(r.Bars, b)
		}
	}
	for i, made := range m.plan.Made {
		n := i + 1
		l, b := m.lots[made.Boil], m.prob.Boils[made.Boil]
		s, t := b.Shapes[made.Shape], made.Pour
		if made.KettleClean {
			bar(&kettle, t-b.Lit-b.Charge-m.prob.KettleMin, t-b.Lit-b.Charge, "allergen", n, "allergen clean of the kettle before "+l.rec.Name, false)
		}
		bar(&kettle, t-b.Lit-b.Charge, t-b.Lit, "charge", n, "charge "+l.rec.Name, false)
		bar(&kettle, t-b.Lit, t-b.Watch, "boil", n, "boil "+l.rec.Name, false)
		bar(&kettle, t-b.Watch, t, "watch", n, "above the hold point", true)
		bar(&kettle, t, t+b.Pour, "pour", n, "pour "+l.rec.Name, true)
		bar(&kettle, t+b.Pour, t+b.Pour+b.Rinse, "rinse", n, "rinse", false)
		act := m.prob.ActMin[made.Act]
		bar(&slab, made.ActFrom, made.ActFrom+act, stageOf(made.Act), n, made.Act.String()+" before "+l.rec.Name, false)
		bar(&slab, t, t+b.Pour, "pour", n, "pour "+l.rec.Name, true)
		end := t + b.Pour
		for _, st := range s.Steps {
			switch st.Kind {
			case day.Turn, day.Tend:
				if from := t + st.From; from >= end && st.Kind != day.Roll {
					to := min(t+st.To, t+s.SlabFree)
					bar(&slab, from, to, string(st.Kind), n, string(st.Kind)+" "+l.rec.Name, true)
					end = max(end, to)
				}
			}
		}
		bar(&slab, end, t+s.SlabFree, "hold_slab", n, l.rec.Name+" on the slab", true)
		bar(&hook, t+s.HookFrom, t+s.HookTo, "pull", n, "pull "+l.rec.Name, true)
		stage, text := "change", "change to "+m.prob.Pairs[b.Rolls].Name
		if i > 0 && m.prob.Boils[m.plan.Made[i-1].Boil].Rolls == b.Rolls || i == 0 && m.prob.Mounted == b.Rolls {
			stage, text = stageOf(made.Act), made.Act.String()+" the rolls"
		}
		bar(&rolls, made.RollsFrom, made.RollsFrom+made.RollsMin, stage, n, text, false)
		bar(&rolls, t+s.RollFrom, t+s.RollTo, "roll", n, "roll "+l.rec.Name, true)
		bar(&bench, t+s.RollTo, t+s.RollTo+b.Cool, "cool", n, l.rec.Name+" cools", false)
	}
	for _, r := range []Row{kettle, slab, hook, rolls, bench} {
		if len(r.Bars) > 0 {
			m.breakBars(&r)
			slices.SortStableFunc(r.Bars, func(a, b Bar) int { return a.From.Compare(b.From) })
			d.Rows = append(d.Rows, r)
		}
	}
	for h, hand := range m.prob.Hands {
		r := Row{Name: hand.Name, Kind: "hand", Bars: []Bar{}}
		for _, du := range duties {
			if du.Hand != h || du.Kind == day.DutyFlame {
				continue
			}
			n := m.place(du.Boil) + 1
			bar(&r, du.From, du.To, dutyStage(du.Kind), n, m.dutyText(du), hotDuty(du.Kind))
		}
		m.breakBars(&r)
		slices.SortStableFunc(r.Bars, func(a, b Bar) int {
			return cmp.Or(a.From.Compare(b.From), a.To.Compare(b.To))
		})
		d.Rows = append(d.Rows, r)
	}
}

func (m *making) breakBars(r *Row) {
	for i, at := range m.plan.Breaks {
		if at >= 0 {
			b := m.prob.Breaks[i]
			r.Bars = append(r.Bars, Bar{From: m.at(at), To: m.at(at + b.Minutes), Stage: "break", Text: b.Name})
		}
	}
}

func stageOf(a day.Act) string {
	return [...]string{"none", "wipe", "wash", "allergen"}[a]
}
