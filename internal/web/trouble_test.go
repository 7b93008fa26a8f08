package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

// A boil of the plan goes wrong: a picture is pressed, the lines stand first, the wash and
// what becomes of it are pressed, all by the page's own forms without script and without
// a letter typed; what is closed is refused; record and list say it.
func TestTrouble(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	const id, at = shoptest.Date + "-1", "/trouble/" + shoptest.Date + "-1"
	day := ask(t, site, "GET", "/", nil)
	if day.count(".step a[href="+at+"]") != 1 {
		t.Fatal("the day has no way to the trouble of its first boil")
	}
	p := ask(t, site, "GET", at, nil)
	p.says(t, "h1", "What is wrong?")
	if n := p.count(".pic svg"); n != len(record.Troubles()) || p.count("main input") != p.count("main input[type=hidden]") {
		t.Errorf("%d pictures, %d fields", n, p.count("main input"))
	}
	press := func(form url.Values, want int) page {
		t.Helper()
		p := ask(t, site, "POST", at, form)
		if p.StatusCode != want {
			t.Fatalf("%v: status %d\n%s", form, p.StatusCode, p.body)
		}
		return p
	}
	press(url.Values{"act": {"trouble"}, "what": {"grained"}}, http.StatusSeeOther)
	p = ask(t, site, "GET", at+"?wait", nil)
	heads := all(p.root, "main h2")
	if got := words(heads[0]); got != "Grained: the next thirty seconds" {
		t.Errorf("first stands %q", got)
	}
	p.says(t, "#place-h", "On hold")
	p.says(t, "#wash-h", "Wash before anything else")
	if !strings.Contains(words(all(p.root, "#short")[0]), "short") || p.count("[open]") != 0 {
		t.Error("the bags are not worked out, or something is open")
	}
	// Every reason is a button that is pressed, in a form of what it decides.
	chips := 0
	for _, f := range all(p.root, ".place form") {
		for _, b := range all(f, "button") {
			if v, _ := attrOf(b, "value"); v == "" {
				t.Errorf("a button without a reason: %s", words(b))
			}
			chips++
		}
	}
	if chips < 4 {
		t.Errorf("%d reasons to press", chips)
	}
	press(url.Values{"act": {"decide"}, "as": {"usable"}, "why": {"looked at: it is good"}}, http.StatusUnprocessableEntity).says(t, "#wrong .wrong strong", "Usable is closed for batch "+id+": it goes on graining; if it did not grain after all, take the trouble back.")
	press(url.Values{"act": {"washed"}}, http.StatusSeeOther)
	press(url.Values{"act": {"decide"}, "as": {"bin"}, "why": {"grained"}, "note": {"all of it"}}, http.StatusSeeOther)
	r, err := a.Record(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	if place := r.Record().Place(); place != (record.Placed{As: record.Binned, Why: "grained; all of it"}) || len(r.Record().All(record.Cleaning)) != 5 {
		t.Errorf("%+v, %d washed", place, len(r.Record().All(record.Cleaning)))
	}
	ask(t, site, "GET", "/records/"+id, nil).says(t, "#place-h", "This batch: thrown away")
	ask(t, site, "GET", "/records", nil).says(t, "td .bad", "thrown away")
	if p := ask(t, site, "GET", "/trouble/"+shoptest.Date+"-9", nil); p.StatusCode != http.StatusNotFound {
		t.Errorf("of no batch: status %d", p.StatusCode)
	}
	press(url.Values{"act": {"dance"}}, http.StatusUnprocessableEntity)
	press(url.Values{"act": {"trouble"}, "what": {"bored"}}, http.StatusUnprocessableEntity)
}

// A helper writes a trouble down and what was washed; what becomes of the batch, and to
// take trouble or hold back, is a maker's, on the page and by a program.
func TestTrouble_Rights(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	x.f.inTrouble = true
	at := "/trouble/" + fixtureBatch
	for _, c := range []struct {
		who, at string
		form    url.Values
		want    int
	}{
		{"Wilma", at, url.Values{"act": {"trouble"}, "what": {"dropped"}}, http.StatusSeeOther},
		{"Wilma", at, url.Values{"act": {"washed"}}, http.StatusSeeOther},
		{"Wilma", at, url.Values{"act": {"decide"}, "as": {"bin"}, "why": {"so"}}, http.StatusForbidden},
		{"Bram", at, url.Values{"act": {"decide"}, "as": {"bin"}, "why": {"so"}}, http.StatusSeeOther},
		{"Wilma", "/records/" + fixtureBatch, url.Values{"act": {"back"}, "corrects": {"17"}}, http.StatusForbidden},
		{"Wilma", "/records/" + fixtureBatch, url.Values{"act": {"back"}, "corrects": {"18"}}, http.StatusForbidden},
		{"Wilma", "/records/" + fixtureBatch, url.Values{"act": {"back"}, "corrects": {"16"}}, http.StatusSeeOther},
		{"Bram", "/records/" + fixtureBatch, url.Values{"act": {"back"}, "corrects": {"18"}}, http.StatusSeeOther},
	} {
		if p := x.ask("POST", c.at, x.tablet, x.shift[c.who], c.form); p.StatusCode != c.want {
			t.Errorf("%s, %v: status %d, want %d", c.who, c.form, p.StatusCode, c.want)
		}
	}
	for _, c := range []struct {
		role, to, body string
		want           int
	}{
		{"helper", "trouble", `{"what":"dropped"}`, 200}, {"helper", "trouble", `{"what":"dropped","corrects_act":17}`, 403}, {"helper", "washed", `{"by":"Wilma"}`, 200},
		{"helper", "placed", `{"as":"bin","why":"so"}`, 403}, {"helper", "taken-back", `{"corrects_act":18}`, 403}, {"maker", "placed", `{"as":"bin","why":"so"}`, 200},
		{"maker", "trouble", `{"what":"dropped","corrects_act":17}`, 200}, {"maker", "placed", `{"as":"bin"}`, 422},
	} {
		r := put(apiRoot+"/records/"+fixtureBatch+"/"+c.to, c.body)
		r.Host = sharedHost
		r.Header.Set("Authorization", "Bearer "+x.token[c.role])
		if p := send(t, x.shared, r); p.StatusCode != c.want {
			t.Errorf("a %s's program, %s %s: status %d, want %d", c.role, c.to, c.body, p.StatusCode, c.want)
		}
	}
	if p := x.ask("GET", at, x.tablet, x.shift["Wilma"], nil); p.count(".place") != 0 || p.count(".pic") != 7 {
		t.Errorf("a helper sees %d things to decide and %d pictures", p.count(".place"), p.count(".pic"))
	}
}

// What to do now is shown though what it leaves short takes longer than a page waits.
func TestTrouble_DoesNotWait(t *testing.T) {
	t.Parallel()
	f := newFakeShop()
	slow := slowLoss{f}
	p := ask(t, New(slow, fixtureOptions()), "GET", "/trouble/"+fixtureBatch, nil)
	p.says(t, "#short a", "Show it")
	if p.StatusCode != http.StatusOK || p.count(".now-lines li") < 4 {
		t.Errorf("status %d, %d lines", p.StatusCode, p.count(".now-lines li"))
	}
}

// slowLoss is a shop that has not worked out what a batch leaves short.
type slowLoss struct{ *fakeShop }

func (f slowLoss) TroubleOf(ctx context.Context, id string) (*app.TroubleResult, error) {
	r, err := f.fakeShop.TroubleOf(ctx, id)
	if err == nil {
		r.Day = nil
	}
	return r, err
}

// In every width all that is pressed in trouble is at least 96 pixels each way, nothing
// is wider than the window, and the checker of accessibility finds nothing.
func TestBrowser_Trouble(t *testing.T) {
	t.Parallel()
	tab := newBrowser(t)
	srv := serve(t, New(newFakeShop(), fixtureOptions()))
	for _, s := range screens {
		do(t, tab, size(s[0], s[1]), chromedp.Navigate(srv.URL+"/trouble/"+fixtureBatch))
		small := value(t, tab, chromedp.Evaluate[[]string](`(() => { document.querySelectorAll('details.place').forEach(d => d.open = true);
return [...document.querySelectorAll('main .pic, main .big-press')].filter(b => { const r = b.getBoundingClientRect(); return r.width < 96 || r.height < 96 }).map(b => b.textContent) })()`))
		if len(small) > 0 {
			t.Errorf("at %d too small for a glove: %q", s[0], small)
		}
		if d := overflow(t, tab); d > 0 {
			t.Errorf("at %d: %.0f pixels wider than the window", s[0], d)
		}
		clean(t, tab, "trouble")
	}
	if !slices.Contains(pageNames[:], "trouble") {
		t.Error("the page is not among the pages")
	}
}
