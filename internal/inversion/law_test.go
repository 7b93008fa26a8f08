package inversion

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	"slabside/internal/quantity"
	"slabside/internal/sugar"
	"slabside/internal/validation"
)

// bathDraw draws a bath of one to three acids and some alkali.
func bathDraw(t *rapid.T) Bath {
	all := []Acid{CreamOfTartar(), Tartaric(), Citric(), Malic(), Lactic()}
	var b Bath
	for range rapid.IntRange(1, 3).Draw(t, "acids") {
		b.Doses = append(b.Doses, Dose{
			Acid: rapid.SampledFrom(all).Draw(t, "acid"), Mass: quantity.Kilograms(rapid.Float64Range(0.0005, 0.004).Draw(t, "kg")),
			Neutralised: quantity.Fraction(rapid.Float64Range(0, 0.5).Draw(t, "neutralised")),
		})
	}
	b.Alkali = rapid.Float64Range(0, 0.003).Draw(t, "alkali")
	return b
}

// curveDraw draws a boil that only grows hotter and drier.
func curveDraw(t *rapid.T) []Point {
	n := rapid.IntRange(2, 8).Draw(t, "points")
	at, water, seconds := rapid.Float64Range(100, 110).Draw(t, "from"), rapid.Float64Range(0.2, 0.3).Draw(t, "water"), 0.0
	var out []Point
	for range n {
		out = append(out, Point{seconds, quantity.Celsius(at), quantity.Fraction(water)})
		seconds += rapid.Float64Range(1, 400).Draw(t, "seconds")
		at += rapid.Float64Range(0, 5).Draw(t, "rise")
		water *= rapid.Float64Range(0.7, 1).Draw(t, "dries")
	}
	return out
}

// The pH is where positive and negative charges are equal, counted here afresh from
// the dissociation of each acid; and thin enough, ions are ideal.
func TestPH_BalancesTheCharges(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := bathDraw(t)
		water := rapid.Float64Range(0.02, 1).Draw(t, "water")
		ph := must(b.PH(quantity.Kilograms(water)))
		if ph == PlainPH {
			return
		}
		// The ionic strength and h must agree: a few rounds from the answer's pH.
		strength, h := 0.1, 0.0
		var positive, negative float64
		for range 200 {
			root := math.Sqrt(strength)
			gamma := func(z float64) float64 { return math.Pow(10, -0.509*z*z*(root/(1+root)-0.3*strength)) }
			h = math.Pow(10, -ph) / gamma(1)
			oh := math.Pow(10, -13.995) / (gamma(1) * gamma(1) * h)
			positive, negative = h+b.Alkali/water, oh
			twice := positive + oh
			for _, d := range b.Doses {
				n := d.Acid.protons()
				sodium := float64(d.Neutralised) * (float64(n) - d.Acid.Base)
				moles := float64(d.Mass) * 1000 / (d.Acid.MolarMass + sodium*(22.990-1.008)) / water
				metal := moles * (d.Acid.Base + sodium)
				positive += metal
				twice += metal
				parts := []float64{1}
				for j := 1; j <= n; j++ {
					z := float64(j)
					// a(H) [A_z] γ_z / ([A_z−1] γ_z−1) = K
					parts = append(parts, parts[j-1]*math.Pow(10, -d.Acid.PK[j-1]+ph)*gamma(z-1)/gamma(z))
				}
				all := 0.0
				for _, p := range parts {
					all += p
				}
				for j, p := range parts {
					negative += moles * p / all * float64(j)
					twice += moles * p / all * float64(j*j)
				}
			}
			strength = min(0.5, twice/2)
		}
		if math.Abs(positive-negative) > 1e-6*positive {
			t.Fatalf("at pH %.6f %.9g mol/kg of positive charge stand against %.9g", ph, positive, negative)
		}
	})
}

func TestPH_ThinAcidIsIdeal(t *testing.T) {
	t.Parallel()
	for name, a := range map[string]Acid{"tartaric": Tartaric(), "citric": Citric(), "lactic": Lactic()} {
		if got, want := must(bathOf(a, 1e-4, 0).PH(1)), idealPH(a, 1e-4); math.Abs(got-want) > 0.006 {
			t.Errorf("%s: pH %.4f, with ideal ions %.4f", name, got, want)
		}
	}
}

// More of a plain acid sours, more alkali and more neutralising sweeten; a plain boil
// is at the stated pH, and no answer is above it.
func TestPH_Order(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := bathDraw(t)
		b.Doses = append(b.Doses, Dose{Acid: Tartaric(), Mass: 0.001})
		water := quantity.Kilograms(rapid.Float64Range(0.1, 1).Draw(t, "water"))
		ph := must(b.PH(water))
		turned := func(turn func(*Bath)) float64 {
			other := Bath{Doses: slices.Clone(b.Doses), Alkali: b.Alkali}
			turn(&other)
			return must(other.PH(water))
		}
		const rounding = 1e-8
		last := len(b.Doses) - 1
		if more := turned(func(o *Bath) { o.Doses[last].Mass *= 1.2 }); more > ph+rounding {
			t.Fatalf("more acid takes the pH from %.6f to %.6f", ph, more)
		}
		if less := turned(func(o *Bath) { o.Alkali += 1e-4 }); less < ph-rounding {
			t.Fatalf("more alkali takes the pH from %.6f to %.6f", ph, less)
		}
		if less := turned(func(o *Bath) { o.Doses[last].Neutralised = 0.1 }); less < ph-rounding {
			t.Fatalf("a buffered acid takes the pH from %.6f to %.6f", ph, less)
		}
		if ph > PlainPH {
			t.Fatalf("pH %.4f", ph)
		}
	})
}

// Cream of tartar and tartaric acid half neutralised by potash are one thing.
func TestPH_TartarIsHalfNeutralisedTartaric(t *testing.T) {
	t.Parallel()
	a, b := must(bathOf(CreamOfTartar(), 0.03, 0).PH(1)), must(bathOf(Tartaric(), 0.03, 0.5).PH(1))
	if math.Abs(a-b) > 1e-9 {
		t.Errorf("pH %.9f and %.9f", a, b)
	}
}

// The part of the last stretch is what the curve without it lacks; the share of a
// world is what its exposure inverts.
func TestAlong_LastStretch(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := Boil{Dry: 1, Bath: bathDraw(t), Factor: rapid.SampledFrom([]float64{0, 0.7}).Draw(t, "factor")}
		curve := curveDraw(t)
		end := curve[len(curve)-1]
		whole := must(b.Along(append(curve, Point{end.Seconds + 200, 90, end.Water})))
		if boiled := must(b.Along(curve)).Exposure; math.Abs(whole.Exposure-whole.Last-boiled) > 1e-9*whole.Exposure {
			t.Fatalf("an exposure of %.9g without the last stretch, %.9g less %.9g with it", boiled, whole.Exposure, whole.Last)
		}
		e := numeric.NewEnsemble(64, 3)
		shares, exposures := must(b.Draws(curve, e, Priors{})), must(b.Exposures(curve, e, Priors{}))
		for i, x := range exposures {
			if math.Abs(1-math.Exp(-x)-shares[i]) > 1e-12 {
				t.Fatalf("world %d: an exposure of %g inverts %g", i, x, shares[i])
			}
		}
	})
}

// The exposure along a curve is the integral of the rate: against a sum of many small
// steps over the exported rate and pH.
func TestAlong_IsTheIntegralOfTheRate(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := Boil{Dry: 1, Solids: sugar.Solids{Syrup: quantity.Fraction(rapid.Float64Range(0, 0.5).Draw(t, "syrup"))}, Bath: bathDraw(t)}
		curve := curveDraw(t)
		sum := 0.0
		for i := 1; i < len(curve); i++ {
			const parts = 120
			p, q := curve[i-1], curve[i]
			for j := range parts {
				part := (float64(j) + 0.5) / parts
				water := p.Water * quantity.Fraction(math.Pow(float64(q.Water/p.Water), part))
				ph := must(b.Bath.PH(quantity.Kilograms(water / (1 - water))))
				k := must(Rate(p.Temp+quantity.Celsius(part)*(q.Temp-p.Temp), ph, sugar.Mix(b.Solids, water)))
				sum += k * (q.Seconds - p.Seconds) / parts
			}
		}
		o := must(b.Along(curve))
		if math.Abs(o.Exposure/sum-1) > 2e-3 {
			t.Fatalf("exposure %.8g, summed %.8g", o.Exposure, sum)
		}
		if want := 1 - math.Exp(-o.Exposure); math.Abs(float64(o.Inverted)-want) > 1e-12 {
			t.Fatalf("%.9f inverted, by the first order %.9f", o.Inverted, want)
		}
		if o.Bound < 0 || math.Abs(float64(o.Bound)-float64(b.Solids.Sucrose()*o.Inverted)*18.02/342.30) > 1e-9 {
			t.Fatalf("%.9f kg of water taken in by %.6f of the sucrose", o.Bound, o.Inverted)
		}
	})
}

// A boil cut in two gives what the whole gives, wherever it is cut.
func TestAlong_MayBeCut(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := Boil{Dry: 1, Bath: bathDraw(t)}
		curve := curveDraw(t)
		i := rapid.IntRange(1, len(curve)-1).Draw(t, "segment")
		part := rapid.Float64Range(0.05, 0.95).Draw(t, "part")
		p, q := curve[i-1], curve[i]
		cut := Point{p.Seconds + part*(q.Seconds-p.Seconds), p.Temp + quantity.Celsius(part)*(q.Temp-p.Temp),
			p.Water * quantity.Fraction(math.Pow(float64(q.Water/p.Water), part))}
		first := append(slices.Clone(curve[:i]), cut)
		second := append([]Point{cut}, curve[i:]...)
		whole, parts := must(b.Along(curve)).Exposure, must(b.Along(first)).Exposure+must(b.Along(second)).Exposure
		if math.Abs(whole/parts-1) > 1e-3 {
			t.Fatalf("whole %.9g, in two %.9g", whole, parts)
		}
	})
}

// Slower, hotter and sourer boils invert more; a drop without time (a pour) nothing.
func TestAlong_Order(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := Boil{Dry: 1, Bath: Bath{Doses: []Dose{{Acid: CreamOfTartar(), Mass: 0.002}}, Alkali: 0.001}}
		curve := curveDraw(t)
		base := must(b.Along(curve)).Inverted
		slow, hot := slices.Clone(curve), slices.Clone(curve)
		for i := range curve {
			slow[i].Seconds *= 1.1
			hot[i].Temp++
		}
		if got := must(b.Along(slow)).Inverted; got <= base {
			t.Fatalf("a slower boil takes it from %.8f to %.8f", base, got)
		}
		if got := must(b.Along(hot)).Inverted; got <= base {
			t.Fatalf("a hotter boil takes it from %.8f to %.8f", base, got)
		}
		soft := b
		soft.Bath.Alkali = 0.0005
		if got := must(soft.Along(curve)).Inverted; got <= base {
			t.Fatalf("softer water takes it from %.8f to %.8f", base, got)
		}
		// A boil of the same make-up at any size is the same boil.
		big := Boil{Dry: 5, Bath: Bath{Doses: []Dose{{Acid: CreamOfTartar(), Mass: 0.010}}, Alkali: 0.005}}
		if got := must(big.Along(curve)).Inverted; math.Abs(float64(got-base)) > 1e-9 {
			t.Fatalf("five times the charge takes it from %.10f to %.10f", base, got)
		}
		last := curve[len(curve)-1]
		poured := append(slices.Clone(curve), Point{last.Seconds, 80, last.Water})
		if got := must(b.Along(poured)).Exposure; math.Abs(got/must(b.Along(curve)).Exposure-1) > 1e-12 {
			t.Fatalf("an instant counts: %.12g", got)
		}
	})
}

// The draws lie around the middle answer, spread by what is stated, and the lines
// between the grid's points are good to half a per cent.
func TestDraws_SpreadAsStated(t *testing.T) {
	t.Parallel()
	e := numeric.NewEnsemble(numeric.Draws, 11)
	b := Boil{Dry: 1, Bath: Bath{Doses: []Dose{{Acid: CreamOfTartar(), Mass: 0.0015}}, Alkali: 0.001}}
	curve := evenly(15, 150, seaLevel)
	span := func(b Boil, prior Priors) (middle, low, high float64) {
		x := must(b.Draws(curve, e, prior))
		for i := range x {
			x[i] = -math.Log1p(-x[i]) // exposure
		}
		s := must(numeric.Summarise(x))
		return s.Value, s.Low, s.High
	}
	exposure := must(b.Along(curve)).Exposure
	middle, low, high := span(b, Priors{})
	if math.Abs(middle/exposure-1) > 0.02 || math.Abs(low/exposure*2-1) > 0.03 || math.Abs(high/exposure/2-1) > 0.03 {
		t.Errorf("exposure %.4f, drawn %.4f, %.4f to %.4f: not a factor of two", exposure, middle, low, high)
	}
	learnt := b
	learnt.Factor = 0.7
	if middle, low, high := span(learnt, Priors{}); math.Abs(middle/exposure/0.7-1) > 0.02 || high/low > math.Exp(0.52) || high/low < math.Exp(0.48) {
		t.Errorf("learnt: %.4f, %.4f to %.4f", middle, low, high)
	}
	_, wide, wider := span(b, Priors{AlkaliSD: 0.0007})
	if wide >= low || wider <= high {
		t.Errorf("an unknown water narrows the range: %.4f to %.4f, known %.4f to %.4f", wide, wider, low, high)
	}
	plain := Boil{Dry: 1}
	if middle, low, high := span(plain, Priors{}); math.Abs(middle/must(plain.Along(curve)).Exposure-1) > 0.05 || high/low < 8 {
		t.Errorf("without acid %.5f, %.5f to %.5f", middle, low, high)
	}
	p, nodes, err := b.prepare(curve)
	if err != nil {
		t.Fatal(err)
	}
	const sd = 0.0003
	grid := p.overAlkali(nodes, b.Bath.Alkali, sd)
	for z := -3.0; z <= 3; z += 0.37 {
		if got, want := grid.of(z).sour, p.expose(nodes, b.Bath.Alkali+z*sd).sour; math.Abs(got/want-1) > 5e-3 {
			t.Errorf("at %.2f deviations the grid gives %.6f, the boil %.6f", z, got, want)
		}
	}
}

// The recursion, boil after boil, is the closed form; and it nears its limit.
func TestCookBack_IsTheRecursion(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0, 0.95).Draw(t, "share")
		once := rapid.Float64Range(0, 0.6).Draw(t, "once")
		n := rapid.IntRange(1, 30).Draw(t, "n")
		lives, sucrose := 1-once, 1-once
		for range n - 1 {
			sucrose = lives * ((1 - r) + r*sucrose)
		}
		got := float64(must(CookBack(quantity.Fraction(r), quantity.Fraction(once), n)))
		if math.Abs(got-(1-sucrose)) > 1e-12 {
			t.Fatalf("boil %d holds %.12f invert, by recursion %.12f", n, got, 1-sucrose)
		}
		limit := float64(must(CookBackLimit(quantity.Fraction(r), quantity.Fraction(once))))
		if next := lives * ((1 - r) + r*(1-limit)); math.Abs(1-next-limit) > 1e-12 || got > limit+1e-12 {
			t.Fatalf("the limit %.12f does not hold itself: %.12f; boil %d has %.12f", limit, 1-next, n, got)
		}
	})
}

// Where little is inverted the limit is 1/(1−r) of a boil, and a long row has been
// boiled again r/(1−r) times: 1.11 at 10 %, 1.25 at 20 %.
func TestCookBack_SmallInversion(t *testing.T) {
	t.Parallel()
	for share, want := range map[quantity.Fraction]float64{0.1: 1.1111, 0.2: 1.25} {
		if got := float64(must(CookBackLimit(share, 1e-6))) / 1e-6; math.Abs(got-want) > 1e-3 {
			t.Errorf("at %g the limit is %.4f of a boil, want %.4f", share, got, want)
		}
		// The mean number of boils, by adding up the shares of each age.
		sum, part := 0.0, float64(1-share)
		for age := range 200 {
			sum += float64(age) * part
			part *= float64(share)
		}
		if got := must(MeanReboils(share)); math.Abs(got-sum) > 1e-9 {
			t.Errorf("at %g the mean is %.6f, by ages %.6f", share, got, sum)
		}
	}
}

// The mean of an exponential between two ends is the same on both sides of where its
// two forms meet, and the plain mean where the ends are one.
func TestLogMean_Meets(t *testing.T) {
	t.Parallel()
	for _, r := range []float64{-0.9, -1.0001e-4, -0.9999e-4, 0, 0.9999e-4, 1.0001e-4, 3, 1e4} {
		const parts = 2000
		sum := 0.0
		for i := range parts {
			sum += 2 * math.Pow(1+r, (float64(i)+0.5)/parts) / parts
		}
		if got := logMean(2, 2*(1+r)); math.Abs(got/sum-1) > 1e-4*math.Abs(r)/(1+math.Abs(r))+1e-11 {
			t.Errorf("from 2 to %.6g the mean is %.12g, summed %.12g", 2*(1+r), got, sum)
		}
	}
}

// The numbers of the formulas, written down a second time.
func TestCoefficients_AsPublished(t *testing.T) {
	t.Parallel()
	inCode := map[string]float64{
		"vukov log": vukovLog, "vukov K": vukovTemp, "davies A": daviesA, "pK water": -math.Log10(waterKw),
		"tartar g/mol": CreamOfTartar().MolarMass,
	}
	for name, a := range map[string]Acid{"tartaric": Tartaric(), "citric": Citric(), "malic": Malic(), "lactic": Lactic()} {
		inCode[name+" g/mol"] = a.MolarMass
		for i := range a.protons() {
			inCode[fmt.Sprintf("%s pK%d", name, i+1)] = a.PK[i]
		}
	}
	rows := validation.Records(t, "coefficients.csv")
	for _, r := range rows {
		got, ok := inCode[r.Text("name")]
		if want := r.Number("value"); !ok || math.Abs(got-want) > 1e-4 {
			t.Errorf("%s is %g in the code, %g in the table", r.Text("name"), got, want)
		}
	}
	if len(rows) != len(inCode) {
		t.Errorf("%d numbers in the table, %d in the code", len(rows), len(inCode))
	}
}

// Acid on a hot mass: from 130 to 110 °C the rate falls 5.4 times, to 90 °C 35 times
// (worked apart from this program by the same heat of activation, source key vukov1965;
// with the measured 109.2 kJ/mol of source key tombari2007 it is 5.5 and 36).
func TestTimesFaster(t *testing.T) {
	t.Parallel()
	for than, want := range map[quantity.Celsius]float64{110: 5.4, 90: 35, 130: 1} {
		got := must(TimesFaster(130, than))
		if math.Abs(got/want-1) > 0.02 {
			t.Errorf("130 against %g °C: %.3f times, want %.1f", float64(than), got, want)
		}
		const gas = 8.314462618
		measured := math.Exp(109200 / gas * (1/than.Kelvin() - 1/quantity.Celsius(130).Kelvin()))
		if math.Abs(got/measured-1) > 0.03 {
			t.Errorf("130 against %g °C: %.3f times, by the measured heat of activation %.3f", float64(than), got, measured)
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		warm := rapid.Float64Range(RateMinC, RateMaxC)
		a, b, c := quantity.Celsius(warm.Draw(rt, "a")), quantity.Celsius(warm.Draw(rt, "b")), quantity.Celsius(warm.Draw(rt, "c"))
		ab, bc, ac := must(TimesFaster(a, b)), must(TimesFaster(b, c)), must(TimesFaster(a, c))
		if math.Abs(ab*bc/ac-1) > 1e-9 || (ab > 1) != (a > b) && a != b {
			rt.Errorf("%g, %g, %g °C: %g × %g is not %g", float64(a), float64(b), float64(c), ab, bc, ac)
		}
		// The rate itself says the same, but for the density.
		m := sugar.Mix(sugar.Solids{}, 0.2)
		if rate := must(Rate(a, 3.5, m)) / must(Rate(b, 3.5, m)); math.Abs(rate/ab-1) > 0.1 {
			rt.Errorf("%g against %g °C: %g times, the rates %g", float64(a), float64(b), ab, rate)
		}
	})
	if _, err := TimesFaster(RateMaxC+1, 100); fault.KindOf(err) != fault.KindOutOfRange {
		t.Errorf("above the range: %v", err)
	}
}
