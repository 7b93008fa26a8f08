package inversion

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// Alkalinity is how much acid a water takes up before it is sour [mmol of charge per
// litre]. The waters of towns have 0.2 to 6.
type Alkalinity float64

// AsCalcium returns the alkalinity stated as calcium carbonate [mg/L], which has
// 50.04 g to the mole of charge.
func AsCalcium(mgPerLitre float64) Alkalinity { return Alkalinity(mgPerLitre / 50.04) }

// What a kilogram of white sugar takes up itself through its ash [mmol of charge] and
// one standard deviation of it: 0.2 to 0.5 from 5 % to 95 %, from memory (source key
// practice).
const (
	SugarAsh   = 0.35
	SugarAshSD = 0.15 / ninety
)

// Alkali returns the acid that water and sugar of a charge eat [mol of charge]: all
// the water that is poured in counts, boiled off or not, since its lime stays.
func Alkali(water quantity.Litres, a Alkalinity, sucrose quantity.Kilograms) (float64, error) {
	const hardest = 20
	if !(a >= 0 && a <= hardest) {
		return 0, fault.OutOfRange("alkalinity", float64(a), 0, hardest, "mmol/L", string(source.Practice)).
			WithHint("a water report states it, often as mg of calcium carbonate a litre: 50 of those are 1 mmol")
	}
	if !(water >= 0 && sucrose >= 0) || math.IsInf(float64(water+quantity.Litres(sucrose)), 0) {
		return 0, fault.Invalid("%g L of water and %g kg of sugar cannot be", float64(water), float64(sucrose))
	}
	return (float64(water)*float64(a) + float64(sucrose)*SugarAsh) / 1000, nil
}

// Bath is what makes the water of a boil sour.
type Bath struct {
	Doses []Dose // at most MaxDoses
	// Alkali is what eats acid, of water and sugar together [mol of charge]; see
	// the function [Alkali].
	Alkali float64
}

// MaxDoses is how many different acids one boil may hold.
const MaxDoses = 4

// The pH of a boil that no acid is put into, or whose acid is all eaten: a sugar syrup
// sours itself a little as it boils, 4.5 to 5.5 (5 % to 95 %; source key practice).
const (
	PlainPH   = 5.0
	PlainPHSD = 0.5 / ninety
)

// The pH the rate is known for: from the strong acid of a laboratory to none.
const (
	MinPH = 1.2
	MaxPH = 7.0
)

// PHSD is one standard deviation of [Bath.PH] in hot syrup: the constants are those of
// 25 °C, where two standard buffers are met within 0.03; the tartrate buffer rises by 0.12 to
// 95 °C, and nothing is known of syrups. It is part of [ModelLogSD], not beside it.
const PHSD = 0.15

// waterKw is the ion product of water at 25 °C, pK 13.995 (source key bates).
const waterKw = 1.0116e-14

// Davies' activity coefficient at 25 °C, log10 γ = −A z² (√I/(1+√I) − 0.3 I), and the
// ionic strength [mol/kg of water] above which it would turn up.
const (
	daviesA    = 0.509
	daviesMaxI = 0.5
)

// PH returns the pH of the boil's acids in the given mass of water that is left,
// from the balance of charges
//
//	h + alkali = Σ m_i (mean charge of acid i at h) + Kw/h,  pH = −log10(h γ)
//
// with Davies' activity coefficients, ionic strength capped at 0.5 mol/kg. Where no
// acid is left over the boil counts as plain: no answer is above [PlainPH].
//
// Range: answers from pH 1.2. Constants of 25 °C. Error [PHSD].
//
// Reference: charge balance; source keys davies1962, bates-canham1951 and pk-handbook.
func (b Bath) PH(water quantity.Kilograms) (float64, error) {
	p, err := b.pot()
	if err != nil {
		return 0, err
	}
	if !(water > 0) || math.IsInf(float64(water), 0) {
		return 0, fault.Invalid("%g kg of water cannot hold acid", float64(water))
	}
	if p.plain() {
		return PlainPH, nil
	}
	g := cold()
	ph := min(PlainPH, p.ph(float64(water), b.Alkali, &g))
	if ph < MinPH {
		return 0, fault.OutOfRange("pH", ph, MinPH, MaxPH, "", string(source.Vukov1965))
	}
	return ph, nil
}

// pot is a bath as its kernel takes it.
type pot struct {
	n      int
	moles  [MaxDoses]float64    // mol
	k      [MaxDoses][3]float64 // dissociation constants
	steps  [MaxDoses]int
	alkali float64 // mol of charge brought by the doses themselves
}

func (b Bath) pot() (pot, error) {
	if len(b.Doses) > MaxDoses {
		return pot{}, fault.Invalid("%d acids in one boil, at most %d", len(b.Doses), MaxDoses)
	}
	if !(b.Alkali >= 0) || math.IsInf(b.Alkali, 0) {
		return pot{}, fault.Invalid("%g mol of alkali cannot be", b.Alkali)
	}
	p := pot{n: len(b.Doses)}
	for i, d := range b.Doses {
		if err := d.Acid.check(); err != nil {
			return pot{}, err
		}
		if !(d.Mass >= 0) || math.IsInf(float64(d.Mass), 0) || !(d.Neutralised >= 0 && d.Neutralised <= 1) {
			return pot{}, fault.Invalid("%g kg of an acid, %s neutralised, cannot be", float64(d.Mass), quantity.Plain.Percent(d.Neutralised, 1))
		}
		acid, alkali := d.moles()
		p.moles[i], p.steps[i] = acid, d.Acid.protons()
		p.alkali += alkali
		for j, pk := range d.Acid.PK {
			p.k[i][j] = math.Pow(10, -pk)
		}
	}
	return p, nil
}

// guess is where a solution starts: that of a neighbouring state, or [cold].
type guess struct{ u, strength float64 }

// cold starts at pH 3 in thin water.
func cold() guess { return guess{math.Log(1e-3), 0.01} }

// ph is the pH in a mass of water [kg] that holds alkali [mol of charge] beside the
// doses' own, as the balance of charges has it. It starts from g and leaves its
// solution there.
//
// Newton's steps in ln h and the ionic strength that follows from each go side by
// side: the strength moves the balance so little that both settle together. Steps
// are held short, and halved if they have not settled soon, where the balance is flat.
func (p *pot) ph(waterKg, alkali float64, g *guess) float64 {
	const (
		longest  = 3.0 // of ln h
		soon     = 30
		rounds   = 200
		settled  = 1e-9
		thinnest = 1e-3 // mol/kg, below which the strength need not be known better
	)
	metal := (p.alkali + alkali) / waterKg
	for i := range rounds {
		excess, slope, strength := p.balance(waterKg, metal, *g)
		step, change := min(longest, max(-longest, -excess/slope)), strength-g.strength
		if i >= soon {
			step, change = step/2, change/2
		}
		g.u += step
		g.strength += change
		if math.Abs(step) < settled && math.Abs(change) < settled*(thinnest+g.strength) {
			break
		}
	}
	gamma, _, _ := davies(g.strength)
	return -g.u/math.Ln10 - math.Log10(gamma)
}

// plain reports that no acid at all was put in.
func (p *pot) plain() bool {
	for i := range p.n {
		if p.moles[i] > 0 {
			return false
		}
	}
	return true
}

// balance returns the surplus of positive charge [mol/kg] at a guess, its slope over
// ln h, and the ionic strength there [mol/kg, capped]. The surplus always rises, since
// every acid gives up less as h grows.
func (p *pot) balance(waterKg, metal float64, at guess) (excess, slope, strength float64) {
	h := math.Exp(at.u)
	g1, g2, g3 := davies(at.strength)
	gamma := [4]float64{1, g1, g2, g3}
	oh := waterKw / (g1 * g1 * h)
	excess, slope, strength = h+metal-oh, h+oh, h+metal+oh
	for i := range p.n {
		// Populations of the ions relative to the whole acid: K'_1/h, K'_1 K'_2/h², …, with
		// the activity coefficients of the ions in the constants.
		sum, charge, square, part := 1.0, 0.0, 0.0, 1.0
		for j := 1; j <= p.steps[i]; j++ {
			part *= p.k[i][j-1] * gamma[j-1] / (g1 * gamma[j] * h)
			z := float64(j)
			sum += part
			charge += z * part
			square += z * z * part
		}
		charge, square = charge/sum, square/sum
		m := p.moles[i] / waterKg
		excess -= m * charge
		slope += m * (square - charge*charge) // the variance of the charge
		strength += m * square
	}
	return excess, slope, min(daviesMaxI, strength/2)
}

// davies returns the activity coefficients of ions of one, two and three charges.
func davies(strength float64) (g1, g2, g3 float64) {
	root := math.Sqrt(strength)
	g1 = math.Exp(-math.Ln10 * daviesA * (root/(1+root) - 0.3*strength))
	square := g1 * g1
	g2 = square * square
	return g1, g2, g2 * g2 * g1
}
