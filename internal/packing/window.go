package packing

import (
	"slices"

	"slabside/internal/fault"
	"slabside/internal/source"
)

// Rule is by how much a bag may fall short of its label, by the rule of a market.
type Rule struct {
	Name    string       // of the rule; by all of them the mean of a lot must reach the label
	FewMg   int64        // one bag in forty at most may be short by more than this; 0: the rule has no such step
	MostMg  int64        // no bag may be short by more than this
	Sources []source.Key // where its figures are read
}

// RuleOf returns the rule of a market for a label; false where none is known here, as in
// Canada, or the label is out of its range.
//
// United States: the largest shortage of one package (maximum allowable variation) of
// NIST Handbook 133, Table 2-5. European Union and United Kingdom: the tolerable negative
// error of Directive 76/211/EEC, Annex I 2.4, rounded up to a tenth of a gram where it is
// a share; at most one package in forty beyond it, none beyond twice of it.
func RuleOf(market string, labelMg int64) (Rule, bool) {
	switch market {
	case "us":
		mg, ok := shortest(labelMg)
		return Rule{Name: "NIST Handbook 133", MostMg: mg, Sources: []source.Key{source.HB133}}, ok
	case "eu", "uk":
		mg, ok := tolerable(market, labelMg)
		name := "Directive 76/211/EEC"
		keys := []source.Key{source.Dir76211}
		if market == "uk" {
			name, keys = "UK SI 2006/659", append(keys, source.SI2006659)
		}
		return Rule{Name: name, FewMg: mg, MostMg: 2 * mg, Sources: keys}, ok
	}
	return Rule{}, false
}

const gram = int64(1000) // mg

// tolerable is the tolerable negative error of a nominal quantity [mg]. All of it is
// whole numbers: 3 % of 340 g is 10.2 g and not a hair more.
func tolerable(market string, labelMg int64) (int64, bool) {
	most := 10_000 * gram // the mark of the Union; the United Kingdom goes on
	if market == "uk" {
		most = 25_000 * gram
	}
	if labelMg < 5*gram || labelMg > most {
		return 0, false
	}
	for _, step := range []struct{ to, perMille, mg int64 }{
		{50, 90, 0}, {100, 0, 4500}, {200, 45, 0}, {300, 0, 9000}, {500, 30, 0}, {1000, 0, 15_000}, {10_000, 15, 0}, {15_000, 0, 150_000}, {25_000, 10, 0},
	} {
		if labelMg > step.to*gram {
			continue
		}
		if step.mg > 0 {
			return step.mg, true
		}
		const tenth = 100 // mg
		return (labelMg*step.perMille + 1000*tenth - 1) / (1000 * tenth) * tenth, true
	}
	return 0, false
}

// shortest is the largest shortage of one package [mg] by the label [mg].
func shortest(labelMg int64) (int64, bool) {
	if labelMg <= 36*gram {
		return labelMg / 10, labelMg > 0
	}
	for _, step := range []struct{ to, mg int64 }{
		{54, 3600}, {81, 5400}, {117, 7200}, {154, 9000}, {208, 10_800}, {263, 12_700}, {317, 14_500}, {381, 16_300}, {426, 18_100}, {489, 19_900}, {571, 21_700},
		{635, 23_500}, {698, 25_400}, {771, 27_200}, {852, 29_000}, {970, 31_700}, {1120, 35_300}, {1250, 39_000}, {1450, 42_600}, {1760, 49_800}, {2130, 54_400},
	} {
		if labelMg <= step.to*gram {
			return step.mg, true
		}
	}
	return 0, false
}

// Window is what a scale may show of a bag that is filled by hand, piece by piece [mg],
// with the tare.
type Window struct {
	LabelMg  int64 `json:"label_mg"`
	TareMg   int64 `json:"tare_mg"`   // 0: the scale is set to nothing with the bag on it
	FromMg   int64 `json:"from_mg"`   // at least
	ToMg     int64 `json:"to_mg"`     // at most
	TargetMg int64 `json:"target_mg"` // a bag in the middle of those that come
	StepMg   int64 `json:"step_mg"`   // of the scale
	PieceMg  int64 `json:"piece_mg"`  // the heaviest that goes in
	FewMg    int64 `json:"few_mg"`    // one bag in forty at most below this; 0: the market has no such step, or is not judged
	LeastMg  int64 `json:"least_mg"`  // no bag below this; 0: not judged
}

// WindowOf works out the window. The scale must reach the label and the tare, rounded up
// to its step, so that no bag is knowingly short; where filling stops at the first piece
// that gets it there, it ends less than one piece above. So what a label promises is met
// by every bag, which is more than any market's rule asks; the rule says how far below a
// bag is unlawful by itself.
//
// Faults: Invalid for a label, tare, step or piece that cannot be.
func WindowOf(market string, labelMg, tareMg, stepMg, pieceMg int64) (Window, error) {
	for _, x := range []struct {
		field     string
		mg, least int64
	}{{"label", labelMg, 1}, {"tare", tareMg, 0}, {"scale", stepMg, 1}, {"piece", pieceMg, 1}} {
		if x.mg < x.least || x.mg > mostMg {
			return Window{}, fault.Invalid("%g g cannot be meant", float64(x.mg)/1e3).At(x.field)
		}
	}
	w := Window{LabelMg: labelMg, TareMg: tareMg, StepMg: stepMg, PieceMg: pieceMg}
	w.FromMg = up(labelMg+tareMg, stepMg)
	w.ToMg = up(w.FromMg+pieceMg, stepMg)
	w.TargetMg = (w.FromMg + w.FromMg + pieceMg) / 2
	if r, ok := RuleOf(market, labelMg); ok {
		w.LeastMg = labelMg + tareMg - r.MostMg
		if r.FewMg > 0 {
			w.FewMg = labelMg + tareMg - r.FewMg
		}
	}
	return w, nil
}

// up rounds up to a step.
func up(mg, step int64) int64 { return (mg + step - 1) / step * step }

// Coarse reports whether the scale's step, which may hide half of itself either way, is
// more than a rule lets a measurement be off: a fifth of the tolerable error (Directive
// 76/211/EEC, Annex I; common sense where another rule holds).
func (w Window) Coarse() bool {
	short := w.LabelMg + w.TareMg - w.LeastMg
	if w.FewMg > 0 {
		short = w.LabelMg + w.TareMg - w.FewMg
	}
	return w.LeastMg > 0 && w.StepMg*5 > 2*short
}

// Check is what weighing bags once more tells of a lot.
type Check struct {
	Bags    int   `json:"bags"`
	MeanMg  int64 `json:"mean_mg"` // net
	LeastMg int64 `json:"least_mg"`
	MostMg  int64 `json:"most_mg"`
	Short   int   `json:"short"` // below the label
	Few     int   `json:"few"`   // below what one in forty may be; 0 where the market has no such step
	Never   int   `json:"never"` // below what none may be
}

// CheckOf holds weighed bags against their label and the rule of a market: net weights
// [mg]. False for none.
func CheckOf(market string, labelMg int64, netMg []int64) (Check, bool) {
	if len(netMg) == 0 {
		return Check{}, false
	}
	c := Check{Bags: len(netMg), LeastMg: slices.Min(netMg), MostMg: slices.Max(netMg)}
	r, known := RuleOf(market, labelMg)
	sum := int64(0)
	for _, mg := range netMg {
		sum += mg
		short := labelMg - mg
		if short > 0 {
			c.Short++
		}
		if known && r.FewMg > 0 && short > r.FewMg {
			c.Few++
		}
		if known && short > r.MostMg {
			c.Never++
		}
	}
	c.MeanMg = sum / int64(len(netMg))
	return c, true
}
