package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

// TestBrowser_Slab looks at the pages at the slab.
func TestBrowser_Slab(t *testing.T) {
	t.Parallel()
	browser := newBrowser(t)
	for _, c := range []struct {
		name string
		test func(*testing.T, context.Context)
	}{
		{"a batch by one key", slabByOneKey}, {"alarms", slabAlarms}, {"not live", slabNotLive}, {"held is trouble", slabHeld}, {"a thermometer", slabReads},
		{"awake", slabAwake}, {"looks", slabLooks}, {"a batch that is kept", slabKept}, {"without script", slabNoScript},
	} {
		t.Run(c.name, func(t *testing.T) {
			tab := newTab(t, browser) // one after the other: a tab behind another gets no keys
			do(t, tab, command(cdpage.BringToFront, cdp.Empty{}))
			c.test(t, tab)
		})
	}
}

// running is a clock of the program that begins at a time and runs on.
func running(from time.Time) func() time.Time {
	begin := time.Now()
	return func() time.Time { return from.Add(time.Since(begin)) }
}

// slabServer serves a batch at the slab whose program's clock begins at a time, on a wire
// that can be cut.
func slabServer(t *testing.T, f *fakeShop, from time.Time) (root string, net *wire, cut func()) {
	t.Helper()
	opt := fixtureOptions()
	opt.Now = running(from)
	net = &wire{Handler: New(f, opt)}
	srv := serve(t, net)
	cut = func() {
		net.dead.Store(true)
		srv.CloseClientConnections()
	}
	t.Cleanup(cut) // a stream that is open would hold the server up
	return srv.URL, net, cut
}

// tapAt writes a tap to the fake's batch as of some minutes after the fixture's moment.
func (f *fakeShop) tapAt(what record.Happening, min float64) {
	f.taps = append(f.taps, app.Tap{At: fixtureNow().Add(time.Duration(min * float64(time.Minute))), Entry: record.Entry{Batch: fixtureBatch, Moment: &record.Moment{What: what}}})
}

// tapped returns what was tapped so far.
func (f *fakeShop) tapped() []app.Tap {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.taps)
}

// space presses the one key, or puts it down, or lets it go.
func space(kind input.DispatchKeyEventType) chromedp.Action[chromedp.Void] {
	p := input.DispatchKeyEventParams{Type: kind, Key: " ", Code: "Space", WindowsVirtualKeyCode: 32}
	if kind == "keyDown" {
		p.Text = " "
	}
	return command(input.DispatchKeyEvent, p)
}

// until waits for something of the page, for as long as a slow machine may take.
func until(t *testing.T, tab context.Context, what, expression string) {
	t.Helper()
	for range 600 {
		if value(t, tab, chromedp.Evaluate[bool](`Boolean(`+expression+`)`)) {
			return
		}
		time.Sleep(25 * time.Millisecond)
	}
	t.Fatalf("never: %s; the page says %q", what, value(t, tab, chromedp.Evaluate[string](`document.getElementById('main').innerText.slice(0, 900)`)))
}

// verbIs is the expression that the panel shown is of a step.
func verbIs(verb string) string {
	return fmt.Sprintf(`(document.querySelector('.slab-step:not([hidden]) .slab-verb') || {}).textContent === %q`, verb)
}

// bounces is how long the key for next is deaf after it was pressed, and somewhat more.
const bounces = 1300 * time.Millisecond

// A batch is followed by one key. The network dies between a tap and its answer, then
// altogether; the page is closed with taps that wait and opened again. Each tap comes
// once, in its order, with its own time.
func slabByOneKey(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	f.slab.lines = 1
	root, net, _ := slabServer(t, f, fixtureNow())
	now := running(fixtureNow())
	key := func() time.Time {
		t.Helper()
		at := now()
		do(t, tab, space("keyDown"), space("keyUp"))
		return at
	}
	do(t, tab, size(1024, 768), chromedp.Navigate(root+"/slab"))
	if got := value(t, tab, chromedp.Location()); got != root+"/slab/"+fixtureBatch {
		t.Errorf("the only batch under way is not shown at once: %s", got)
	}
	until(t, tab, "the first step", verbIs("light"))
	var at []time.Time
	at = append(at, key())
	until(t, tab, "the lift", verbIs("lift"))
	key() // the pedal bounces
	until(t, tab, "its tap", `!document.querySelector('#taps:not([hidden])')`)
	if n := len(f.tapped()); n != 1 || !value(t, tab, chromedp.Evaluate[bool](verbIs("lift"))) {
		t.Fatalf("a pedal that bounces has tapped %d times", n)
	}

	// It is heard, and the answer is lost.
	time.Sleep(bounces)
	net.deaf.Store(true)
	at = append(at, key())
	until(t, tab, "the pour", verbIs("pour"))
	until(t, tab, "that it is lost", `document.querySelector('#taps.lost:not([hidden])')`)
	// Then nobody hears, and the page goes on.
	time.Sleep(bounces)
	at = append(at, key())
	tapped := now()
	until(t, tab, "the turn", verbIs("turn"))
	if got := value(t, tab, chromedp.Evaluate[string](`document.querySelector('#slab-undo button').textContent`)); !strings.Contains(got, "Take back:\u00a0pour") {
		t.Errorf("the last tap can be taken back as %q", got)
	}
	if !value(t, tab, chromedp.Evaluate[bool](`document.querySelector('.slab-early form:has([value=cracked])').checkVisibility()`)) {
		t.Error("poured, and there is no key for a crack")
	}
	until(t, tab, "how many wait", `document.getElementById('taps').textContent.startsWith('2 taps wait')`)
	do(t, tab, chromedp.Navigate("about:blank")) // the page is gone, its taps are not
	time.Sleep(bounces)
	arrives := now()
	net.deaf.Store(false)
	net.dead.Store(false)
	do(t, tab, chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "what waited", verbIs("turn")+` && document.getElementById('slab').dataset.done.includes('poured')`)
	for range 400 {
		if len(f.tapped()) >= 3 {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	got := f.tapped()
	want := []record.Happening{record.Lit, record.FlameOff, record.Poured}
	if len(got) != len(want) {
		t.Fatalf("%d taps, want %d", len(got), len(want))
	}
	for i, x := range got {
		own := x.At.Add(x.Offset)
		if x.Entry.Moment.What != want[i] || x.N != int64(i+1) || own.Before(at[i].Add(-time.Second)) || !own.Before(at[i].Add(5*time.Second)) {
			t.Errorf("tap %d is %q at %s, number %d, want %q at %s", i, x.Entry.Moment.What, own, x.N, want[i], at[i])
		}
	}
	if own := got[2].At.Add(got[2].Offset); own.After(tapped.Add(500*time.Millisecond)) || !arrives.After(tapped) {
		t.Errorf("what waited has the time at which it came: %s of %s", own, arrives)
	}

	// A wrong tap is taken back, and the step is there again.
	press(t, tab, "#slab-undo button")
	until(t, tab, "the pour again", verbIs("pour"))
	if got := f.tapped(); len(got) != 4 || got[3].Corrects != 12 || got[3].Entry.Kind() != record.Taking {
		t.Errorf("taken back: %+v", got[len(got)-1])
	}
	// On to the end.
	do(t, tab, chromedp.Evaluate[chromedp.Void](`document.activeElement.blur()`))
	for _, verb := range []string{"pour", "turn", "acid in", "to the rolls", "first sheet", "last sheet"} {
		until(t, tab, verb, verbIs(verb))
		time.Sleep(bounces)
		key()
	}
	until(t, tab, "the end", verbIs("Done"))
	if n := len(f.tapped()); n != 10 {
		t.Errorf("%d taps in all, want 10", n)
	}
	if !testing.Short() {
		clean(t, tab, "a batch that is done")
	}
}

// Ten seconds before what cannot wait the edge flashes and it is said, on a tablet whose
// clock is an hour off; of another batch too, and without a program that answers.
func slabAlarms(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	f.tapAt(record.Lit, -20)
	due := fixtureNow().Add(4*time.Minute + 12*time.Second)
	root, _, cut := slabServer(t, f, due.Add(-16*time.Second))
	do(t, tab, command(cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{Source: `{ const is = Date.now.bind(Date); Date.now = () => is() - 3600000; }`}),
		size(768, 1024), chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "the lift", verbIs("lift"))
	if value(t, tab, chromedp.Evaluate[bool](`document.querySelector('#slab-alarm:not([hidden])') !== null`)) {
		t.Error("it is alarmed too soon")
	}
	cut()
	const when = `(() => { const e = document.getElementById('slab-alarm'); if (!window.rang && !e.hidden) window.rang = document.querySelector('.slab-step:not([hidden]) .count').textContent; return window.rang; })()`
	until(t, tab, "the alarm", when)
	if got := value(t, tab, chromedp.Evaluate[string](`window.rang`)); got != "in 0:10" && got != "in 0:09" {
		t.Errorf("it is alarmed %s", got)
	}
	if got := value(t, tab, chromedp.Evaluate[string](`document.getElementById('slab-alarm').textContent`)); got != "lift" {
		t.Errorf("the alarm says %q", got)
	}
	edge := func() string {
		t.Helper()
		return value(t, tab, chromedp.Evaluate[string](`(() => { const s = getComputedStyle(document.getElementById('slab-edge')); return s.display + ' ' + s.animationName + ' ' + s.animationDuration; })()`))
	}
	if got := edge(); got != "block slab-flash 1s" { // one flash a second; three are the most (WCAG 2.2, 2.3.1)
		t.Errorf("the edge is %q", got)
	}
	do(t, tab, command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}}))
	if got := edge(); !strings.HasPrefix(got, "block none") {
		t.Errorf("who asks for less motion gets the edge %q", got)
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#slab-notes"))); !strings.Contains(got, "Sound is off") {
		t.Errorf("of the sound it says %q", got)
	}
	// The other batch's, on the same page.
	other := newFakeShop()
	root, _, _ = slabServer(t, other, fixtureNow().Add(9*time.Minute+35*time.Second))
	do(t, tab, chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "the other batch's alarm", `document.querySelector('#slab-alarm a[href="/slab/2026-11-27-3"]')`)
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#slab-alarm"))); !strings.Contains(got, "Clove barrels: to the rolls") {
		t.Errorf("the other batch's alarm says %q", got)
	}
	do(t, tab, space("keyDown"), space("keyUp"))
	until(t, tab, "the sound", `!document.getElementById('slab-notes').textContent.includes('Sound is off')`)
}

// When the program has gone the page says since when, the clock goes on, and when it is
// back the page is live again.
func slabNotLive(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	f.tapAt(record.Lit, -20)
	root, net, cut := slabServer(t, f, fixtureNow())
	do(t, tab, size(390, 844), chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "that it is live", `document.getElementById('slab-live').textContent.startsWith('Live')`)
	cut()
	until(t, tab, "that it is not live", `document.querySelector('#slab-lost:not([hidden])')`)
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#slab-lost"))); !strings.HasPrefix(got, "NOT LIVE since 9:4") {
		t.Errorf("it says %q", got)
	}
	count := `document.querySelector('.slab-step:not([hidden]) .count').textContent`
	was := value(t, tab, chromedp.Evaluate[string](count))
	until(t, tab, "that the clock goes on", count+` !== '`+was+`'`)
	if d := overflow(t, tab); d > 0 {
		t.Errorf("%.0f pixels wider than the window", d)
	}
	// Trouble is written where it is: its own page would not come.
	press(t, tab, ".slab-bar:not([hidden]) .trouble-key")
	until(t, tab, "the pictures", `document.querySelector('#slab-trouble:not([hidden]) .pic')`)
	net.dead.Store(false)
	until(t, tab, "that it is live again", `document.getElementById('slab-lost').hidden && document.getElementById('slab-live').textContent.startsWith('Live')`)
	if !testing.Short() {
		clean(t, tab, "a page that is live again")
	}

	// A probe that told by itself and tells no more.
	silent := newFakeShop()
	for i := range 5 {
		silent.slab.extra = append(silent.slab.extra, app.SlabReading{At: fixtureNow().Add(time.Duration(i-40) * 5 * time.Second), Where: record.AtKettle, C: 140, TrueC: 140})
	}
	root, _, _ = slabServer(t, silent, fixtureNow())
	do(t, tab, chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "that no reading comes", `document.getElementById('slab-lost').textContent.startsWith('NOT LIVE: no reading since 9:38')`)
}

// The one key held for a second is trouble, and nothing is tapped by it.
func slabHeld(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	root, _, _ := slabServer(t, f, fixtureNow())
	do(t, tab, size(1280, 800), chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "the first step", verbIs("light"))
	do(t, tab, space("keyDown"))
	until(t, tab, "that it says so", `document.querySelector('#slab-hold:not([hidden])')`)
	until(t, tab, "trouble", `location.pathname === '/trouble/`+fixtureBatch+`'`)
	do(t, tab, space("keyUp"))
	if got := f.tapped(); len(got) != 0 {
		t.Errorf("tapped: %+v", got)
	}
}

// A thermometer is read on steppers in steps of its division, without typing.
func slabReads(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	f.tapAt(record.Lit, -20)
	f.slab.lines = 1
	root, _, _ := slabServer(t, f, fixtureNow())
	do(t, tab, size(768, 1024), chromedp.Navigate(root+"/slab/"+fixtureBatch), chromedp.WaitVisible(chromedp.CSS("[data-by='1']")))
	reads := func() string { return value(t, tab, chromedp.Value(chromedp.CSS("#read-value"))) }
	if got := reads(); got != "148" { // as foreseen for the pour
		t.Errorf("the stepper begins at %q", got)
	}
	for _, k := range []struct{ by, want string }{{"1", "148.5"}, {"10", "153.5"}, {"-1", "153.0"}} {
		press(t, tab, "[data-by='"+k.by+"']")
		if got := reads(); got != k.want {
			t.Errorf("by %s it is %q, want %q", k.by, got, k.want)
		}
	}
	do(t, tab, chromedp.Evaluate[chromedp.Void](`document.querySelector('#slab-read [value=probe]').click()`))
	press(t, tab, "[data-by='1']")
	f.mu.Lock()
	f.tapAt(record.Boils, -10) // by somebody else: the page follows, and what is set stays
	f.mu.Unlock()
	do(t, tab, chromedp.Evaluate[chromedp.Void](`document.dispatchEvent(new Event('visibilitychange'))`))
	until(t, tab, "what somebody else tapped", `document.getElementById('slab').dataset.done.includes('boils')`)
	if got := reads(); got != "153.1" {
		t.Errorf("through a refresh it is %q", got)
	}
	press(t, tab, "#slab-read .wide-key")
	for range 200 {
		if len(f.tapped()) > 2 {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	got := f.tapped()
	if len(got) != 3 || *got[2].Entry.Moment != (record.Moment{What: record.Looked, ReadC: 153.1, Glass: "probe", At: record.AtKettle}) {
		t.Errorf("read: %+v", got[len(got)-1].Entry.Moment)
	}
}

// The screen is kept awake, and where that cannot be had it is said.
func slabAwake(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	root, _, _ := slabServer(t, f, fixtureNow())
	wake := func(source string) chromedp.Action[chromedp.Void] {
		return command(cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{Source: source})
	}
	const says = `document.getElementById('slab-notes').textContent.includes('The screen may go dark')`
	do(t, tab, size(768, 1024), wake(`WakeLock.prototype.request = () => Promise.reject(new Error('no'))`), chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "that the screen may go dark", says)
	do(t, tab, wake(`WakeLock.prototype.request = () => { window.asked = (window.asked || 0) + 1; return Promise.resolve({ released: false }); }`), chromedp.Navigate(root+"/slab/"+fixtureBatch))
	until(t, tab, "that it is kept awake", `window.asked === 1 && document.getElementById('slab-notes').textContent !== '' && !(`+says+`)`)
}

// Every state in every window: nothing for the checker to find, contrast of 7:1, keys of
// 96 pixels, the main figure of 120 where there is room, the key for next in sight.
func slabLooks(t *testing.T, tab context.Context) {
	t.Helper()
	if testing.Short() {
		t.Skip("looked at without the race detector")
	}
	for name, set := range map[string]func(f *fakeShop) time.Duration{
		"before the flame": func(f *fakeShop) time.Duration {
			f.slab.blocked = true
			return 0
		},
		"the lift": func(f *fakeShop) time.Duration {
			f.tapAt(record.Lit, -20)
			return 4*time.Minute + 5*time.Second
		},
		"at the rolls, late": func(f *fakeShop) time.Duration {
			for i, w := range []record.Happening{record.Lit, record.FlameOff, record.Poured, record.EdgeUp, record.AcidIn, record.ToRolls} {
				f.tapAt(w, float64(i)*2-10)
			}
			return 18 * time.Minute
		},
	} {
		f := newFakeShop()
		from := fixtureNow().Add(set(f))
		root, _, _ := slabServer(t, f, from)
		do(t, tab, theme("light"), chromedp.Navigate(root+"/slab/"+fixtureBatch))
		until(t, tab, "that it is live", `document.getElementById('slab-live').textContent.startsWith('Live')`)
		for _, s := range screens {
			what := fmt.Sprintf("%s at %d", name, s[0])
			do(t, tab, size(s[0], s[1]), chromedp.Evaluate[chromedp.Void](`scrollTo(0, 0)`))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s: %.0f pixels wider than the window", what, d)
			}
			if low := value(t, tab, chromedp.Evaluate[[]string](`Array.from(document.querySelectorAll('#slab :is(.key, .slab-tab, summary)')).filter(e => e.checkVisibility() && (e.getBoundingClientRect().height < 95.9 || e.getBoundingClientRect().width < 95.9)).map(e => e.outerHTML.slice(0, 80))`)); len(low) > 0 {
				t.Errorf("%s: smaller than 96 pixels: %s", what, strings.Join(low, "\n"))
			}
			if !value(t, tab, chromedp.Evaluate[bool](`(() => { const k = document.querySelector('.slab-bar:not([hidden]) .key').getBoundingClientRect(); return k.top >= 0 && k.bottom <= innerHeight; })()`)) {
				t.Errorf("%s: the key is out of sight", what)
			}
			big := value(t, tab, chromedp.Evaluate[float64](`Math.max(0, ...Array.from(document.querySelectorAll('.slab-step:not([hidden]) :is(.slab-fig strong, .slab-clock)')).map(e => parseFloat(getComputedStyle(e).fontSize)))`))
			if want := map[bool]float64{true: 120, false: 64}[s[0] >= 768]; name != "before the flame" && big < want {
				t.Errorf("%s: the main figure is %.0f pixels, want %.0f", what, big, want)
			}
			if extreme(s) {
				clean(t, tab, what)
				spotless(t, axe(t, tab, "color-contrast-enhanced"), what+", at 7:1")
			}
		}
		darkIsClean(t, tab, name)
		spotless(t, axe(t, tab, "color-contrast-enhanced"), name+" in the dark theme, at 7:1")
	}
}

// Without script it is forms and links: what is tapped is written with the time at which
// it comes, what is read is typed.
func slabNoScript(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	root, _, _ := slabServer(t, f, fixtureNow())
	do(t, tab, scripts(false), size(390, 844), chromedp.Navigate(root+"/slab/"+fixtureBatch))
	shown := func() string {
		t.Helper()
		return value(t, tab, chromedp.Text(chromedp.CSS(".slab-step:not([hidden]) .slab-verb")))
	}
	if got := shown(); !strings.EqualFold(got, "light") {
		t.Errorf("at first it says %q", got)
	}
	press(t, tab, ".slab-bar:not([hidden]) .next")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#step-1")))
	if got := f.tapped(); len(got) != 1 || got[0].Entry.Moment.What != record.Lit {
		t.Errorf("written: %+v", got)
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#step-1 .count"))); !strings.HasPrefix(got, "in 4:") && !strings.HasPrefix(got, "in 3:") {
		t.Errorf("the lift is %q", got)
	}
	retype(t, tab, "#read-value", "warm")
	press(t, tab, "#slab-read .wide-key")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#read-e")))
	retype(t, tab, "#read-value", "151.5")
	press(t, tab, "#slab-read .wide-key")
	do(t, tab, chromedp.WaitNotPresent(chromedp.CSS("#read-e")))
	if got := f.tapped(); len(got) != 2 || got[1].Entry.Moment.ReadC != 151.5 {
		t.Errorf("written: %+v", got)
	}
	if n := value(t, tab, chromedp.Text(chromedp.CSS(".slab-links"))); !strings.Contains(n, "Look again") {
		t.Errorf("there is no way to look again: %q", n)
	}
	for _, a := range []string{"/slab", "/slab/" + fixtureBatch} {
		if p := ask(t, New(f, fixtureOptions()), http.MethodGet, a, nil); p.StatusCode != http.StatusOK {
			t.Errorf("%s: %d", a, p.StatusCode)
		}
	}
}

// The same over a kept book: the checks before the flame, each tap an act of its own with
// its own time, what somebody else taps shown at once, a wrong tap taken back.
func slabKept(t *testing.T, tab context.Context) {
	t.Helper()
	x, a, id := streamSite(t, time.Hour)
	x.opt.Now = running(shoptest.Now())
	net := &wire{Handler: x.Local()}
	srv := serve(t, net)
	t.Cleanup(func() {
		net.dead.Store(true)
		srv.CloseClientConnections()
	})
	ctx := context.Background()
	moments := func() (out []record.Happening) {
		t.Helper()
		r, err := a.Written(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range r.All(record.Timing) {
			out = append(out, k.Moment.What)
		}
		return out
	}
	key := func() { t.Helper(); do(t, tab, space("keyDown"), space("keyUp")) }
	do(t, tab, size(1024, 768), chromedp.Navigate(srv.URL+"/slab"))
	until(t, tab, "what is to be looked at", verbIs("Look first"))
	key() // starts nothing
	press(t, tab, ".slab-bar .key")
	until(t, tab, "the checks", `location.pathname === '/records/`+id+`' && location.hash === '#h-checked'`)
	if got := moments(); len(got) != 0 {
		t.Fatalf("lit before all was looked at: %v", got)
	}
	r, err := a.Record(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	checked := &record.Checked{}
	for _, c := range r.Before.Asked {
		checked.Checks = append(checked.Checks, record.Check{Item: c.Item, Says: record.Yes})
	}
	if err := a.Enter(ctx, record.Entry{Batch: id, Checked: checked}, 0, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	at, err := a.AtSlab(ctx, id, shoptest.Now())
	if err != nil || !at.Ready {
		t.Fatalf("looked at, and ready: %t, %v, open %v", at.Ready, err, at.Open)
	}
	do(t, tab, chromedp.Navigate(srv.URL+"/slab/"+id))
	next := func(i int) string {
		return fmt.Sprintf(`(document.querySelector('.slab-step:not([hidden])') || {dataset: {}}).dataset.tap === %q`, at.Steps[i].Tap)
	}
	until(t, tab, "the first step", next(0))
	if !testing.Short() {
		clean(t, tab, "a kept batch at the slab")
	}
	key()
	until(t, tab, "the second step", next(1))
	// Somebody else taps: the page follows.
	until(t, tab, "that it is written", `document.getElementById('slab').dataset.done.includes('lit')`)
	if err := a.Enter(ctx, record.Entry{Batch: id, Moment: &record.Moment{What: at.Steps[1].Tap}}, 0, "Bela", ""); err != nil {
		t.Fatal(err)
	}
	until(t, tab, "what somebody else tapped", next(2))
	time.Sleep(bounces)
	net.deaf.Store(true) // heard, and the answer lost
	key()
	until(t, tab, "the fourth step", next(3))
	until(t, tab, "that it is lost", `document.querySelector('#taps.lost:not([hidden])')`)
	time.Sleep(bounces)
	key()
	until(t, tab, "the fifth step", next(4))
	do(t, tab, chromedp.Navigate("about:blank"))
	net.deaf.Store(false)
	net.dead.Store(false)
	do(t, tab, chromedp.Navigate(srv.URL+"/slab/"+id))
	until(t, tab, "what waited", next(4)+` && document.getElementById('slab').dataset.done.includes('`+string(at.Steps[3].Tap)+`') && document.getElementById('taps').hidden`)
	var want []record.Happening
	for _, s := range at.Steps[:4] {
		want = append(want, s.Tap)
	}
	if got := moments(); !slices.Equal(got, want) {
		t.Errorf("written %v, want %v", got, want)
	}
	press(t, tab, "#slab-undo button")
	until(t, tab, "the step again", next(3))
	if got := moments(); !slices.Equal(got, want[:3]) {
		t.Errorf("taken back, and written is %v", got)
	}
	kept, err := a.Written(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range kept.Entries {
		if e.Noted != nil {
			t.Errorf("noted: %+v", e.Noted)
		}
	}
}
