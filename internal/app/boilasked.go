package app

import (
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

// BoilAsked is a question for one boil as a person or a program writes it: what is
// nil was left out. The command line and the API ask by the same names.
type BoilAsked struct {
	Recipe string
	Charge *q.Kilograms

	Pieces, Bags *int // what the charge is to make, instead of a charge
	Product      string
	Kettle       string

	Sugar, Syrup, Water, Tartar *q.Kilograms
	SyrupDE                     *float64
	SyrupSolids                 *q.Fraction

	To        *q.Celsius
	WaterLeft *q.Fraction
	StandsUp  *q.Celsius
	Invert    *q.Fraction
	Switch    bool // the doctor
	SourAs    string
	OilLeft   *q.Fraction
	CookBack  *q.Fraction
	Altitude  *q.Metres
	Pressure  *q.Pascals
}

// Request fills in what was left out. Dash is written before the names in faults.
//
// Faults: Invalid for what does not go together, for no end of the boil, and for
// zeros that cannot be meant.
func (a BoilAsked) Request(dash string) (BoilRequest, error) {
	if err := a.check(dash); err != nil {
		return BoilRequest{}, err
	}
	r := BoilRequest{To: or(a.To, 0), WaterLeft: or(a.WaterLeft, 0), StandsUp: or(a.StandsUp, 0), Invert: or(a.Invert, 0), Switch: a.Switch,
		SourAs: ingredient.Sour(a.SourAs), OilLeft: or(a.OilLeft, 0), CookBack: or(a.CookBack, 0), Altitude: a.Altitude, Pressure: or(a.Pressure, 0)}
	if a.Recipe != "" {
		r.Recipe, r.Charge = a.Recipe, or(a.Charge, 0)
		r.Pieces, r.Bags, r.Product, r.Kettle = or(a.Pieces, 0), or(a.Bags, 0), a.Product, a.Kettle
		return r, nil
	}
	if a.Water != nil && *a.Water < 0 {
		return r, fault.Invalid("a mass of water below zero").At(dash + "water")
	}
	r.Sugar, r.Syrup, r.Water, r.Tartar = or(a.Sugar, 0), or(a.Syrup, 0), or(a.Water, -1), or(a.Tartar, 0)
	// A confectioner's syrup (common practice, no source).
	r.SyrupDE, r.SyrupSolids = or(a.SyrupDE, 42), or(a.SyrupSolids, 0.803)
	return r, nil
}

func (a BoilAsked) check(dash string) error {
	apart := func(x, y, hint string) error {
		return fault.Invalid("%s%s and %s%s do not go together", dash, x, dash, y).WithHint("%s", hint)
	}
	for _, f := range []struct {
		name  string
		given bool
	}{{"sugar", a.Sugar != nil}, {"syrup", a.Syrup != nil}, {"syrup-de", a.SyrupDE != nil},
		{"syrup-solids", a.SyrupSolids != nil}, {"water", a.Water != nil}, {"tartar", a.Tartar != nil}} {
		switch {
		case f.given && a.Recipe != "":
			return apart("recipe", f.name, "a recipe brings its own amounts; "+dash+"charge makes it larger or smaller")
		case f.given && a.Charge != nil:
			return apart("charge", f.name, "the amounts together are the charge; "+dash+"charge is for a "+dash+"recipe")
		}
	}
	if err := a.checkScale(dash); err != nil {
		return err
	}
	switch {
	case a.Charge != nil && a.Recipe == "":
		return fault.Invalid("%scharge without %srecipe", dash, dash).WithHint("name the recipe that it is a charge of, or give %ssugar, %ssyrup and %swater", dash, dash, dash)
	case a.Syrup == nil && a.SyrupDE != nil:
		return fault.Invalid("%ssyrup-de without %ssyrup", dash, dash).WithHint("say how much syrup it is of")
	case a.Syrup == nil && a.SyrupSolids != nil:
		return fault.Invalid("%ssyrup-solids without %ssyrup", dash, dash).WithHint("say how much syrup it is of")
	case a.Kettle != "" && a.Recipe == "":
		return fault.Invalid("%skettle without %srecipe", dash, dash).WithHint("name the recipe that is boiled in it")
	case a.Switch && a.Recipe == "":
		return fault.Invalid("%sswitch-doctor without %srecipe", dash, dash).WithHint("name the recipe whose doctor is to be changed")
	case a.Invert != nil && a.Recipe == "":
		return fault.Invalid("%sinvert without %srecipe", dash, dash).WithHint("name the recipe whose doctor is to be dosed")
	case a.SourAs != "" && a.Recipe == "":
		return fault.Invalid("%ssour-as without %srecipe", dash, dash).WithHint("name the recipe whose acid is to be changed")
	case a.OilLeft != nil && a.Recipe == "":
		return fault.Invalid("%soil-left without %srecipe", dash, dash).WithHint("name the recipe whose oil is to be dosed")
	case a.CookBack != nil && a.Recipe == "":
		return fault.Invalid("%scook-back without %srecipe", dash, dash).WithHint("name the recipe that is cooked back")
	case a.CookBack != nil && !(*a.CookBack >= 0 && *a.CookBack <= mostCookedBack):
		return fault.Invalid("%s of a charge cannot be cook-back", q.Plain.Percent(*a.CookBack, 1)).At(dash+"cook-back").WithHint("write a share up to %s; 5 to 10 %% is usual", q.Plain.Percent(mostCookedBack, 0))
	case a.To != nil && a.WaterLeft != nil:
		return apart("to", "water-left", "give one of the two")
	case a.StandsUp != nil && a.To != nil:
		return apart("stands-up-to", "to", "give one of the two")
	case a.StandsUp != nil && a.WaterLeft != nil:
		return apart("stands-up-to", "water-left", "give one of the two")
	case a.Altitude != nil && a.Pressure != nil:
		return apart("altitude", "pressure", "a station pressure needs no altitude")
	case a.To == nil && a.WaterLeft == nil && a.StandsUp == nil && a.Recipe == "":
		return fault.Invalid("no end of the boil").At(dash+"to").WithHint("give %sto 154C or %swater-left 2.5%%", dash, dash)
	}
	for _, f := range []struct {
		name  string
		value float64
	}{{"charge", float64(or(a.Charge, 1))}, {"to", float64(or(a.To, 1))},
		{"water-left", float64(or(a.WaterLeft, 1))}, {"stands-up-to", float64(or(a.StandsUp, 1))}, {"invert", float64(or(a.Invert, 1))}, {"oil-left", float64(or(a.OilLeft, 1))}, {"pressure", float64(or(a.Pressure, 1))}} {
		if !(f.value > 0) {
			return fault.Invalid("%s%s is not above zero", dash, f.name).WithHint("write more than zero, or leave it out")
		}
	}
	return nil
}

// mostCookedBack is the most cook-back that is asked for: more than half of a charge is
// no cook-back.
const mostCookedBack q.Fraction = 0.5

// checkScale refuses two ways to say how large a boil is.
func (a BoilAsked) checkScale(dash string) error {
	given := map[string]bool{"charge": a.Charge != nil, "pieces": a.Pieces != nil, "bags": a.Bags != nil}
	var said []string
	for _, name := range []string{"charge", "pieces", "bags"} {
		if given[name] {
			said = append(said, dash+name)
		}
	}
	switch {
	case len(said) > 1:
		return fault.Invalid("%s do not go together", Listed(said)).WithHint("give one of them")
	case a.Recipe == "" && (a.Pieces != nil || a.Bags != nil):
		return fault.Invalid("%s without %srecipe", said[0], dash).WithHint("name the recipe that they are made of")
	case a.Product != "" && a.Bags == nil:
		return fault.Invalid("%sproduct without %sbags", dash, dash).WithHint("say how many bags of it")
	case a.Pieces != nil && !fits(*a.Pieces):
		return fault.Invalid("%d pieces cannot be made", *a.Pieces).At(dash+"pieces").WithHint("write a whole number from 1 to %d", mostCount)
	case a.Bags != nil && !fits(*a.Bags):
		return fault.Invalid("%d bags cannot be filled", *a.Bags).At(dash+"bags").WithHint("write a whole number from 1 to %d", mostCount)
	}
	return nil
}

// mostCount is the largest number of pieces or bags that is asked for at once.
const mostCount = 1_000_000

func fits(n int) bool { return n >= 1 && n <= mostCount }

// or returns what was given, or what stands for it.
func or[T any](p *T, usual T) T {
	if p == nil {
		return usual
	}
	return *p
}
