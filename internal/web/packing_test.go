package web

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"testing"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

// pearBatch begins a batch of pear barrels of which so much came out sound.
func pearBatch(t *testing.T, a *app.App, made q.Kilograms) string {
	t.Helper()
	id, err := a.Begin(context.Background(), app.BeginRequest{Recipe: "pear-barrels"}, "Ada", "")
	if err == nil {
		err = a.Enter(context.Background(), record.Entry{Batch: id, Made: &record.Made{SoundMg: made.Milligrams()}}, 0, "Ada", "")
	}
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// The station without script: the product, the bag on the scale, one press a bag; the lot
// it makes, its page, what goes out, a slip put right, and the jar.
func TestPackingPages(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	site, a := keptSite(t)
	ask(t, site, "GET", "/packing", nil).says(t, "main", "Nothing is packed yet")
	ask(t, site, "GET", "/packing?product=pear-bag", nil).says(t, ".station .wrong", "No batch of Pear barrels can be packed")
	batch := pearBatch(t, a, 4)
	p := ask(t, site, "GET", "/packing?product=pear-bag&tare=5", nil)
	// Eight ounces and 5 g of bag on the approved scale of half a gram; see the use cases' tests.
	p.says(t, ".accept", "232.0–236.5 g with the bag")
	p.says(t, ".tally", "bags left to make 24")
	p.says(t, ".from", batch)
	ask(t, site, "GET", "/packing?product=pear-bag", nil).says(t, ".accept", "scale set to 0 with the empty bag on it")
	press := func(at, sel, button string) page {
		t.Helper()
		form := url.Values{}
		got := ask(t, site, "GET", at, nil)
		for name, v := range hidden(got, sel) {
			form[name] = v
		}
		form.Set("bags", button)
		return ask(t, site, "POST", "/packing", form)
	}
	p = press("/packing?product=pear-bag&tare=5", ".presses", "1")
	if p.StatusCode != 303 || !strings.Contains(p.Header.Get("Location"), "lot=b"+shoptest.Date+"-1") {
		t.Fatalf("packed: %d to %q: %s", p.StatusCode, p.Header.Get("Location"), p.body)
	}
	back, _, _ := strings.Cut(p.Header.Get("Location"), "#")
	ask(t, site, "GET", back, nil).says(t, ".saved", "1 bag in lot b"+shoptest.Date+"-1")
	p = press(back, ".presses", "10")
	if p.StatusCode != 303 {
		t.Fatalf("ten more: %d: %s", p.StatusCode, p.body)
	}
	id := "b" + shoptest.Date + "-1"
	lot := func() *app.BagLot {
		t.Helper()
		l, err := a.BagLot(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	if l := lot(); l.Balance.Packed != 11 || l.TareMg != 5000 || l.Entries[0].Person != fixtureOptions().Person {
		t.Errorf("%+v", l)
	}
	// The page without a word goes on with the lot of today, and with its bag.
	p = ask(t, site, "GET", "/packing?product=pear-bag", nil)
	p.says(t, ".accept", "232.0–236.5 g with the bag")
	p.says(t, ".tally", id)
	if hidden(p, ".presses").Get("lot") != id {
		t.Error("it begins a new lot")
	}
	if p = ask(t, site, "GET", "/packing?product=pear-bag&new=1&lot="+id, nil); hidden(p, ".presses").Get("lot") != "" {
		t.Error("asked for a new lot, it goes on with the old")
	}
	// More than is left is asked about, and taken with a reason.
	p = press("/packing?product=pear-bag", ".presses", "10")
	if p.StatusCode != 422 {
		t.Fatalf("more than is left: %d", p.StatusCode)
	}
	p.says(t, "#wrong", "is known to be left")
	if p.count("#st-why") != 1 || p.count(".more-in button[value=10]") != 1 {
		t.Error("it is not asked why")
	}
	form := hidden(p, ".more-in")
	form.Set("bags", "10")
	form.Set("why", "the tray was weighed short")
	if p = ask(t, site, "POST", "/packing", form); p.StatusCode != 303 {
		t.Fatalf("with a reason: %d: %s", p.StatusCode, p.body)
	}
	at := packedHref(id)
	do := func(want int, values ...string) page {
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
	do(303, "act", "moved", "bags", "4", "to", "order", "for", "17")
	do(422, "act", "moved", "bags", "4", "to", "parcel").says(t, "#wrong", "not said for which order")
	do(303, "act", "counted", "bags", "16")
	do(422, "act", "counted", "bags", "").says(t, "#wrong", "not said how many")
	l := lot()
	if l.Out.Order != 4 || l.OnHand != 16 || l.Unaccounted != 1 {
		t.Errorf("%+v", l.Balance)
	}
	do(303, "act", "moved", "bags", "5", "to", "order", "for", "17", "corrects", itoa(l.Entries[3].Act), "reason", "miscounted")
	do(303, "act", "packed", "bags", "9", "corrects", itoa(l.Entries[1].Act))
	if l = lot(); l.Out.Order != 5 || l.Balance.Packed != 20 || l.OnHand != 16 || l.Unaccounted != -1 {
		t.Errorf("put right: %+v", l.Balance)
	}
	do(303, "act", "open", "bags", "2", "jar", "Counter 3")
	ask(t, site, "GET", "/packing/j-counter-3", nil).says(t, "main", batch)
	ask(t, site, "GET", "/packing/l"+batch, nil).says(t, "main", id)
	// Held by one press: nothing goes out, and a helper does not release it.
	do(303, "act", "hold")
	held := ask(t, site, "GET", at, nil)
	held.says(t, "#hold-h", "ON HOLD")
	if strings.Contains(held.body, "HOLD THIS LOT") || held.count("#out-h") != 0 {
		t.Error("a lot on hold offers to be held, or to go out")
	}
	do(409, "act", "moved", "bags", "1", "to", "counter sale").says(t, "#wrong", "is on hold")
	do(303, "act", "hold", "why", "glass beside the sieve")
	do(422, "act", "usable").says(t, "#wrong", "not said why")
	do(303, "act", "usable", "why", "all looked through")
	for _, f := range []url.Values{{"act": {"sold"}}, {"act": {"moved"}, "bags": {"x"}, "to": {"gift"}}, {"act": {"back"}, "corrects": {"one"}}, {"act": {"packed"}, "bags": {"2"}}} {
		if p := ask(t, site, "POST", at, f); p.StatusCode != 422 {
			t.Errorf("%v: %d", f, p.StatusCode)
		}
	}
	for _, a := range []string{"/packing/b2026-03-17-9", "/packing/j-none", "/packing/l2026-03-17-9"} {
		if p := ask(t, site, "GET", a, nil); p.StatusCode != 404 {
			t.Errorf("%s: %d", a, p.StatusCode)
		}
	}
	// A jar by hand: filled, taken of, emptied, washed.
	if p = ask(t, site, "POST", "/packing", url.Values{"act": {"fill"}, "jar": {"jar 4"}, "jar_batch": {pearBatch(t, a, 2)}, "mass": {"1 kg"}}); p.StatusCode != 303 || p.Header.Get("Location") != "/packing/j-4?saved" {
		t.Fatalf("a jar: %d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	if p = ask(t, site, "POST", "/packing", url.Values{"act": {"fill"}, "jar": {"jar 4"}, "jar_batch": {"2026-03-17-2"}, "mass": {"much"}}); p.StatusCode != 422 || valueOf(p, "jar") != "jar 4" {
		t.Errorf("a jar of nobody knows how much: %d", p.StatusCode)
	}
	at = "/packing/j-4"
	do(303, "act", "taken", "mass", "100 g", "to", "tasting")
	do(303, "act", "left", "mass", "850 g")
	do(409, "act", "washed").says(t, "#wrong", "not empty")
	do(303, "act", "emptied")
	do(303, "act", "washed")
	ask(t, site, "GET", at, nil).says(t, "main", "empty, washed")
	if j, err := a.Jar(ctx, "j-4"); err != nil || j.UnaccountedMg != 50_000 || j.OutMg.Counter != 850_000 || len(j.Of) != 0 {
		t.Errorf("%+v, %v", j, err)
	}
	at = "/packing/l" + batch
	do(303, "act", "taken", "mass", "30 g", "to", "waste", "for", "fell on the floor")
	do(303, "act", "left", "mass", "0")
}

// hidden are the values that a form of a page sends without anybody typing.
func hidden(p page, form string) url.Values {
	out := url.Values{}
	for _, n := range all(p.root, form+" input[type=hidden]") {
		name, _ := attrOf(n, "name")
		v, _ := attrOf(n, "value")
		out.Add(name, v)
	}
	return out
}

// The answer to when, in words, with what it rests on.
func TestWhenPage(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	ask(t, site, "GET", "/packing/when", nil).says(t, "h1", "When can you have it?")
	pearBatch(t, a, 9)
	p := ask(t, site, "GET", "/packing/when?product=pear-bag&bags=4", nil)
	p.says(t, ".answer", "the sweets are made and have to be packed")
	p.says(t, "main", "Orders still wait for 30")
	for _, at := range []string{"/packing/when?product=none&bags=4", "/packing/when?product=pear-bag&bags=none"} {
		if p := ask(t, site, "GET", at, nil); p.StatusCode != 422 {
			t.Errorf("%s: %d", at, p.StatusCode)
		}
	}
}

// A helper packs, counts and holds; only who may change the book releases.
func TestPackingRights(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	at := "/packing/" + fixtureBags
	for _, f := range []url.Values{{"act": {"counted"}, "bags": {"3"}}, {"act": {"hold"}}} {
		if p := x.ask("POST", at, x.tablet, x.shift["Wilma"], f); p.StatusCode != 303 {
			t.Errorf("a helper, %v: %d", f, p.StatusCode)
		}
	}
	f := url.Values{"act": {"usable"}, "why": {"looked through"}}
	if p := x.ask("POST", at, x.tablet, x.shift["Wilma"], f); p.StatusCode != 403 {
		t.Errorf("a helper releases: %d", p.StatusCode)
	}
	if p := x.ask("POST", at, x.tablet, x.shift["Bram"], f); p.StatusCode != 303 {
		t.Errorf("a maker releases: %d", p.StatusCode)
	}
	for role, may := range map[string]bool{"helper": false, "maker": true} {
		r := put(apiRoot+"/bag-lots/"+fixtureBags+"/placed", `{"as":"usable","why":"x"}`)
		r.Host = sharedHost
		r.Header.Set("Authorization", "Bearer "+x.token[role])
		if p := send(t, x.shared, r); (p.StatusCode == 200) != may {
			t.Errorf("the program of a %s releases: %d", role, p.StatusCode)
		}
	}
	if !access.Helper.May(access.Note) || !slices.Contains(packing.Statuses(), packing.Hold) {
		t.Error("the rights are not those of the records")
	}
}
