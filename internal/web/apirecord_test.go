package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/shoptest"
)

const recordPath = apiRoot + "/records/" + recordedBatch

// recordOf reads the record of an answer; its embedded entries have no type of their own.
func recordOf(t *testing.T, p page) app.RecordResult {
	t.Helper()
	var r app.RecordResult
	if err := json.Unmarshal([]byte(p.body), &r); err != nil || p.StatusCode >= 300 {
		t.Fatalf("%d, %v\n%s", p.StatusCode, err, p.body)
	}
	return r
}

// A program begins a batch, writes it down, corrects it and takes it back; who did it
// and why stands beside each, and boils go by what it taught.
func TestAPI_WritesARecord(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	r := recordOf(t, send(t, site, put(recordPath+"/begun", `{"recipe":"pear-barrels","why":"the till asked"}`)))
	if e := r.Entries[0]; e.Begun == nil || e.Begun.ChargeMg != 10e6 || e.Begun.Glass != "glass" || e.Person != "Ann" || e.Reason != "the till asked" {
		t.Fatalf("begun: %+v", e)
	}
	before, err := a.Boil(t.Context(), app.BoilRequest{Recipe: "pear-barrels"})
	if err != nil {
		t.Fatal(err)
	}
	r = recordOf(t, send(t, site, put(recordPath+"/lifted", `{"flame_s":2400}`)))
	act := r.Entries[1].Act
	after, err := a.Boil(t.Context(), app.BoilRequest{Recipe: "pear-barrels"})
	if err != nil || after.BoilTimeS.Value <= before.BoilTimeS.Value {
		t.Errorf("a slow fire, and %+v after %+v, %v", after.BoilTimeS, before.BoilTimeS, err)
	}
	if l := ask(t, site, "GET", apiRoot+"/learned", nil); !strings.Contains(l.body, `"kettle_gets"`) {
		t.Errorf("learned: %s", l.body)
	}
	r = recordOf(t, send(t, site, put(recordPath+"/lifted", `{"flame_s":2300,"corrects_act":`+itoa(act)+`,"why":"misread"}`)))
	if !r.Entries[1].Corrected || r.Entries[2].Corrects != act || r.Entries[2].Lifted.FlameS != 2300 {
		t.Errorf("corrected: %+v", r.Entries)
	}
	r = recordOf(t, send(t, site, put(recordPath+"/taken-back", `{"corrects_act":`+itoa(r.Entries[2].Act)+`}`)))
	if len(r.Entries) != 4 || !r.Entries[2].Corrected || r.Entries[3].Lifted != nil {
		t.Errorf("taken back: %+v", r.Entries)
	}
	r = recordOf(t, send(t, site, put(recordPath+"/taken-back", `{"corrects_act":`+itoa(r.Entries[0].Act)+`}`)))
	if r.Begun != nil || r.Planned != nil {
		t.Errorf("the beginning is taken back, and %+v", r.Begun)
	}
}

func itoa(n int64) string { b, _ := json.Marshal(n); return string(b) }

// What is wrong is said at the name of what was sent, and nothing is written.
func TestAPI_RecordProblems(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	d := describedBy(t, site)
	if p := send(t, site, put(recordPath+"/begun", `{"recipe":"pear-barrels"}`)); p.StatusCode != http.StatusCreated {
		t.Fatalf("%d\n%s", p.StatusCode, p.body)
	}
	before := ask(t, site, "GET", recordPath, nil).body
	get := func(target string) *http.Request { return newRequest("GET", apiRoot+target, nil) }
	other := apiRoot + "/records/" + shoptest.Date + "-2"
	for name, c := range map[string]struct {
		r      *http.Request
		status int
		field  string
	}{
		"begun already":             {put(recordPath+"/begun", `{"recipe":"pear-barrels"}`), 409, ""},
		"no recipe":                 {put(other+"/begun", `{"recipe":"none"}`), 404, "recipe"},
		"no kettle":                 {put(other+"/begun", `{"recipe":"pear-barrels","kettle":"none"}`), 404, "kettle"},
		"too much":                  {put(other+"/begun", `{"recipe":"pear-barrels","charge_mg":90000000}`), 422, "charge_mg"},
		"less than nothing":         {put(other+"/begun", `{"recipe":"pear-barrels","charge_mg":-1}`), 422, "charge_mg"},
		"no number":                 {put(apiRoot+"/records/first/begun", `{"recipe":"pear-barrels"}`), 422, "batch"},
		"no such act":               {put(recordPath+"/begun", `{"corrects_act":77,"charge_mg":9000000}`), 404, "corrects_act"},
		"another day":               {put(apiRoot+"/records/2026-13-01-1/begun", `{"recipe":"pear-barrels"}`), 422, "on"},
		"not begun":                 {put(other+"/lifted", `{"read_c":150}`), 404, "batch"},
		"nothing of the lift":       {put(recordPath+"/lifted", `{}`), 422, ""},
		"too hot":                   {put(recordPath+"/lifted", `{"read_c":250}`), 422, "read_c"},
		"reduced to sea level":      {put(recordPath+"/lifted", `{"station_pa":101325}`), 422, "station_pa"},
		"more than went in":         {put(recordPath+"/lifted", `{"gross_mg":16000000}`), 422, "gross_mg"},
		"no such scale":             {put(recordPath+"/lifted", `{"gross_mg":13300000,"empty_mg":6000000,"scale":"none"}`), 404, "scale"},
		"a key nobody knows":        {put(recordPath+"/lifted", `{"read_f":302}`), 422, ""},
		"a key of another kind":     {put(recordPath+"/lifted", `{"read_c":"150 C"}`), 422, "read_c"},
		"a query":                   {put(recordPath+"/lifted?why=x", `{"read_c":150}`), 422, "why"},
		"a moisture of nothing":     {put(recordPath+"/moisture", `{"of":"","water_frac":0.02,"sure_frac":0.003}`), 422, "of"},
		"no such check":             {put(recordPath+"/checked", `{"checks":[{"item":"oven","says":"yes"}]}`), 422, "checks"},
		"nobody verified":           {put(recordPath+"/checked", `{"checks":[{"item":"allergen clean","says":"yes"}]}`), 422, "checks"},
		"cook-back of no batch":     {put(recordPath+"/cooked-back", `{"mass_mg":1,"from":"2026-01-01-1"}`), 404, "from"},
		"more scraps than there":    {put(recordPath+"/made", `{"sound_mg":5000000,"cook_back_mg":10}`), 422, "cook_back_mg"},
		"no scale of the shop":      {put(recordPath+"/made", `{"sound_mg":5000000,"scale":"none"}`), 404, "scale"},
		"found nowhere":             {put(recordPath+"/found", `{"of":"metal","what":"a chip","where":"","done":"held"}`), 422, "where"},
		"perhaps whole":             {put(recordPath+"/after", `{"rolls":"perhaps"}`), 422, "rolls"},
		"verified by oneself":       {put(recordPath+"/cleaned", `{"surface":"slab","kind":"wash","by":"Ada","verified_by":"Ada"}`), 422, "verified_by"},
		"a word of nobody":          {put(recordPath+"/tasted", `{"words":["nice"]}`), 422, "words"},
		"signed unread":             {put(recordPath+"/signed", `{"through_act":1}`), 409, "through_act"},
		"no thermometer":            {put(recordPath+"/worked", `{"pull_c":85,"sure_k":0}`), 422, "sure_k"},
		"taking back nothing":       {put(recordPath+"/taken-back", `{"corrects_act":0}`), 422, "corrects_act"},
		"taking back another":       {put(recordPath+"/taken-back", `{"corrects_act":1}`), 404, "corrects_act"},
		"another kind":              {put(recordPath+"/poured", `{}`), 405, ""},
		"no record":                 {get("/records/" + shoptest.Date + "-9"), 404, "batch"},
		"no number to look at":      {get("/records/nine"), 422, "batch"},
		"a list of none":            {get("/records?limit=0"), 422, "limit"},
		"from no day":               {get("/records?from=May"), 422, "from"},
		"after what is not there":   {get("/records?before=" + shoptest.Date + "-9"), 422, "before"},
		"records of no recipe":      {get("/records?recipe=none"), 404, "recipe"},
		"a name nobody asks by":     {get("/learned?recipe=none"), 422, "recipe"},
		"no such glass":             {get("/look-back/none"), 404, "glass"},
		"a write where none is":     {put(apiRoot+"/learned", `{}`), 405, ""},
		"a record without its kind": {put(recordPath, `{}`), 405, ""},
	} {
		t.Run(name, func(t *testing.T) {
			p := send(t, site, c.r)
			if p.StatusCode != c.status {
				t.Fatalf("status %d, want %d\n%s", p.StatusCode, c.status, p.body)
			}
			if err := d.check(p.body, "components", "schemas", "problem"); err != nil {
				t.Error(err)
			}
			if v := decoded[APIProblem](t, p); len(v.Faults) != 1 || v.Faults[0].Field != c.field || v.Faults[0].Text == "" {
				t.Errorf("%+v, want one at %q", v.Faults, c.field)
			}
		})
	}
	if after := ask(t, site, "GET", recordPath, nil).body; after != before {
		t.Error("something was written")
	}
}
