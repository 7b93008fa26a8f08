package app

import (
	"fmt"
	"math"
	"slices"

	"slabside/internal/batch"
	"slabside/internal/fault"
	"slabside/internal/limit"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// Greatest is how much of an ingredient may go into a recipe at most.
type Greatest struct {
	Ingredient string        `json:"ingredient"`
	Name       string        `json:"name"`
	Law        *GreatestDose `json:"by_law"` // null with the reason in NoLaw
	NoLaw      string        `json:"no_law"`
	Advice     *GreatestDose `json:"by_advice"` // of surveys; null with the reason in NoAdvice
	NoAdvice   string        `json:"no_advice"`
}

// GreatestDose is a dose at which every rule still is kept by the high end of its
// range, and a little more at which one is not.
type GreatestDose struct {
	Times   q.Number   `json:"times"` // of what the recipe has in all its places
	Doses   []DoseAt   `json:"doses"` // each of its places
	Market  string     `json:"market"`
	Rule    string     `json:"rule"` // that decides
	Status  string     `json:"status"`
	Reached q.Estimate `json:"amount_mg_kg"` // of what the rule counts
	Most    q.Number   `json:"most_mg_kg"`
}

// DoseAt is one place of an ingredient in a recipe: a dose, or a mass in the kettle.
type DoseAt struct {
	Stage   string    `json:"stage"`
	Portion string    `json:"portion"` // empty: the whole boil
	Dose    *q.Number `json:"dose_frac"`
	MassKg  *q.Number `json:"mass_kg"` // in the recipe as written
	Text    string    `json:"text"`
}

// A dose is looked for up to what a recipe takes; what is in the kettle alone up to
// ten times.
const (
	mostDoseAsked = 0.2 // of the finished sweet, as the shop book has it
	mostTimes     = 10
)

// greatest finds how much of an ingredient may go into the recipe at most. Every place
// of it is made larger alike. Where a scale is too coarse and a stock solution steps in,
// a range can widen at once: what is found is kept, and what is a hundredth more is not.
func (j judge) greatest(id string, now []limit.Report) (*Greatest, error) {
	if !slices.Contains(j.in.Recipe.Ingredients(), id) {
		return nil, fault.NotFound("%s holds no %q", j.in.Recipe.Name, fault.Clip(id, fault.Echo)).At("most").WithHint("one of %s", Listed(j.in.Recipe.Ingredients()))
	}
	g := &Greatest{Ingredient: id, Name: ingredientOf(j.book, id)}
	var err error
	if g.Law, g.NoLaw, err = j.dose(id, now, false); err != nil {
		return nil, err
	}
	g.Advice, g.NoAdvice, err = j.dose(id, now, true)
	return g, err
}

// dose finds the greatest dose by law or by advice, or says why there is none.
func (j judge) dose(id string, now []limit.Report, advice bool) (*GreatestDose, string, error) {
	name := ingredientOf(j.book, id)
	rules, none := counting(now, id, advice)
	switch {
	case none != nil:
		return nil, fmt.Sprintf("%s is not allowed in it at all: %s", name, none.Text), nil
	case len(rules) == 0:
		return nil, fmt.Sprintf("no figure of %s limits what %s is known to hold", map[bool]string{false: "the law", true: "a survey"}[advice], name), nil
	case room(rules, id) <= 0:
		return nil, fmt.Sprintf("what else counts is at the limit already: %s", rules[0].Text), nil
	}
	top := j.mostOf(id)
	times, err := j.search(id, room(rules, id), top, advice)
	if err != nil {
		return nil, "", err
	}
	at, err := j.stand(id, times, advice)
	switch {
	case err != nil:
		return nil, "", err
	case times == top:
		return nil, fmt.Sprintf("even %s stays within", j.placesText(id, top)), nil
	case at.nearest == nil:
		return nil, fmt.Sprintf("no dose of %s was found that stays within", name), nil
	}
	f := at.nearest
	return &GreatestDose{Times: q.Number(times), Doses: j.places(id, times), Market: at.market, Rule: f.Rule, Status: f.Status, Reached: *f.Amount, Most: *f.Most}, "", nil
}

// search finds the most times of an ingredient, up to top, that keeps every rule. Guess
// is where the limit would be if ranges grew with the dose; they nearly do.
func (j judge) search(id string, guess, top float64, advice bool) (float64, error) {
	low, high := 0.0, min(guess*1.02, top)
	for {
		at, err := j.stand(id, high, advice)
		if err != nil {
			return 0, err
		}
		if !at.kept {
			break
		}
		if high == top {
			return top, nil
		}
		low, high = high, min(top, high*1.5)
	}
	const near, nothing = 1e-4, 1e-6 // of the guess: a scale too coarse for any dose
	next := max(low, guess*0.98)
	if next >= high {
		next = (low + high) / 2
	}
	for ; high-low > near*high && high > nothing*guess; next = (low + high) / 2 {
		at, err := j.stand(id, next, advice)
		if err != nil {
			return 0, err
		}
		if at.kept {
			low = next
		} else {
			high = next
		}
	}
	return low, nil
}

// counting lists the rules with a figure that count an ingredient; one that does not
// allow it at all comes by itself.
func counting(reports []limit.Report, id string, advice bool) (rules []limit.Finding, none *limit.Finding) {
	for _, m := range reports {
		for i, f := range m.List {
			switch {
			case f.Advisory != advice || brings(f, id) == 0:
			case f.Answer == limit.NotAllowed:
				return nil, &m.List[i]
			case f.Most != nil:
				rules = append(rules, f)
			}
		}
	}
	return rules, nil
}

// brings is how much an ingredient brings to a finding at most [mg/kg].
func brings(f limit.Finding, id string) float64 {
	sum := 0.0
	for _, p := range f.Parts {
		if p.Ingredient == id {
			sum += p.Brings.High
		}
	}
	return sum
}

// room is how many times what there is of an ingredient would reach a limit, if its
// range grew with it.
func room(rules []limit.Finding, id string) float64 {
	least := math.Inf(1)
	for _, f := range rules {
		own := brings(f, id)
		least = min(least, (float64(*f.Most)-(f.Amount.High-own))/own)
	}
	return least
}

// standing is how a recipe stands to the rules that count an ingredient.
type standing struct {
	kept    bool
	nearest *limit.Finding // to its limit; nil: none counts it
	market  string         // of the nearest
}

// stand judges the recipe with so many times of an ingredient.
func (j judge) stand(id string, times float64, advice bool) (standing, error) {
	in := j.in
	in.Recipe = j.with(id, times)
	holds, err := batch.Holds(in)
	if err != nil {
		return standing{}, err
	}
	at := standing{kept: true}
	for _, m := range j.reports(in.Recipe, holds) {
		rules, none := counting([]limit.Report{m}, id, advice)
		at.kept = at.kept && none == nil
		for _, f := range rules {
			at.kept = at.kept && f.Answer == limit.Within
			if at.nearest == nil || f.Amount.High/float64(*f.Most) > at.nearest.Amount.High/float64(*at.nearest.Most) {
				at.nearest, at.market = &f, m.Market
			}
		}
	}
	if advice {
		at.market = limit.Survey
	}
	return at, nil
}

// with returns the recipe with so many times of an ingredient in all its places.
func (j judge) with(id string, times float64) recipe.Recipe {
	rec := j.in.Recipe
	rec.Boil, rec.Additions = slices.Clone(rec.Boil), slices.Clone(rec.Additions)
	for i := range rec.Boil {
		if rec.Boil[i].Ingredient == id {
			rec.Boil[i].Mass *= q.Kilograms(times)
		}
	}
	for i := range rec.Additions {
		if rec.Additions[i].Ingredient == id {
			rec.Additions[i].Dose *= q.Fraction(times)
		}
	}
	return rec
}

// mostOf is how many times an ingredient is looked at, at most.
func (j judge) mostOf(id string) float64 {
	top := math.Inf(1)
	for _, a := range j.in.Recipe.Additions {
		if a.Ingredient == id && a.Dose > 0 {
			top = min(top, mostDoseAsked/float64(a.Dose))
		}
	}
	if math.IsInf(top, 1) {
		return mostTimes
	}
	return top
}

// places lists where an ingredient goes in, with so many times of it, rounded down.
func (j judge) places(id string, times float64) []DoseAt {
	u := j.book.Shop.Units
	var out []DoseAt
	rec := j.with(id, times)
	for _, p := range rec.Boil {
		if p.Ingredient == id {
			kg := q.Number(floored(float64(p.Mass)))
			out = append(out, DoseAt{Stage: "kettle", MassKg: &kg, Text: u.Mass(q.Kilograms(kg)) + " in the kettle, of the recipe as written"})
		}
	}
	for _, a := range rec.Additions {
		if a.Ingredient == id {
			dose := q.Number(floored(float64(a.Dose)))
			text := doseText(u, q.Fraction(dose))
			if a.Portion != "" {
				text += " of the " + portionName(rec, a.Portion)
			}
			out = append(out, DoseAt{Stage: string(a.Stage), Portion: a.Portion, Dose: &dose, Text: text})
		}
	}
	return out
}

// floored rounds down to three digits.
func floored(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Floor(v/step+1e-9) * step
}

// doseText prints a dose as recipes have it: in per cent from 1 % up, else in mg/kg.
func doseText(u q.Reader, f q.Fraction) string {
	if f >= 0.01 {
		return u.Percent(f, 2)
	}
	return u.MgKg(f)
}

func (j judge) placesText(id string, times float64) string {
	var out []string
	for _, p := range j.places(id, times) {
		out = append(out, p.Text)
	}
	return Listed(out)
}
