package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// addresses says where to find an example of every page of the router. Another
// pattern, or one that is gone, fails TestAddresses.
var addresses = map[string]string{
	"/{$}":              "/",
	"/to-make":          "/to-make",
	"/to-make/csv":      "/to-make/csv",
	"/batch/{id}":       "/batch/2026-11-28-4",
	"/recipes":          "/recipes",
	"/recipes/{id}":     "/recipes/pear",
	"/records":          "/records",
	"/records/{id}":     "/records/" + fixtureBatch,
	"/weigh-in":         "/weigh-in",
	"/stores":           "/stores",
	"/stores/count":     "/stores/count",
	"/stores/{lot}":     "/stores/" + fixtureLot,
	"/packing":          "/packing",
	"/care":             "/care",
	"/care/{kind}/{id}": "/care/rolls/leaf",
	"/trouble/{id}":     "/trouble/" + fixtureBatch,

	"/packing/when":  "/packing/when",
	"/packing/{lot}": "/packing/" + fixtureBags,

	"/readings": "/readings?batch=" + fixtureBatch,

	"/learned": "/learned",
	"/room":    "/room",

	"/hold":              "/hold",
	"/slab":              "/slab",
	"/slab/{batch}":      "/slab/" + fixtureBatch,
	"/trace/{id}":        "/trace/" + fixtureBags,
	"/weigh-in/{batch}":  "/weigh-in/" + fixtureBatch,
	"/look-back/{glass}": "/look-back/glass",
	"/start":             "/start",
	"/book":              "/book",
	"/book/{kind}":       "/book/day",

	"/book/{kind}/{id}":     "/book/recipe/pear",
	"/new/{kind}":           "/new/product",
	"/versions/{kind}":      "/versions/room",
	"/versions/{kind}/{id}": "/versions/recipe/pear",
	"/people":               "/people",
	"/sign-in":              "/sign-in",
	"/pin":                  "/pin",
	"/pair":                 "/pair",
}

// moreAddresses are states of a page that look different from its example.
var moreAddresses = []string{
	"/?first=pear&start=07%3A30&without-hand=ben",
	"/batch/2026-11-28-4?first=pear",
}

// pageAddresses lists the example of every page of the router, in its order.
func pageAddresses(t testing.TB) []string {
	t.Helper()
	s := &server{}
	var out []string
	for _, rt := range s.routes() {
		if !rt.page {
			continue
		}
		a, ok := addresses[rt.pattern]
		if !ok {
			t.Fatalf("the router has a page %s without an example in the tests", rt.pattern)
		}
		out = append(out, a)
	}
	if len(out) != len(addresses) {
		t.Fatalf("%d examples for %d pages of the router", len(addresses), len(out))
	}
	return append(out, moreAddresses...)
}

func TestPages_FullAndEmpty(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	empty := newFakeShop()
	empty.book = book.Book{Shop: empty.book.Shop}
	none := newFakeShop()
	none.bookErr = fault.NotFound("no shop book here")
	for _, a := range pageAddresses(t) {
		t.Run(strings.ReplaceAll(a, "/", "_"), func(t *testing.T) {
			t.Parallel()
			p := ask(t, site, "GET", a, nil)
			if p.StatusCode != http.StatusOK {
				t.Fatalf("status %d", p.StatusCode)
			}
			for _, want := range []string{"main h1", "nav", "header", "footer", "a.skip", "head title"} {
				if p.count(want) != 1 {
					t.Errorf("%d %q, want 1", p.count(want), want)
				}
			}
			if strings.Contains(p.body, "ZgotmplZ") || strings.Contains(p.body, "%!") || strings.Contains(p.body, "NaN") {
				t.Error("the page holds a value that could not be printed")
			}
			if p.count("[style]") != 0 || p.count("style") != 0 || p.count("[onclick]") != 0 {
				t.Error("the page holds inline style or script")
			}
			for _, s := range all(p.root, "script") {
				if _, ok := attrOf(s, "src"); !ok {
					t.Error("the page holds an inline script")
				}
			}
			// Nothing of a book that is empty, or not there, may break a page.
			for name, shop := range map[string]*fakeShop{"empty": empty, "none": none} {
				p := ask(t, New(shop, Options{}), "GET", a, nil)
				if p.StatusCode != http.StatusOK && p.StatusCode != http.StatusNotFound {
					t.Errorf("%s book: status %d", name, p.StatusCode)
				}
				if p.count("main h1") != 1 {
					t.Errorf("%s book: no heading", name)
				}
			}
		})
	}
}

func TestPages_EmptySaysWhatFirst(t *testing.T) {
	t.Parallel()
	none := newFakeShop()
	none.bookErr = fault.NotFound("no shop book here")
	for _, a := range []string{"/", "/to-make", "/recipes", "/room"} {
		ask(t, New(none, Options{}), "GET", a, nil).says(t, ".first code", "slabside demo")
	}
	nothing := newFakeShop()
	nothing.book.ToMake = nil
	p := ask(t, New(nothing, Options{}), "GET", "/", nil)
	p.says(t, ".first a[href=/to-make]", "Write the bags to make")
	if nothing.plans != 0 {
		t.Error("a day without lines was planned")
	}
}

func TestDay(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/", nil)
	p.says(t, ".title .date", "Saturday 28 November 2026")
	// At 9:41 the flame of boil 2 is up since 9:36; the next act is the hold point at 9:52.
	p.says(t, "#next-h", "Next")
	p.says(t, "#next-time", "9:52")
	p.says(t, "#next-verb", "watch from")
	if got, want := p.count("ol.clock li"), len(fixturePlan(t).Clock); got != want {
		t.Errorf("%d moments on the clock, want %d", got, want)
	}
	if done, past := p.count("#done li"), p.count("ol.clock li.is-past"); done != past || done == 0 {
		t.Errorf("%d moments are past, %d folded away", past, done)
	}
	if got := p.count("ol.clock li.is-next"); got != 1 {
		t.Errorf("%d moments are next", got)
	}
	if got := p.count("article.step"); got != 7 {
		t.Errorf("%d boils, want 7", got)
	}
	p.says(t, ".step-why li", "Moved one place earlier the day would end 6 min later.")
	p.says(t, ".changeover", "Wash slab, hook and scrapers, 20 min: mint carries over and clove barrels is easily tainted")
	p.says(t, ".trouble li", "Nut asks for an allergen clean")
	p.says(t, ".trouble li", "Everything fits if the day is 24 min longer: open about 7:30, or close at 18:00.")
	p.says(t, ".ledger tr", "Mint leaves 113 g shelf 40 38 (34–40) estimated 42 %")
	p.says(t, ".ledger tr", "Almond beads 113 g not in the day")
	p.says(t, ".more", "Proved: no order of these boils does better")
	p.says(t, ".cautions li", "Predictions never overrule the thermometer.")
	for _, want := range []string{"a[href=/day.pdf?date=2026-11-28]", "a[href=/sheets.pdf?date=2026-11-28]", "svg.tt[role=img]", "#now-line"} {
		if p.count(want) != 1 {
			t.Errorf("%d %q, want 1", p.count(want), want)
		}
	}
	if strings.Contains(p.one(t, "main"), "..") {
		t.Error("a sentence ends with two stops")
	}
}

// A search that was cut short is said on the page, not only on the slip.
func TestDay_StoppedEarly(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	if ask(t, site, "GET", "/", nil).count(".stopped") != 0 {
		t.Error("a proved day is called cut short")
	}
	for by, want := range map[string]string{app.ByClock: "Not proved: the search took too long", app.ByBudget: "Not proved: the search ended at"} {
		f.stopped = by
		p := ask(t, site, "GET", "/", nil)
		p.says(t, ".stopped", "a better one may exist")
		p.says(t, ".more", want)
	}
}

func TestDay_AnotherDate(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/?date=2026-12-05&start=07:30", nil)
	p.says(t, "#next-h", "First flame")
	p.says(t, "#next-time", "8:46")
	if p.count("[data-today]") != 0 {
		t.Error("another day claims to be today")
	}
	if p.count("a[href=/batch/2026-12-05-1?start=07%3A30]") == 0 {
		t.Error("the start is lost on the way to the batch sheet")
	}
	for _, bad := range []string{"/?date=soon", "/?date=2026-13-01", "/?date=2026-12-05&start=noon", "/day.pdf?date=x", "/batch/soon-1"} {
		p := ask(t, site, "GET", bad, nil)
		if p.StatusCode != 422 && p.StatusCode != 404 {
			t.Errorf("%s: status %d", bad, p.StatusCode)
		}
	}
}

// The drawing and the table say the same.
func TestTimetable_SameAsTable(t *testing.T) {
	t.Parallel()
	plan := fixturePlan(t)
	tt := drawTimetable(plan)
	bars, drawn, breaks := 0, 0, 0
	for _, r := range plan.Rows {
		for _, b := range r.Bars {
			bars++
			if b.Stage == "break" {
				breaks++ // one band over all rows
			}
		}
	}
	for _, r := range tt.Rows {
		drawn += len(r.Bars)
		for i, a := range r.Bars {
			if a.X < tt.X0 || a.X+a.W > tt.X1+0.2 {
				t.Errorf("row %s: a bar from %.1f to %.1f leaves the day", r.Name, a.X, a.X+a.W)
			}
			for _, b := range r.Bars[:i] {
				if a.Y == b.Y && a.X < b.X+b.W-0.2 && b.X < a.X+a.W-0.2 {
					t.Errorf("row %s: %q covers %q", r.Name, a.Title, b.Title)
				}
			}
		}
	}
	if drawn != bars-breaks || breaks == 0 || len(tt.Table) != bars {
		t.Errorf("%d bars drawn and %d in the table, want %d", drawn, len(tt.Table), bars)
	}
	for _, h := range tt.Hot {
		sum := 0.0
		for _, s := range h.Segments {
			sum += s.W
		}
		if d := sum - h.W; d > 0.5 || d < -0.5 {
			t.Errorf("%s: the parts of the hot run are %.1f wide, the whole %.1f", h.Title, sum, h.W)
		}
	}
	if len(tt.Hot) != 7 || len(tt.Pins) != 2 || len(tt.Breaks) != 1 {
		t.Errorf("%d hot runs, %d pins, %d breaks", len(tt.Hot), len(tt.Pins), len(tt.Breaks))
	}
}

// The page goes over the room's network uncompressed (compressed, its length would
// tell of what stands beside what somebody sent along), so what many bars share is
// said once: a bar takes no more than 360 bytes, drawn and in the table.
func TestTimetable_Weight(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/", nil)
	bars := p.count(".tt-table tbody tr") - p.count(".tt-table tr.group")
	from := strings.Index(p.body, `<div class="scroll tt-box"`)
	weight := strings.Index(p.body, `timetable.js`) - from
	if bars < 100 || from < 0 || weight > 360*bars {
		t.Errorf("%d bars weigh %d bytes, %d a bar", bars, weight, weight/max(bars, 1))
	}
}

// Every stage has a word, a texture and a tint of its own.
func TestTimetable_Textures(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/", nil)
	css, err := staticFiles.ReadFile("static/slabside.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range stageWords {
		if p.count("pattern#t-"+s.Stage) != 1 {
			t.Errorf("no texture for %s", s.Stage)
		}
		if !strings.Contains(string(css), ".f-"+s.Stage) {
			t.Errorf("no tint for %s", s.Stage)
		}
	}
	if got := stageOf("something new"); got.Word != "something new" || got.Fill() != "none" {
		t.Errorf("an unknown stage is drawn as %+v", got)
	}
}

func TestBatch(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/batch/2026-11-28-1", nil)
	p.says(t, "h1", "1 Pear drops")
	p.says(t, ".date", "into the kettle, Big pan")
	p.says(t, ".dial-fig", "153 °C")
	p.says(t, ".dial .slip", "151.7 °C true + 1.5 K error of the glass = 153.2 °C")
	p.says(t, ".weigh tr", "Granulated sugar 6.600 kg 30 kg scale GS-4417")
	p.says(t, ".weigh .tag", "too fine for it")
	p.says(t, "#step-pour .cautions", "Two people or a tilt stand")
	p.says(t, "#step-weigh .cautions", "Acid dust irritates")
	p.says(t, "#step-weigh .plain", "Make a stock solution")
	if p.count("#step-before") != 0 {
		t.Error("the first boil is cleaned for")
	}
	ask(t, site, "GET", "/batch/2026-11-28-4", nil).says(t, "#step-before li", "Wipe 11:40–11:46, Ben")
	if p.count("#step-weigh .weigh tbody") != 3 {
		t.Errorf("%d groups of lines, want 3 (kettle, fold, pour)", p.count("#step-weigh .weigh tbody"))
	}
	if p.count("a[href=/batch/2026-11-28-2]") != 1 {
		t.Error("no way to the next boil")
	}
	butter := ask(t, site, "GET", "/batch/2026-11-28-7", nil)
	butter.says(t, ".contains", "Contains milk.")
	butter.says(t, ".contains", "May contain: soy (Butter, supplier's statement of 2 March 2026).")
	if strings.Contains(butter.one(t, ".facts"), "stands up to") {
		t.Error("a figure outside its model is shown")
	}
	ask(t, site, "GET", "/batch/2026-11-28-6", nil).says(t, ".contains", "Unknown is not none.")
	for _, gone := range []string{"/batch/2026-11-28-99", "/batch/x"} {
		if p := ask(t, site, "GET", gone, nil); p.StatusCode != http.StatusNotFound {
			t.Errorf("%s: status %d", gone, p.StatusCode)
		}
	}
}

// Every fixed caution is shown in its own words; those that are about figures
// and claims are told apart from those that are about people.
func TestCautionsOf(t *testing.T) {
	t.Parallel()
	dangers := 0
	for _, c := range caution.All() {
		got := cautionsOf([]app.Caution{{Code: string(c.Code), Text: c.Text}})
		if len(got) != 1 || got[0].Text != c.Text {
			t.Errorf("%s is shown as %+v", c.Code, got)
		}
		if got[0].Danger {
			dangers++
		}
	}
	if dangers != len(caution.All())-len(notes) {
		t.Errorf("%d cautions are dangers, %d notes, of %d", dangers, len(notes), len(caution.All()))
	}
	for _, c := range []caution.Code{caution.HotSugar, caution.Nips, caution.AcidOnCopper, caution.AllergenUnknown, caution.Choking} {
		if !cautionsOf([]app.Caution{{Code: string(c)}})[0].Danger {
			t.Errorf("%s is not shown as a danger", c)
		}
	}
	if got := cautionsOf([]app.Caution{{Code: "a-model", Text: "how much is not computed"}}); got[0].Danger || got[0].Text != "How much is not computed" {
		t.Errorf("a model's own caution is shown as %+v", got)
	}
}

func TestRecipe(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	ask(t, site, "GET", "/recipes", nil).says(t, ".tile", "Pear drops pink, folded clear yellow, pulled boil to 2.5 % water left")
	p := ask(t, site, "GET", "/recipes/pear", nil)
	p.says(t, ".facts div", "water left 2.7 % (2.1–3.3) estimated")
	p.says(t, ".facts div", "read on the glass 153 °C (152–154)")
	p.says(t, ".formula", "151.62 °C true + 1.5 K error of the glass = 153.1 °C")
	p.says(t, ".facts .sources", "starzak1997")
	p.says(t, ".portions li", "yellow 50 % of the boil, pulled, 8.5 % air kept")
	p.says(t, ".pairs div", "leaves behind 2 of 6, a little")
	p.says(t, ".bench-field", "Green colour")
	p.says(t, ".bench-field", "of yellow")
	if strings.Contains(p.one(t, "#main"), "invert") {
		t.Error("a figure that was not computed is shown")
	}
	ask(t, site, "GET", "/recipes/clove", nil).says(t, ".pairs div", "Clove oil the supplier has not said")

	f.boilErr = fault.OutOfRange("dryness", 0.5, 0.9, 0.99, "", "starzak1997")
	p = ask(t, site, "GET", "/recipes/pear", nil)
	p.says(t, ".wrong", "Dryness 0.5")
	p.says(t, ".portions li", "yellow")
}

// What a boil inverts stands with its range, and its slip says from which acid, water
// and time, and what is left out.
func TestRecipe_Invert(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	f.invert = &q.Estimate{Value: 0.164, Low: 0.077, High: 0.329, Basis: q.Estimated}
	invert := func() string {
		t.Helper()
		for _, n := range all(ask(t, site, "GET", "/recipes/pear", nil).root, ".facts div") {
			if s := words(n); strings.Contains(s, "invert sugar") {
				return s
			}
		}
		t.Fatal("no invert sugar among the facts")
		return ""
	}
	for _, want := range []string{"invert sugar 16.4 % (7.7–32.9) estimated", "1 − exp(−∫ k dt)", "none: pH 5", "folded in on the slab is not counted", "time on the flame 22 min"} {
		if got := invert(); !strings.Contains(got, want) {
			t.Errorf("%q is not in %q", want, got)
		}
	}
	f.weigh = []app.WeighLine{{Stage: "kettle", Ingredient: "citric", Name: "Citric acid", Show: "12.5 g"}, {Stage: "fold", Ingredient: "citric", Name: "Citric acid", Show: "99 g"}}
	got := invert()
	for _, want := range []string{"Citric acid in the boil 12.5 g", "alkalinity of the water not known: 100 mg/L of calcium carbonate are taken, nothing to 215"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %q", want, got)
		}
	}
	if strings.Contains(got, "99 g") {
		t.Errorf("acid folded in is counted: %q", got)
	}
	f.book.Room.WaterAlkalinity = 180
	if got := invert(); !strings.Contains(got, "alkalinity of the water 180 mg/L of calcium carbonate") {
		t.Errorf("the alkalinity of the room is not in %q", got)
	}
}

func TestRoom(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	p := ask(t, site, "GET", "/room", nil)
	p.says(t, ".pairs div", "alkalinity of the water not known: 100 mg/L of calcium carbonate are taken, nothing to 215")
	f.book.Room.WaterAlkalinity = 42
	ask(t, site, "GET", "/room", nil).says(t, ".pairs div", "alkalinity of the water 42 mg/L of calcium carbonate")
	p.says(t, ".ledger tr", "Trial pan copper tested by the inspector, 2026-03-14")
	p.says(t, ".danger", "no test for lead and copper on record: ask the inspector")
	p.says(t, ".tile", "Big pan whole boil 12 kg")
	p.says(t, ".tile", "Long glass at the end of the boil reads 1.5 K too high")
	p.says(t, ".ledger tr", "Dan not an adult: no hot work")
	p.says(t, ".cols div", "pack a bag 30 s")
}

// Old metal asks for its test; a modern surface without one does not.
func TestMetalOf(t *testing.T) {
	t.Parallel()
	for _, m := range rig.Materials() {
		got := metalOf("x", m, rig.Test{})
		want := m.Bare() || m == rig.TinnedCopper || m == rig.TinnedSteel
		if (len(got) == 1) != want || want && !got[0].Missing {
			t.Errorf("%s without a test: %+v", m, got)
		}
		if got := metalOf("x", m, rig.Test{By: "a", On: "2026-01-01"}); len(got) != 1 || got[0].Missing {
			t.Errorf("%s with a test: %+v", m, got)
		}
	}
}

func TestPrints(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	for _, a := range []string{"/day.pdf", "/sheets.pdf?date=2026-11-28"} {
		p := ask(t, site, "GET", a, nil)
		if p.StatusCode != http.StatusOK || p.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(p.body, "%PDF-") {
			t.Errorf("%s: %d %s %q", a, p.StatusCode, p.Header.Get("Content-Type"), p.body)
		}
	}
	without := New(f, Options{Now: fixtureNow})
	if p := ask(t, without, "GET", "/day.pdf", nil); p.StatusCode != http.StatusNotFound {
		t.Errorf("without prints: %d", p.StatusCode)
	}
	if p := ask(t, without, "GET", "/", nil); p.count(".prints") != 0 {
		t.Error("a print is offered that is not there")
	}
}

func TestPlanThatFails(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	f.planErr = fault.Invalid("no kettle to plan with").At("kettle").WithHint("add a [[kettle]] that is not for trials only")
	for _, a := range []string{"/", "/batch/2026-11-28-1", "/day.pdf"} {
		p := ask(t, site, "GET", a, nil)
		if p.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", a, p.StatusCode)
		}
		p.says(t, ".wrong", "No kettle to plan with. Add a [[kettle]] that is not for trials only. At: kettle")
	}
	f.planErr = app.Problems{fault.Invalid("one").At("a"), fault.Invalid("two").At("b")}
	p := ask(t, site, "GET", "/", nil)
	if p.count(".wrong") != 2 {
		t.Errorf("%d faults shown, want 2", p.count(".wrong"))
	}
}

func lineForm(head string, lines ...url.Values) url.Values {
	f := url.Values{"head": {head}, "act": {"save"}}
	for i, l := range lines {
		for k, v := range l {
			f["line."+string(rune('0'+i))+"."+k] = v
		}
	}
	f.Set("lines", string(rune('0'+len(lines))))
	return f
}

func line(product, bags string) url.Values {
	return url.Values{"product": {product}, "bags": {bags}, "for": {"shelf"}}
}

// A recipe is scaled to a charge or to so many pieces; what cannot be meant is
// said, and the recipe can be read all the same.
func TestRecipeScaled(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	whole := ask(t, site, "GET", "/recipes/pear", nil)
	whole.says(t, "#whole-h", "A whole boil")
	whole.says(t, ".facts dd", "152 °C")
	whole.says(t, "tbody tr", "21 min 20 s")
	if n := whole.count("details.more svg.curve"); n != 2 {
		t.Errorf("%d curves", n)
	}
	p := ask(t, site, "GET", "/recipes/pear?scale=7+kg", nil)
	p.says(t, "#whole-h", "A boil, 7 kg into the kettle")
	if v, _ := attrOf(all(p.root, "#scale")[0], "value"); v != "7 kg" {
		t.Errorf("the page shows %q", v)
	}
	ask(t, site, "GET", "/recipes/pear?scale=2000", nil).says(t, "#whole-h", "A boil, 8 kg into the kettle")
	p = ask(t, site, "GET", "/recipes/pear?scale=60&of=pear-113", nil)
	p.says(t, "#whole-h", "A boil, 6 kg into the kettle")
	p.says(t, "select[name=of] option[selected]", "bags of")
	ask(t, site, "GET", "/recipes/pear?scale=7+kg&of=pear-113", nil).says(t, ".wrong", "no number of bags")
	for scale, want := range map[string]string{"7": "", "seven": "such as 6.35 kg", "-2+kg": "is no charge", "0": "cannot be made"} {
		p := ask(t, site, "GET", "/recipes/pear?scale="+scale, nil)
		if p.count("h1") != 1 || p.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d", scale, p.StatusCode)
		}
		if want != "" {
			p.says(t, ".wrong", want)
		}
	}
}
