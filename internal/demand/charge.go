package demand

import (
	"math"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// standard returns the standard charges of a recipe, largest first: whole, half
// and third of the kettle's usual charge, to the gram, those not below the
// kettle's least and not above the cap. Makers know the clocks of these (source
// key practice).
func standard(r Recipe) (sizes []q.Kilograms, capped bool) {
	for _, part := range []float64{1, 2, 3} {
		c := q.Kilograms(math.Round(float64(r.UsualCharge)/part*1000) / 1000)
		if c < r.LeastCharge-gram/2 {
			continue
		}
		if r.MostCharge > 0 && c > r.MostCharge+gram/2 {
			capped = true
			continue
		}
		sizes = append(sizes, c)
	}
	return sizes, capped
}

// gram is the step charges are weighed in [kg]; half of it is no difference.
const gram = 0.001

// oddStep is the step of odd charges [kg].
const oddStep = 0.1

// odd is the range of odd charges of a recipe: multiples of oddStep, with the
// usual charge itself at the top where no cap forbids it.
type odd struct {
	low, high int // in steps; none if high < low
	top       q.Kilograms
}

func oddCharges(r Recipe) odd {
	most := r.UsualCharge
	if r.MostCharge > 0 {
		most = min(most, r.MostCharge)
	}
	o := odd{
		low:  max(1, int(math.Ceil(float64(r.LeastCharge)/oddStep-1e-6))),
		high: int(math.Floor(float64(most)/oddStep + 1e-6)),
	}
	if o.top = o.at(o.high); most == r.UsualCharge {
		o.top = most
	}
	return o
}

// at returns the charge of so many steps, exact to the last bit of its decimal.
func (o odd) at(steps int) q.Kilograms {
	return q.Kilograms(math.Round(float64(steps)*oddStep*10) / 10)
}

// charges returns k odd charges that go up in small steps of their total with t:
// as many at the top as fit, one between, the rest at the bottom. Every total
// the steps can reach is reached once.
func (o odd) charges(k, t int) []q.Kilograms {
	span := o.high - o.low
	list := make([]q.Kilograms, k)
	for i := range list {
		up := min(max(t-i*span, 0), span)
		if list[i] = o.at(o.low + up); up == span {
			list[i] = o.top
		}
	}
	return list
}

// steps returns the number of totals k odd charges can have.
func (o odd) steps(k int) int { return k*(o.high-o.low) + 1 }

func checkKettle(r Recipe) error {
	finite := func(c q.Kilograms) bool { return !math.IsNaN(float64(c)) && !math.IsInf(float64(c), 0) }
	switch {
	case !(r.UsualCharge > 0) || !finite(r.UsualCharge):
		return fault.Invalid("recipe %q has a usual charge of %g kg", r.ID, float64(r.UsualCharge)).At("usual_charge")
	case !(r.LeastCharge >= 0) || r.LeastCharge > r.UsualCharge:
		return fault.Invalid("the least charge of recipe %q, %g kg, is not between 0 and the usual %g kg",
			r.ID, float64(r.LeastCharge), float64(r.UsualCharge)).At("least_charge")
	case !(r.MostCharge >= 0) || !finite(r.MostCharge):
		return fault.Invalid("recipe %q is capped at %g kg", r.ID, float64(r.MostCharge)).At("most_charge")
	case r.MostCharge > 0 && r.MostCharge < r.LeastCharge-gram/2:
		return fault.Invalid("recipe %q may not be charged above %g kg, and the kettle takes no less than %g kg",
			r.ID, float64(r.MostCharge), float64(r.LeastCharge)).At("most_charge").
			WithHint("use a smaller kettle, a larger hook, or a feeding board")
	}
	return nil
}
