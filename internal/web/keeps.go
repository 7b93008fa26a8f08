package web

import (
	"fmt"
	"math"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// addKeeps says how long the sweet keeps shut in, and how long it may lie open.
func (v *recipeView) addKeeps(u q.Reader, res *app.BoilResult) {
	if k := res.Keeps; k != nil {
		sl := keepsSlip(u, k)
		v.Facts = append(v.Facts, factView{Name: "keeps in its pack", figure: figureOf(keepsText(u, k)), Slip: &sl})
	}
	o := res.Verdicts.Open
	if o.Text == "" {
		return
	}
	said := string(o.Bound)
	if o.TimeS != nil {
		if said = u.SayTime(*o.TimeS); o.Bound != app.OpenAbout {
			said = string(o.Bound) + " " + said
		}
	}
	sl := slip{Text: sentence(o.Text) + ". Bare pieces in this room, until their skin sticks.", Sources: sourcesOf(o.Sources)}
	for _, w := range o.Why {
		sl.Text += " " + sentence(w) + "."
	}
	v.Facts = append(v.Facts, factView{Name: "open to the room", figure: figureOf(said), Slip: &sl})
}

// keepsText says how long, and in which pack.
func keepsText(u q.Reader, k *app.Keeping) string {
	said := k.Says(u)
	if k.Days == nil {
		return said + ", in " + k.Pack
	}
	return said + " in " + k.Pack
}

// keepsSlip is the log equation with its figures, in one place of storage.
func keepsSlip(u q.Reader, k *app.Keeping) slip {
	sl := slip{Text: sentence(k.ProductName+" in "+k.Pack+": "+k.Text) + ".", Sources: sourcesOf(k.Sources)}
	for _, w := range k.Why {
		sl.Text += " " + sentence(w) + "."
	}
	for _, c := range k.Cautions {
		sl.Text += " " + sentence(c.Text) + "."
	}
	if l := k.Log; l != nil {
		if days := l.Days(); days > 0 && !math.IsInf(days, 0) {
			sl.Formula = fmt.Sprintf("days = %s g × %s ÷ (%s × %s kPa) × ln((%s − %s) ÷ (%s − %s)) = %s",
				u.Digits(l.DryG, 5), u.Digits(l.Slope, 4), u.Digits(l.Passes.Value, 4), u.Digits(l.PressureKPa, 4),
				u.Digits(l.Humidity, 4), u.Digits(l.Start, 4), u.Digits(l.Humidity, 4), u.Digits(l.End, 4), u.Digits(days, 3))
		}
		sl.Inputs = []pair{
			{"dry sugars in the pack", u.Digits(l.DryG, 5) + " g"},
			{"water taken up for the activity, mean slope", u.Digits(l.Slope, 4) + " g/g"},
			{"the pack lets in, a day for each kPa", fmt.Sprintf("%s g (%s–%s), %s", u.Digits(l.Passes.Value, 4), u.Digits(l.Passes.Low, 2), u.Digits(l.Passes.High, 2), l.Passes.Basis)},
			{"vapour where it is full, there", u.Digits(l.PressureKPa, 4) + " kPa"},
			{"humidity of the store", u.Percent(q.Fraction(l.Humidity), 1)},
			{"activity as it is made", u.Digits(l.Start, 4)},
			{"activity at the limit", u.Digits(l.End, 4)},
			{"water as it is made", u.SayPercent(l.StartWater, 2)},
		}
		if k.LimitWater != nil {
			sl.Inputs = append(sl.Inputs, pair{"water at the limit", u.SayPercent(*k.LimitWater, 2)})
		}
		sl.Inputs = append(sl.Inputs, pair{"water in the end, in that air", u.Percent(q.Fraction(l.BalanceWater), 1)})
	}
	return sl
}
