package web

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/limit"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// limitsView is how the sweets of a boil stand to the law of the shop's market.
type limitsView struct {
	Law, Advice limitsOfTable
	Most        []pair // of one ingredient, if that is asked
	NotCovered  []string
	Notes       []string
	Fault       *faultLine // why it could not be worked out
}

// limitsOfTable is what one table says.
type limitsOfTable struct {
	Title, Says, Edition string
	Rows                 []limitView
}

// limitView is one finding, with its slip.
type limitView struct {
	Rule, Answer string
	Bad, Worth   bool
	Text, Status string
	Slip         limitSlip
}

// limitSlip says what an amount is made of and where its rule is from.
type limitSlip struct {
	Key     string // by which the page knows it again when other figures come
	Formula string
	Rows    []pair
	Text    []string
	Sources []sourceView
}

// limitsIn works out the limits of the boil that the bench has worked out.
func (s *server) limitsIn(ctx context.Context, w *bench, most string) *limitsView {
	req, err := w.asked.Request("")
	var res *app.LimitsResult
	if err == nil {
		res, err = s.shop.LimitsIn(ctx, &w.book, app.LimitsRequest{Boil: req, Boiled: w.result, Date: s.shop.Today(w.book), Most: most})
	}
	if err != nil {
		return &limitsView{Fault: &faultLines(public(err))[0]}
	}
	return limitsOf(w.book.Shop.Units, res)
}

// limitsOf shows what the tables of one market say.
func limitsOf(u q.Reader, res *app.LimitsResult) *limitsView {
	v := &limitsView{}
	for _, m := range res.Markets {
		v.Law.Title, v.Law.Says = m.Title(), lawSays(m.Answer)
		for _, t := range m.Tables {
			of := &v.Law
			if t.Advisory() {
				of = &v.Advice
				of.Title = t.Title
			}
			of.Edition = fmt.Sprintf("Table from %s, its sources last looked at on %s.", plainDate(t.From), plainDate(t.Read))
		}
		for _, f := range m.List {
			of := &v.Law
			if f.Advisory {
				of = &v.Advice
			}
			of.Rows = append(of.Rows, limitOf(u, f))
		}
		v.NotCovered = append(v.NotCovered, m.NotCovered...)
	}
	if g := res.Most; g != nil {
		v.Most = []pair{{g.Name + " at most, by the law's figures", greatestText(u, g.Law, g.NoLaw)}, {g.Name + " at most, by what makers use", greatestText(u, g.Advice, g.NoAdvice)}}
	}
	for _, c := range res.Cautions {
		v.Notes = append(v.Notes, c.Text)
	}
	return v
}

// lawSays is the whole of a law's table in a sentence.
func lawSays(a limit.Answer) string {
	switch a {
	case limit.NotAllowed:
		return "It holds something that is not allowed."
	case limit.Over:
		return "It is over a limit."
	case limit.Borderline:
		return "It is close to a limit: the range crosses it."
	case limit.NotJudged:
		return "No limit that is known is passed; some of it is not judged."
	}
	return "It is within every limit of this table."
}

// answerWords says an answer of the law, and one of advice.
var answerWords = map[limit.Answer][2]string{
	limit.Within: {"within", "as makers use"}, limit.Borderline: {"borderline", "about the most"}, limit.Over: {"over", "more than makers use"},
	limit.NotAllowed: {"not allowed", "not allowed"}, limit.NoFigure: {"no figure", "no figure"}, limit.NotJudged: {"not judged", "not judged"},
}

func limitOf(u q.Reader, f limit.Finding) limitView {
	advice := 0
	if f.Advisory {
		advice = 1
	}
	v := limitView{Rule: sentence(cmp.Or(f.Rule, "not known")), Answer: answerWords[f.Answer][advice], Bad: f.Answer.Exceeded() && !f.Advisory,
		Worth: f.Answer == limit.Borderline || f.Answer == limit.NotJudged || f.Answer == limit.Over, Text: sentence(f.Text), Status: f.Status}
	v.Slip.Key = cmp.Or(f.Rule, f.Text)
	if f.Amount != nil {
		v.Slip.Formula, v.Slip.Rows = amountSlip(u, f)
	}
	for _, w := range f.Why {
		v.Slip.Text = append(v.Slip.Text, sentence(w)+".")
	}
	v.Slip.Sources = sourcesOf(f.Sources)
	return v
}

// amountSlip puts the numbers of an amount in: each line gives what it says, and their
// sum is the amount.
func amountSlip(u q.Reader, f limit.Finding) (formula string, rows []pair) {
	mgKg := func(v float64) string { return u.Digits(v, 4) + " mg/kg" }
	line := func(share, holds, gives float64) string {
		return mgKg(1e6*share) + " × " + u.Digits(100*holds, 4) + " % = " + mgKg(gives)
	}
	for _, p := range f.Parts {
		least, most := float64(p.LeastFrac), float64(p.MostFrac)
		text := line(p.SweetFrac.Value, (least+most)/2, p.Brings.Value)
		if p.Brings.High != p.Brings.Value {
			text += "; at most " + line(p.SweetFrac.High, most, p.Brings.High)
		}
		rows = append(rows, pair{p.Name + ", of it " + p.Substance, text})
	}
	total := mgKg(f.Amount.Value)
	if f.Amount.High != f.Amount.Value {
		total += "; at most " + mgKg(f.Amount.High)
	}
	rows = append(rows, pair{"together", total})
	return "in the sweet = ingredient in the sweet × what it holds, summed", rows
}

// greatestText says how much may go in at most.
func greatestText(u q.Reader, g *app.GreatestDose, none string) string {
	if g == nil {
		return "none found: " + none
	}
	var doses []string
	for _, d := range g.Doses {
		doses = append(doses, d.Text)
	}
	return fmt.Sprintf("%s, for %s, which then is %s; %s", strings.Join(doses, "; "), g.Rule, limit.Content(u, g.Reached, g.Most), g.Status)
}

// plainDate prints an ISO date as "28 November 2026".
func plainDate(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format("2 January 2006")
}

// askable lists what of a recipe can be asked how much of it may go in at most.
func (w *bench) askable(rc recipe.Recipe, chosen string) {
	seen := map[string]bool{}
	for _, a := range rc.Additions {
		if !seen[a.Ingredient] {
			seen[a.Ingredient] = true
			w.view.Most = append(w.view.Most, productView{a.Ingredient, ingredientName(&w.book, a.Ingredient), a.Ingredient == chosen})
		}
	}
}
