package web

import (
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// visited is the page for visitors at a moment, and again when what it looked up in
// the background has come. It runs in a bubble of synctest.
func visited(t *testing.T, h http.Handler) (first, then page) {
	t.Helper()
	first = send(t, h, newRequest("GET", "/", nil))
	synctest.Wait()
	return first, send(t, h, newRequest("GET", "/", nil))
}

// publicSite is the page for visitors with a clock that the test sets.
func publicSite(f *fakeShop, now *time.Time) http.Handler {
	opt := fixtureOptions()
	opt.Log = slog.New(slog.DiscardHandler)
	opt.Now = func() time.Time { return *now }
	return NewSite(f, opt).Public()
}

// Visitors are told of the announced pours that are to come and what is boiling, from
// a plan that is looked at once a minute however many they are.
func TestPublic_Pours(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		f, now := newFakeShop(), fixtureNow()
		h := publicSite(f, &now)
		first, then := visited(t, h)
		first.says(t, "main", "being looked up")
		plan := fixturePlan(t)
		told := 0
		for _, a := range plan.Pours {
			if a.Batch != "" && a.At.Add(minutes(float64(a.Late))).After(now) {
				then.says(t, "main", a.Name)
				told++
			}
		}
		if told == 0 || len(all(then.root, "main section")) != told {
			t.Errorf("%d pours of %d are told", len(all(then.root, "main section")), told)
		}
		then.says(t, "main", "Being made now: Pear drops")
		then.says(t, "main", "about")
		for range 100 {
			send(t, h, newRequest("GET", "/", nil))
		}
		synctest.Wait()
		if f.plans != 1 {
			t.Errorf("a hundred visitors within a minute make %d plans", f.plans)
		}
		now = now.Add(publicEvery)
		visited(t, h)
		if f.plans != 2 {
			t.Errorf("after a minute there are %d plans", f.plans)
		}
	})
}

// What was looked at long ago is not told as today's: the first visitor of a morning
// is not told that the day is over.
func TestPublic_Stale(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		f, now := newFakeShop(), fixtureNow()
		h := publicSite(f, &now)
		visited(t, h)
		now = now.Add(20 * time.Hour)
		first, _ := visited(t, h)
		first.says(t, "main", "being looked up")
		if strings.Contains(first.body, "No more pours") || strings.Contains(first.body, "28 November") {
			t.Error("yesterday's plan is told")
		}
	})
}

// A day that cannot be planned is not told as a day without pours, and a defect ends
// the look and not the program.
func TestPublic_NoPlan(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*fakeShop){
		"a fault":  func(f *fakeShop) { f.planErr = errors.New("no plan") },
		"a defect": func(f *fakeShop) { f.panics = true },
		"no book":  func(f *fakeShop) { f.bookErr = errors.New("no book") },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				f, now := newFakeShop(), fixtureNow()
				spoil(f)
				_, then := visited(t, publicSite(f, &now))
				then.says(t, "main", "cannot be told just now")
			})
		})
	}
	synctest.Test(t, func(t *testing.T) {
		f, now := newFakeShop(), fixtureNow()
		f.book.ToMake = nil
		_, then := visited(t, publicSite(f, &now))
		then.says(t, "main", "Nothing is planned for today")
	})
}

// Nothing is sent to the page for visitors or to the door.
func TestPublic_ReadsOnly(t *testing.T) {
	t.Parallel()
	door := Door(DoorOptions{Names: names("127.0.0.1"), Certificate: []byte("cert"), Network: telling(Network{})})
	for name, h := range map[string]http.Handler{"visitors": NewSite(newFakeShop(), fixtureOptions()).Public(), "door": door} {
		for _, a := range []string{"/", "/static/slabside.css", "/nowhere"} {
			if p := ask(t, h, "POST", a, url.Values{}); p.StatusCode != http.StatusMethodNotAllowed || p.Header.Get("Allow") != "GET, HEAD" {
				t.Errorf("%s: POST %s: status %d", name, a, p.StatusCode)
			}
		}
	}
}
