package slab

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/heat"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// Batch is one possible batch on one possible table: all that its course hangs on.
type Batch struct {
	Sweet  Sweet
	MassKg float64
	LiftC  float64 // true temperature as the flame goes off
	PourC  float64 // on the slab; NaN: the lift less what is lost
	DepthM float64 // as poured; 0: [UsualDepth], or as deep as the table makes it

	Pulled   float64 // share that is pulled
	PullRate float64 // kg/s of one person
	PullMost float64 // kg at once; 0: all of it
	Board    *rig.Board
	AirC     float64
	Table    Table

	Figures Figures
	Hands   Hands

	Below float64 // factor of what the table's lower side takes
	Top   float64 // factor of the free convection above
	Side  float64 // W/(m² K) at the edge of the poured sugar
}

// The range of these models: the depth of a pour, and its temperature [°C]. Hotter sugar
// is beyond the property models, colder sugar does not run out flat any more.
const (
	ThinnestPour q.Metres  = 0.005
	ThickestPour q.Metres  = 0.060
	HottestPour  q.Celsius = 160
	ColdestPour  q.Celsius = 115
)

// UsualPull is the most that is pulled by hand at once [kg] (source key practice).
const UsualPull = 5.0

// UsualDepth is how deep sugar is poured where there is room [m].
const UsualDepth = 0.020

// UsualSide is what a bar or the air takes at the edge [W/(m² K)] (source key model-heat,
// a bar's 100 to 1000 and a free edge's 15).
const UsualSide = 100.0

// How finely candy and plate are cut; the band along the edge [m], and the share of it from
// below that has to be stiff for it to lift.
const (
	candyCells, plateCells = 20, 5
	edgeBand               = 0.010
	edgeSkin               = 0.25
	stepBound              = 0.05 // K of a step: a second of the clock
)

// Course is what became of a batch, in seconds since the end of the pour.
type Course struct {
	PourC     float64
	FirstTurn float64
	Turned    float64 // the last fold is made, kneading begins
	PullFrom  float64 // the batch has come to [PullsFrom]; only where something is pulled
	PullDone  float64 // all that is pulled is; 0: nothing is
	Ready     float64 // it goes to the rolls
	ReadyC    float64 // all together
	PulledC   float64 // what was pulled, as it was done
	PlateC    float64 // of the plate where it lay
	TableJ    float64 // heat into the table until then

	Path    Path    // of what lies on the table
	Waits   Waiting // where it waits from then on
	Windows Windows
}

// Windows are the temperatures of a batch's thicknesses [°C].
type Windows struct{ Edge, PullFrom, PullTo, RollFrom, RollTo, Carry float64 }

// windows returns the temperatures of the thicknesses as this room has them.
func (b Batch) windows() (w Windows, err error) {
	edge, habit := Thickness(b.Figures[Edges]), Thickness(b.Figures[Habit])
	for _, x := range []struct {
		to *float64
		at Thickness
	}{{&w.Edge, EdgeLifts + edge}, {&w.PullFrom, PullsFrom + habit}, {&w.PullTo, PullsTo + habit},
		{&w.RollFrom, RollsFrom + habit}, {&w.RollTo, RollsTo + habit}, {&w.Carry, CarriesAll}} {
		if *x.to, err = b.Sweet.At(x.at); err != nil {
			return Windows{}, err
		}
	}
	return w, nil
}

// longest is how long a batch is followed on the table [s].
const longest = 3 * 3600.0

// Run follows the batch to the rolls.
//
// Faults: OutOfRange where the sweet is beyond the models; Invalid where the batch does
// not cool far enough in an hour, as on a table that is too warm.
func (b Batch) Run() (Course, error) {
	w, err := b.windows()
	if err != nil {
		return Course{}, err
	}
	c := Course{PourC: b.PourC, Windows: w}
	if math.IsNaN(c.PourC) {
		c.PourC = b.LiftC - b.Figures[Loses]
	}
	lying, err := b.lie(&c)
	if err != nil {
		return Course{}, err
	}
	if err := b.turn(&c, lying); err != nil {
		return Course{}, err
	}
	if err := b.knead(&c, lying); err != nil {
		return Course{}, err
	}
	b.rest(&c)
	return c, nil
}

// lie pours the batch and lets it lie until its edge lifts clean.
func (b Batch) lie(c *Course) (*heat.Stack, error) {
	depth := b.DepthM
	if depth == 0 {
		depth = UsualDepth
	}
	depth = math.Max(depth, b.MassKg/b.Sweet.Matter.Density/b.Table.areaM2)
	area := b.MassKg / b.Sweet.Matter.Density / depth
	round := 4.08 * math.Sqrt(area) // half as long again as wide
	s, err := heat.NewStack(heat.Face{AmbientC: b.Table.coolC, Film: b.Table.below * b.Below},
		heat.Face{AmbientC: b.AirC, Length: area / round, Emissivity: candyEmissivity, Stir: b.Top},
		heat.Layer{Matter: b.Table.matter, Thickness: b.Table.thickness, Cells: plateCells, TempC: b.Table.coolC},
		heat.Layer{Matter: b.Sweet.Matter, Thickness: depth, Cells: candyCells, TempC: c.PourC, Contact: b.Figures.Contact()})
	if err != nil {
		return nil, err
	}
	s.Bound = stepBound
	edge := b.edge()
	s.Each = func() { c.see(s, 0) }
	c.see(s, 0)
	cool := tableHeat(s, area)
	met, err := s.AdvanceUntil(longest, func() float64 {
		left := 1 - edge.Lost(edgeBand, s.Time())/edgeBand
		return b.Table.coolC + left*(s.Between(1, 0, edgeSkin)-b.Table.coolC) - c.Windows.Edge
	})
	if err != nil {
		return nil, err
	}
	if !met {
		return nil, b.tooWarm("its edge does not stiffen", c.Windows.Edge)
	}
	c.FirstTurn = s.Time()
	c.TableJ = cool - tableHeat(s, area)
	// The edge is part of the batch: what it lost goes with the first turn.
	lost := math.Min(0.5, round/area*edge.Lost(math.Inf(1), s.Time()))
	outside := b.Sweet.Matter.Heat.Enthalpy(b.Table.coolC)
	s.Swap(1, func(_ int, h float64) float64 { return h + lost*(outside-h) })
	return s, nil
}

// edge is the poured sugar from its edge inwards. Across it cools towards the bar or the
// air, through its depth towards table and air: the shares of the excess that are left by
// the one and by the other multiply, as if the plate did as the sugar on it does.
func (b Batch) edge() heat.Edge {
	m := b.Sweet.Matter
	const middle = 110 // °C, between the pour and the thickness of the edge
	k := m.K + m.KPer*middle
	return heat.Edge{Diffusivity: k / m.Density / m.Heat.Capacity(middle), K: k, Film: b.Side}
}

// see writes down where a stack is, so many seconds after the pour began to lie.
func (c *Course) see(s *heat.Stack, since float64) {
	core := math.Max(s.At(1, 0.5), math.Max(s.At(1, 0.35), s.At(1, 0.65)))
	mean := s.Mean(1)
	c.Path.add(since+s.Time(), mean, math.Max(core, mean))
}

// turn folds the batch over, so often as it is folded.
func (b Batch) turn(c *Course, s *heat.Stack) error {
	s.Each = func() { c.see(s, 0) }
	worked := math.Max(b.Hands.Deep*workedDepth(b.MassKg), s.Thickness(1))
	before := tableHeat(s, 1)
	area := b.MassKg / b.Sweet.Matter.Density / worked
	s.Above.Film += (heapSides - 1) * topFilm(s.Above, s.Mean(1)) // of the sides
	for range b.Hands.Folds {
		s.Fold(b.Hands.Mixed, worked)
		c.see(s, 0)
		met, err := s.AdvanceUntil(b.Hands.Every, func() float64 { return s.Mean(1) - c.Windows.RollFrom })
		if err != nil {
			return err
		}
		if met {
			break
		}
	}
	c.TableJ += area * (before - tableHeat(s, 1))
	c.Turned = s.Time()
	return nil
}

// tableHeat is what has gone into the plate less what is in it [J]: it falls by what the
// candy gives to the plate.
func tableHeat(s *heat.Stack, area float64) float64 {
	below, _ := s.HeatIn()
	return area * (below - s.Heat(0))
}

// kneadFilm is what passes between a batch that is kneaded and its table [W/(m² K) of the
// ground it covers]: contact, and the chill of sides that are always new ones,
//
//	1/U = 1/h_c + √(π τ)/2e        the mean of a side's first τ seconds on the table
func (b Batch) kneadFilm() float64 {
	renewed := math.Sqrt(math.Pi*b.Hands.Touch*b.Hands.Renewed) / (2 * b.Sweet.Matter.Effusivity(90))
	return b.Hands.Touch * math.Exp(b.Figures[Works]) / (1/b.Figures.Contact() + renewed)
}

// knead works the batch until it has come to the thickness of the rolls, of one
// temperature all through, over a part of the table that it warms.
func (b Batch) knead(c *Course, lying *heat.Stack) error {
	worked := lying.Thickness(1)
	area := b.MassKg / b.Sweet.Matter.Density / worked
	spread := math.Min(b.Hands.Spread, math.Max(1, b.Table.areaM2/area))
	matter := b.Sweet.Matter
	matter.K, matter.KPer = 1e6, 0
	mean := lying.Mean(1)
	top := topFilm(heat.Face{AmbientC: b.AirC, Length: math.Sqrt(area) / 4, Emissivity: candyEmissivity}, mean) * heapSides
	s, err := heat.NewStack(lying.Below, heat.Face{AmbientC: b.AirC, Film: top / spread},
		heat.Layer{Matter: b.Table.matter, Thickness: b.Table.thickness, Cells: plateCells, TempC: b.Table.coolC},
		heat.Layer{Matter: matter, Thickness: worked / spread, Cells: 1, TempC: mean, Contact: b.kneadFilm() / spread})
	if err != nil {
		return err
	}
	plate := make([]float64, plateCells)
	lying.Swap(0, func(i int, h float64) float64 { plate[i] = h; return h })
	s.Swap(0, func(i int, h float64) float64 { return h + (plate[i]-h)/spread })
	s.Bound = stepBound
	since := c.Turned
	s.Each = func() { m := s.Mean(1); c.Path.add(since+s.Time(), m, m) }
	before := tableHeat(s, 1)
	met, err := s.AdvanceUntil(math.Max(1, longest-since), func() float64 { return s.Mean(1) - c.Windows.RollFrom })
	if err != nil {
		return err
	}
	if !met {
		return b.tooWarm("it does not come to the rolls", c.Windows.RollFrom)
	}
	c.TableJ += area * spread * (before - tableHeat(s, 1))
	c.Ready, c.ReadyC, c.PlateC = since+s.Time(), s.Mean(1), s.At(0, 1)
	return nil
}

// tooWarm says of what does not come about in three hours at what temperature it would.
func (b Batch) tooWarm(what string, atC float64) error {
	return fault.Invalid("in three hours %s: it is stiff enough only at %.0f °C, on a table cooled to %.0f °C", what, atC, b.Table.coolC).At("slab").
		WithHint("look at how much water is left in it, at what is poured, and at the temperatures of water and air")
}

// rest pulls what is pulled, and lets the other part wait for it where it waits.
func (b Batch) rest(c *Course) {
	c.Waits = b.waiting(b.Board, c.PlateC)
	if b.Pulled <= 0 || b.PullRate <= 0 {
		return
	}
	from, ok := c.Path.Mean(c.Windows.PullFrom)
	if !ok {
		from = c.Ready
	}
	c.PullFrom = from
	pulled := b.Pulled * b.MassKg
	once := pulled
	if b.PullMost > 0 {
		once = pulled / math.Ceil(pulled/b.PullMost)
	}
	each := once / b.PullRate
	done := from + pulled/b.PullRate
	curve := b.Sweet.Matter.Heat
	end := math.Max(done, c.Ready)
	if b.Pulled >= 1 { // nothing lies clear that has to come to the rolls
		end = done
	}
	sum, n := 0.0, 0
	for at := from; at < done-1e-6; at += each { // one pull after the other
		t := c.Path.At(at)
		if at > c.Ready {
			t = b.wait(c, c.Ready, c.ReadyC, at, b.MassKg)
		}
		t = heat.Lump{Heat: curve, Takes: func(_, tempC float64) float64 { return b.ropes(tempC) }}.Cool(at, t, each)
		sum += curve.Enthalpy(b.wait(c, at+each, t, end, pulled))
		n++
	}
	mean := sum / float64(n)
	c.PulledC, c.PullDone = curve.Temp(mean), done
	if rest := 1 - b.Pulled; rest > 0 {
		clear := b.MassKg * rest
		for s := c.Ready + waitStep; s < end; s += waitStep {
			t := b.wait(c, c.Ready, c.ReadyC, s, clear)
			c.Path.add(s, t, t)
		}
		mean = b.Pulled*mean + rest*curve.Enthalpy(b.wait(c, c.Ready, c.ReadyC, end, clear))
	}
	c.Ready, c.ReadyC = end, curve.Temp(mean)
	c.Path.cut(end)
	c.Path.add(end, c.ReadyC, c.ReadyC)
}

// waitStep is how finely what waits for the hook is followed [s].
const waitStep = 30.0

// wait is the temperature of a mass that waits from one moment to another.
func (b Batch) wait(c *Course, from, fromC, to, massKg float64) float64 {
	if to <= from {
		return fromC
	}
	w := c.Waits
	return heat.Lump{Heat: b.Sweet.Matter.Heat, Takes: func(_, t float64) float64 { return w.Takes(massKg, t) }, Step: 20}.Cool(from, fromC, to-from)
}

// What is pulled hangs as ropes of about 40 mm that are folded together and drawn out:
// surface by mass [m²/kg], half of it hidden, and what air and hands take [W/(m² K)]
// (source key model-heat, 20 to 30).
const (
	ropeArea = 0.034
	ropeFilm = 25.0
)

func (b Batch) ropes(tempC float64) float64 {
	return b.Hands.Ropes * ropeArea * ropeFilm * (tempC - b.AirC)
}
