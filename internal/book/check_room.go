package book

import (
	"fmt"
	"math"

	"slabside/internal/boil"
	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// StandardPressure returns the pressure of the standard atmosphere at an
// altitude between −450 and 5000 m:
//
//	p = 101325 (1 − 2.25577e-5 h)^5.25588 Pa
//
// Source: ISO 2533, the constants from memory (key iso2533).
func StandardPressure(altitude q.Metres) q.Pascals {
	return q.Pascals(q.StandardAtmospherePa * math.Pow(1-2.25577e-5*float64(altitude), 5.25588))
}

const (
	pressureSlack = boil.PressureSlack
	dampHumidity  = 0.50 // sweets take up water above it (key practice)
)

func (c *check) room() {
	r := c.book.Room
	// Outside their own ranges the two are reported as such.
	if p, h := float64(r.StationPressure), float64(r.Altitude); p >= 50e3 && p <= 110e3 && h >= -450 && h <= 5000 {
		std := StandardPressure(r.Altitude)
		at := fmt.Sprintf("%.0f hPa at %.0f m, where %.0f hPa is usual", r.StationPressure/100, float64(r.Altitude), std/100)
		switch off := float64(r.StationPressure/std - 1); {
		case off > pressureSlack:
			c.fail("room.station_pressure", string(caution.StationPressure), "enter what a barometer in the room shows, not the weather report's figure, which is reduced to sea level", at)
		case off < -pressureSlack:
			c.warn("room.station_pressure", caution.StationPressure, at)
		}
	}
	if r.Humidity > dampHumidity {
		c.warn("room.humidity", caution.DampRoom, c.book.Shop.Units.Percent(r.Humidity, 0))
	}
	if r.PourAlone > rig.UsualPourAlone {
		c.warn("room.pour_alone", caution.TwoToPour, fmt.Sprintf("one person pours up to %.3g kg here, above the usual %g kg", float64(r.PourAlone), float64(rig.UsualPourAlone)))
	}
	t := r.Times
	rising := func(low, high q.Duration, lowKey, highKey string) {
		if low > high && high > 0 {
			c.fail("room.times."+highKey, Order, highKey+" may not be shorter than "+lowKey, "is shorter than "+lowKey)
		}
	}
	rising(t.Wipe, t.Wash, "wipe", "wash")
	rising(t.Wash, t.AllergenClean, "wash", "allergen_clean")
	rising(t.RollsWipe, t.RollsWash, "rolls_wipe", "rolls_wash")
	rising(t.RollsWash, t.RollsAllergen, "rolls_wash", "rolls_allergen_clean")
	rising(t.Rinse, t.KettleClean, "rinse", "kettle_allergen_clean")
	rising(t.RollBand, t.RollBandBoard, "roll_band", "roll_band_board")
}

func (c *check) rigs() {
	full := c.fullest()
	for i, k := range c.book.Kettles {
		at := fmt.Sprintf("kettle[%d]", i)
		c.kettle(at, k)
		c.fits(at, full[k.ID])
	}
	for i, s := range c.book.Slabs {
		if s.Material.Bare() {
			c.warn(fmt.Sprintf("slab[%d].material", i), caution.AcidOnCopper, fmt.Sprintf("slab %q", s.ID))
		}
	}
	for i, m := range c.book.Machines {
		if !m.Stop {
			c.warn(fmt.Sprintf("machine[%d].stop_in_reach", i), caution.StopReach, fmt.Sprintf("machine %q", m.ID))
		}
	}
	for i, r := range c.book.Rolls {
		at := fmt.Sprintf("rolls[%d]", i)
		c.either(at, "piece", r.Piece != 0, "pieces_per_lb", r.PerPound != 0)
		c.tested(at, fmt.Sprintf("rolls %q of %s", r.ID, r.Material), r.Material.AsksTest(), r.Tested)
	}
	for i, s := range c.book.Scales {
		if s.Resolution > 0 && s.Capacity > 0 && s.Resolution*50 > s.Capacity {
			c.fail(fmt.Sprintf("scale[%d].resolution", i), Order, "a scale shows at least fifty steps", "is too coarse for the capacity")
		}
	}
	for i, g := range c.book.Glasses {
		at := fmt.Sprintf("glass[%d]", i)
		c.checks(at, g)
		if boil.Checked(g, c.book.Room).CheckedAt < highCheck {
			c.warn(at+".checked_at", caution.HighCheck, fmt.Sprintf("glass %q", g.ID))
		}
		if (g.CheckedAt != 0) != (g.CheckedOn != "") {
			c.fail(at+".checked_on", OneOf, "state both checked_on and checked_at, or neither", "a check has a date and a temperature")
		}
	}
}

// mostOff is how far a glass may be off at a check before the check is doubted
// instead (judgement).
const mostOff = 15 // K

// checks looks at the checks of a glass.
func (c *check) checks(at string, g rig.Glass) {
	for j, x := range g.Checks {
		at := fmt.Sprintf("%s.check[%d]", at, j)
		reference := x.Against == rig.AgainstReference
		switch {
		case reference && x.True == 0:
			c.fail(at+".true", Missing, "write what the reference read", "is missing: a reference is known by its own reading")
		case !reference && x.True != 0:
			c.fail(at+".true", Clash, "leave it out", "goes with a reference only: "+string(x.Against)+" is known")
		}
		if !reference && x.Sure != 0 {
			c.fail(at+".sure", Clash, "leave it out", "goes with a reference only")
		}
		if x.Against != rig.AgainstBoiling && x.Against != rig.AgainstCrack && x.Pressure != 0 {
			c.fail(at+".pressure", Clash, "leave it out", "goes with boiling water and the crack only")
		}
		known, _, err := boil.CheckedAgainst(x, c.book.Room)
		if off := float64(x.Read - known); err == nil && (x.True != 0 || !reference) && math.Abs(off) > mostOff {
			c.fail(at+".read", Order, "look at the note again, or take the glass out of use",
				fmt.Sprintf("is %.0f K off %s: no glass is that far off", off, x.Against))
		}
	}
}

// highCheck is the least temperature at which a check vouches for the end of a
// boil (common practice, no source).
const highCheck q.Celsius = 140

func (c *check) kettle(at string, k rig.Kettle) {
	if k.LeastCharge > k.UsualCharge && k.UsualCharge > 0 {
		c.fail(at+".least_charge", Order, "the least charge is at most the usual one", "is above usual_charge")
	}
	low, high := k.EfficiencyLow, k.EfficiencyHigh
	switch {
	case (low == 0) != (high == 0):
		c.fail(at+".efficiency_low", OneOf, "state both efficiency_low and efficiency_high, or neither", "a range has two ends")
	case low > k.Efficiency:
		c.fail(at+".efficiency_low", Order, "low, middle, high", "is above efficiency")
	case high != 0 && high < k.Efficiency:
		c.fail(at+".efficiency_high", Order, "low, middle, high", "is below efficiency")
	}
	c.tested(at, fmt.Sprintf("kettle %q of %s", k.ID, k.Touches()), k.Touches().AsksTest(), k.Tested)
}

// fullest is the charge that fills a pan most, and the recipe it is of.
type fullest struct {
	boil.Fit
	recipe string
}

// fullest measures a whole boil of every recipe in its pan and returns the largest
// of each pan, by the pan's id.
func (c *check) fullest() map[string]fullest {
	out := map[string]fullest{}
	for _, r := range c.book.Recipes {
		k, ok := c.book.KettleFor(r)
		if !ok || k.UsualCharge <= 0 {
			continue
		}
		charge, err := boil.Scaled(r, c.ingredient, k.UsualCharge)
		if err != nil {
			continue // what is wrong with the recipe is said there
		}
		if f, err := boil.FitOf(charge, k); err == nil && f.Volume > out[k.ID].Volume {
			out[k.ID] = fullest{f, r.ID}
		}
	}
	return out
}

// fits refuses a usual charge that reaches into the foam room. Of a pan that no
// recipe is boiled in nothing can be said.
func (c *check) fits(at string, f fullest) {
	if !f.Overfills() {
		return
	}
	u := c.book.Shop.Units
	c.fail(at+".usual_charge", NoFit, fmt.Sprintf("at most %s, or less foam_room if it has been tried", u.Mass(f.Sayable(u))),
		fmt.Sprintf("%s of recipe %s fill %s as a boiling syrup, but the pan takes %s with its foam room kept free",
			u.Mass(f.Mass), quoted(f.recipe), u.Volume(f.Volume), u.Volume(f.Room)))
}

// tested asks for the test of an old metal.
func (c *check) tested(at, subject string, asks bool, t rig.Test) {
	if (t.By == "") != (t.On == "") {
		c.fail(at+".tested", OneOf, "state both by and on, or neither", "a test has a person and a date")
	}
	if asks && !t.Done() {
		c.warn(at+".tested", caution.OldMetal, subject)
	}
}

// either checks that exactly one of two keys is given.
func (c *check) either(at, a string, hasA bool, b string, hasB bool) {
	switch {
	case hasA && hasB:
		c.fail(at+"."+b, OneOf, "take one of them out", "both "+a+" and "+b+" are given")
	case !hasA && !hasB:
		c.fail(at, OneOf, "give one of them", "neither "+a+" nor "+b+" is given")
	}
}
