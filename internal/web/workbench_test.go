package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
)

// figureOn returns a figure of a recipe's page as it is printed.
func figureOn(t *testing.T, p page, name string) string {
	t.Helper()
	for _, n := range all(p.root, ".facts div") {
		if s := words(n); strings.HasPrefix(s, name+" ") {
			return strings.TrimSpace(strings.TrimPrefix(s, name))
		}
	}
	t.Fatalf("no figure %q on the page", name)
	return ""
}

// What is typed is worked out, said, held against the recipe as kept, and not kept.
func TestBench(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	b, head := bookOf(t, a)
	rc := b.Recipes[0]
	at := "/recipes/" + rc.ID
	asIs := ask(t, site, "GET", at, nil)
	water := figureOn(t, asIs, "water left")

	// Sent back as it stands it is the recipe itself.
	same := url.Values{}
	for _, n := range all(asIs.root, "#bench input") {
		name, _ := attrOf(n, "name")
		v, _ := attrOf(n, "value")
		same.Set(name, v)
	}
	p := ask(t, site, "GET", at+"?"+same.Encode(), nil)
	if len(all(p.root, ".tried")) != 0 || figureOn(t, p, "water left") != water {
		t.Error("what was only sent back is taken for a trial")
	}

	p = ask(t, site, "GET", at+"?"+url.Values{"f.water_left": {"3.5 %"}}.Encode(), nil)
	p.says(t, ".tried li", "water left of: 3.5 %")
	p.says(t, "#figures", "Held against the recipe as kept")
	if got := figureOn(t, p, "water left"); !strings.HasPrefix(got, "3.5 %") || !strings.Contains(got, "against "+strings.Fields(water)[0]) {
		t.Errorf("water left %q, as kept %q", got, water)
	}
	if now, h := bookOf(t, a); h != head || now.Recipes[0].WaterLeft != rc.WaterLeft {
		t.Error("what was tried has been kept")
	}
	// It can be put into the recipe, and is kept when that is saved.
	keep := ""
	for _, n := range all(p.root, ".tried a") {
		if href, _ := attrOf(n, "href"); strings.Contains(href, "f.water_left") {
			keep = href
		}
	}
	form := ask(t, site, "GET", keep, nil)
	form.says(t, ".lead", "not kept yet")
	sent := sentBack(form)
	sent.Set("act", "save")
	if p := ask(t, site, "POST", thingHref("recipe", rc.ID), sent); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("%d: %s", p.StatusCode, p.body)
	}
	if now, _ := bookOf(t, a); now.Recipes[0].WaterLeft != 0.035 || now.Recipes[0].BoilTo != 0 {
		t.Errorf("kept: water left %v, boil to %v", now.Recipes[0].WaterLeft, now.Recipes[0].BoilTo)
	}
	// Now there are two versions to lay beside.
	p = ask(t, site, "GET", at+"?beside=version-1", nil)
	p.says(t, "#figures", "Held against version 1")
	if got := figureOn(t, p, "water left"); !strings.Contains(got, "against "+strings.Fields(water)[0]) {
		t.Errorf("against version 1: %q, it was %q", got, water)
	}
	ask(t, site, "GET", at+"?beside="+b.Recipes[1].ID, nil).says(t, "#figures", "Held against "+b.Recipes[1].Name)
	if p := ask(t, site, "GET", at+"?beside=version-9", nil); len(all(p.root, ".was")) != 0 {
		t.Error("a version that is not there is held against")
	}
}

// The boil is scaled by the kettle, pieces, bags or one ingredient, and its end is
// found for what it shall stand up to; what cannot be is said where it is typed.
func TestBench_ScaleAndSolve(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	b, _ := bookOf(t, a)
	rc := b.Recipes[0]
	ask := func(v url.Values) page { return ask(t, site, "GET", "/recipes/"+rc.ID+"?"+v.Encode(), nil) }
	weighed := func(p page, name string) string {
		for _, n := range all(p.root, ".ledger tr") {
			if s := words(n); strings.HasPrefix(s, name+" ") {
				return s
			}
		}
		return ""
	}
	sugar := b.Ingredients[0]
	p := ask(url.Values{"scale": {"10 lb"}, "of": {"ingredient-" + sugar.ID}})
	if got := weighed(p, sugar.Name); !regexp.MustCompile(`\b(10 lb 0 oz|9 lb 1[56]\.?\d* oz)`).MatchString(got) {
		t.Errorf("scaled to 10 lb of sugar it weighs %q", got)
	}
	p = ask(url.Values{"stands": {"110 F"}})
	if got := figureOn(t, p, "stands up to"); !strings.HasPrefix(got, "110 °F") {
		t.Errorf("asked to stand up to 110 °F: %q", got)
	}
	for name, v := range map[string]url.Values{
		"not an amount":        {"f.boil.0.mass": {"lots"}},
		"outside the schema":   {"f.boil_to": {"60 F"}},
		"an end out of reach":  {"stands": {"190 F"}},
		"no temperature":       {"stands": {"warm"}},
		"no charge":            {"scale": {"much"}},
		"not in it":            {"scale": {"1 lb"}, "of": {"ingredient-nothing"}},
		"no number of bags":    {"scale": {"1 lb"}, "of": {"pear-bag"}},
		"more than the kettle": {"scale": {"400 lb"}},
	} {
		p := ask(v)
		if p.StatusCode != http.StatusOK || len(all(p.root, ".wrong")) == 0 || len(all(p.root, ".facts")) != 0 {
			t.Errorf("%s: %d, %d faults", name, p.StatusCode, len(all(p.root, ".wrong")))
		}
	}
	ask(url.Values{"f.boil.0.mass": {"lots"}}).says(t, ".bench-field .field-error", "lots")
}

// A doctor is dosed for an invert, and the dose stands in its field to be kept.
func TestBench_Doctor(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	if p := ask(t, site, "GET", "/recipes/"+f.book.Recipes[0].ID, nil); strings.Contains(p.one(t, "#bench"), "dose the tartar") {
		t.Error("a recipe without a doctor offers to dose it")
	}
	kept, a := keptSite(t)
	b, head := bookOf(t, a)
	b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "tartar", Name: "Cream of tartar", Kind: ingredient.Doctor, Solids: 1, Statement: "stated"})
	b.Recipes[0].Boil = []recipe.Part{{Ingredient: "sugar", Mass: 6.35}, {Ingredient: "tartar", Mass: 0.007}, {Ingredient: "water", Mass: 2.2}}
	b.Recipes[0].Additions = nil
	if _, err := a.Import(t.Context(), b, "test", ""); err != nil {
		t.Fatal(err, head)
	}
	at := "/recipes/" + b.Recipes[0].ID
	p := ask(t, kept, "GET", at+"?invert=15+%25", nil)
	if got := figureOn(t, p, "invert sugar"); !strings.HasPrefix(got, "15 %") {
		t.Errorf("dosed for 15 %%: %q", got)
	}
	p.says(t, ".tried li", "Cream of tartar")
	// It is dosed for the boil as it is tried, not as it is kept.
	for _, also := range []string{"&f.boil_to=142+C", "&stands=25+C", "&f.boil.2.mass=3+kg", "&scale=5+kg"} {
		if got := figureOn(t, ask(t, kept, "GET", at+"?invert=9+%25"+also, nil), "invert sugar"); !strings.HasPrefix(got, "9 %") {
			t.Errorf("dosed for 9 %% with %s: %q", also, got)
		}
	}
	// The same with glucose syrup, beside it, and as a recipe of its own.
	p = ask(t, kept, "GET", at+"?doctor=switch", nil)
	p.says(t, ".tried", "Glucose syrup instead of Cream of tartar")
	p.says(t, ".tried li", "it may wait below its hold point")
	p.says(t, "#figures", "Held against the recipe as kept")
	if got := figureOn(t, p, "stands up to"); !strings.Contains(got, "the same") {
		t.Errorf("with the other doctor it stands up to %q", got)
	}
	for _, n := range all(p.root, ".tried a") {
		if href, _ := attrOf(n, "href"); strings.HasPrefix(href, newHref("recipe")) {
			form := ask(t, kept, "GET", href, nil)
			form.says(t, ".lead", "not kept yet")
			sent := sentBack(form)
			sent.Set("act", "save")
			if p := ask(t, kept, "POST", newHref("recipe"), sent); p.StatusCode != http.StatusSeeOther {
				t.Fatalf("%d: %s", p.StatusCode, p.body)
			}
		}
	}
	if now, _ := bookOf(t, a); len(now.Recipes) != len(b.Recipes)+1 || len(now.Recipes[len(b.Recipes)].Boil) != 3 {
		t.Error("the recipe with the other doctor is not kept as one of its own")
	}
	ask(t, kept, "GET", at+"?invert=80+%25", nil).says(t, ".bench-field .field-error", "more than the boil makes")
}

// With script every figure follows what is typed, without a key pressed more.
func TestBench_Follows(t *testing.T) {
	t.Parallel()
	tab := newBrowser(t)
	site, _ := keptSite(t)
	srv := serve(t, site)
	do(t, tab, size(1280, 900), chromedp.Navigate(srv.URL+"/recipes/"+shoptest.Book().Recipes[0].ID))
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#figures .facts")))
	retype(t, tab, `[id="f.water_left"]`, "3.5 %")
	says := func(what, js string) {
		t.Helper()
		for range 100 {
			if value(t, tab, chromedp.Evaluate[bool](js)) {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("%s: %s", what, value(t, tab, chromedp.Text(chromedp.CSS("#main"))))
	}
	says("the figures do not follow", `document.getElementById('figures').textContent.includes('3.5 %') && document.getElementById('tried').textContent.includes('Tried, not kept')`)
	says("the address does not", `location.search.includes('f.water_left=3.5')`)
	says("the field has lost its place", `document.activeElement.id === 'f.water_left' && document.activeElement.value === '3.5 %'`)
	retype(t, tab, `[id="f.water_left"]`, "dry")
	says("a fault is not said at its field", `document.getElementById('says-f.water_left').textContent.includes('dry') && document.getElementById('f.water_left').getAttribute('aria-invalid') === 'true'`)
	clean(t, tab, "the workbench with a fault")
	srv.CloseClientConnections()
	srv.Close()
	retype(t, tab, `[id="f.water_left"]`, "3 %")
	says("nobody is told that it is not live", `document.getElementById('figures').textContent.includes('NOT LIVE since')`)
}

// Every addition says what it brings, what flashes off, what stays and when it goes in;
// an acid is changed for one as sour, an oil dosed for what stays, cook-back reckoned.
func TestBench_Additions(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	b, _ := bookOf(t, a)
	b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "malic", Name: "Malic acid", Kind: ingredient.Acid, Acid: ingredient.Malic, Solids: 1, Statement: "stated"})
	if _, err := a.Import(t.Context(), b, "test", ""); err != nil {
		t.Fatal(err)
	}
	pear, beads := "/recipes/pear-barrels", "/recipes/aniseed-beads"
	p := ask(t, site, "GET", pear, nil)
	p.says(t, ".addition", "Green colour, liquid , at the end of the boil")
	p.says(t, ".added .pairs div", "water and spirit it brings 0.")
	p.says(t, ".added .slip", "greweling2007")
	if len(all(p.root, ".addition")) != 3 || len(all(p.root, ".added .tag.bad")) != 0 {
		t.Errorf("%d additions, %d out of their window", len(all(p.root, ".addition")), len(all(p.root, ".added .tag.bad")))
	}
	// A dose too small for the scale is said once, by its stock solution.
	if n := strings.Count(p.one(t, "#figures"), "half a division of the scale"); n != 2 {
		t.Errorf("two doses are too small for the scale, said %d times", n)
	}

	p = ask(t, site, "GET", pear+"?sour=malic", nil)
	p.says(t, ".tried p", "Malic acid instead of Citric acid, anhydrous.")
	p.says(t, ".tried p", "0.51 % (0.48–0.54), estimated, is as sour to the tongue as Citric acid, anhydrous at 0.6 %")
	p.says(t, ".addition", "Malic acid")
	// Sent back as it stands it is the same, not changed twice.
	again := url.Values{}
	for _, n := range all(p.root, "#bench input") {
		name, _ := attrOf(n, "name")
		v, _ := attrOf(n, "value")
		again.Set(name, v)
	}
	again.Set("sour", "malic")
	p = ask(t, site, "GET", pear+"?"+again.Encode(), nil)
	p.says(t, ".tried p", "0.51 % (0.48–0.54)")
	// It can be put into the recipe.
	for _, n := range all(p.root, ".tried a") {
		if href, _ := attrOf(n, "href"); strings.Contains(href, "malic") {
			sent := sentBack(ask(t, site, "GET", href, nil))
			sent.Set("act", "save")
			if p := ask(t, site, "POST", thingHref("recipe", "pear-barrels"), sent); p.StatusCode != http.StatusSeeOther {
				t.Fatalf("%d: %s", p.StatusCode, p.body)
			}
		}
	}
	now, _ := bookOf(t, a)
	if x := now.Recipes[0].Additions[1]; x.Ingredient != "malic" || x.Dose < 0.00509 || x.Dose > 0.00511 {
		t.Errorf("kept: %+v", x)
	}
	ask(t, site, "GET", pear+"?sour=lactic", nil).says(t, "#says-sour .field-error", "no figure")

	p = ask(t, site, "GET", beads+"?oil=450+ppm", nil)
	p.says(t, ".added .pairs div", "in the sweet 450 mg/kg")
	p.says(t, ".tried li", "Aniseed oil: 500 ppm")
	ask(t, site, "GET", beads+"?oil=much", nil).says(t, ".bench-field .field-error", "much")
	if strings.Contains(ask(t, site, "GET", pear, nil).one(t, "#bench"), "dose the oil") {
		t.Error("a recipe without an oil offers to dose it")
	}

	p = ask(t, site, "GET", beads+"?cook=10+%25", nil)
	p.says(t, ".tried li", "cooked back, boil after boil: 10 %")
	p.says(t, "#figures", "Held against the recipe as kept")
	p.says(t, ".cautions li", "never melted dry")
	if got := figureOn(t, p, "inverted, against fresh sugar"); !strings.HasPrefix(got, "1.11 times") {
		t.Errorf("at 10 %% of cook-back %q", got)
	}
	for _, wrong := range []string{"60 %", "lots"} {
		ask(t, site, "GET", beads+"?"+url.Values{"cook": {wrong}}.Encode(), nil).says(t, ".bench-field .field-error", strings.TrimSuffix(wrong, " %"))
	}
}

// With script the lines of the additions follow too, on a tablet and on a telephone, and
// a choice that cannot be is said at its field.
func TestBench_AdditionsFollow(t *testing.T) {
	t.Parallel()
	tab := newBrowser(t)
	site, a := keptSite(t)
	b, _ := bookOf(t, a)
	b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "malic", Name: "Malic acid", Kind: ingredient.Acid, Acid: ingredient.Malic, Solids: 1, Statement: "stated"})
	if _, err := a.Import(t.Context(), b, "test", ""); err != nil {
		t.Fatal(err)
	}
	srv := serve(t, site)
	says := func(what, js string) {
		t.Helper()
		for range 100 {
			if value(t, tab, chromedp.Evaluate[bool](js)) {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("%s: %s", what, value(t, tab, chromedp.Text(chromedp.CSS("#main"))))
	}
	choose := func(acid string) {
		value(t, tab, chromedp.Evaluate[bool](`{ const s = document.getElementById('sour'); s.value = '`+acid+`'; s.dispatchEvent(new Event('input', { bubbles: true })); true }`))
	}
	for _, wide := range []int64{1280, 390} {
		do(t, tab, size(wide, 900), chromedp.Navigate(srv.URL+"/recipes/pear-barrels"), chromedp.WaitVisible(chromedp.CSS(".addition")))
		choose("malic")
		says("the additions do not follow", `document.querySelector('.added').textContent.includes('Malic acid') && document.getElementById('tried').textContent.includes('as sour to the tongue')`)
		choose("lactic")
		says("a fault is not said at its field", `document.getElementById('says-sour').textContent.includes('no figure') && document.getElementById('sour').getAttribute('aria-invalid') === 'true'`)
		choose("")
		says("the fault stays", `document.getElementById('says-sour').textContent === '' && document.querySelector('.added').textContent.includes('Citric acid')`)
		retype(t, tab, "#cook", "10 %")
		says("cook-back does not follow", `document.getElementById('figures').textContent.includes('inverted, against fresh sugar')`)
		says("it scrolls sideways", `document.documentElement.scrollWidth <= innerWidth`)
		clean(t, tab, "the additions of a recipe")
	}
}
