package app

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/limit"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// LimitsRequest asks how the sweets of one boil stand to the law.
type LimitsRequest struct {
	Boil    BoilRequest // of a recipe
	Markets []string    // whose law; nil: the shop's own market
	Date    string      // ISO date on which the law holds
	Most    string      // an ingredient whose greatest dose is looked for; empty: none

	Boiled *BoilResult // the same boil of the same book, if it is worked out already
}

// LimitsResult answers a LimitsRequest; JSON is the contract of the limits command.
type LimitsResult struct {
	Recipe   string         `json:"recipe"`
	Name     string         `json:"name"`
	Date     string         `json:"date"`
	Units    q.Reader       `json:"units"`
	Markets  []limit.Report `json:"markets"`
	Most     *Greatest      `json:"most"` // null: not asked
	Cautions []Caution      `json:"cautions"`
	Sources  []string       `json:"sources"`
}

// Exceeded reports whether a law of any market is passed for sure.
func (r *LimitsResult) Exceeded() bool {
	return slices.ContainsFunc(r.Markets, func(m limit.Report) bool { return m.Answer.Exceeded() })
}

// Limits holds one boil of a recipe of the book against the law; without a date, as it
// is today.
func (a *App) Limits(ctx context.Context, r LimitsRequest) (*LimitsResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	r.Date = cmp.Or(r.Date, a.Today(b))
	return a.LimitsIn(ctx, &b, r)
}

// LimitsIn holds one boil of a book as it would be against the law, with what the kept
// records teach of it.
func (a *App) LimitsIn(ctx context.Context, b *book.Book, r LimitsRequest) (*LimitsResult, error) {
	var err error
	if r.Boil.Taught, err = a.taught(ctx, b); err != nil {
		return nil, err
	}
	return LimitsOf(b, r)
}

// LimitsOf holds one boil of a recipe of a book against the law. It depends on nothing
// but its arguments.
//
// Faults: those of the boil; Invalid for a date or a market that cannot be meant;
// NotFound for an ingredient that is not in the recipe.
func LimitsOf(b *book.Book, r LimitsRequest) (*LimitsResult, error) {
	if r.Boil.Recipe == "" {
		return nil, fault.Invalid("no recipe").At("recipe").WithHint("slabside export recipes lists them")
	}
	if _, err := time.Parse(time.DateOnly, r.Date); err != nil {
		return nil, fault.Invalid("%q is no date", fault.Clip(r.Date, fault.Echo)).At("date").WithHint("write it as 2026-11-28")
	}
	if len(r.Markets) == 0 {
		r.Markets = []string{b.Shop.Market}
	}
	for _, m := range r.Markets {
		if !slices.Contains(limit.Markets(), m) {
			return nil, fault.Invalid("there is no table of the law of %q", fault.Clip(m, fault.Echo)).At("market").WithHint("one of %s", strings.Join(limit.Markets(), ", "))
		}
	}
	var set settled
	var holds []boil.PortionHolds
	var err error
	if of := r.Boiled; of != nil && of.settled.book != nil {
		set = of.settled
		holds, err = of.predicted.Holds()
	} else if set, err = r.Boil.settle(b); err == nil {
		holds, err = batch.Holds(set.in)
	}
	if err != nil {
		return nil, err
	}
	j := judge{book: b, in: set.in, markets: Once(r.Markets), date: r.Date}
	out := &LimitsResult{Recipe: set.in.Recipe.ID, Name: set.in.Recipe.Name, Date: r.Date, Units: b.Shop.Units, Cautions: []Caution{}, Sources: []string{}}
	out.Markets = j.reports(set.in.Recipe, holds)
	if r.Most != "" {
		if out.Most, err = j.greatest(r.Most, out.Markets); err != nil {
			return nil, err
		}
	}
	for _, m := range out.Markets {
		for _, f := range m.List {
			out.Sources = append(out.Sources, f.Sources...)
		}
	}
	out.Sources = append([]string{}, Once(out.Sources)...)
	for _, c := range []caution.Code{caution.NotLegal, caution.FlavourSurvey} {
		out.Cautions = append(out.Cautions, Caution{Code: string(c), Text: caution.Text(c)})
	}
	return out, nil
}

// judge holds recipes against the law of some markets on a date.
type judge struct {
	book    *book.Book
	in      batch.Inputs
	markets []string
	date    string
}

// reports judges a boil of a recipe by what its portions hold.
func (j judge) reports(rec recipe.Recipe, holds []boil.PortionHolds) []limit.Report {
	var sweets []limit.Sweet
	for _, h := range holds {
		s := limit.Sweet{ID: h.ID}
		if len(holds) > 1 {
			s.Name = portionName(rec, h.ID)
		}
		for _, x := range h.Ingredients {
			s.Brings = append(s.Brings, limit.Brought{Ingredient: x.Ingredient, Share: x.Share})
		}
		s.Brings = append(s.Brings, j.finish(rec)...)
		sweets = append(sweets, s)
	}
	var out []limit.Report
	for _, m := range j.markets {
		out = append(out, limit.Judge(limit.Inputs{Market: m, Date: j.date, Sweets: sweets, Units: j.book.Shop.Units}))
	}
	return out
}

// finish is what a sweet is dusted or sanded with. What is in it already is not taken
// to be any less for that.
func (j judge) finish(rec recipe.Recipe) []limit.Brought {
	in, ok := j.book.Ingredient(rec.FinishWith)
	if !ok || !(rec.FinishGain > 0) {
		return nil
	}
	gain := float64(rec.FinishGain)
	return []limit.Brought{{Ingredient: in, Share: q.ExactOf(gain / (1 + gain))}}
}

// portionName is what a portion is called by its colour.
func portionName(rec recipe.Recipe, id string) string {
	for _, p := range rec.Portions {
		if p.ID == id {
			return cmp.Or(p.Colour, p.ID)
		}
	}
	return id
}
