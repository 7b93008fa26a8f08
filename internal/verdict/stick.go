package verdict

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"slabside/internal/boil"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// sweet is the portion that stands up to least.
type sweet struct {
	boil.PortionResult
	solids sugar.Solids
	water  float64    // of the sugar phase
	glass  q.Estimate // °C
	draws  []float64  // nil where they do not hold all that is in doubt
	hidden bool       // invert sugar that nobody has worked out lowers it
}

// unknownInvert is the invert sugar up to which a boil with acid in the kettle is
// held to be, while nobody has worked out how much: where it turns sticky [of the
// sucrose] (source key trade-texts, of low confidence).
const unknownInvert = 0.20

// weakest returns the portion that stands up to least; nil where the glass
// transition of any is outside its model's range.
func (in Inputs) weakest() *sweet {
	var w *sweet
	for _, p := range in.Boil.Portions {
		if p.GlassC == nil {
			return nil
		}
		if w == nil || p.GlassC.Value < w.glass.Value {
			wet := p.Makeup.Water + p.Makeup.Spirit
			w = &sweet{PortionResult: p, solids: p.Makeup.Solids(), water: wet / (wet + p.Makeup.Phase()), glass: *p.GlassC, draws: p.GlassDraws}
		}
	}
	if w == nil || !in.Boil.Doctored || in.Boil.InvertFrac != nil {
		return w
	}
	w.hidden, w.draws = true, nil
	if after, _, err := w.solids.Inverted(unknownInvert); err == nil {
		was, _, err1 := in.glass(sugar.Mix(w.solids, q.Fraction(w.water)))
		would, _, err2 := in.glass(sugar.Mix(after, q.Fraction(w.water)))
		if err1 == nil && err2 == nil {
			w.glass.Low += would - was
		}
	}
	return w
}

// stuck is the verdict on sticking with what the map wants of it.
type stuck struct {
	Verdict
	toWater float64 // of the sugar phase that answers no; 0: none, or no need
	toShare float64 // the same of the doctor
}

// sticks holds what the sweet stands up to against the room, the store and the post.
func (in Inputs) sticks(s *sweet) stuck {
	v := stuck{Verdict: Verdict{Question: Sticks, Limits: []Limit{}, Decides: []string{}, Moves: []string{}}}
	u := in.Units
	if s == nil {
		v.Answer, v.Text = NotKnown, "what it stands up to is outside the range of its model"
		v.Sources = source.Strings(source.Roos1993)
		return v
	}
	v.Answer, v.FigureC = No, &s.glass
	v.Sources = source.Strings(source.Roos1993, source.Practice)
	hottest := -1
	for _, l := range in.warmth() {
		at := float64(*l.C)
		l.Answer = under(s.glass, at)
		if s.draws != nil {
			l.Chance = number(share(s.draws, func(g float64) bool { return g < at }))
		}
		v.Limits = append(v.Limits, l)
		v.Answer = worse(v.Answer, l.Answer)
		if hottest < 0 || at > float64(*v.Limits[hottest].C) {
			hottest = len(v.Limits) - 1
		}
	}
	hot := v.Limits[hottest]
	v.Text = fmt.Sprintf("%sstands up to %s; the %s reaches %s", in.portion(s), u.SayTemperature(s.glass, 0), hot.Name, u.Temperature(q.Celsius(*hot.C), 0))
	if hot.Chance != nil && hot.Answer == Borderline {
		v.Text += ", " + u.SayChance(q.Fraction(*hot.Chance), 0) + " that it sticks there"
	}
	if hot.Usual {
		v.Decides = append(v.Decides, fmt.Sprintf("%s for the %s is usual, common practice, no source: state your own in the room of the shop book", u.Temperature(q.Celsius(*hot.C), 0), hot.Name))
	}
	if s.hidden {
		v.Decides = append(v.Decides, fmt.Sprintf("the acid in the kettle makes invert sugar, which is not worked out here: the range reaches down to %s of the sugar inverted", u.Percent(unknownInvert, 0)))
	}
	in.invertTop(&v)
	if c := in.Boil.CookedBack; c != nil && c.Times != nil {
		v.Decides = append(v.Decides, fmt.Sprintf("with %s cooked back, boil after boil, %s, as much sugar is inverted as in a boil of fresh sugar",
			u.Percent(c.Share, 1), u.SayTimes(*c.Times, 2)))
	}
	if hot.Answer != No {
		in.moves(&v, s, float64(*hot.C))
	}
	return v
}

// warmth lists what the sweet has to stand up to, without answers.
func (in Inputs) warmth() []Limit {
	most := func(name string, stated, usual q.Celsius) Limit {
		return Limit{Name: name, C: number(float64(cmp.Or(stated, usual))), Source: source.Practice, Usual: stated == 0}
	}
	return []Limit{most("room", in.Room.Air, rig.UsualAir), most("store", in.Room.StoreMost, rig.UsualStoreMost), most("post", in.Room.PostMost, rig.UsualPostMost)}
}

// portion names the portion a figure is of, where a boil has several that differ.
func (in Inputs) portion(s *sweet) string {
	name := in.Portions[s.ID]
	for _, p := range in.Boil.Portions {
		const differs = 0.5 // K
		if name != "" && p.GlassC.Value > s.glass.Value+differs {
			return "the " + name + " portion "
		}
	}
	return ""
}

// invertTop holds the invert sugar of a boil doctored by acid alone against the
// band above which it draws damp whatever it stands up to.
func (in Inputs) invertTop(v *stuck) {
	e := in.Boil.InvertFrac
	if e == nil || !in.byAcid() {
		return
	}
	l := Limit{Name: "invert sugar", Frac: number(boil.InvertSticks), Answer: over(*e, boil.InvertSticks), Source: source.TradeTexts}
	v.Limits = append(v.Limits, l)
	v.Sources = append(v.Sources, string(source.TradeTexts))
	v.Answer = worse(v.Answer, l.Answer)
	if l.Answer != No {
		v.Decides = append(v.Decides, fmt.Sprintf("invert sugar %s: above about %s a boil doctored by acid alone draws damp", in.Units.SayPercent(*e, 0), in.Units.Percent(boil.InvertSticks, 0)))
		v.Moves = append(v.Moves, "a quicker boil, or less tartar, makes less invert sugar")
	}
}

// moves finds what would make the answer a no: so much drier, or so much more syrup,
// that the low end of the range meets the limit.
func (in Inputs) moves(v *stuck, s *sweet, limit float64) {
	u := in.Units
	want := s.glass.Value + limit - s.glass.Low
	if drier, err := in.waterAtGlass(s.solids, want, 0); err == nil && drier > 0 {
		if k, ok := in.hotter(s.water - drier); ok {
			v.toWater = drier
			v.Moves = append(v.Moves, fmt.Sprintf("boil %s hotter", u.Difference(q.Kelvins(math.Ceil(2*k)/2), 1)))
		}
	}
	if !in.Boil.Doctored {
		if share, ok := in.syrupFor(s, limit); ok {
			v.toShare = share
			points := math.Ceil(100 * (share - float64(s.solids.Syrup)))
			v.Moves = append(v.Moves, fmt.Sprintf("%s points more glucose syrup in the dry sugars", u.Number(points, 0)))
		}
	}
	const wet = 0.003 // a point of water costs some 8 K
	if brought := s.water - in.kettleWater(); brought > wet {
		v.Moves = append(v.Moves, fmt.Sprintf("drier colours and flavours: they bring %s points of water", u.Number(100*brought, 1)))
	}
	if in.Boil.CookedBack != nil {
		v.Moves = append(v.Moves, "less cook-back, or none")
	}
	v.Moves = append(v.Moves, fmt.Sprintf("keep it, and do not post it, where it gets above %s", u.Temperature(q.Celsius(math.Floor(s.glass.Low)), 0)))
}

// kettleWater returns the water of the sugar phase in the kettle at the lift.
func (in Inputs) kettleWater() float64 {
	wet := in.Boil.WaterFrac.Value * in.Boil.MassKg.Value
	return wet / (wet + in.Boil.Pot.Phase())
}

// hotter returns by how much hotter a boil ends that leaves so much less water in
// the sugar phase [K]; false where no boil gets there by a figure that is meant, or
// it browns first.
func (in Inputs) hotter(drier float64) (float64, bool) {
	solids, water := in.Boil.Pot.Solids(), in.kettleWater()
	if sugar.AtEdge(q.Fraction(water - drier)) {
		return 0, false
	}
	end, err := sugar.BoilingPoint(sugar.Mix(solids, q.Fraction(water-drier)), in.Boil.Pressure)
	if err != nil || end > brownsAt {
		return 0, false
	}
	now, err := sugar.BoilingPoint(sugar.Mix(solids, q.Fraction(water)), in.Boil.Pressure)
	return float64(end - now), err == nil
}

// mostSyrup is the share of syrup up to which more of it is proposed: the end of the
// band the trade works in (source key practice).
const mostSyrup = 0.50

// syrupFor returns the share of syrup with which the low end of the range meets a
// limit at the same water, the sucrose giving way. The range widens with the syrup,
// whose own glass transition is the less sure.
func (in Inputs) syrupFor(s *sweet, limit float64) (float64, bool) {
	at := func(share float64) (float64, float64) {
		x := s.solids
		x.Syrup = q.Fraction(share)
		t, sd, err := in.glass(sugar.Mix(x, q.Fraction(s.water)))
		if err != nil {
			return math.Inf(-1), 1
		}
		return t, sd
	}
	now := float64(s.solids.Syrup)
	_, sd := at(now)
	low := func(share float64) float64 {
		t, wide := at(share)
		return t - (s.glass.Value-s.glass.Low)*wide/sd - limit
	}
	if now >= mostSyrup || low(mostSyrup) < 0 || math.IsInf(low(now), 0) || low(now) >= 0 {
		return 0, false
	}
	share, err := numeric.Brent(low, now, mostSyrup, 1e-6)
	return share, err == nil
}

// share returns the share of values for which is holds.
func share(values []float64, is func(float64) bool) float64 {
	n := 0
	for _, v := range values {
		if is(v) {
			n++
		}
	}
	return float64(n) / float64(len(values))
}

// Line prints the moves of a verdict as one sentence: any one of them does.
func (v Verdict) Line() string { return strings.Join(v.Moves, "; or ") }
