package inversion

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

// One unit outside every stated range the fault is out of range; at both ends there is
// an answer.
func TestDoors_EdgesHold(t *testing.T) {
	t.Parallel()
	syrup := sugar.Mix(sugar.Solids{}, 0.3)
	doors := []struct {
		name            string
		low, high, step float64
		ask             func(v float64) (float64, error)
	}{
		{"rate, °C", 20, 160, 0.1, func(v float64) (float64, error) { return Rate(quantity.Celsius(v), 4, syrup) }},
		{"rate, pH", 1.2, 7, 0.01, func(v float64) (float64, error) { return Rate(105, v, syrup) }},
		{"rate, % dry", 0, 99.6, 0.01, func(v float64) (float64, error) {
			return Rate(120, 4, sugar.Mix(sugar.Solids{}, quantity.Fraction(1-v/100)))
		}},
		{"alkalinity, mmol/L", 0, 20, 0.01, func(v float64) (float64, error) { return Alkali(1, Alkalinity(v), 1) }},
		{"along, °C", 20, 160, 0.1, func(v float64) (float64, error) {
			o, err := Boil{Dry: 1}.Along([]Point{{0, 100, 0.3}, {60, quantity.Celsius(v), 0.3}})
			return o.Exposure, err
		}},
		{"along, % dry", 0.01, 99.6, 0.01, func(v float64) (float64, error) {
			if v < 0.01 { // water alone has no solids to hold it
				return 0, fault.OutOfRange("", v, 0, 99.6, "", "")
			}
			o, err := Boil{Dry: 1}.Along([]Point{{0, 150, 0.3}, {60, 150, quantity.Fraction(1 - v/100)}})
			return o.Exposure, err
		}},
	}
	for _, d := range doors {
		for _, v := range []float64{d.low, d.low + d.step, (d.low + d.high) / 2, d.high - d.step, d.high} {
			if got, err := d.ask(v); err != nil || math.IsNaN(got) || math.IsInf(got, 0) {
				t.Errorf("%s: at %.8g it answers %g, %v", d.name, v, got, err)
			}
		}
		for _, v := range []float64{d.low - d.step, d.high + d.step, math.NaN(), math.Inf(1), math.Inf(-1)} {
			if got, err := d.ask(v); fault.KindOf(err) != fault.KindOutOfRange {
				t.Errorf("%s: at %.8g it answers %g, %v", d.name, v, got, err)
			}
		}
	}
	// An acid stronger than the rate is known for.
	if _, err := bathOf(strong(), 0.2, 0).PH(1); fault.KindOf(err) != fault.KindOutOfRange {
		t.Errorf("strong acid: %v", err)
	}
	b := Boil{Dry: 1, Bath: bathOf(strong(), 0.2, 0)}
	if _, err := b.Along([]Point{{0, 100, 0.5}, {60, 100, 0.5}}); fault.KindOf(err) != fault.KindOutOfRange {
		t.Errorf("a boil with strong acid: %v", err)
	}
}

// What cannot be meant is refused, each for its own reason.
func TestDoors_Refuse(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	curve := []Point{{0, 105, 0.3}, {60, 110, 0.2}}
	good := Boil{Dry: 1, Bath: bathOf(Citric(), 0.001, 0)}
	turned := func(turn func(*Boil)) error {
		b := good
		turn(&b)
		_, err := b.Along(curve)
		return err
	}
	cases := map[string]error{
		"no mass":         turned(func(b *Boil) { b.Dry = 0 }),
		"mass not known":  turned(func(b *Boil) { b.Dry = quantity.Kilograms(nan) }),
		"factor below 0":  turned(func(b *Boil) { b.Factor = -1 }),
		"factor no value": turned(func(b *Boil) { b.Factor = nan }),
		"alkali below 0":  turned(func(b *Boil) { b.Bath.Alkali = -1 }),
		"five acids":      turned(func(b *Boil) { b.Bath.Doses = make([]Dose, 5) }),
		"no constants":    turned(func(b *Boil) { b.Bath.Doses = []Dose{{Acid: Acid{MolarMass: 1}}} }),
		"no molar mass":   turned(func(b *Boil) { b.Bath.Doses = []Dose{{Acid: Acid{PK: [3]float64{3}}}} }),
		"constants fall":  turned(func(b *Boil) { b.Bath.Doses = []Dose{{Acid: Acid{MolarMass: 1, PK: [3]float64{4, 3}}}} }),
		"too much base":   turned(func(b *Boil) { b.Bath.Doses = []Dose{{Acid: Acid{MolarMass: 1, PK: [3]float64{3}, Base: 2}}} }),
		"negative dose":   turned(func(b *Boil) { b.Bath.Doses = []Dose{{Acid: Citric(), Mass: -1}} }),
		"neutralised 2":   turned(func(b *Boil) { b.Bath.Doses = []Dose{{Acid: Citric(), Neutralised: 2}} }),
	}
	ask := func(name string, curve []Point) { _, cases[name] = good.Along(curve) }
	ask("one point", curve[:1])
	ask("time falls", []Point{{60, 105, 0.3}, {0, 110, 0.2}})
	ask("time unknown", []Point{{0, 105, 0.3}, {nan, 110, 0.2}})
	_, cases["no water"] = good.Bath.PH(0)
	_, cases["share 1"] = CookBackLimit(1, 0.1)
	_, cases["share below 0"] = CookBack(-0.1, 0.1, 1)
	_, cases["once 2"] = CookBack(0.1, 2, 1)
	_, cases["boil 0"] = CookBack(0.1, 0.1, 0)
	_, cases["mean"] = MeanReboils(1)
	_, cases["water below 0"] = Alkali(-1, 1, 1)
	for name, err := range cases {
		if fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := good.Draws(curve[:1], ensemble(), Priors{}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("draws of one point: %v", err)
	}
	if _, err := good.Draws(curve, ensemble(), Priors{AlkaliSD: -1}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a spread below nothing: %v", err)
	}
}

// The cautions flip where their quantity crosses its limit by one per cent.
func TestCautions_Flip(t *testing.T) {
	t.Parallel()
	says := func(b Boil, code string, at quantity.Celsius, water quantity.Fraction) bool {
		o := must(b.Along([]Point{{0, at, water}, {60, at, water}}))
		for _, c := range o.Cautions() {
			if c.Code == code {
				return true
			}
		}
		return false
	}
	sour := Boil{Dry: 1, Bath: bathOf(CreamOfTartar(), 0.005, 0)}
	if says(sour, CodeUnchecked, CheckedMaxC*0.99, 0.3) || !says(sour, CodeUnchecked, CheckedMaxC*1.01, 0.3) {
		t.Error("115 °C is not where the caution starts")
	}
	if says(sour, CodeUnchecked, 110, 0.16) || !says(sour, CodeUnchecked, 110, 0.14) {
		t.Error("85 % solids is not where the caution starts")
	}
	// The alkali that leaves the bath as sour as a plain boil, by halving.
	low, high := 0.0, 0.01
	for range 60 {
		b := sour.Bath
		if b.Alkali = (low + high) / 2; must(b.PH(0.4286)) < PlainPH {
			low = b.Alkali
		} else {
			high = b.Alkali
		}
	}
	sour.Bath.Alkali = low * 0.99
	before := says(sour, CodeEaten, 105, 0.3)
	sour.Bath.Alkali = low * 1.01
	if after := says(sour, CodeEaten, 105, 0.3); before || !after {
		t.Errorf("at %.5f mol the acid is eaten: %v before, %v after", low, before, after)
	}
	if says(Boil{Dry: 1}, CodeEaten, 105, 0.3) {
		t.Error("no acid was put in and it is said to be eaten")
	}
}

// Whatever is asked, the answer is a finite number or a fault of one of two kinds.
func TestAlong_NothingIsExtrapolated(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		wild := rapid.OneOf(rapid.Float64Range(-0.2, 1.2), rapid.Float64())
		temp := rapid.OneOf(rapid.Float64Range(0, 180), rapid.Float64())
		point := func(name string) Point {
			return Point{temp.Draw(t, name+" s"), quantity.Celsius(temp.Draw(t, name+" °C")), quantity.Fraction(wild.Draw(t, name+" water"))}
		}
		b := Boil{Dry: quantity.Kilograms(wild.Draw(t, "dry")), Solids: sugar.Solids{Syrup: quantity.Fraction(wild.Draw(t, "syrup"))},
			Bath: Bath{Doses: []Dose{{Acid: Citric(), Mass: quantity.Kilograms(wild.Draw(t, "acid"))}}, Alkali: wild.Draw(t, "alkali")}}
		o, err := b.Along([]Point{point("a"), point("b")})
		kind := fault.KindOf(err)
		switch {
		case err == nil && !(o.Inverted >= 0 && o.Inverted <= 1 && o.Exposure >= 0):
			t.Fatalf("it answers %+v", o)
		case err != nil && kind != fault.KindOutOfRange && kind != fault.KindInvalid:
			t.Fatalf("it fails with %v", err)
		}
	})
}
