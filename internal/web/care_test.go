package web

import (
	"context"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/care"
	"slabside/internal/shoptest"
)

// A crack is written down by two presses, without a word typed; the room, the list and
// the day say so; it is put right, and what is due is written, done and ended.
func TestCarePages(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	site, a := keptSite(t)
	leaf := care.Thing{Kind: care.Rolls, ID: "leaf"}
	at := "/care/rolls/leaf"
	post := func(want int, values ...string) page {
		t.Helper()
		f := url.Values{}
		for i := 0; i < len(values); i += 2 {
			f.Set(values[i], values[i+1])
		}
		p := ask(t, site, "POST", at, f)
		if p.StatusCode != want {
			t.Fatalf("%v: %d, want %d: %s", values, p.StatusCode, want, p.body)
		}
		return p
	}
	ledger := func() *app.CareThing {
		t.Helper()
		c, err := a.CareOf(ctx, leaf)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	ask(t, site, "GET", "/care", nil).says(t, "main", "Nothing is written down as due")
	if p := ask(t, site, "GET", at, nil); p.count("#instead") != 0 || p.count("button.big-stop") != 1 {
		t.Error("rolls in use show others, or no button to stop them")
	}
	post(303, "kind", "found", "trouble", "cracked", "stops", "yes")
	if c := ledger(); !c.OutOfUse || c.Faults[0].What != "cracked" || c.Faults[0].On != shoptest.Date {
		t.Errorf("%+v", c.Faults)
	}
	ask(t, site, "GET", "/care", nil).says(t, "[aria-labelledby=out-h]", "Leaf rolls")
	room := ask(t, site, "GET", "/room", nil)
	room.says(t, "[aria-labelledby=out-h]", "Hazel leaves")
	if n := strings.Count(room.body, "OUT OF USE"); n != 2 {
		t.Errorf("%d times it is said what is out of use, want the list and the tile", n)
	}
	of := ask(t, site, "GET", at, nil)
	of.says(t, "#instead", "Barrel")
	of.says(t, "#instead", "bags of about")
	ask(t, site, "GET", "/", nil).says(t, "main", "The Leaf rolls are out of use")

	// A crack stops whatever button is pressed, and its entry is corrected in the form.
	act := itoa(ledger().Faults[0].Act)
	form := ask(t, site, "GET", at+"?corrects="+act, nil)
	if valueOf(form, "what") != "cracked" || form.count("form[aria-labelledby=found] input[name=corrects]") != 1 {
		t.Error("the entry that is corrected does not stand in the form")
	}
	post(303, "kind", "found", "trouble", "chipped", "what", "a chip", "corrects", act)
	if c := ledger(); !c.OutOfUse || len(c.Faults) != 1 || c.Faults[0].Kind != care.Chipped {
		t.Errorf("corrected: %+v", c.Faults)
	}
	post(422, "kind", "settles", "settles", act).says(t, "#wrong", "not said what was done")
	post(303, "kind", "settles", "settles", act, "work", "replaced", "by", "Pell")
	if c := ledger(); c.OutOfUse || c.Faults[0].SettledBy != "replaced, Pell" {
		t.Errorf("put right: %+v", c.Faults)
	}
	post(409, "kind", "settles", "settles", act, "work", "replaced").says(t, "#wrong", "done with already")

	post(303, "kind", "due", "what", "oil the bearings", "days", "30", "batches", "40", "from", "2026-02-01")
	ask(t, site, "GET", "/care", nil).says(t, "[aria-labelledby=due-h]", "OVERDUE")
	ask(t, site, "GET", "/room", nil).says(t, "[aria-labelledby=due-h]", "oil the bearings")
	post(422, "kind", "done", "work", "oiled", "for", "oil the bearings").says(t, "#wrong", "not said with what")
	post(303, "kind", "done", "work", "oiled", "with", "white oil", "food", "yes", "for", "oil the bearings")
	if d := ledger().Due[0]; d.DoneOn != shoptest.Date || d.Urgency != app.Later {
		t.Errorf("oiled: %+v", d)
	}
	post(303, "kind", "ends", "what", "oil the bearings")
	if c := ledger(); len(c.Due) != 0 || c.Last[0].With != "white oil" || !c.Last[0].FoodGrade {
		t.Errorf("ended: %+v", c)
	}
	last := ledger().Entries
	post(303, "kind", "back", "corrects", itoa(last[len(last)-1].Act))
	if len(ledger().Due) != 1 {
		t.Error("what ended and was taken back is not due")
	}

	for _, values := range [][]string{{"kind", "found"}, {"kind", "done"}, {"kind", "due"}, {"kind", "sold"}, {"kind", "back"}, {"kind", "due", "what", "x", "days", "many"}} {
		post(422, values...)
	}
	for _, at := range []string{"/care/rolls/none", "/care/recipe/pear-barrels"} {
		if p := ask(t, site, "GET", at, nil); p.StatusCode != 404 && p.StatusCode != 422 {
			t.Errorf("%s: %d", at, p.StatusCode)
		}
	}
	// The link of a record fills in the form.
	p := ask(t, site, "GET", at+"?batch=2026-03-17-1&trouble=chipped&what=not+whole&on=2026-03-17", nil)
	if valueOf(p, "batch") != "2026-03-17-1" || valueOf(p, "what") != "not whole" {
		t.Error("what a record says does not stand in the form")
	}
}

// A helper writes down faults and work; to let a thing be used again is for those who may
// change the book, whatever the form says.
func TestOutOfUseNeedsTheRightToChange(t *testing.T) {
	t.Parallel()
	for role, may := range map[access.Role]bool{access.Helper: false, access.Maker: true} {
		s := &server{shop: newFakeShop()}
		for name, c := range map[string]struct {
			form  url.Values
			frees bool
		}{
			"a fault":        {url.Values{"kind": {"found"}, "trouble": {"cracked"}, "on": {fixtureDay}}, false},
			"oiled":          {url.Values{"kind": {"done"}, "work": {"oiled"}, "with": {"white oil"}, "by": {"Ada"}, "on": {fixtureDay}}, false},
			"settled":        {url.Values{"kind": {"settles"}, "settles": {"40"}, "work": {"repaired"}, "by": {"Ada"}, "on": {fixtureDay}}, true},
			"settled as any": {url.Values{"kind": {"done"}, "settles": {"40"}, "work": {"oiled"}, "with": {"white oil"}, "by": {"Ada"}, "on": {fixtureDay}}, true},
			"taken back":     {url.Values{"kind": {"back"}, "corrects": {"40"}}, true},
		} {
			r := httptest.NewRequest("POST", "/care/rolls/leaf", strings.NewReader(c.form.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.SetPathValue("kind", "rolls")
			r.SetPathValue("id", "leaf")
			v := visitor{person: &access.Person{Name: "Ada", Role: role}}
			r = r.WithContext(context.WithValue(r.Context(), visitorKey{}, v))
			w := httptest.NewRecorder()
			err := s.postCare(w, r)
			refused := !may && c.frees
			if refused != (err != nil) || !refused && w.Code != 303 {
				t.Errorf("%s, %s: %d, %v", role, name, w.Code, err)
			}
		}
	}
}

// What a program sends has the field that is wrong named as it was sent.
func TestAPI_CareFaults(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	for _, c := range []struct {
		path, body string
		status     int
		field      string
	}{
		{"/care/rolls/leaf/found", `{"on":"2026-03-01","kind":"cracked","what":"x"}`, 422, "stops"},
		{"/care/rolls/leaf/found", `{"on":"2027-03-01","kind":"worn","what":"x"}`, 422, "on"},
		{"/care/rolls/leaf/done", `{"on":"2026-03-01","work":"oiled","by":"x"}`, 422, "with"},
		{"/care/rolls/leaf/done", `{"on":"2026-03-01","work":"tested","by":"x","settles":9}`, 404, "settles"},
		{"/care/rolls/leaf/due", `{"what":"x","ends":true}`, 404, "what"},
		{"/care/rolls/leaf/taken-back", `{"corrects_act":9}`, 404, "corrects_act"},
	} {
		p := send(t, site, put(apiRoot+c.path, c.body))
		if p.StatusCode != c.status || !strings.Contains(p.body, `"field": "`+c.field+`"`) {
			t.Errorf("%s %s: %d %s", c.path, c.body, p.StatusCode, p.body)
		}
	}
	if p := send(t, site, newRequest("GET", apiRoot+"/rolls?instead-of=none", nil)); p.StatusCode != 404 || !strings.Contains(p.body, `"field": "instead-of"`) {
		t.Errorf("no such rolls: %d %s", p.StatusCode, p.body)
	}
}
