package hottest

import (
	"math"
	"slices"
)

// Truth is what came of a batch, in seconds since the end of the pour.
type Truth struct {
	PourC      float64
	FirstTurnS float64 // the edge has stiffened
	TurnedS    float64 // the folds are made
	PullFromS  float64 // NaN: nothing is pulled
	PullDoneS  float64
	OpensS     float64 // it goes to the rolls
	OpensC     float64
	ClosesS    float64 // what is left has gone short, or would have
	HasS       float64 // between the two
	NeedsS     float64 // what the rolls take for all of it
	LastC      float64 // of the sugar, as the last bar is cut
	LargestKg  float64 // the most that is rolled in condition
	RollFromC  float64 // the temperatures of the thicknesses
	RollToC    float64
	MassKg     float64
	Log        Log
}

// course is one batch as it goes.
type course struct {
	room  *Room
	c     chance // of this batch
	candy candy
	fine  float64 // how much finer cells and steps are than usual; 1: as usual

	mass, depth               float64
	places                    [][]float64 // that it was kneaded on, as it left them
	edgeC, pullC, fromC, toC  float64
	contact, rate, every, tch float64
	airC                      float64
	truth                     Truth

	s        *strip
	pathS    []float64 // of the mean temperature, on the table
	pathMean []float64
	reads    []Read
}

// longest is how long a batch is followed in each of its stages [s].
const longest = 3 * 3600.0

// never is the time beyond which nobody waits for a batch to go short [s], and largestKg
// the largest boil that is spoken of.
const (
	never     = 2 * 3600.0
	largestKg = 40.0
)

// Batch makes the batch of a number in the room.
func (r *Room) Batch(number int) Truth { return r.batch(number, 1) }

func (r *Room) batch(number int, fine float64) Truth {
	c := r.begin(number, fine)
	c.lie()
	c.turn()
	h := c.knead()
	c.pulls(h)
	c.feed()
	c.log(number)
	return c.truth
}

// begin draws what is of this batch alone.
func (r *Room) begin(number int, fine float64) *course {
	s := r.Shop
	c := &course{room: r, c: newChance(r.seed, 1+uint64(number)), fine: fine, airC: float64(s.room().Air)}
	c.c.still = r.still
	water := within(s.Water+r.water+c.c.off(0.0008), 0.008, 0.07)
	conducts := 0.33 * r.conducts
	c.candy = newCandy(r.density, conducts, glassOf(s.Syrup, water)+r.glass, r.thick, meanHeat(water)*r.heat)
	c.mass = s.MassKg * c.c.factor(massSD)
	lift := s.LiftC + c.c.off(liftSD)
	c.truth.PourC = within(lift-r.loses-c.c.off(0.7), 118, 165)
	c.truth.MassKg = c.mass
	c.contact = r.contact * c.c.factor(0.15)
	c.rate = r.rate * c.c.factor(0.08)
	habit := r.habit + c.c.off(0.12)
	c.every = within(r.every*c.c.factor(0.12), 10, 120)
	c.tch = within(r.touch*c.c.factor(0.08), 0.2, 0.95)
	depth := 0.020 * c.c.factor(0.10)
	c.depth = math.Max(depth, c.mass/c.candy.density/s.tableM2())
	c.edgeC, c.pullC = c.candy.at(edgeLifts+r.edge), c.candy.at(pullsFrom+habit)
	c.fromC, c.toC = c.candy.at(rollsFrom+habit), c.candy.at(rollsTo+habit)
	c.truth.RollFromC, c.truth.RollToC = c.fromC, c.toC
	c.truth.PullFromS, c.truth.PullDoneS = math.NaN(), math.NaN()
	return c
}

// worked is how deep the batch is worked [m] (source key model-heat: 30, 35 and 45 mm
// for 5, 10 and 20 kg).
func (c *course) worked() float64 {
	return c.workedOf(c.mass)
}

// workedOf is how deep a batch of another mass would be.
func (c *course) workedOf(kg float64) float64 {
	return within(c.room.depth*0.035*math.Pow(kg/10, 0.29), 0.015, 0.08)
}

// pour lays the candy down as a strip whose edge is as long, by its area, as that of a
// rectangle half as long again as wide.
func (c *course) pour() *strip {
	r := c.room
	plate, deep := r.Shop.plateOf()
	film, underC, _ := r.Shop.under()
	area := c.mass / c.candy.density / c.depth
	half := math.Sqrt(area) / 4.082
	beyond := math.Min(0.06, half*(r.Shop.tableM2()/area-1))
	wide, covered := columns(half, math.Max(0, beyond), 0.001/c.fine)
	s := newStrip(&c.candy, plate, deep, c.depth, int(10*c.fine), int(40*c.fine), wide, covered, underC, c.truth.PourC)
	s.contact, s.slack, s.coarse = c.contact, true, 1/c.fine
	s.below = side{ambientC: underC, film: film * r.below, larger: 1}
	s.above = side{ambientC: c.airC, free: r.top, emits: r.emits, larger: 1}
	s.bare = side{ambientC: c.airC, film: 10, larger: 1}
	s.beside = side{ambientC: underC, film: within(100*r.bar, 5, 3000), larger: 1}
	return s
}

// lie lets the batch lie until the lower quarter of the outer 10 mm, mixed, is as thick as
// lifts clean.
func (c *course) lie() {
	s := c.pour()
	c.s = s
	soft := func() float64 {
		t, _ := c.candy.heat.temp(s.over(0.010, 0.25, func(i int) float64 { return s.h[i] }))
		return t - c.edgeC
	}
	before, at := soft(), 0.0
	c.see()
	s.run(longest, func() bool {
		now := soft()
		if now <= 0 {
			c.truth.FirstTurnS = at + (s.clock-at)*before/(before-now)
			return true
		}
		before, at = now, s.clock
		c.see()
		return false
	})
	if c.truth.FirstTurnS == 0 {
		c.truth.FirstTurnS = s.clock
	}
}

// see writes down the mean temperature.
func (c *course) see() {
	c.pathS, c.pathMean = append(c.pathS, c.s.clock), append(c.pathMean, c.s.mean())
}

// read reads the thermometer in the middle of the batch.
func (c *course) read(s, trueC float64) {
	if !c.c.happens(0.4) {
		c.reads = append(c.reads, Read{S: s + math.Abs(c.c.off(3)), C: trueC + c.room.probe + c.c.off(1.5)})
	}
}

// turn folds the batch over as often as these hands do, and lets it lie between.
func (c *course) turn() {
	r, s := c.room, c.s
	worked := math.Max(c.worked(), c.depth)
	cold := func() bool { c.see(); return s.mean() <= c.fromC }
	s.beside = side{ambientC: c.airC, film: 7, emits: r.emits, larger: 1} // no bar holds what is folded
	for range r.folds {
		s.fold(worked, 0.002/c.fine)
		s.mix(r.mixed)
		joint := s.contact
		s.contact = 1e-6
		s.run(math.Min(r.lifted, c.every/2), func() bool { c.see(); return false })
		s.contact, s.since = joint, 0
		lies := c.every - math.Min(r.lifted, c.every/2)
		s.run(lies, cold)
		c.read(s.clock, s.core())
		if s.mean() <= c.fromC {
			break
		}
	}
	c.truth.TurnedS = s.clock
}

// knead works the batch, turn after turn, until it is as thick as it is rolled.
func (c *course) knead() *heap {
	r, s := c.room, c.s
	rows, warm := s.gather()
	h := newHeap(&c.candy, s.plate, s.plateDeep, s.candyDeep, c.fine, rows, c.placesOf(warm))
	h.s.below, h.s.bare, h.s.slack = s.below, s.bare, true
	h.massKg = func(float64) float64 { return c.mass }
	h.period, h.touch, h.mixed = r.period, c.tch, r.kneads
	h.free, h.emits, h.airC, h.joint = r.top, r.emits, c.airC, c.contact
	begun := c.truth.TurnedS
	before, at := h.mean(), 0.0
	done := before <= c.fromC
	c.truth.OpensS = begun
	if !done {
		h.run(longest, func() bool {
			now := h.mean()
			c.pathS, c.pathMean = append(c.pathS, begun+h.s.clock), append(c.pathMean, now)
			if now <= c.fromC {
				c.truth.OpensS = begun + at + (h.s.clock-at)*(before-c.fromC)/math.Max(before-now, 1e-9)
				done = true
				return true
			}
			before, at = now, h.s.clock
			return false
		})
	}
	if !done {
		c.truth.OpensS = begun + h.s.clock
	}
	h.leave()
	c.places = h.places
	c.truth.OpensC = h.mean()
	c.read(c.truth.OpensS, c.truth.OpensC)
	return h
}

// placesOf are the places of the table that the batch is kneaded on: where it lay, and
// others as cold as they were, as far as the table goes.
func (c *course) placesOf(warm []float64) [][]float64 {
	_, underC, _ := c.room.Shop.under()
	area := c.mass / c.candy.density / c.s.candyDeep
	n := min(c.room.places, max(1, int(c.room.Shop.tableM2()/area)))
	places := make([][]float64, n)
	for i := range places {
		places[i] = slices.Repeat([]float64{underC}, len(warm))
	}
	copy(places[0], warm)
	return places
}

// when returns when the mean first came down to a temperature on the table; false if it
// did not.
func (c *course) when(tempC float64) (s float64, ok bool) {
	for i, t := range c.pathMean {
		if t <= tempC {
			if i == 0 {
				return c.pathS[0], true
			}
			return c.pathS[i-1] + (c.pathS[i]-c.pathS[i-1])*(c.pathMean[i-1]-tempC)/math.Max(c.pathMean[i-1]-t, 1e-9), true
		}
	}
	return 0, false
}

// meanAt is the mean on the table at a moment [°C].
func (c *course) meanAt(s float64) float64 {
	for i := 1; i < len(c.pathS); i++ {
		if c.pathS[i] >= s {
			part := (s - c.pathS[i-1]) / math.Max(c.pathS[i]-c.pathS[i-1], 1e-9)
			return c.pathMean[i-1] + part*(c.pathMean[i]-c.pathMean[i-1])
		}
	}
	return c.pathMean[len(c.pathMean)-1]
}

// waits returns a heap of so much at a temperature where batches wait.
func (c *course) waits(depth float64, massKg func(float64) float64, tempC float64) *heap {
	r := c.room
	if !r.Shop.Board {
		plate, deep := r.Shop.plateOf()
		film, underC, _ := r.Shop.under()
		places := make([][]float64, len(c.places))
		for i := range places {
			places[i] = slices.Clone(c.places[i])
		}
		h := newHeap(&c.candy, plate, deep, depth, c.fine, even(&c.candy, tempC), places)
		h.s.below, h.s.bare, h.s.slack = side{ambientC: underC, film: film * r.below, larger: 1}, c.s.bare, true
		h.massKg, h.period, h.touch, h.mixed = massKg, r.period, c.tch, r.kneads
		h.free, h.emits, h.airC, h.joint = r.top, r.emits, c.airC, c.contact
		return h
	}
	places := [][]float64{slices.Repeat([]float64{c.airC + boardWarm}, boardRows)}
	h := newHeap(&c.candy, solid{woodConducts * r.keeps, 650, 1700}, 0.025, depth, c.fine, even(&c.candy, tempC), places)
	h.s.below = side{ambientC: c.airC, film: 8 * r.keeps, larger: 1}
	h.massKg, h.period, h.touch, h.mixed = massKg, r.tends, 1, r.kneads
	h.film, h.free, h.emits, h.airC, h.joint = r.keeps, r.top, r.emits, c.airC, clothFilm*r.keeps
	if r.Shop.Lamp {
		h.lamp = 35
	}
	return h
}

// What a board is: soft wood under a cloth, a little warm of the batch before.
const (
	woodConducts = 0.14
	clothFilm    = 25.0
	boardWarm    = 5.0 // K above the air
	boardRows    = 6
)

// pulls pulls what is pulled, by hand and 5 kg at most at a time, as ropes of about 40 mm
// (source key model-heat: 20 to 30 W/(m² K)), and lets the other part wait.
func (c *course) pulls(h *heap) {
	r := c.room
	if r.Shop.Pulled == 0 {
		return
	}
	from, ok := c.when(c.pullC)
	if !ok {
		from = c.truth.OpensS
	}
	pulled := r.Shop.Pulled * c.mass
	times := math.Ceil(pulled / 5)
	each := pulled / times / r.pull
	done := from + each*times
	end := math.Max(done, c.truth.OpensS)
	sum := 0.0
	for k := range int(times) {
		at := from + each*float64(k)
		t := c.meanAt(at)
		if at > c.truth.OpensS {
			t = c.rests(c.truth.OpensC, c.mass, at-c.truth.OpensS)
		}
		enthalpy := c.candy.heat.enthalpy(t)
		for n := 0; n < 40; n++ {
			now, _ := c.candy.heat.temp(enthalpy)
			enthalpy -= each / 40 * 0.034 * 25 * r.ropes * (now - c.airC)
		}
		t, _ = c.candy.heat.temp(enthalpy)
		sum += c.candy.heat.enthalpy(c.rests(t, pulled, end-at-each)) / times
	}
	clear := c.candy.heat.enthalpy(c.rests(c.truth.OpensC, c.mass-pulled, end-c.truth.OpensS))
	mean := r.Shop.Pulled*sum + (1-r.Shop.Pulled)*clear
	c.truth.PullFromS, c.truth.PullDoneS, c.truth.OpensS = from, done, end
	c.truth.OpensC, _ = c.candy.heat.temp(mean)
}

// rests is the temperature of a mass that has waited [°C].
func (c *course) rests(tempC, massKg, seconds float64) float64 {
	if seconds <= 0 {
		return tempC
	}
	h := c.waits(c.worked(), func(float64) float64 { return massKg }, tempC)
	h.run(seconds, nil)
	return h.mean()
}

// feed rolls the batch, and finds the largest that could have been.
func (c *course) feed() {
	c.truth.NeedsS = c.mass / c.rate
	gone, last, mid := c.rolls(c.mass, never)
	c.truth.HasS, c.truth.LastC, c.truth.ClosesS = gone, last, c.truth.OpensS+gone
	if c.truth.NeedsS/2 < gone {
		c.read(c.truth.OpensS+c.truth.NeedsS/2, mid)
	}
	fits := func(kg float64) bool {
		gone, _, _ := c.rolls(kg, kg/c.rate)
		return gone >= kg/c.rate
	}
	low, high := 0.0, largestKg
	if c.truth.OpensC > c.toC && !fits(high) {
		for range 8 {
			if kg := (low + high) / 2; fits(kg) {
				low = kg
			} else {
				high = kg
			}
		}
		c.truth.LargestKg = (low + high) / 2
	} else if c.truth.OpensC > c.toC {
		c.truth.LargestKg = high
	}
}

// rolls feeds a mass and returns when it has gone short, at most so many seconds later or
// never, its temperature as the last bar is cut, and half-way. What is there last stays
// together.
func (c *course) rolls(kg, most float64) (gone, lastC, midC float64) {
	needs := kg / c.rate
	h := c.waits(c.workedOf(kg), func(s float64) float64 { return math.Max(kg-c.rate*s, c.room.corner*kg) }, c.truth.OpensC)
	gone, lastC, midC = never, math.NaN(), math.NaN()
	before, at := c.truth.OpensC, 0.0
	if before <= c.toC {
		gone = 0
	}
	h.run(math.Max(most, needs), func() bool {
		now := h.mean()
		cross := func(to float64) float64 {
			return at + (h.s.clock-at)*within((before-to)/math.Max(before-now, 1e-9), 0, 1)
		}
		if gone == never && now <= c.toC {
			gone = cross(c.toC)
		}
		if math.IsNaN(midC) && h.s.clock >= needs/2 {
			midC = now
		}
		if math.IsNaN(lastC) && h.s.clock >= needs {
			lastC = before + (now-before)*(needs-at)/(h.s.clock-at)
		}
		before, at = now, h.s.clock
		return gone < never && (!math.IsNaN(lastC) || most < never)
	})
	return gone, lastC, midC
}
