package web

import (
	"context"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// coloured is the sample shop whose yellow portion holds a dye near its limit.
func coloured(f *fakeShop, dose q.Fraction) {
	for i := range f.book.Ingredients {
		if in := &f.book.Ingredients[i]; in.ID == "green" {
			in.HoldsAll = true
			in.Holds = []ingredient.Hold{{Substance: "E 122", Share: 0.85, Most: 0.92, By: ingredient.BySheet}, {Substance: "E 133", Share: 0.02}}
		}
	}
	for i := range f.book.Recipes {
		if rec := &f.book.Recipes[i]; rec.ID == "pear" {
			rec.Additions = append([]recipe.Addition(nil), rec.Additions...)
			rec.Additions[1].Dose = dose
		}
	}
}

// The page of a recipe holds it against the law of the shop's market, and says what is
// law, what is advice, what is from memory and what is not judged.
func TestRecipe_Limits(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	coloured(f, 66e-6)
	p := ask(t, site, "GET", "/recipes/pear", nil)
	p.says(t, ".limits dt", "Azorubine alone over")
	p.says(t, ".limits dd", "Azorubine (E 122) in the yellow: 58.4 mg/kg (54.")
	p.says(t, ".limits dd", "at most 50 mg/kg. law; not confirmed, from memory")
	p.says(t, ".limits dt", "Colours of Group III together within")
	p.says(t, ".limits dt", "Not known not judged")
	p.says(t, ".limits dd", "Citric acid: this table has no row for it.")
	p.says(t, ".limits dt", "Acids together as makers use")
	p.says(t, ".limits dd", "makers use at most some 2 %. advice, no law")
	p.says(t, "#figures", "It is over a limit.")
	p.says(t, "#figures", "Table from 7 August 2022, its sources last looked at on 25 November 2026.")
	p.says(t, "#figures", "Not legal advice; the authority decides.")
	p.says(t, ".limits .sources", "reg1333-2008")
	if n := p.count(".limits .bad"); n != 1 {
		t.Errorf("%d findings in red", n)
	}
	// The oil of the other recipe states nothing, and is not taken to hold nothing.
	p = ask(t, site, "GET", "/recipes/clove", nil)
	p.says(t, ".limits dd", "What Clove oil holds of colours and flavour compounds is not stated.")
	p.says(t, "#figures", "No limit that is known is passed; some of it is not judged.")
}

// A dose that is typed otherwise is judged as it is typed, and how much may go in at
// most is answered for the ingredient that is chosen.
func TestRecipe_LimitsTried(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	coloured(f, 66e-6)
	p := ask(t, site, "GET", "/recipes/pear?f.addition.1.dose=40+ppm", nil)
	p.says(t, ".limits dt", "Azorubine alone within")
	p = ask(t, site, "GET", "/recipes/pear?most=green", nil)
	p.says(t, "#figures .pairs div", "Green colour at most, by the law's figures 52.")
	p.says(t, "#figures .pairs div", "for azorubine alone, which then is")
	p.says(t, "#figures .pairs div", "by what makers use none found: no figure of a survey limits what Green colour")
	if p.count("#most option[selected]") != 1 {
		t.Error("the choice is not kept")
	}
	ask(t, site, "GET", "/recipes/pear?most=nothing", nil).says(t, "#figures .wrong", `holds no "nothing"`)
	ask(t, site, "GET", "/recipes/pear?f.addition.1.dose=lots", nil).says(t, ".wrong", "lots")
}

// The limits follow what is typed: a slip that is open stays open where a finding comes
// before it, and the page is clean with all of them open.
func limitsFollow(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	coloured(f, 50e-6)
	srv := serve(t, New(f, fixtureOptions()))
	do(t, tab, size(390, 844), chromedp.Navigate(srv.URL+"/recipes/pear"))
	const slips = `[...document.querySelectorAll('.limits details')]`
	if !value(t, tab, chromedp.Evaluate[bool](slips+`.some(d => d.dataset.key === 'limit: colours of Group III together' && (d.open = true))`)) {
		t.Fatal("the sum of colours has no slip")
	}
	over := value(t, tab, chromedp.Evaluate[string](`new Promise(done => {
		const dose = document.querySelector('[name="f.addition.1.dose"]');
		dose.value = '80 ppm';
		dose.dispatchEvent(new Event('input', {bubbles: true}));
		const look = setInterval(() => {
			const tag = document.querySelector('.limits .tag.bad');
			if (tag) { clearInterval(look); done(tag.parentElement.textContent); }
		}, 20);
	})`, chromedp.EvalAwaitPromise))
	if !strings.Contains(over, "Azorubine alone over") {
		t.Errorf("in red stands %q", over)
	}
	open := value(t, tab, chromedp.Evaluate[string](slips+`.filter(d => d.open).map(d => d.dataset.key).join('; ')`))
	if open != "limit: colours of Group III together" {
		t.Errorf("open are %q", open)
	}
	value(t, tab, chromedp.Evaluate[bool](slips+`.every(d => d.open = true)`))
	clean(t, tab, "the limits")
	if d := overflow(t, tab); d > 0 {
		t.Errorf("%.0f pixels wider than the window", d)
	}
}

// Every slip computes: each line's numbers give what it says, and their sum is the
// amount.
func TestLimits_SlipsCompute(t *testing.T) {
	t.Parallel()
	f := newFakeShop()
	coloured(f, 66e-6)
	product := regexp.MustCompile(`([0-9.]+) mg/kg × ([0-9.]+) % = ([0-9.]+) mg/kg`)
	lines := 0
	for _, id := range []string{"pear", "clove"} {
		res, err := app.LimitsOf(&f.book, app.LimitsRequest{Boil: app.BoilRequest{Recipe: id}, Date: fixtureDay, Markets: []string{"eu", "us", "ca"}})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range res.Markets {
			for _, x := range m.List {
				if x.Amount == nil {
					continue
				}
				_, rows := amountSlip(q.Plain, x)
				var sum, most float64
				for _, r := range rows[:len(rows)-1] {
					found := product.FindAllStringSubmatch(r.Text, -1)
					for i, n := range found {
						a, b, c := numberIn(t, n[1]), numberIn(t, n[2]), numberIn(t, n[3])
						lines++
						if math.Abs(a*b/100-c) > 1e-3*c {
							t.Errorf("%s: %s", x.Rule, r.Text)
						}
						if i == 0 {
							sum += c
						}
						if i == len(found)-1 {
							most += c
						}
					}
				}
				total := regexp.MustCompile(`[0-9.]+`).FindAllString(rows[len(rows)-1].Text, -1)
				if math.Abs(numberIn(t, total[0])-sum) > 2e-3*sum || math.Abs(numberIn(t, total[len(total)-1])-most) > 2e-3*most {
					t.Errorf("%s: lines come to %g and %g, the slip says %s", x.Rule, sum, most, rows[len(rows)-1].Text)
				}
				// And it is the figure of the line above it.
				shown, err := strconv.ParseFloat(strings.Fields(x.Text[strings.LastIndex(x.Text, ": ")+2:])[0], 64)
				if err != nil {
					t.Fatal(err)
				}
				if strings.Contains(x.Text, " mg/kg") && math.Abs(shown-x.Amount.Value) > 6e-3*x.Amount.Value {
					t.Errorf("%s: %g shown, %g computed", x.Rule, shown, x.Amount.Value)
				}
			}
		}
	}
	if lines < 8 {
		t.Errorf("only %d lines were computed", lines)
	}
}
