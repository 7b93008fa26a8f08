package quantity

import (
	"math"
	"strconv"
)

// said prints a value with its range and basis, "9.52 kg (9.31–9.70), estimated".
func (r Reader) said(e Estimate, text func(v float64) string, ranged func(lo, hi float64) string) string {
	s := text(e.Value)
	if e.Spread() {
		s += " (" + ranged(e.Low, e.High) + ")"
	}
	switch e.Basis {
	case Estimated:
		s += ", estimated"
	case Learned:
		s += ", learned from " + r.Number(float64(e.Batches), 0) + " batch"
		if e.Batches != 1 {
			s += "es"
		}
	}
	return s
}

// worth returns how many of the decimals a value's range leaves any meaning.
func worth(e Estimate, factor float64, dec int) int {
	if !e.Spread() {
		return dec
	}
	switch width := math.Abs(e.High-e.Low) / factor; {
	case width >= 5:
		return 0
	case width >= 0.5:
		return min(dec, 1)
	}
	return dec
}

// SayMass prints an estimate held in kilograms, with no more decimals than its
// range is worth.
func (r Reader) SayMass(e Estimate) string {
	name, f, dec := r.massUnit(e.Value)
	dec = worth(e, f, dec)
	return r.said(e,
		func(v float64) string { return r.Number(v/f, dec) + " " + name },
		func(lo, hi float64) string { return r.Number(lo/f, dec) + "–" + r.Number(hi/f, dec) })
}

// SayTemperature prints an estimate held in °C.
func (r Reader) SayTemperature(e Estimate, dec int) string {
	scale := func(v float64) float64 { return v }
	if r.US() {
		scale = func(v float64) float64 { return Celsius(v).Fahrenheit() }
	}
	return r.said(e,
		func(v float64) string { return r.Temperature(Celsius(v), dec) },
		func(lo, hi float64) string { return r.Number(scale(lo), dec) + "–" + r.Number(scale(hi), dec) })
}

// SayPercent prints an estimate held as a fraction.
func (r Reader) SayPercent(e Estimate, dec int) string {
	return r.said(e,
		func(v float64) string { return r.Number(v*100, dec) + " %" },
		func(lo, hi float64) string { return r.Number(lo*100, dec) + "–" + r.Number(hi*100, dec) })
}

// SayPoints prints a share as points of a hundred, "0.47 points (0.40–0.55), estimated".
func (r Reader) SayPoints(e Estimate, dec int) string {
	return r.said(e,
		func(v float64) string { return r.Number(v*100, dec) + " points" },
		func(lo, hi float64) string { return r.Number(lo*100, dec) + "–" + r.Number(hi*100, dec) })
}

// SayPPM prints a small share in milligrams a kilogram, to three digits.
func (r Reader) SayPPM(e Estimate) string {
	return r.said(e,
		func(v float64) string { return r.Digits(v*1e6, 3) + " mg/kg" },
		func(lo, hi float64) string { return r.Digits(lo*1e6, 3) + "–" + r.Digits(hi*1e6, 3) })
}

// SaySeconds prints an estimate held in seconds as seconds.
func (r Reader) SaySeconds(e Estimate) string {
	return r.said(e,
		func(v float64) string { return r.Number(v, 0) + " s" },
		func(lo, hi float64) string { return r.Number(lo, 0) + "–" + r.Number(hi, 0) })
}

// SayTimes prints a ratio, "1.25 times (1.05–1.67), estimated", and one that is widely
// open without decimals.
func (r Reader) SayTimes(e Estimate, dec int) string {
	if e.High-e.Low >= 5 {
		dec = 0
	}
	return r.said(e,
		func(v float64) string { return r.Number(v, dec) + " times" },
		func(lo, hi float64) string { return r.Number(lo, dec) + "–" + r.Number(hi, dec) })
}

// SayMgKg prints an estimate held as a fraction in milligrams a kilogram.
func (r Reader) SayMgKg(e Estimate) string {
	return r.said(e,
		func(v float64) string { return r.MgKg(Fraction(v)) },
		func(lo, hi float64) string { return r.Digits(lo*1e6, 3) + "–" + r.Digits(hi*1e6, 3) })
}

// SayChance prints a chance in per cent with dec decimals, and never claims a
// certainty it has not: 0.9999 is "over 99.9 %".
func (r Reader) SayChance(c Fraction, dec int) string {
	step := math.Pow(10, -float64(dec)) // of the last decimal, in per cent
	switch p := c.Percent(); {
	case p < 100 && p > 100-step:
		return "over " + r.Number(100-step, dec) + " %"
	case p > 0 && p < step:
		return "under " + r.Number(step, dec) + " %"
	}
	return r.Percent(c, dec)
}

// SayCount prints an estimate of things, in whole ones.
func (r Reader) SayCount(e Estimate, noun string) string {
	return r.said(e,
		func(v float64) string { return r.Number(math.Round(v), 0) + " " + noun },
		func(lo, hi float64) string { return r.Number(math.Floor(lo), 0) + "–" + r.Number(math.Ceil(hi), 0) })
}

// SayMinutes prints an estimate held in seconds, in minutes.
func (r Reader) SayMinutes(e Estimate) string {
	return r.said(e,
		func(v float64) string { return r.Number(v/60, 0) + " min" },
		func(lo, hi float64) string { return r.Number(lo/60, 0) + "–" + r.Number(hi/60, 0) })
}

// SayTime prints an estimate held in seconds in minutes, hours or days, as its size
// has it: "40 min (13–120)", "7 h (2–21)".
func (r Reader) SayTime(e Estimate) string {
	name, f := "min", 60.0
	switch {
	case e.Value >= 2*86400:
		name, f = "days", 86400
	case e.Value >= 2*3600:
		name, f = "h", 3600
	}
	dec := 0
	if e.Low/f < 3 && e.Low > 0 {
		dec = 1
	}
	return r.said(e,
		func(v float64) string { return r.Number(v/f, 0) + " " + name },
		func(lo, hi float64) string { return r.Number(lo/f, dec) + "–" + r.Number(hi/f, 0) })
}

// SayDifference prints a difference of temperatures with its range.
func (r Reader) SayDifference(e Estimate, dec int) string {
	size, unit := 1.0, "K"
	if r.US() {
		size, unit = 9./5, "°F"
	}
	return r.said(e,
		func(v float64) string { return r.Number(v*size, dec) + " " + unit },
		func(lo, hi float64) string {
			dash := "–"
			if lo < 0 { // which would read as another minus
				dash = " to "
			}
			return r.Number(lo*size, dec) + dash + r.Number(hi*size, dec)
		})
}

// Span prints a length of time to the second: "18 min 7 s".
func Span(seconds float64) string {
	whole := int(math.Round(seconds))
	if whole < 60 {
		return strconv.Itoa(whole) + " s"
	}
	return strconv.Itoa(whole/60) + " min " + strconv.Itoa(whole%60) + " s"
}

// SaySize prints an estimate with so many digits that mean something and a unit.
func (r Reader) SaySize(e Estimate, digits int, unit string) string {
	return r.said(e,
		func(v float64) string { return r.Digits(v, digits) + " " + unit },
		func(lo, hi float64) string { return r.Digits(lo, digits) + "–" + r.Digits(hi, digits) })
}

// SayRate prints an estimate held in kilograms a minute.
func (r Reader) SayRate(e Estimate) string {
	size, unit, dec := 1.0, "kg/min", 2
	if r.US() {
		size, unit, dec = 1/KilogramsPerPound, "lb/min", 1
	}
	return r.said(e,
		func(v float64) string { return r.Number(v*size, dec) + " " + unit },
		func(lo, hi float64) string { return r.Number(lo*size, dec) + "–" + r.Number(hi*size, dec) })
}
