package limit

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

// pure is an ingredient that is a substance and nothing else.
func pure(word string) ingredient.Ingredient {
	return ingredient.Ingredient{ID: "x-" + word, Name: "Pure " + word, Kind: ingredient.Other, HoldsAll: true, Holds: []ingredient.Hold{{Substance: word, Share: 1}}}
}

// sweetOf holds so much of each substance.
func sweetOf(amounts map[string]float64) Sweet {
	s := Sweet{ID: "all"}
	for word, v := range amounts {
		s.Brings = append(s.Brings, Brought{pure(word), q.ExactOf(v)})
	}
	return s
}

// found returns the finding of a rule of one table.
func found(t *testing.T, x Table, rule string, sweets ...Sweet) (Finding, bool) {
	t.Helper()
	var r Report
	r.add(Inputs{Market: x.Market, Date: x.From, Sweets: sweets, Units: q.Plain}, x)
	at := slices.IndexFunc(r.List, func(f Finding) bool { return f.Rule == rule })
	if at < 0 {
		return Finding{}, false
	}
	return r.List[at], true
}

// Every row of every table flips at its limit ±1 %: for each of its substances alone,
// and for all of them together. A row that allows none flips at nothing.
func TestEveryRowFlips(t *testing.T) {
	t.Parallel()
	rows := 0
	for _, x := range Tables() {
		for _, r := range x.Rules {
			rows++
			var mixes []map[string]float64 // of which each is one
			for _, w := range r.Substances {
				mixes = append(mixes, map[string]float64{w: 1})
			}
			together := map[string]float64{}
			for _, w := range r.Substances {
				together[w] = 1 / float64(len(r.Substances))
			}
			for _, mix := range append(mixes, together) {
				judged := func(of float64) (Answer, bool) {
					amounts := map[string]float64{}
					for w, share := range mix {
						amounts[w] = share * of
					}
					if len(r.OnlyIf) > 0 {
						amounts[r.OnlyIf[0]] = 1e-9
					}
					f, ok := found(t, x, r.Name, sweetOf(amounts))
					return f.Answer, ok
				}
				at := fmt.Sprintf("%s from %s, %s, of %d substances", x.Market, x.From, r.Name, len(mix))
				if r.How == AtMost {
					for factor, want := range map[float64]Answer{0.99: Within, 1.01: Over} {
						if got, ok := judged(factor * float64(r.Most)); !ok || got != want {
							t.Errorf("%s: %g of the limit is %q, want %q", at, factor, got, want)
						}
					}
					continue
				}
				want := map[How]Answer{AsNeeded: NoFigure, NotPermitted: NotAllowed, NotAsSuch: NotAllowed}[r.How]
				if got, _ := judged(1e-6); got != want {
					t.Errorf("%s: a trace is %q, want %q", at, got, want)
				}
				if _, ok := judged(0); ok {
					t.Errorf("%s: judged where there is none of it", at)
				}
			}
		}
	}
	t.Logf("%d rows", rows)
}

// A rule of a sum that is broken by the sum alone: each colour within its own limit.
func TestSumAlone(t *testing.T) {
	t.Parallel()
	x, _ := InForce(EU, "2026-11-28")
	// E 104, E 110 and E 124 count towards the 300 mg/kg of Group III (source key reg1333-2008).
	for of, want := range map[float64]Answer{0.99: Within, 1.01: Over} {
		s := sweetOf(map[string]float64{"quinoline yellow": of * 29e-6, "sunset yellow": of * 34e-6, "ponceau 4R": of * 19e-6, "azorubine": of * 49e-6, "allura red": of * 169e-6})
		for rule, answer := range map[string]Answer{"colours of Group III together": want, "quinoline yellow alone": Within, "sunset yellow alone": Within, "ponceau 4R alone": Within, "azorubine alone": Within} {
			if f, ok := found(t, x, rule, s); !ok || f.Answer != answer {
				t.Errorf("%s at %g of it: %q, want %q", rule, of, f.Answer, answer)
			}
		}
	}
	// Canada: (a) and (b) within their own limits, and too much together (source key fdr-canada).
	ca, _ := InForce(Canada, "2026-11-28")
	s := sweetOf(map[string]float64{"allura red": 240e-6, "brilliant blue": 90e-6})
	for rule, answer := range map[string]Answer{"colours of B.06.002(a) together": Within, "colours of B.06.002(b) together": Within, "colours of B.06.002(a) and (b) together": Over} {
		if f, _ := found(t, ca, rule, s); f.Answer != answer {
			t.Errorf("%s: %q, want %q", rule, f.Answer, answer)
		}
	}
}

// The range decides, both of what was weighed and of what a delivery may hold.
func TestRange(t *testing.T) {
	t.Parallel()
	x, _ := InForce(EU, "2026-11-28")
	powder := func(least, most q.Fraction) ingredient.Ingredient {
		return ingredient.Ingredient{ID: "p", Name: "Powder", Kind: ingredient.Colour, Holds: []ingredient.Hold{{Substance: "E 129", Share: least, Most: most}}}
	}
	est := func(v, lo, hi float64) q.Estimate {
		return q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated}
	}
	for _, c := range []struct {
		in          ingredient.Ingredient
		share       q.Estimate
		want        Answer
		lo, mid, hi float64
	}{
		{powder(0.85, 0), est(350e-6, 345e-6, 352e-6), Within, 293.25, 297.5, 299.2},
		{powder(0.85, 0), est(350e-6, 345e-6, 354e-6), Borderline, 293.25, 297.5, 300.9},
		{powder(0.85, 0.92), q.ExactOf(350e-6), Borderline, 297.5, 309.75, 322},
		{powder(0.85, 0.92), est(360e-6, 354e-6, 366e-6), Over, 300.9, 318.6, 336.72},
	} {
		f, _ := found(t, x, "colours of Group III together", Sweet{Brings: []Brought{{c.in, c.share}}})
		if f.Answer != c.want {
			t.Errorf("%v: %q, want %q", f.Amount, f.Answer, c.want)
		}
		for got, want := range map[float64]float64{f.Amount.Low: c.lo, f.Amount.Value: c.mid, f.Amount.High: c.hi} {
			if math.Abs(got-want) > 1e-9 {
				t.Errorf("%v mg/kg, want %v", got, want)
			}
		}
		if f.Amount.Basis != q.Estimated {
			t.Errorf("%v is %s", f.Amount, f.Amount.Basis)
		}
	}
}

// The worst portion decides, wherever it stands.
func TestWorstPortion(t *testing.T) {
	t.Parallel()
	x, _ := InForce(EU, "2026-11-28")
	pale, deep := sweetOf(map[string]float64{"E 122": 10e-6}), sweetOf(map[string]float64{"E 122": 60e-6})
	pale.ID, pale.Name, deep.ID, deep.Name = "pale", "pale pink", "deep", "deep red"
	for _, list := range [][]Sweet{{pale, deep}, {deep, pale}} {
		f, _ := found(t, x, "azorubine alone", list...)
		if f.Answer != Over || f.Portion != "deep" || !strings.Contains(f.Text, "in the deep red: 60 mg/kg; at most 50 mg/kg") {
			t.Errorf("%s of %s: %s", f.Answer, f.Portion, f.Text)
		}
	}
}

// report judges one sweet.
func report(market, date string, in ...Brought) Report {
	return Judge(Inputs{Market: market, Date: date, Sweets: []Sweet{{ID: "all", Brings: in}}, Units: q.Plain})
}

const day = "2026-11-28"

func texts(r Report) string {
	var out []string
	for _, f := range r.List {
		out = append(out, fmt.Sprintf("%s %v: %s", f.Answer, f.Advisory, f.Text))
	}
	return strings.Join(out, "\n")
}

// What is not known is not judged, and the whole then is not within.
func TestNotJudged(t *testing.T) {
	t.Parallel()
	bare := ingredient.Ingredient{ID: "f", Name: "Damson flavouring", Kind: ingredient.Essence}
	oil := ingredient.Ingredient{ID: "o", Name: "Our mint", Kind: ingredient.Oil, Holds: []ingredient.Hold{{Substance: "peppermint oil", Share: 1, Natural: true}, {Substance: "menthol", Share: 0.4, Natural: true}}}
	other := pure("raspberry ketone")
	for name, c := range map[string]struct {
		r    Report
		want string
	}{
		"no table":                          {report("moon", day, Brought{pure("E 129"), q.ExactOf(1e-6)}), `no table of the law of "moon"`},
		"before the first table":            {report(EU, "2001-01-01", Brought{pure("E 129"), q.ExactOf(1e-6)}), "no table of the law of \"eu\" for 2001-01-01"},
		"no row":                            {report(EU, day, Brought{other, q.ExactOf(1e-6)}), "raspberry ketone: this table has no row for it"},
		"a colour without a row":            {report(Canada, day, Brought{pure("E 162"), q.ExactOf(1e-6)}), "beetroot red (E 162): this table has no row"},
		"nothing stated":                    {report(EU, day, Brought{bare, q.ExactOf(1e-3)}), "what Damson flavouring holds of colours and flavour compounds is not stated"},
		"not all stated":                    {report(EU, day, Brought{oil, q.ExactOf(1e-3)}), "whether Our mint holds anything else that has a limit is not stated"},
		"usual companions":                  {report(EU, day, Brought{oil, q.ExactOf(1e-3)}), "peppermint oil usually holds up to 4 % of pulegone, and what Our mint holds is not stated"},
		"came with the plant":               {report(US, day, Brought{natural("cassia oil", "coumarin", 0.03), q.ExactOf(1e-3)}), "coumarin: it came with the plant"},
		"a limit that is for mint, no mint": {report(EU, day, Brought{natural("lemon oil", "pulegone", 0.03), q.ExactOf(1e-3)}), "its limit is for sweets that hold peppermint oil, spearmint oil or cornmint oil"},
	} {
		if c.r.Answer != NotJudged {
			t.Errorf("%s: %s by law\n%s", name, c.r.Answer, texts(c.r))
		}
		if !strings.Contains(texts(c.r), "not judged false: ") || !strings.Contains(texts(c.r), c.want) {
			t.Errorf("%s: lacks %q:\n%s", name, c.want, texts(c.r))
		}
	}
}

// natural is an oil that brings a compound with it.
func natural(oil, compound string, share q.Fraction) ingredient.Ingredient {
	return ingredient.Ingredient{ID: "n", Name: "The oil", Kind: ingredient.Oil, HoldsAll: true, Holds: []ingredient.Hold{{Substance: oil, Share: 1, Natural: true}, {Substance: compound, Share: share, Natural: true}}}
}

// The same put in as such is not allowed.
func TestAsSuch(t *testing.T) {
	t.Parallel()
	in := natural("cassia oil", "coumarin", 0.03)
	in.Holds = slices.Clone(in.Holds)
	in.Holds[1].Natural = false
	for _, market := range []string{US, EU, UK} {
		if r := report(market, day, Brought{in, q.ExactOf(1e-3)}); r.Answer != NotAllowed || !strings.Contains(texts(r), "not allowed false: coumarin: 30 mg/kg; not to be put in as such") {
			t.Errorf("%s: %s\n%s", market, r.Answer, texts(r))
		}
	}
}

// An edition holds from its day: FD&C Red No. 3 leaves the US law on 15 January 2027
// (source key fr90-4628); titanium dioxide is out of the EU and not of Great Britain
// (source key reg2022-63).
func TestDatedEditions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		market, date, substance string
		want                    Answer
	}{
		{US, "2027-01-14", "FD&C Red No. 3", NoFigure}, {US, "2027-01-15", "FD&C Red No. 3", NotAllowed},
		{EU, day, "E 171", NotAllowed}, {UK, day, "E 171", NoFigure}, {US, day, "E 171", Within},
		{US, day, "E 122", NotAllowed}, {EU, day, "E 143", NotAllowed}, {EU, day, "E 127", NotAllowed},
	} {
		r := report(c.market, c.date, Brought{pure(c.substance), q.ExactOf(20e-6)})
		if r.Answer != c.want {
			t.Errorf("%s of %s on %s: %s, want %s", c.substance, c.market, c.date, r.Answer, c.want)
		}
	}
}

// Advice never makes the law's answer, and says that it is none; what is from memory
// says so.
func TestAdviceIsNoLaw(t *testing.T) {
	t.Parallel()
	r := report(US, day, Brought{pure("E 129"), q.ExactOf(1e-5)}, Brought{pure("ethyl formate"), q.ExactOf(1e-4)})
	if r.Answer != NoFigure {
		t.Fatalf("%s\n%s", r.Answer, texts(r))
	}
	r = report(US, day, Brought{pure("E 129"), q.ExactOf(1e-5)}, Brought{pure("malic acid"), q.ExactOf(0.05)})
	if r.Answer != NoFigure || !strings.Contains(texts(r), "over true: malic acid: 5 %; makers use at most some 2 %") {
		t.Errorf("%s\n%s", r.Answer, texts(r))
	}
	for _, f := range r.List {
		if f.Advisory != strings.Contains(f.Status, "no law") || f.Confirmed == strings.Contains(f.Status, "from memory") {
			t.Errorf("%+v", f)
		}
	}
}

// The acid that an ingredient is counts without a line of its own, by its dry matter.
func TestAcidsCount(t *testing.T) {
	t.Parallel()
	malic := ingredient.Ingredient{ID: "m", Name: "Malic acid", Kind: ingredient.Acid, Acid: ingredient.Malic, Solids: 0.5}
	x, _ := InForce(US, day)
	// 6.9 % of hard candy (source key food-additives-databook).
	for share, want := range map[float64]Answer{0.138 * 0.99: Within, 0.138 * 1.01: Over} {
		if f, _ := found(t, x, "malic acid", Sweet{Brings: []Brought{{malic, q.ExactOf(share)}}}); f.Answer != want {
			t.Errorf("%g: %s", share, f.Answer)
		}
	}
	for _, c := range []struct {
		in   ingredient.Ingredient
		want string
	}{
		{ingredient.Ingredient{Kind: ingredient.Acid, Solids: 1}, "citric acid"}, {ingredient.Ingredient{Kind: ingredient.Doctor, Solids: 1}, "cream of tartar"},
		{ingredient.Ingredient{Kind: ingredient.Salt, Acid: ingredient.Lactic, Solids: 1}, "lactic acid"}, {ingredient.Ingredient{Kind: ingredient.Salt, Solids: 1}, ""},
	} {
		got := ""
		for _, h := range holdsOf(c.in) {
			got += h.Substance
		}
		if got != c.want {
			t.Errorf("%+v holds %q, want %q", c.in, got, c.want)
		}
	}
	stated := malic
	stated.Holds = []ingredient.Hold{{Substance: "E 296", Share: 0.4}}
	if h := holdsOf(stated); len(h) != 1 || h[0].Share != 0.4 {
		t.Errorf("what is stated of the acid is not what counts: %+v", h)
	}
}

// Checks of the reference figures: 1200 mg/kg of peppermint oil bring at most 48 mg/kg
// of pulegone and 108 of menthofuran, both within the law of mint sweets (source keys
// ph-eur-quoted and com2006-427); 500 mg/kg of cassia oil bring 350 to 440 of
// cinnamaldehyde and 7.5 to 20 of coumarin (source keys cassia-sheet and ph-eur1496).
func TestOils(t *testing.T) {
	t.Parallel()
	whole := func(oil string) ingredient.Ingredient {
		in := ingredient.Ingredient{ID: "oil", Name: oil, Kind: ingredient.Oil, Holds: []ingredient.Hold{{Substance: oil, Share: 1, Natural: true}}}
		for _, u := range UsualIn(oil) {
			in.Holds = append(in.Holds, ingredient.Hold{Substance: u.Substance, Share: u.Least, Most: u.Most, Natural: true, By: ingredient.ByBook})
		}
		return in
	}
	mint := report(EU, day, Brought{whole("peppermint oil"), q.ExactOf(1200e-6)})
	cassia := report(EU, day, Brought{whole("cassia oil"), q.ExactOf(500e-6)})
	for _, c := range []struct {
		r      Report
		rule   string
		lo, hi float64
		want   Answer
	}{
		{mint, "pulegone in mint sweets", 0, 48, Within}, {mint, "menthofuran in mint sweets", 12, 108, Within},
		{mint, "menthol", 360, 660, Borderline}, {cassia, "cinnamaldehyde", 350, 440, Within}, {cassia, "cassia oil", 500, 500, Over},
	} {
		at := slices.IndexFunc(c.r.List, func(f Finding) bool { return f.Rule == c.rule })
		if at < 0 {
			t.Errorf("nothing is said of %s:\n%s", c.rule, texts(c.r))
			continue
		}
		f := c.r.List[at]
		if math.Abs(f.Amount.Low-c.lo) > 1e-9 || math.Abs(f.Amount.High-c.hi) > 1e-9 || f.Answer != c.want {
			t.Errorf("%s: %v, %s, want %g to %g, %s", c.rule, f.Amount, f.Answer, c.lo, c.hi, c.want)
		}
		if f.Rule != "cassia oil" && !strings.Contains(strings.Join(f.Why, " "), "usual figure") {
			t.Errorf("%s does not say that its figure is a usual one", c.rule)
		}
	}
	in := whole("cassia oil")
	e := amount(q.ExactOf(500e-6), in.Holds[2])
	if in.Holds[2].Substance != "coumarin" || math.Abs(e.Low-7.5e-6) > 1e-12 || math.Abs(e.High-20e-6) > 1e-12 {
		t.Errorf("coumarin %+v", e)
	}
	if !strings.Contains(texts(cassia), "not judged false: coumarin: it came with the plant") {
		t.Errorf("coumarin has no line in sweets:\n%s", texts(cassia))
	}
}

func BenchmarkJudge(b *testing.B) {
	in := Inputs{Market: EU, Date: day, Units: q.Plain, Sweets: []Sweet{sweetOf(map[string]float64{"allura red": 1e-5, "menthol": 1e-4, "citric acid": 0.01, "peppermint oil": 1e-3})}}
	for b.Loop() {
		Judge(in)
	}
}
