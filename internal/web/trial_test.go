package web

import (
	"context"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
)

// keptSite is the site over the use cases and a new database with the sample shop.
func keptSite(t *testing.T) (http.Handler, *app.App) {
	t.Helper()
	k, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	a := app.New(k, shoptest.Now)
	if _, err := a.Import(context.Background(), shoptest.Book(), "test", "the sample shop"); err != nil {
		t.Fatal(err)
	}
	return New(a, fixtureOptions()), a
}

func bookOf(t *testing.T, a *app.App) (book.Book, store.Head) {
	t.Helper()
	b, head, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return b, head
}

// Every form of the page leads to an address that says the change, which the page
// then says in words.
func TestTrial_EveryForm(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	day := "date=" + shoptest.Date
	for _, c := range []struct {
		fields     url.Values
		query, say string
	}{
		{url.Values{"add": {"hours"}, "start": {"07:30"}, "end": {"16:30"}}, "start=07%3A30", "The room opens at 07:30 instead of 08:00"},
		{url.Values{"add": {"first"}, "recipe": {"hazel-leaves"}, "after": {"pear-barrels"}}, "first=hazel-leaves", "Hazel leaves first"},
		{url.Values{"add": {"later"}, "recipe": {"hazel-leaves"}, "after": {"pear-barrels"}}, "later=pear-barrels%2Chazel-leaves", "Hazel leaves later than every boil of Pear barrels"},
		{url.Values{"add": {"at-least"}, "act": {"wash"}, "recipe": {"hazel-leaves"}, "after": {""}}, "at-least=wash%2Chazel-leaves", "Before Hazel leaves at least: wash"},
		{url.Values{"add": {"pour"}, "name": {"a school"}, "at": {"14:00"}, "early": {"5"}, "late": {"10"}, "recipe": {""}}, "pour=a+school+14%3A00+5min+10min", "A school announced for 14:00"},
		{url.Values{"add": {"break"}, "name": {"tea"}, "earliest": {"10:00"}, "latest": {"10:30"}, "minutes": {"10"}}, "break=tea+10%3A00-10%3A30+10min", "Break tea, 10 min"},
		{url.Values{"add": {"hand"}, "name": {"Dora"}, "comes": {"08:00"}, "leaves": {"12:00"}, "may": {"adult", "pack"}}, "hand=Dora+08%3A00-12%3A00+adult%2Cpack", "With Dora from 08:00 to 12:00"},
		{url.Values{"add": {"without-hand"}, "hand": {"cleo"}}, "without-hand=cleo", "Without Cleo"},
		{url.Values{"add": {"without"}, "line": {"row-mix@market stall"}, "bags": {""}}, "without=row-mix%40market+stall", "Without Row mix for market stall"},
		{url.Values{"add": {"bags"}, "line": {"pear-bag@shelf"}, "bags": {"20"}}, "bags=pear-bag%40shelf%3D20", "20 bags of Pear barrels for shelf"},
		{url.Values{"add": {"must"}, "line": {"row-mix"}}, "must=row-mix", "Row mix must go"},
		{url.Values{"add": {"not-today"}, "recipe": {"hazel-leaves"}}, "not-today=hazel-leaves", "No Hazel leaves"},
	} {
		c.fields.Set("day", day)
		p := ask(t, site, "GET", "/?"+c.fields.Encode(), nil)
		to, err := url.Parse(p.Header.Get("Location"))
		if err != nil || p.StatusCode != http.StatusSeeOther {
			t.Errorf("%v: status %d", c.fields, p.StatusCode)
			continue
		}
		want, _ := url.ParseQuery(day + "&" + c.query)
		if got := to.Query().Encode(); got != want.Encode() {
			t.Errorf("%v leads to %s, want %s", c.fields, got, want.Encode())
		}
		p = ask(t, site, "GET", to.String(), nil)
		if p.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d", to, p.StatusCode)
			continue
		}
		p.says(t, ".trial-changes li", c.say)
		p.says(t, "h1", "Trial, not kept")
		back := "/?date=" + shoptest.Date
		if p.count("a[href="+back+"]") < 2 {
			t.Errorf("%s: no way back to the kept day by taking the change back and by putting the trial away", to)
		}
	}
	bad := ask(t, site, "GET", "/?day="+url.QueryEscape(day)+"&add=break&name=tea", nil)
	if bad.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("half a form: status %d", bad.StatusCode)
	}
}

// A trial that cannot be says why above the kept day, with a way out of each change.
func TestTrial_CannotBe(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	p := ask(t, site, "GET", "/?date="+shoptest.Date+"&first=hazel-leaves&later=pear-barrels%2Chazel-leaves", nil)
	if p.StatusCode != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", p.StatusCode)
	}
	p.says(t, ".trial h2", "This cannot be. The kept day is below.")
	p.says(t, ".trial .wrong", "cannot both be")
	if p.count(".trial-changes a") != 2 || p.count("article.step") == 0 || p.count("#keep-trial") != 0 {
		t.Errorf("%d ways back, %d boils, %d buttons to keep it", p.count(".trial-changes a"), p.count("article.step"), p.count("#keep-trial"))
	}
}

// Another day takes the trial along. What of it cannot be meant there is left
// behind, and the page says which and why.
func TestTrial_AnotherDay(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	early := "pour=a+school+07%3A45+5min+10min"
	trial := "date=" + shoptest.Date + "&first=hazel-leaves&bags=pear-bag%40shelf%3D20&start=07%3A30"
	value := func(p page, selector string) string {
		t.Helper()
		if p.count(selector) != 1 {
			t.Fatalf("status %d, %d fields %s", p.StatusCode, p.count(selector), selector)
		}
		v, _ := attrOf(all(p.root, selector)[0], "value")
		return v
	}
	p := ask(t, site, "GET", "/?"+trial+"&"+early, nil)
	day := value(p, ".another input[name=day]")
	move := func(day, date, start string) page {
		return ask(t, site, "GET", "/?"+url.Values{"day": {day}, "add": {"date"}, "date": {date}, "start": {start}}.Encode(), nil)
	}
	const next = "2026-03-17"
	for _, c := range []struct{ day, start, want string }{
		{day, "07:30", "date=" + next + "&first=hazel-leaves&bags=pear-bag%40shelf%3D20&start=07%3A30&" + early},
		{trial, "08:00", "date=" + next + "&first=hazel-leaves&bags=pear-bag%40shelf%3D20"},
		{"date=" + shoptest.Date, "08:00", "date=" + next}, // no trial
	} {
		p := move(c.day, next, c.start)
		to, err := url.Parse(p.Header.Get("Location"))
		want, _ := url.ParseQuery(c.want)
		if err != nil || p.StatusCode != http.StatusSeeOther || to.Query().Encode() != want.Encode() {
			t.Errorf("from %s at %s: status %d to %s", c.day, c.start, p.StatusCode, to)
		}
	}
	// The room opens at 08:00 there: no pour at 07:45.
	p = move(day, next, "08:00")
	p.says(t, ".trial h2", "Not all of it can be that day")
	p.says(t, ".trial .wrong", "A school announced for 07:45")
	p.says(t, ".trial-changes", "Hazel leaves first")
	if p.count(".trial-changes li") != 2 || p.count(".trial .lead") != 1 || value(p, "#date") != next {
		t.Errorf("%d changes left, %d costs", p.count(".trial-changes li"), p.count(".trial .lead"))
	}
	if state := value(p, ".trial-do input[name=day]"); strings.Contains(state, "pour") || !strings.Contains(state, "first=hazel-leaves") {
		t.Errorf("the trial goes on as %s", state)
	}
	p = move("date="+shoptest.Date+"&start=07%3A30&"+early, next, "08:00")
	p.says(t, ".trial h2", "None of it can be that day")
	if p.count(".trial-changes") != 0 || p.count(".trial-do") != 0 || strings.Contains(p.one(t, "h1"), "Trial") {
		t.Error("nothing is left and the day is still called a trial")
	}
	if p := move(day, "soon", "08:00"); p.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no date: status %d", p.StatusCode)
	}
}

// Links and prints of a trial lead to the trial.
func TestTrial_CarriedAlong(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	query := "date=" + shoptest.Date + "&first=hazel-leaves"
	p := ask(t, site, "GET", "/?"+query, nil)
	sheet := "/batch/" + shoptest.Date + "-1?first=hazel-leaves"
	for _, want := range []string{"/day.pdf?" + query, "/sheets.pdf?" + query, sheet} {
		if p.count("a[href="+want+"]") == 0 {
			t.Errorf("no link to %s", want)
		}
	}
	s := ask(t, site, "GET", sheet, nil)
	s.says(t, "h1", "Hazel leaves")
	s.says(t, ".trial-note", "Trial, not kept")
	if ask(t, site, "GET", "/batch/"+shoptest.Date+"-1", nil).count(".trial-note") != 0 {
		t.Error("a kept boil is called a trial")
	}
}

// Somebody else's change is said above the trial, and nothing is kept.
func TestTrial_Conflict(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	_, head := bookOf(t, a)
	form := url.Values{"day": {"date=" + shoptest.Date + "&first=hazel-leaves"}, "head": {"0"}}
	p := ask(t, site, "POST", "/", form)
	if p.StatusCode != http.StatusConflict {
		t.Fatalf("status %d", p.StatusCode)
	}
	p.says(t, ".trial h2", "It was not kept")
	p.says(t, ".trial .wrong", "Somebody else changed the book")
	if b, now := bookOf(t, a); now != head || len(b.Day.Rules) != 1 {
		t.Error("the trial was kept")
	}
}

// A what-if is pressed, both plans are seen, the trial is kept, the book has it:
// with script and without.
func tryAndKeep(t *testing.T, tab context.Context)         { tryThenKeep(t, tab, true) }
func tryAndKeepNoScript(t *testing.T, tab context.Context) { tryThenKeep(t, tab, false) }

func tryThenKeep(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	site, a := keptSite(t)
	srv := serve(t, site)
	_, head := bookOf(t, a)
	do(t, tab, scripts(on), size(768, 1024), chromedp.Navigate(srv.URL+"/?date="+shoptest.Date))
	press(t, tab, "#what-if summary")
	press(t, tab, "#if-drop") // the first line, left out
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#trial .change")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#trial .change"))); !strings.Contains(got, "kept") || !strings.Contains(got, "bags made") {
		t.Errorf("beside each other: %q", got)
	}
	if on {
		clean(t, tab, "a trial")
	}
	if _, now := bookOf(t, a); now != head {
		t.Fatal("trying has changed the book")
	}
	press(t, tab, "#keep-trial")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".changed .lead")))
	b, now := bookOf(t, a)
	if now != head+1 || len(b.ToMake) != 2 || b.ToMake[0].Product != "row-mix" {
		t.Errorf("head %d, lines %+v", now, b.ToMake)
	}
	if n := value(t, tab, chromedp.Evaluate[int](`document.querySelectorAll('.trial').length`)); on && n != 0 {
		t.Error("the kept day is still called a trial")
	}
}

// The drawn timetable by keys alone: one stop of the tab key, arrows along a row
// and across, each bar said in full, Enter opens the boil.
func timetableKeys(t *testing.T, tab context.Context) {
	t.Helper()
	site, _ := fixtureSite()
	srv := serve(t, site)
	do(t, tab, size(1280, 800), chromedp.Navigate(srv.URL+"/"))
	if n := value(t, tab, chromedp.Evaluate[int](`document.querySelectorAll('.tt-box[tabindex], .tt [tabindex="0"]').length`)); n != 1 {
		t.Errorf("%d stops of the tab key, want 1", n)
	}
	said := func() string {
		return value(t, tab, chromedp.Evaluate[string](`document.activeElement.getAttribute('aria-label') || ''`))
	}
	do(t, tab, chromedp.Evaluate[chromedp.Void](`document.querySelector('.tt [tabindex="0"]').focus()`))
	if got := said(); !strings.HasPrefix(got, "Hot run, Boil 1") {
		t.Errorf("the first stop is %q", got)
	}
	for _, c := range []struct{ key, starts, holds string }{
		{kb.ArrowRight, "Hot run, Boil 2", ""}, {kb.ArrowRight, "Hot run, Boil 3", ""}, {kb.ArrowLeft, "Hot run, Boil 2", ""}, {kb.End, "Hot run, Boil 7", ""},
		{kb.ArrowRight, "Hot run, Boil 7", ""}, {kb.Home, "Hot run, Boil 1", ""}, {kb.ArrowUp, "Hot run, Boil 1", ""}, {kb.ArrowDown, "Kettle, ", " to "},
	} {
		do(t, tab, chromedp.KeyEvent(c.key))
		if got := said(); !strings.HasPrefix(got, c.starts) || !strings.Contains(got, c.holds) {
			t.Errorf("the key leads to %q, want %q", got, c.starts)
		}
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#tt-said"))); got != said()+"." {
		t.Errorf("said to the eye: %q, to the ear: %q", got, said())
	}
	if n := value(t, tab, chromedp.Evaluate[int](`document.querySelectorAll('.tt [tabindex="0"]').length`)); n != 1 {
		t.Errorf("%d stops after moving, want 1", n)
	}
	clean(t, tab, "the timetable in use")
	do(t, tab, chromedp.KeyEvent(kb.ArrowUp), chromedp.KeyEvent(kb.Home), chromedp.KeyEvent("\r"), chromedp.WaitVisible(chromedp.CSS(".dial")))
	if got := value(t, tab, chromedp.Location()); !strings.HasSuffix(got, "/batch/2026-11-28-1") {
		t.Errorf("Enter leads to %s", got)
	}
}
