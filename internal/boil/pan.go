package boil

import (
	"fmt"
	"math"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// Fit is how a charge sits in a pan.
type Fit struct {
	Kettle string // name of the pan
	Mass   q.Kilograms
	Volume q.Litres    // of the charge as a boiling syrup, all dissolved
	Room   q.Litres    // the pan without what is kept free for foam; 0: not on file
	Most   q.Kilograms // of this charge's make-up that the pan takes; 0: not on file
	Least  q.Kilograms // that boils well in it; 0: not on file
}

// FitOf measures a charge in a pan. A volume grows with its mass, so the most
// is the charge made smaller in proportion.
func FitOf(c Charge, k rig.Kettle) (Fit, error) {
	f := Fit{Kettle: k.Name, Mass: c.Mass(), Least: k.LeastCharge, Room: k.Volume * q.Litres(1-k.FoamRoom)}
	var err error
	if f.Volume, err = chargeVolume(c.Makeup()); err != nil {
		return Fit{}, err
	}
	if f.Volume > 0 {
		f.Most = f.Mass * q.Kilograms(f.Room/f.Volume)
	}
	return f, nil
}

// Overfills reports whether the charge reaches into what is kept free for foam. A
// charge scaled from its parts may miss the last bits.
func (f Fit) Overfills() bool { return f.Room > 0 && f.Volume > f.Room*(1+1e-9) }

// Starves reports whether the charge is under the least that boils well in the
// pan. Half a gram short is none: no charge is weighed closer.
func (f Fit) Starves() bool { return f.Mass < f.Least-0.0005 }

// Check refuses a charge that the pan does not take: out of range at "charge",
// with what would fit, in the units of u.
func (f Fit) Check(u q.Reader) error {
	refuse := func(hint, format string, a ...any) error {
		return (&fault.Error{Kind: fault.KindOutOfRange, Text: fmt.Sprintf(format, a...)}).At("charge").WithHint("%s", hint)
	}
	switch {
	case f.Overfills():
		hint := fmt.Sprintf("at most %s of this recipe fit", u.Mass(f.Sayable(u)))
		if f.Most < f.Least {
			hint = fmt.Sprintf("only %s of this recipe would fit, under the pan's least charge of %s: take another pan", u.Mass(f.Sayable(u)), u.Mass(f.Least))
		}
		return refuse(hint, "%s is too much for kettle %s: as a boiling syrup it fills %s, and the pan takes %s with its foam room kept free",
			u.Mass(f.Mass), f.Kettle, u.Volume(f.Volume), u.Volume(f.Room))
	case f.Starves():
		return refuse(fmt.Sprintf("make it at least %s, or take a smaller pan", u.Mass(f.Least)),
			"%s is too little for kettle %s, whose least charge is %s: the bulb stands bare and the edge scorches",
			u.Mass(f.Mass), f.Kettle, u.Mass(f.Least))
	}
	return nil
}

// Sayable is the most, rounded down to what is printed: what is said does fit.
func (f Fit) Sayable(u q.Reader) q.Kilograms {
	step := 0.01 // kg
	if u.US() {
		step *= q.KilogramsPerPound
	}
	return q.Kilograms(math.Floor(float64(f.Most)/step) * step)
}

// chargeVolume returns the volume of the charge as a boiling syrup, all dissolved.
func chargeVolume(m Makeup) (q.Litres, error) {
	const boiling = 105 // °C, about where a full kettle first boils
	litres, err := volumeOf(m, boiling)
	return q.Litres(litres), err
}
