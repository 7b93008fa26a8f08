package quantity

import (
	"math"
	"strconv"
)

// said prints a value with its range and basis, "9.52 kg (9.31–9.70), estimated".
func said(e Estimate, text func(v float64) string, ranged func(lo, hi float64) string) string {
	s := text(e.Value)
	if e.Spread() {
		s += " (" + ranged(e.Low, e.High) + ")"
	}
	switch e.Basis {
	case Estimated:
		s += ", estimated"
	case Learned:
		s += ", learned from " + number(float64(e.Batches), 0) + " batches"
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
func (s System) SayMass(e Estimate) string {
	name, f, dec := s.massUnit(e.Value)
	dec = worth(e, f, dec)
	return said(e,
		func(v float64) string { return number(v/f, dec) + " " + name },
		func(lo, hi float64) string { return number(lo/f, dec) + "–" + number(hi/f, dec) })
}

// SayTemperature prints an estimate held in °C.
func (s System) SayTemperature(e Estimate, dec int) string {
	scale := func(v float64) float64 { return v }
	if s == US {
		scale = func(v float64) float64 { return Celsius(v).Fahrenheit() }
	}
	return said(e,
		func(v float64) string { return s.Temperature(Celsius(v), dec) },
		func(lo, hi float64) string { return number(scale(lo), dec) + "–" + number(scale(hi), dec) })
}

// SayPercent prints an estimate held as a fraction.
func SayPercent(e Estimate, dec int) string {
	return said(e,
		func(v float64) string { return number(v*100, dec) + " %" },
		func(lo, hi float64) string { return number(lo*100, dec) + "–" + number(hi*100, dec) })
}

// SayChance prints a chance in per cent with dec decimals, and never claims a
// certainty it has not: 0.9999 is "over 99.9 %".
func SayChance(c Fraction, dec int) string {
	step := math.Pow(10, -float64(dec)) // of the last decimal, in per cent
	switch p := c.Percent(); {
	case p < 100 && p > 100-step:
		return "over " + number(100-step, dec) + " %"
	case p > 0 && p < step:
		return "under " + number(step, dec) + " %"
	}
	return Percent(c, dec)
}

// SayCount prints an estimate of things, in whole ones.
func SayCount(e Estimate, noun string) string {
	return said(e,
		func(v float64) string { return number(math.Round(v), 0) + " " + noun },
		func(lo, hi float64) string { return number(math.Floor(lo), 0) + "–" + number(math.Ceil(hi), 0) })
}

// SayMinutes prints an estimate held in seconds, in minutes.
func SayMinutes(e Estimate) string {
	return said(e,
		func(v float64) string { return number(v/60, 0) + " min" },
		func(lo, hi float64) string { return number(lo/60, 0) + "–" + number(hi/60, 0) })
}

// SayDifference prints a difference of temperatures with its range.
func (s System) SayDifference(e Estimate, dec int) string {
	size, unit := 1.0, "K"
	if s == US {
		size, unit = 9./5, "°F"
	}
	return said(e,
		func(v float64) string { return number(v*size, dec) + " " + unit },
		func(lo, hi float64) string { return number(lo*size, dec) + "–" + number(hi*size, dec) })
}

// Span prints a length of time to the second: "18 min 7 s".
func Span(seconds float64) string {
	whole := int(math.Round(seconds))
	if whole < 60 {
		return strconv.Itoa(whole) + " s"
	}
	return strconv.Itoa(whole/60) + " min " + strconv.Itoa(whole%60) + " s"
}
