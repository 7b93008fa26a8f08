package web

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/reading"
	"slabside/internal/shoptest"
)

// sendReadings posts readings as a program does.
func sendReadings(target, kind, body string) *http.Request {
	r := put(apiRoot+target, body)
	r.Method = "POST"
	r.Header.Set("Content-Type", kind)
	return r
}

// Readings come in as JSON and as lines of CSV, and are the same readings then.
func TestAPI_Readings(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	at := shoptest.Now().Add(-time.Hour).UTC()
	stamp := func(s int) string { return at.Add(time.Duration(s) * time.Second).Format(time.RFC3339) }
	for _, c := range []struct {
		name, target, kind, body string
		want                     reading.Counts
	}{
		{"one", "/readings", "application/json", `{"probe":"glass","in":"kettle","at":"` + stamp(0) + `","value":120.5}`, reading.Counts{Kept: 1}},
		{"a list", "/readings", "application/json; charset=utf-8", ` [{"probe":"glass","in":"kettle","at":"` + stamp(0) + `","value":120.5},{"probe":"glass","in":"water-in","at":"` + stamp(1) + `","value":64.4,"unit":"F"}]`, reading.Counts{Kept: 1, Repeated: 1}},
		{"a line", "/readings?probe=glass&in=kettle", "text/csv", stamp(2) + ",121.5", reading.Counts{Kept: 1}},
		{"lines, one of another value", "/readings?probe=glass&in=kettle&unit=F", "text/csv; charset=utf-8", "at,value\n" + stamp(0) + ",248.9\n" + stamp(3) + ",251.6\n" + stamp(2) + ",251\n", reading.Counts{Kept: 1, Repeated: 1, SetAside: 1}},
		{"a clock ahead", "/readings?probe=glass&in=kettle&clock-ahead=60s", "text/csv", stamp(64) + ",123", reading.Counts{Kept: 1}},
		{"a clock ahead, in JSON", "/readings", "application/json", `{"probe":"glass","in":"kettle","at":"` + stamp(65) + `","clock_ahead_ms":60000,"value":124}`, reading.Counts{Kept: 1}},
		{"a number", "/readings?probe=glass&in=air", "text/csv", "21.5\n", reading.Counts{Kept: 1}},
	} {
		p := send(t, site, sendReadings(c.target, c.kind, c.body))
		if p.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d: %s", c.name, p.StatusCode, p.body)
			continue
		}
		if got := decoded[app.ReadingsAdded](t, p); got.Counts != c.want || (len(got.Cautions) > 0) != (c.want.SetAside > 0) {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	type line struct {
		s    int
		c    float64
		in   reading.Place
		kept int
	}
	want := []line{{0, 120.5, reading.Kettle, 0}, {1, 18, reading.WaterIn, 0}, {2, 121.5, reading.Kettle, 0}, {2, 121.667, reading.Kettle, 1}, {3, 122, reading.Kettle, 0},
		{4, 123, reading.Kettle, 0}, {5, 124, reading.Kettle, 0}, {3600, 21.5, reading.Air, 0}}
	got := decoded[app.ReadingsResult](t, ask(t, site, "GET", apiRoot+"/readings", nil))
	if len(got.Readings) != len(want) {
		t.Fatalf("%d readings, want %d: %+v", len(got.Readings), len(want), got.Readings)
	}
	for i, w := range want {
		if x := got.Readings[i]; x.C != w.c || x.In != w.in || x.SetAside != w.kept || !x.At.Equal(at.Add(time.Duration(w.s)*time.Second)) || x.Source != reading.Posted {
			t.Errorf("reading %d is %+v, want %+v", i, x, w)
		}
	}
	var n int
	for after := ""; ; {
		p := decoded[app.ReadingsResult](t, ask(t, site, "GET", apiRoot+"/readings?limit=3&after="+after, nil))
		n += len(p.Readings)
		if after = p.Next; after == "" || n > len(want) {
			break
		}
	}
	if n != len(want) {
		t.Errorf("page by page there are %d", n)
	}
}

func TestAPI_ReadingsWrong(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	d := describedBy(t, site)
	good := `{"probe":"glass","in":"kettle","value":120}`
	for name, c := range map[string]struct {
		target, kind, body string
		status             int
		field              string
	}{
		"no kind":              {"/readings", "", good, 415, ""},
		"a form":               {"/readings", "application/x-www-form-urlencoded", "probe=glass", 415, ""},
		"no value":             {"/readings", "application/json", `{"probe":"glass","in":"kettle"}`, 422, "value"},
		"null for a value":     {"/readings", "application/json", `{"probe":"glass","in":"kettle","value":null}`, 422, "value"},
		"a text for a value":   {"/readings", "application/json", `{"probe":"glass","in":"kettle","value":"120"}`, 422, "value"},
		"a key of nothing":     {"/readings", "application/json", `{"probe":"glass","in":"kettle","value":1,"colour":"red"}`, 422, ""},
		"no thermometer":       {"/readings", "application/json", `{"in":"kettle","value":120}`, 422, "probe"},
		"another's":            {"/readings", "application/json", `{"probe":"none","in":"kettle","value":120}`, 404, "probe"},
		"no place":             {"/readings", "application/json", `{"probe":"glass","value":120}`, 422, "in"},
		"a time of no zone":    {"/readings", "application/json", `{"probe":"glass","in":"kettle","value":120,"at":"2026-03-17 07:00:00"}`, 422, "at"},
		"a time to come":       {"/readings", "application/json", `{"probe":"glass","in":"kettle","value":120,"at":"2027-03-17T07:00:00Z"}`, 422, "at"},
		"a clock of no age":    {"/readings", "application/json", `{"probe":"glass","in":"kettle","value":120,"clock_ahead_ms":9223372036854775807}`, 422, "clock_ahead_ms"},
		"the second of two":    {"/readings", "application/json", "[" + good + `,{"probe":"glass","in":"kettle","value":9999}]`, 422, "readings[1].value"},
		"the second unread":    {"/readings", "application/json", "[" + good + `,{"probe":1}]`, 422, "readings[1].probe"},
		"none":                 {"/readings", "application/json", "[]", 422, "readings"},
		"no JSON":              {"/readings", "application/json", "120", 422, ""},
		"too many":             {"/readings", "application/json", "[" + strings.Repeat(good+",", 10_000) + good + "]", 422, "readings"},
		"JSON with a query":    {"/readings?probe=glass", "application/json", good, 422, "probe"},
		"CSV of nobody":        {"/readings?in=kettle", "text/csv", "2026-03-17T07:00:00Z,120", 422, "probe"},
		"CSV of no time":       {"/readings?probe=glass&in=kettle", "text/csv", "a,b\nnow,120", 422, ""},
		"CSV, a line wrong":    {"/readings?probe=glass&in=kettle", "text/csv", "2026-03-17T07:00:00Z,120\n2026-03-17T07:00:01Z,hot", 422, "line:2, column 2"},
		"CSV, a clock":         {"/readings?probe=glass&in=kettle&clock-ahead=soon", "text/csv", "120", 422, "clock-ahead"},
		"CSV, a name of none":  {"/readings?probe=glass&in=kettle&colour=red", "text/csv", "120", 422, "colour"},
		"too much":             {"/readings", "application/json", `"` + strings.Repeat("x", mostReadingsBody), 413, ""},
		"a list of none":       {"/readings?limit=0", "", "", 422, "limit"},
		"a list too long":      {"/readings?limit=5001", "", "", 422, "limit"},
		"from a time of none":  {"/readings?from=soon", "", "", 422, "from"},
		"after what is not":    {"/readings?after=x", "", "", 422, "after"},
		"a place of none":      {"/readings?in=cellar", "", "", 422, "in"},
		"a batch of no number": {"/readings?batch=x", "", "", 422, "batch"},
		"a batch of none":      {"/readings?batch=2026-03-17-9", "", "", 404, "batch"},
	} {
		r := sendReadings(c.target, c.kind, c.body)
		if c.body == "" {
			r = newRequest("GET", apiRoot+c.target, nil)
		}
		p := send(t, site, r)
		if p.StatusCode != c.status {
			t.Errorf("%s: status %d, want %d: %s", name, p.StatusCode, c.status, p.body)
			continue
		}
		if err := d.check(p.body, "components", "schemas", "problem"); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if v := decoded[APIProblem](t, p); len(v.Faults) != 1 || v.Faults[0].Field != c.field {
			t.Errorf("%s: %+v, want one at %q", name, v.Faults, c.field)
		}
	}
	if got := decoded[app.ReadingsResult](t, ask(t, site, "GET", apiRoot+"/readings", nil)); len(got.Readings) != 0 {
		t.Errorf("%d readings were kept", len(got.Readings))
	}
}

// A thermometer's program brings in its own readings and does nothing else: it sees
// nothing, and another thermometer's readings are refused.
func TestAPI_ReadingsOfAProbe(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	bound, err := x.f.App.NewToken(t.Context(), "gateway", access.Probe, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	st := x.state()
	if role := st.TokenOf(bound).Role; role != "probe" {
		t.Fatalf("role %s", role)
	}
	ask := func(method, target, token, body string) page {
		r := sendReadings(target, "application/json", body)
		x.asked++
		r.Method, r.Host, r.RemoteAddr = method, sharedHost, fmt.Sprintf("10.1.%d.%d:4000", x.asked/250, x.asked%250)
		r.Header.Set("Authorization", "Bearer "+token)
		return send(t, x.shared, r)
	}
	good := `{"probe":"glass","in":"kettle","value":120}`
	if p := ask("POST", "/readings", bound, good); p.StatusCode != http.StatusOK {
		t.Errorf("its readings: status %d: %s", p.StatusCode, p.body)
	}
	for _, rt := range (&server{}).routes() {
		if !strings.HasPrefix(rt.pattern, apiRoot) || rt.see == 0 {
			continue
		}
		target := strings.NewReplacer("{kind}", "recipe", "{id}", "pear", "{batch}", fixtureBatch, "{lot}", fixtureLot, "{jar}", "j-1", "{glass}", "glass").Replace(strings.TrimPrefix(rt.pattern, apiRoot))
		if p := ask("GET", target, bound, ""); rt.get != nil && p.StatusCode != http.StatusForbidden {
			t.Errorf("it sees %s: status %d", target, p.StatusCode)
		}
		if p := ask("PUT", target, bound, "{}"); rt.put != nil && p.StatusCode != http.StatusForbidden {
			t.Errorf("it changes %s: status %d", target, p.StatusCode)
		}
	}
	if bound, err = x.f.NewProbeToken(t.Context(), "kettle wire", "brass", rand.Reader); err != nil {
		t.Fatal(err)
	}
	if p := ask("POST", "/readings", bound, good); p.StatusCode != http.StatusForbidden || !strings.Contains(p.body, "brass alone") {
		t.Errorf("another's readings: status %d: %s", p.StatusCode, p.body)
	}
	if p := ask("POST", "/readings", bound, "["+strings.Replace(good, "glass", "brass", 1)+","+good+"]"); p.StatusCode != http.StatusForbidden {
		t.Errorf("another's among its own: status %d", p.StatusCode)
	}
	if p := ask("POST", "/readings", bound, strings.Replace(good, "glass", "brass", 1)); p.StatusCode != http.StatusOK {
		t.Errorf("its own: status %d: %s", p.StatusCode, p.body)
	}
	if p := ask("POST", "/readings", "slabside_x", good); p.StatusCode != http.StatusUnauthorized {
		t.Errorf("an unknown token: status %d", p.StatusCode)
	}
}

// Ten thermometers behind one address, each posting every second, are never refused; a
// program that asks without a pause is.
func TestAPI_ReadingsEverySecond(t *testing.T) {
	t.Parallel()
	f := newFakeShop()
	now := fixtureNow()
	opt := fixtureOptions()
	opt.Now = func() time.Time { return now }
	if err := f.AddPerson(t.Context(), "Odile", access.Owner, pins["Odile"], rand.Reader); err != nil {
		t.Fatal(err)
	}
	token, err := f.NewToken(t.Context(), "gateway", access.Probe, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	site := NewSite(f, opt).Shared(names("192.168.1.20"))
	post := func() int {
		r := sendReadings("/readings", "application/json", `{"probe":"glass","in":"kettle","value":120}`)
		r.Host, r.RemoteAddr = sharedHost, "192.168.1.40:5000"
		r.Header.Set("Authorization", "Bearer "+token)
		return send(t, site, r).StatusCode
	}
	for s := range 120 {
		now = now.Add(time.Second)
		for p := range 10 {
			if st := post(); st != http.StatusOK {
				t.Fatalf("after %d s thermometer %d is answered %d", s, p, st)
			}
		}
	}
	for i := 0; ; i++ {
		if post() == http.StatusTooManyRequests {
			break
		}
		if i > 2*usualBurst {
			t.Fatal("nothing is too often")
		}
	}
}
