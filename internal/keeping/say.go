package keeping

import (
	"fmt"
	"slices"

	"slabside/internal/bag"
	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// say puts it into words.
func (r *run) say(k *Keeps) {
	u, last := r.in.Units, r.places[len(r.places)-1]
	where := fmt.Sprintf("at %s and %s of humidity", u.Temperature(last.at, 0), u.Percent(q.Fraction(last.humidity), 0))
	if n := len(r.places); n > 1 {
		where = fmt.Sprintf("by way of %d places, the last of them %s", n, where)
	}
	pct := func(w float64) string { return u.Percent(q.Fraction(w), 1) }
	switch k.Bound {
	case None:
		k.Text = fmt.Sprintf("no time at %s: ", u.Temperature(r.warmest, 0))
		if r.stands <= r.warmest {
			k.Text += fmt.Sprintf("it is soft there from the start, it stands up to %s", u.Temperature(r.stands, 0))
		} else {
			k.Text += fmt.Sprintf("it stands up to %s, and %s above the place are wanted", u.Temperature(r.stands, 0), u.Difference(Margin, 0))
		}
	case Never:
		k.Text = fmt.Sprintf("it does not come to stick by water %s", where)
		k.Why = append(k.Why, fmt.Sprintf("in that air it comes to rest at %s of water, and begins to stick with %s", pct(k.Log.BalanceWater), pct(k.Limit.Value)))
	case AtLeast:
		k.Text = fmt.Sprintf("%s %s", Say(u, k.Bound, *k.Days), where)
		k.Why = append(k.Why, fmt.Sprintf("longer than %s days is not told apart: flavour and colour go before", u.Number(Horizon, 0)))
		if k.Log.BalanceWater <= k.Limit.Value {
			k.Why = append(k.Why, fmt.Sprintf("by the middle figures it comes to rest at %s of water in that air and never sticks by it", pct(k.Log.BalanceWater)))
		}
	default:
		k.Text = fmt.Sprintf("%s %s", Say(u, k.Bound, *k.Days), where)
	}
	limit := fmt.Sprintf("from %s of water to %s", pct(k.Log.StartWater.Value), pct(k.Limit.Value))
	if k.Limit.Value-k.Log.StartWater.Value < float64(Gain)-1e-9 {
		limit += fmt.Sprintf(", with which it stands up to %s, %s above the warmest place", u.Temperature(r.warmest+q.Celsius(Margin), 0), u.Difference(Margin, 0))
	} else {
		limit += ", one point more than it is made with: common practice, no source"
	}
	k.Why = append(k.Why, limit)
	switch {
	case r.isFitted:
		k.Why = append(k.Why, fmt.Sprintf("what the pack passes is from %d weighings of one", k.Weighed))
	case len(r.in.Pack.Weighed) > 0:
		k.Why = append(k.Why, fmt.Sprintf("%d weighings that gained are needed for what the pack passes; it is from a table", leastWeighings))
	}
	r.cautions(k)
}

func (r *run) cautions(k *Keeps) {
	u := r.in.Units
	add := func(c caution.Code, text string) {
		k.Cautions = append(k.Cautions, caution.Caution{Code: c, Text: text})
	}
	add(CodeAverage, "this is the average water of the pack: the surfaces and the pieces by the wall stick first")
	if !r.isFitted {
		add(CodeUnweighed, "what the pack lets through is from a table, good to ±40 % at best: weigh a filled one when it is shut, and two to four times in the weeks after, and state it")
	}
	if r.isFitted && r.fitted.factor > r.wall.most() {
		add(CodeLeaky, fmt.Sprintf("the pack that was weighed lets in %s times what its wall is made for: look at its seals, and at whether the film is what it is called", u.Number(r.fitted.factor, 1)))
	}
	if !r.isFitted && r.in.Pack.Closure == bag.Sealed {
		add(CodeSeals, "seals without holes are taken: one channel in a seal lets in more than the film")
	}
	for _, p := range r.places {
		if p.at < isothermCool || p.at > isothermWarm {
			add(CodeIsotherm, fmt.Sprintf("how sweets take up water is known from %s to %s: at %s it is carried on unchanged",
				u.Temperature(isothermCool, 0), u.Temperature(isothermWarm, 0), u.Temperature(p.at, 0)))
			break
		}
	}
}

// Say prints a time held in days: "48 days (40–60), estimated". Of one beyond [Horizon]
// only its early end is worth a figure, of no time at all only its late one.
func Say(u q.Reader, b Bound, e q.Estimate) string {
	const day = 24 * 60 * 60
	said := ""
	switch b {
	case AtLeast:
		said = "at least " + u.Number(Horizon, 0) + " days"
		if e.Low < Horizon {
			said += ", at the unlucky end " + u.Number(e.Low, 0)
		}
	case None:
		said = "no time"
		if e.High > 0 {
			said += ", at the lucky end " + u.Number(e.High, 1) + " days"
		}
	default:
		return u.SayTime(e.Scale(day))
	}
	return said + ", " + string(e.Basis)
}

// once keeps the first of equal keys.
func once(keys []source.Key) []source.Key {
	var out []source.Key
	for _, k := range keys {
		if !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}
