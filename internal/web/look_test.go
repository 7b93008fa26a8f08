package web

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"slabside/internal/book"
	"slabside/internal/fault"
)

// TestBrowser looks at the pages in one browser, each test in a tab of its own.
func TestBrowser(t *testing.T) {
	t.Parallel()
	browser := newBrowser(t)
	for _, c := range []struct {
		name string
		test func(*testing.T, context.Context)
	}{
		{"every page", everyPage}, {"pages in trouble", pagesInTrouble}, {"no script", noScript}, {"change a line", changeALine},
		{"change a line without script", changeALineNoScript}, {"orders from a file", ordersFromFile},
		{"begin a shop", beginAShop}, {"begin a shop without script", beginAShopNoScript},
		{"change a thing", changeAThing}, {"change a thing without script", changeAThingNoScript}, {"people and tablets", peopleAndTablets}, {"not live", notLive}, {"the day", theDay}, {"keyboard", keyboard}, {"make a stock solution", lookAtMakeStock}, {"hold a lot", holdALot}, {"hold a lot without script", holdALotNoScript}, {"attach a photo", attachAPhoto}, {"attach a photo without script", attachAPhotoNoScript}, {"pack at the scales", packAtTheScales}, {"pack at the scales without script", packAtTheScalesNoScript}, {"stop the rolls", stopTheRolls}, {"stop the rolls without script", stopTheRollsNoScript},
		{"bring a log", bringALog}, {"weigh in", weighInTaps}, {"weigh in without script", weighInNoScript}, {"record taps", recordTaps}, {"pack taps", packTaps}, {"faulty bags", faultyBags}, {"folds and slips", foldsAndSlips}, {"limits follow", limitsFollow}, {"try and keep", tryAndKeep}, {"try and keep without script", tryAndKeepNoScript}, {"timetable keys", timetableKeys},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.test(t, newTab(t, browser))
		})
	}
}

// everyPage visits every page of the router, in every window, with script: nothing for the
// checker to find, nothing wider than the window; in the dark theme too. With
// script off it is as wide and says as much. The race detector is after the program and
// not its looks.
func everyPage(t *testing.T, tab context.Context) {
	t.Helper()
	if testing.Short() {
		t.Skip("every page is looked at without the race detector")
	}
	f := newFakeShop()
	srv := serve(t, New(f, fixtureOptions()))
	for _, a := range pageAddresses(t) {
		do(t, tab, theme("light"), chromedp.Navigate(srv.URL+a))
		for _, s := range screens {
			what := fmt.Sprintf("%s at %d", a, s[0])
			do(t, tab, size(s[0], s[1]))
			if extreme(s) {
				clean(t, tab, what)
			}
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s: %.0f pixels wider than the window", what, d)
			}
		}
		darkIsClean(t, tab, a)
	}
}

// Pages without a book, with an error or with a wrong form are checked like the others.
func pagesInTrouble(t *testing.T, tab context.Context) {
	if testing.Short() {
		t.Skip("looked at without the race detector")
	}
	t.Helper()
	none, nothing, broken := newFakeShop(), newFakeShop(), newFakeShop()
	none.bookErr = fault.NotFound("no shop book here")
	nothing.book = book.Book{Shop: nothing.book.Shop}
	broken.planErr = fault.Invalid("no kettle to plan with").At("kettle").WithHint("add a kettle")
	do(t, tab, size(390, 844))
	for name, f := range map[string]*fakeShop{"no book": none, "empty book": nothing, "no plan": broken} {
		srv := serve(t, New(f, fixtureOptions()))
		for _, a := range []string{"/", "/to-make", "/recipes", "/room", "/nowhere"} {
			do(t, tab, chromedp.Navigate(srv.URL+a))
			clean(t, tab, a+" with "+name)
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s with %s: %.0f pixels wider than the window", a, name, d)
			}
		}
	}
}

// The same text reaches a reader with script off, and the page is no wider.
func noScript(t *testing.T, tab context.Context) {
	if testing.Short() {
		t.Skip("looked at without the race detector")
	}
	t.Helper()
	site, _ := fixtureSite()
	srv := serve(t, site)
	do(t, tab, scripts(false))
	for _, a := range pageAddresses(t) {
		for _, s := range screens {
			if !extreme(s) {
				continue
			}
			do(t, tab, size(s[0], s[1]), chromedp.Navigate(srv.URL+a))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s at %d: %.0f pixels wider than the window", a, s[0], d)
			}
		}
		if got := value(t, tab, chromedp.Text(chromedp.CSS("main h1"))); got == "" {
			t.Errorf("%s: no heading is shown", a)
		}
	}
}

const bagsField, errorText = "#line-0-bags", "#line-0-bags-e"

// A line is changed, the plan follows, the change is saved, the day says what
// became of it: with script and without. A broken line is refused by its field.
func changeALine(t *testing.T, tab context.Context)         { changeLine(t, tab, true) }
func changeALineNoScript(t *testing.T, tab context.Context) { changeLine(t, tab, false) }

func changeLine(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	f := newFakeShop()
	srv := serve(t, New(f, fixtureOptions()))
	do(t, tab, scripts(on), size(768, 1024), chromedp.Navigate(srv.URL+"/to-make"))
	retype(t, tab, bagsField, "92")
	if !on {
		press(t, tab, "#try-lines")
	}
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#follows .lead")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#follows .lead"))); !strings.HasPrefix(got, "12 more bags: one more half boil") {
		t.Errorf("the plan follows with %q", got)
	}
	if _, head := f.kept(); head != 7 {
		t.Fatalf("looking has changed the book")
	}

	for typed, want := range map[string]string{"0": "0 bags cannot be meant", "abc": `"abc" is not a whole number of bags`} {
		do(t, tab, chromedp.Navigate(srv.URL+"/to-make"))
		retype(t, tab, bagsField, typed)
		press(t, tab, "button[value=save]")
		do(t, tab, chromedp.WaitVisible(chromedp.CSS(errorText)))
		if got := value(t, tab, chromedp.Text(chromedp.CSS(errorText))); !strings.Contains(got, want) {
			t.Errorf("%q is refused with %q", typed, got)
		}
		if got := value(t, tab, chromedp.Value(chromedp.CSS(bagsField))); got != typed {
			t.Errorf("typed %q, the page shows %q", typed, got)
		}
	}
	if on {
		clean(t, tab, "a form with a fault")
	}
	if _, head := f.kept(); head != 7 {
		t.Fatalf("a wrong form has changed the book")
	}

	press(t, tab, "#add-line")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#line-6-product")))
	press(t, tab, "button[value='out.6']")
	do(t, tab, chromedp.WaitNotPresent(chromedp.CSS("#line-6-product")))

	retype(t, tab, bagsField, "92")
	press(t, tab, "button[value=save]")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".changed .lead")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS(".changed .lead"))); !strings.Contains(got, "done 17:32 instead of 16:52") {
		t.Errorf("the day says %q", got)
	}
	if first, head := f.kept(); first.Bags != 92 || !first.Must || head != 8 {
		t.Errorf("kept %+v, head %d", first, head)
	}
}

// press goes to a button or a link by the keyboard and presses it: a click would
// miss one that a late font moves.
func press(t *testing.T, tab context.Context, sel string) {
	t.Helper()
	do(t, tab, chromedp.Focus(chromedp.CSS(sel)), chromedp.KeyEvent(kb.Enter))
}

// The server going away is said, not hidden.
func notLive(t *testing.T, tab context.Context) {
	t.Helper()
	site, _ := fixtureSite()
	srv := serve(t, site)
	do(t, tab, chromedp.Navigate(srv.URL+"/to-make"))
	srv.CloseClientConnections()
	srv.Close()
	retype(t, tab, bagsField, "81")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#follows .wrong")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#follows"))); !strings.HasPrefix(got, "NOT LIVE since ") {
		t.Errorf("without a server the plan says %q", got)
	}
	if got := value(t, tab, chromedp.Value(chromedp.CSS(bagsField))); got != "81" {
		t.Errorf("what was typed is %q, want 81", got)
	}
}

// On the day itself the next act and the now-line follow the clock.
func theDay(t *testing.T, tab context.Context) {
	t.Helper()
	site, _ := fixtureSite()
	srv := serve(t, site)
	at := fixtureNow().Add(75 * 60e9) // 10:56
	do(t, tab, clockAt(at), chromedp.Navigate(srv.URL))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#next-time"))); got != "11:00" {
		t.Errorf("next at %q, want the announced pour at 11:00", got)
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#next-in"))); got != "in 4 min" {
		t.Errorf("%q, want in 4 min", got)
	}
	x := value(t, tab, chromedp.Evaluate[float64](`(() => { const l = document.getElementById('now-line'); return l.classList.contains('off') ? -1 : l.transform.baseVal[0].matrix.e; })()`))
	plan := fixturePlan(t)
	from, _ := dayHours(plan)
	if want := nameWide + at.Sub(from).Minutes()*perMinute; x < want-1 || x > want+1 {
		t.Errorf("the now-line stands at %.1f, want %.1f", x, want)
	}
	do(t, tab, chromedp.Navigate(srv.URL+"/?date=2026-12-05"))
	if !value(t, tab, chromedp.Evaluate[bool](`document.getElementById('now-line').classList.contains('off')`)) {
		t.Error("another day has a now-line")
	}
}

// The keyboard reaches the page's own act: skip link first, then the menu.
func keyboard(t *testing.T, tab context.Context) {
	t.Helper()
	site, _ := fixtureSite()
	srv := serve(t, site)
	do(t, tab, size(1280, 800), chromedp.Navigate(srv.URL+"/to-make"), chromedp.KeyEvent("\t"), chromedp.KeyEvent("\r"))
	if got := value(t, tab, chromedp.Location()); !strings.HasSuffix(got, "#main") {
		t.Errorf("the first key leads to %s", got)
	}
	// Enter in a field looks at the plan and keeps nothing, takes nothing out.
	do(t, tab, chromedp.Focus(chromedp.CSS(bagsField)), chromedp.KeyEvent("\r"), chromedp.WaitVisible(chromedp.CSS("#follows .lead")))
	if n := value(t, tab, chromedp.Evaluate[int](`document.querySelectorAll('fieldset.line').length`)); n != 6 {
		t.Errorf("after Enter there are %d lines, want 6", n)
	}
	small := value(t, tab, chromedp.Evaluate[[]string](`Array.from(document.querySelectorAll('a.button,button.button:not(.vh),input:not([type=hidden]):not([type=checkbox]),select,nav a')).filter(e => e.getBoundingClientRect().height < 47.9).map(e => e.outerHTML.slice(0, 90))`))
	if len(small) > 0 {
		t.Errorf("lower than 48 pixels: %s", strings.Join(small, "\n"))
	}
}

// tightFields finds what stands closer than 10 pixels under a field or its help: the
// next label, group or button.
const tightFields = `(() => {
	const box = e => e.getBoundingClientRect(), seen = e => e.checkVisibility({contentVisibilityAuto: true})
	const fields = Array.from(document.querySelectorAll('main :is(input:not([type=radio]), select, fieldset, .help)')).filter(seen)
	return Array.from(document.querySelectorAll('main :is(label, fieldset, .button)')).filter(seen)
		.filter(e => fields.some(f => !f.contains(e) && !e.contains(f) && box(f).left < box(e).right && box(e).left < box(f).right && box(e).top >= box(f).bottom - 1 && box(e).top < box(f).bottom + 10))
		.map(e => e.textContent.trim())
})()`

// peopleAndTablets looks at the pages of a shop with people as the owner sees them,
// at those of a tablet that is let in, at the door and at the page for visitors: the
// checker finds nothing, no window is too narrow, fields have room. The owner signs in
// by the keyboard.
func peopleAndTablets(t *testing.T, tab context.Context) {
	t.Helper()
	x := staffed(t)
	code, _, err := x.f.NewPairing(t.Context(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	local := serve(t, x.local)
	site, _ := fixtureSite()
	open := serve(t, site)
	look := func(what string) {
		t.Helper()
		if testing.Short() {
			return
		}
		for _, s := range screens {
			do(t, tab, size(s[0], s[1]))
			if extreme(s) {
				clean(t, tab, fmt.Sprintf("%s at %d", what, s[0]))
			}
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s at %d: %.0f pixels wider than the window", what, s[0], d)
			}
			if tight := value(t, tab, chromedp.Evaluate[[]string](tightFields)); len(tight) > 0 {
				t.Errorf("%s at %d: closer than 10 pixels under a field: %s", what, s[0], strings.Join(tight, ", "))
			}
		}
		darkIsClean(t, tab, what)
		do(t, tab, theme("light"))
	}
	do(t, tab, chromedp.Navigate(open.URL+"/people"))
	look("nobody yet")
	do(t, tab, chromedp.Navigate(local.URL+"/people"))
	look("signing in")
	do(t, tab, chromedp.Focus(chromedp.CSS("input[name=person]")), chromedp.KeyEvent(" "), chromedp.SendKeys(chromedp.CSS("#pin"), pins["Odile"]))
	press(t, tab, "form.signin button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#people-h")))
	do(t, tab, chromedp.Evaluate[chromedp.Void](`document.querySelector('details').open = true`))
	look("people")
	press(t, tab, "button[value=pair]")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#code-h")))
	look("a code")
	do(t, tab, chromedp.Navigate(local.URL+"/pin"))
	look("changing the PIN")
	// What the other entrances show, without their encryption: as they look.
	for what, h := range map[string]http.Handler{
		"the door":     Door(DoorOptions{Names: names("127.0.0.1"), Certificate: []byte(code), Network: telling(Network{Fingerprint: strings.Repeat("AB:", 31) + "AB", Address: "https://192.168.1.20:7443"})}),
		"visitors":     NewSite(x.f, fixtureOptions()).Public(),
		"a new tablet": NewSite(x.f, fixtureOptions()).Shared(names("127.0.0.1")),
	} {
		srv := serve(t, h)
		do(t, tab, chromedp.Navigate(srv.URL+"/"))
		if what == "visitors" { // the day is looked up meanwhile
			do(t, tab, chromedp.Navigate(srv.URL+"/"))
		}
		look(what)
	}
}
