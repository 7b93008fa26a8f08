package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
)

// apiSite is the site over the use cases and a new database with the sample shop.
func apiSite(t *testing.T) http.Handler {
	t.Helper()
	site, _ := keptSite(t)
	return site
}

// put makes a request as a program sends it.
func put(target, body string) *http.Request {
	r := httptest.NewRequest("PUT", target, strings.NewReader(body))
	r.Host = "127.0.0.1:7373"
	r.Header.Set("Content-Type", "application/json")
	return r
}

// described is the served description, compiled answer by answer.
type described struct {
	compiler *jsonschema.Compiler
	doc      map[string]any
}

func describedBy(t *testing.T, site http.Handler) described {
	t.Helper()
	p := ask(t, site, "GET", apiRoot+"/openapi.json", nil)
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(p.body))
	if err != nil {
		t.Fatal(err)
	}
	d := described{jsonschema.NewCompiler(), v.(map[string]any)}
	d.compiler.AssertFormat()
	if err := d.compiler.AddResource("http://slabside.test/openapi.json", v); err != nil {
		t.Fatal(err)
	}
	return d
}

// check validates a body against a schema of the description, named by the keys on the way to it.
func (d described) check(body string, keys ...string) error {
	at := "http://slabside.test/openapi.json#"
	for _, k := range keys {
		at += "/" + strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(k)
	}
	s, err := d.compiler.Compile(at)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(body))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// example is a real question to every operation, in the order of its description.
type example struct{ method, path, target, body, status string }

func everyOperation() []example {
	return []example{
		{"get", "/plan", "/plan?date=" + shoptest.Date + "&start=08:30", "", "200"},
		{"get", "/plan", "/plan?date=" + shoptest.Date + "&end=17:00&first=hazel-leaves&without-hand=cleo&break=tea+15:40-16:00+10min", "", "200"},
		{"get", "/boil", "/boil?recipe=pear-barrels&charge=7kg", "", "200"},
		{"get", "/boil", "/boil?sugar=6.35kg&syrup=1.36kg&to=149C", "", "200"},
		{"get", "/boil", "/boil?recipe=pear-barrels&stands-up-to=110F", "", "200"},
		{"get", "/boil", "/boil?recipe=pear-barrels&switch-doctor=no", "", "200"},
		{"get", "/boil", "/boil?recipe=pear-barrels&cook-back=10%25", "", "200"},
		{"get", "/boil", "/boil?recipe=aniseed-beads&oil-left=300ppm", "", "200"},
		{"get", "/limits", "/limits?recipe=aniseed-beads&market=us,eu,uk,ca&date=2026-11-28&most=aniseed-oil&charge=7kg", "", "200"},
		{"get", "/limits", "/limits?recipe=pear-barrels", "", "200"},
		{"get", "/sugar", "/sugar?solids=97%25&syrup-share=40%25&at=100C", "", "200"},
		{"get", "/sugar", "/sugar?solids=30%25&at=20C", "", "200"},
		{"get", "/slab", "/slab?mass=10kg&pour=140C&depth=20mm&water-left=3%25&syrup-share=40%25", "", "200"},
		{"get", "/slab", "/slab?mass=6kg&pour=145C&pulled=30%25&slab=granite", "", "200"},
		{"get", "/pieces", "/pieces?mass=9.5kg&pieces-per-lb=200&loss=5%25", "", "200"},
		{"get", "/mix", "/mix?bag=40&shares=2,2,1&least=5,5,3&pool=5000", "", "200"},
		{"get", "/shelf-life", "/shelf-life?product=row-mix&rh=65%25&at=25C", "", "200"},
		{"get", "/shelf-life", "/shelf-life?product=aniseed-jar&before=3,35C,60%25&before=14,20C,50%25", "", "200"},
		{"get", "/book", "/book", "", "200"},
		{"get", "/things/{kind}", "/things/recipe?limit=2", "", "200"},
		{"get", "/things/{kind}", "/things/day", "", "200"},
		{"get", "/things/{kind}/{id}", "/things/recipe/pear-barrels", "", "200"},
		{"put", "/things/{kind}/{id}", "/things/sieve/finer", `{"head":1,"why":"for dust","text":{"name":"1 mm sieve","aperture":"1 mm"}}`, "201"},
		{"put", "/things/{kind}/{id}", "/things/sieve/finer", `{"head":2,"text":{"name":"1 mm sieve","aperture":"1.2 mm"},"rows":{}}`, "200"},
		{"get", "/things/{kind}/{id}/versions", "/things/sieve/finer/versions", "", "200"},
		{"get", "/things/{kind}/{id}/versions", "/things/room/room/versions", "", "200"},
		{"get", "/things/{kind}/{id}/versions", "/things/sieve/finer/versions?limit=1&before=2", "", "200"},
		{"get", "/uses/{kind}/{id}", "/uses/product/pear-bag", "", "200"},
		{"get", "/uses/{kind}/{id}", "/uses/ingredient/sugar?limit=1&skip=1", "", "200"},
		{"get", "/to-make", "/to-make", "", "200"},
		{"put", "/to-make", "/to-make", `{"head":3,"lines":[{"product":"pear-bag","bags":12,"must":true,"for":"stall"}]}`, "200"},
		{"put", "/kept-trial", "/kept-trial?first=pear-barrels&bags=pear-bag%3D20", `{"head":4,"why":"a school comes"}`, "200"},
		{"get", "/last-change", "/last-change", "", "200"},
		{"put", "/last-change", "/last-change", `{"head":5}`, "200"},
		{"put", "/to-make", "/to-make", `{"head":6,"why":"a day off","lines":[]}`, "200"},
		{"put", "/retired/{kind}/{id}", "/retired/sieve/finer", `{"head":7,"why":"torn"}`, "200"},
		{"put", "/records/{batch}/begun", "/records/" + recordedBatch + "/begun", `{"why":"by a program","recipe":"pear-barrels","charge_mg":9000000,"glass":"glass"}`, "201"},
		{"put", "/records/{batch}/lifted", "/records/" + recordedBatch + "/lifted", `{"read_c":151.5,"gross_mg":13300000,"empty_mg":6000000,"scale":"floor","flame_s":1500,"station_pa":96500}`, "200"},
		{"put", "/records/{batch}/lifted", "/records/" + recordedBatch + "/lifted", `{"why":"misread","corrects_act":10,"read_c":152,"flame_s":1500}`, "200"},
		{"put", "/records/{batch}/moisture", "/records/" + recordedBatch + "/moisture", `{"of":"sweet","water_frac":0.024,"sure_frac":0.003,"method":"oven"}`, "200"},
		{"put", "/records/{batch}/worked", "/records/" + recordedBatch + "/worked", `{"pull_c":85,"roll_c":80,"last_c":70,"sure_k":2}`, "200"},
		{"put", "/records/{batch}/begun", "/records/" + recordedBatch + "/begun", `{"corrects_act":9,"charge_mg":9500000}`, "200"},
		{"put", "/records/{batch}/cooked-back", "/records/" + recordedBatch + "/cooked-back", `{"mass_mg":400000}`, "200"},
		{"put", "/records/{batch}/checked", "/records/" + recordedBatch + "/checked", `{"checks":[{"item":"guards","says":"yes"},{"item":"allergen clean","says":"yes","by":"Bela"}]}`, "200"},
		{"put", "/records/{batch}/made", "/records/" + recordedBatch + "/made", `{"poured_at":"10:10","turns":20,"sheets":14,"sample_n":50,"sample_mg":190000,"sound_mg":6000000,"ends_mg":400000,"cook_back_mg":300000,"scale":"floor"}`, "200"},
		{"put", "/records/{batch}/found", "/records/" + recordedBatch + "/found", `{"of":"metal","what":"a chip","where":"in the siftings","done":"batch held"}`, "200"},
		{"put", "/records/{batch}/after", "/records/" + recordedBatch + "/after", `{"rolls":"no","glass":"yes"}`, "200"},
		{"put", "/records/{batch}/cleaned", "/records/" + recordedBatch + "/cleaned", `{"surface":"slab","kind":"allergen clean","by":"Ada","verified_by":"Bela"}`, "200"},
		{"put", "/records/{batch}/tasted", "/records/" + recordedBatch + "/tasted", `{"words":["dull"],"note":"of soap"}`, "200"},
		{"put", "/records/{batch}/signed", "/records/" + recordedBatch + "/signed", `{"through_act":21,"note":"held"}`, "200"},
		{"get", "/records", "/records?recipe=pear-barrels&from=" + shoptest.Date + "&to=" + shoptest.Date + "&limit=3", "", "200"},
		{"get", "/records/{batch}", "/records/" + recordedBatch, "", "200"},
		{"get", "/learned", "/learned", "", "200"},
		{"get", "/look-back/{glass}", "/look-back/glass", "", "200"},
		{"put", "/records/{batch}/taken-back", "/records/" + recordedBatch + "/taken-back", `{"corrects_act":13,"why":"another batch"}`, "200"},
		{"put", "/stores/{lot}/received", "/stores/" + receivedLot + "/received", `{"ingredient":"sugar","supplier":"Mill Lane Stores","supplier_lot":"S-200","best_before":"2028-01-01","mass_mg":25000000,"statement_on":"2026-01-05","may_contain":["milk"],"certificate":"CoA 7","note":"dry"}`, "201"},
		{"put", "/stores/{lot}/received", "/stores/" + receivedLot + "/received", `{"corrects_act":24,"mass_mg":24500000,"why":"weighed again"}`, "200"},
		{"put", "/stores/{lot}/hold", "/stores/" + receivedLot + "/hold", `{"why":"glass in the next sack"}`, "200"},
		{"put", "/stores/{lot}/placed", "/stores/" + receivedLot + "/placed", `{"as":"usable","why":"milk is in the book now"}`, "200"},
		{"put", "/stores/{lot}/used", "/stores/" + receivedLot + "/used", `{"mass_mg":5000000,"batch":"` + recordedBatch + `"}`, "200"},
		{"put", "/stores/{lot}/wasted", "/stores/" + receivedLot + "/wasted", `{"mass_mg":100000,"why":"spilt"}`, "200"},
		{"put", "/stores/{lot}/counted", "/stores/" + receivedLot + "/counted", `{"found_mg":19000000,"sure_mg":50000}`, "200"},
		{"put", "/stores/{lot}/taken-back", "/stores/" + receivedLot + "/taken-back", `{"corrects_act":29}`, "200"},
		{"get", "/stores", "/stores?date=" + shoptest.Date, "", "200"},
		{"get", "/stores/{lot}", "/stores/" + receivedLot, "", "200"},
		{"put", "/bag-lots/{lot}/packed", "/bag-lots/" + packedLot + "/packed", `{"new":true,"product":"pear-bag","batches":["` + recordedBatch + `"],"bags":12,"tare_mg":5000,"scale":"counter","best_before":"2027-03-01","weighed_mg":[233000,234500]}`, "201"},
		{"put", "/bag-lots/{lot}/packed", "/bag-lots/" + packedLot + "/packed", `{"batches":["` + recordedBatch + `"],"bags":3,"mass_mg":690000,"why":"the last of the tray"}`, "200"},
		{"put", "/bag-lots/{lot}/packed", "/bag-lots/" + packedLot + "/packed", `{"bags":11,"corrects_act":32,"why":"miscounted"}`, "200"},
		{"put", "/bag-lots/{lot}/moved", "/bag-lots/" + packedLot + "/moved", `{"on":"` + shoptest.Date + `","bags":4,"to":"order","for":"17"}`, "200"},
		{"put", "/bag-lots/{lot}/moved", "/bag-lots/" + packedLot + "/moved", `{"on":"` + shoptest.Date + `","bags":1,"to":"opened","jar":"j-counter-3"}`, "200"},
		{"put", "/bag-lots/{lot}/counted", "/bag-lots/" + packedLot + "/counted", `{"bags":8}`, "200"},
		{"put", "/bag-lots/{lot}/taken-back", "/bag-lots/" + packedLot + "/taken-back", `{"corrects_act":35,"why":"another lot"}`, "200"},
		{"put", "/bag-lots/{lot}/hold", "/bag-lots/" + packedLot + "/hold", `{"why":"glass beside the sieve"}`, "200"},
		{"put", "/bag-lots/{lot}/placed", "/bag-lots/" + packedLot + "/placed", `{"as":"usable","why":"all looked through"}`, "200"},
		{"get", "/bag-lots", "/bag-lots?product=pear-bag&live=yes&from=" + shoptest.Date + "&to=" + shoptest.Date + "&limit=5", "", "200"},
		{"get", "/bag-lots/{lot}", "/bag-lots/" + packedLot, "", "200"},
		{"put", "/jars/{jar}/filled", "/jars/j-counter-3/filled", `{"batch":"` + recordedBatch + `","mass_mg":1000000}`, "200"},
		{"put", "/jars/{jar}/taken", "/jars/j-counter-3/taken", `{"on":"` + shoptest.Date + `","mass_mg":50000,"to":"tasting"}`, "200"},
		{"put", "/jars/{jar}/left", "/jars/j-counter-3/left", `{"found_mg":1100000,"sure_mg":5000}`, "200"},
		{"put", "/jars/{jar}/taken-back", "/jars/j-counter-3/taken-back", `{"corrects_act":43}`, "200"},
		{"put", "/jars/{jar}/hold", "/jars/j-counter-3/hold", `{}`, "200"},
		{"put", "/jars/{jar}/placed", "/jars/j-counter-3/placed", `{"as":"usable","why":"another jar"}`, "200"},
		{"put", "/jars/{jar}/emptied", "/jars/j-counter-3/emptied", `{"on":"` + shoptest.Date + `"}`, "200"},
		{"put", "/jars/{jar}/washed", "/jars/j-counter-3/washed", `{"on":"` + shoptest.Date + `","why":"hot, two minutes"}`, "200"},
		{"get", "/jars/{jar}", "/jars/j-counter-3", "", "200"},
		{"put", "/loose/{batch}/taken", "/loose/" + recordedBatch + "/taken", `{"on":"` + shoptest.Date + `","mass_mg":60000,"to":"sample","for":"kept"}`, "200"},
		{"put", "/loose/{batch}/left", "/loose/" + recordedBatch + "/left", `{"found_mg":2000000}`, "200"},
		{"put", "/loose/{batch}/taken-back", "/loose/" + recordedBatch + "/taken-back", `{"corrects_act":50}`, "200"},
		{"get", "/loose/{batch}", "/loose/" + recordedBatch, "", "200"},
		{"get", "/packing", "/packing", "", "200"},
		{"get", "/pack-window", "/pack-window?product=row-mix&tare=5g&scale=floor", "", "200"},
		{"get", "/when", "/when?product=pear-bag&bags=2", "", "200"},
		{"get", "/when", "/when?product=aniseed-jar&bags=3", "", "200"},
		{"get", "/batches/{batch}/slab", "/batches/" + recordedBatch + "/slab", "", "200"},
		{"get", "/records/{batch}/weigh-in", "/records/" + recordedBatch + "/weigh-in", "", "200"},
		{"put", "/records/{batch}/weighed", "/records/" + recordedBatch + "/weighed", `{"ingredient":"water","mass_mg":1000000,"scale":"floor"}`, "200"},
		{"get", "/scan", "/scan?ingredient=sugar&code=S-200", "", "200"},
		{"put", "/care/{kind}/{id}/found", "/care/rolls/leaf/found", `{"on":"` + shoptest.Date + `","kind":"cracked","what":"a hair crack","where":"third groove","stops":true,"batch":"` + recordedBatch + `"}`, "200"},
		{"put", "/care/{kind}/{id}/found", "/care/rolls/leaf/found", `{"on":"","kind":"worn","what":"the edge","corrects_act":54,"why":"looked again"}`, "200"},
		{"put", "/care/{kind}/{id}/due", "/care/machine/drop-machine/due", `{"what":"oil the bearings","every_days":30,"every_batches":40}`, "200"},
		{"put", "/care/{kind}/{id}/done", "/care/machine/drop-machine/done", `{"on":"` + shoptest.Date + `","work":"oiled","by":"Bela","with":"white oil 68","food_grade":true,"for":"oil the bearings"}`, "200"},
		{"get", "/care", "/care?date=" + shoptest.Date, "", "200"},
		{"get", "/care/{kind}/{id}", "/care/machine/drop-machine", "", "200"},
		{"put", "/care/{kind}/{id}/taken-back", "/care/machine/drop-machine/taken-back", `{"corrects_act":57}`, "200"},
		{"get", "/rolls", "/rolls?instead-of=leaf", "", "200"},
		{"get", "/rolls", "/rolls?recipe=pear-barrels&product=pear-bag&charge=7kg", "", "200"},
		{"put", "/records/{batch}/trouble", "/records/" + recordedBatch + "/trouble", `{"what":"grained","when":"10:17","note":"at the third fold"}`, "200"},
		{"put", "/records/{batch}/washed", "/records/" + recordedBatch + "/washed", `{"by":"Ada"}`, "200"},
		{"put", "/records/{batch}/placed", "/records/" + recordedBatch + "/placed", `{"as":"reboil","why":"dissolved in water, boiled up clear"}`, "200"},
		{"get", "/records/{batch}/trouble", "/records/" + recordedBatch + "/trouble", "", "200"},
		{"get", "/trace/{id}", "/trace/" + packedLot, "", "200"},
		{"put", "/trace/{id}/hold", "/trace/" + packedLot + "/hold", `{"why":"dull"}`, "200"},
		{"get", "/held", "/held", "", "200"},
		{"post", "/readings", "/readings", `{"probe":"glass","in":"kettle","at":"2026-03-17T07:40:00Z","value":302,"unit":"F","batch":"` + recordedBatch + `"}`, "200"},
		{"post", "/readings", "/readings", `[{"probe":"glass","in":"kettle","at":"2026-03-17T07:40:00Z","value":150},{"probe":"glass","in":"air","value":21.5,"clock_ahead_ms":-250},{"probe":"glass","in":"kettle","at":"2026-03-17T07:40:00Z","value":149}]`, "200"},
		{"get", "/readings", "/readings?probe=glass&in=kettle&from=2026-03-17&to=2026-03-18T00:00:00Z&limit=1", "", "200"},
		{"get", "/readings", "/readings?batch=" + recordedBatch, "", "200"},
		{"get", "/openapi.json", "/openapi.json", "", "200"},
		{"put", "/stores/{lot}/made", "/stores/" + madeLot + "/made", `{"of":[{"lot":"` + receivedLot + `","mass_mg":1000000}],"packets":4,"note":"for four boils"}`, "201"},
		{"put", "/things/{kind}/{id}", "/things/supply/bags", `{"head":HEAD,"text":{"name":"Clear bags","kind":"packaging","goes_with.0.pack":"clear-bag"},"rows":{"goes_with":1}}`, "201"},
		{"put", "/supplies/{lot}/received", "/supplies/" + suppliedLot + "/received", `{"supply":"bags","amount":1000,"supplier":"Bag works","supplier_lot":"B-7","best_before":"2028-01-01","certificate":"DoC 16","note":"two boxes"}`, "201"},
		{"put", "/supplies/{lot}/used", "/supplies/" + suppliedLot + "/used", `{"amount":20,"for":"samples"}`, "200"},
		{"put", "/supplies/{lot}/wasted", "/supplies/" + suppliedLot + "/wasted", `{"amount":10,"why":"torn"}`, "200"},
		{"put", "/supplies/{lot}/counted", "/supplies/" + suppliedLot + "/counted", `{"found":960,"sure":5}`, "200"},
		{"put", "/supplies/{lot}/hold", "/supplies/" + suppliedLot + "/hold", `{"why":"seams open"}`, "200"},
		{"put", "/supplies/{lot}/placed", "/supplies/" + suppliedLot + "/placed", `{"as":"usable","why":"another roll"}`, "200"},
		{"put", "/supplies/{lot}/taken-back", "/supplies/" + suppliedLot + "/taken-back", `{"corrects_act":USED}`, "200"},
		{"get", "/supplies", "/supplies?date=" + shoptest.Date, "", "200"},
		{"get", "/supplies/{lot}", "/supplies/" + suppliedLot, "", "200"},
		{"get", "/open/{product}", "/open/pear-bag", "", "200"},
		{"put", "/packing/notes/{day}/read", "/packing/notes/2026-11-28/read", `{"corrects_act":ACT,"why":"written to the lot"}`, "200"},
	}
}

// suppliedLot is a lot of packaging that a program takes in.
const suppliedLot = "s" + shoptest.Date + "-1"

// packedLot is the bag lot that a program packs.
const packedLot = "b" + shoptest.Date + "-1"

// madeLot is a lot that a program makes out of it.
const madeLot = "r" + shoptest.Date + "-2"

// receivedLot is the lot that a program takes in.
const receivedLot = "r" + shoptest.Date + "-1"

// recordedBatch is the batch that a program writes down.
const recordedBatch = shoptest.Date + "-1"

// headOf is the head of the book.
func headOf(t *testing.T, site http.Handler) string {
	t.Helper()
	var x struct {
		Head int64 `json:"head"`
	}
	p := send(t, site, newRequest("GET", apiRoot+"/to-make", nil))
	if err := json.Unmarshal([]byte(p.body), &x); err != nil || x.Head == 0 {
		t.Fatalf("the head: %s, %v", p.body, err)
	}
	return strconv.FormatInt(x.Head, 10)
}

// usedAct is the act that took something of the lot of packaging.
func usedAct(t *testing.T, site http.Handler) string {
	t.Helper()
	var x app.SupplyResult
	p := send(t, site, newRequest("GET", apiRoot+"/supplies/"+suppliedLot, nil))
	if err := json.Unmarshal([]byte(p.body), &x); err != nil {
		t.Fatal(err)
	}
	for _, e := range x.Entries {
		if e.Entry.Used != nil {
			return strconv.FormatInt(e.Act, 10)
		}
	}
	t.Fatal("nothing was taken")
	return ""
}

// tappedInVain is the act of a tap that waited and could not be read.
func tappedInVain(t *testing.T, site http.Handler) string {
	t.Helper()
	now := strconv.FormatInt(fixtureNow().UnixMilli(), 10)
	if p := ask(t, site, "POST", "/taps", url.Values{"device": {"tap-vain"}, "n": {"1"}, "at": {now}, "now": {now}, "to": {"/packing"}, "form": {"act=pack&bags=x"}, "late": {"1"}}); p.StatusCode != http.StatusOK {
		t.Fatalf("a tap: %d, %s", p.StatusCode, p.body)
	}
	var day app.PackingResult
	p := send(t, site, newRequest("GET", apiRoot+"/packing", nil))
	if err := json.Unmarshal([]byte(p.body), &day); err != nil || len(day.Notes) != 1 {
		t.Fatalf("notes %+v, %v", day.Notes, err)
	}
	return strconv.FormatInt(day.Notes[0].Act, 10)
}

// Every operation of the description gives an answer of the schema it promises,
// and takes what it says it takes.
func TestAPI_AnswersMeetTheDescription(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	d := describedBy(t, site)
	said := map[string]bool{}
	for path, item := range d.doc["paths"].(map[string]any) {
		for method := range item.(map[string]any) {
			if method != "parameters" {
				said[method+" "+path] = true
			}
		}
	}
	for _, a := range everyOperation() {
		path := apiRoot + a.path
		for _, x := range []struct {
			word string
			is   func(*testing.T, http.Handler) string
		}{{"ACT", tappedInVain}, {"HEAD", headOf}, {"USED", usedAct}} {
			if before, after, ok := strings.Cut(a.body, x.word); ok {
				a.body = before + x.is(t, site) + after
			}
		}
		r := newRequest("GET", apiRoot+a.target, nil)
		if a.method != "get" {
			r = put(apiRoot+a.target, a.body)
			r.Method = strings.ToUpper(a.method)
			if err := d.check(a.body, "paths", path, a.method, "requestBody", "content", "application/json", "schema"); err != nil {
				t.Errorf("sent to %s: %v", a.target, err)
			}
		}
		p := send(t, site, r)
		if got := strconv.Itoa(p.StatusCode); got != a.status || p.Header.Get("Content-Type") != "application/json" {
			t.Errorf("%s %s: %s, want %s\n%s", a.method, a.target, got, a.status, p.body)
			continue
		}
		if err := d.check(p.body, "paths", path, a.method, "responses", a.status, "content", "application/json", "schema"); err != nil {
			t.Errorf("%s %s: %v", a.method, a.target, err)
		}
		// What is no such answer is not let through.
		if a.path != "/openapi.json" && d.check(`{"no_such_key": 1}`, "paths", path, a.method, "responses", a.status, "content", "application/json", "schema") == nil {
			t.Errorf("%s %s: anything passes", a.method, a.path)
		}
		delete(said, a.method+" "+path)
	}
	for op := range said {
		t.Errorf("%s is described and never asked here", op)
	}
}

// The routes and the description are of one table: what is described is answered,
// with its path parameters, under an id of its own.
func TestAPI_Description(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	d := describedBy(t, site)
	if d.doc["openapi"] != "3.1.1" {
		t.Errorf("version %v", d.doc["openapi"])
	}
	ids := map[string]bool{}
	for path, item := range d.doc["paths"].(map[string]any) {
		params, _ := item.(map[string]any)["parameters"].([]any)
		if len(params) != strings.Count(path, "{") {
			t.Errorf("%s: %d path parameters", path, len(params))
		}
		for method, op := range item.(map[string]any) {
			if method == "parameters" {
				continue
			}
			id := op.(map[string]any)["operationId"].(string)
			if ids[id] {
				t.Errorf("the id %s is there twice", id)
			}
			ids[id] = true
		}
	}
	var apis int
	for _, rt := range (&server{}).routes() {
		if strings.HasPrefix(rt.pattern, apiRoot) {
			apis++
			if _, ok := d.doc["paths"].(map[string]any)[rt.pattern]; !ok || rt.page {
				t.Errorf("%s is not described, or is called a page", rt.pattern)
			}
		}
	}
	if apis != len(d.doc["paths"].(map[string]any)) {
		t.Errorf("%d routes, %d paths", apis, len(d.doc["paths"].(map[string]any)))
	}
}

func decoded[T any](t *testing.T, p page) T {
	t.Helper()
	var v T
	dec := json.NewDecoder(strings.NewReader(p.body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&v); err != nil {
		t.Fatalf("%v\n%s", err, p.body)
	}
	return v
}

// A thing that is read and sent back is the same thing, and makes no new version.
func TestAPI_ReadAndSendBack(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	before := ask(t, site, "GET", apiRoot+"/book", nil).body
	n := 0
	for _, kind := range []string{"shop", "room", "day", "stock", "kettle", "ingredient", "recipe", "product", "hand"} {
		for _, x := range decoded[APIThings](t, ask(t, site, "GET", apiRoot+"/things/"+kind, nil)).Things {
			at := apiRoot + "/things/" + kind + "/" + x.ID
			got := decoded[APIThing](t, ask(t, site, "GET", at, nil))
			body, err := json.Marshal(APISaveThing{Head: got.Head, Text: got.Text, Rows: got.Rows})
			if err != nil {
				t.Fatal(err)
			}
			p := send(t, site, put(at, string(body)))
			if p.StatusCode != http.StatusOK {
				t.Fatalf("%s: %d\n%s", at, p.StatusCode, p.body)
			}
			if d := cmp.Diff(got, decoded[APIThing](t, p)); d != "" {
				t.Errorf("%s (-read +kept):\n%s", at, d)
			}
			n++
		}
	}
	if n < 20 {
		t.Errorf("only %d things", n)
	}
	if after := ask(t, site, "GET", apiRoot+"/book", nil).body; after != before {
		t.Error("the book has changed")
	}
}

// The parts of a list are the whole list, each thing once.
func TestAPI_Lists(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	whole := decoded[APIThings](t, ask(t, site, "GET", apiRoot+"/things/ingredient", nil))
	var parts []APIName
	for after := ""; ; {
		p := decoded[APIThings](t, ask(t, site, "GET", apiRoot+"/things/ingredient?limit=4&after="+after, nil))
		parts = append(parts, p.Things...)
		if after = p.Next; after == "" {
			break
		}
		if len(p.Things) != 4 || len(parts) > len(whole.Things) {
			t.Fatalf("%d things of %d", len(p.Things), len(parts))
		}
	}
	if d := cmp.Diff(whole.Things, parts); d != "" || len(parts) != len(shoptest.Book().Ingredients) {
		t.Errorf("whole and parts (-whole +parts):\n%s", d)
	}
	all := decoded[APIUses](t, ask(t, site, "GET", apiRoot+"/uses/ingredient/sugar", nil))
	var uses []app.Use
	for skip := 0; ; {
		p := decoded[APIUses](t, ask(t, site, "GET", fmt.Sprintf("%s/uses/ingredient/sugar?limit=1&skip=%d", apiRoot, skip), nil))
		uses = append(uses, p.Uses...)
		if skip = p.Next; skip == 0 || len(uses) > len(all.Uses) {
			break
		}
	}
	if d := cmp.Diff(all.Uses, uses); d != "" || len(uses) < 2 {
		t.Errorf("uses, whole and parts (-whole +parts):\n%s", d)
	}
}

// What is wrong is said as RFC 9457 has it, at the name of the field, and
// changes nothing.
func TestAPI_Problems(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	d := describedBy(t, site)
	before := ask(t, site, "GET", apiRoot+"/book", nil).body
	get := func(target string) *http.Request { return newRequest("GET", apiRoot+target, nil) }
	with := func(r *http.Request, name, text string) *http.Request {
		r.Header.Set(name, text)
		return r
	}
	foreign := get("/book")
	foreign.Host = "shop.example"
	sieve, good := apiRoot+"/things/sieve/fine", `{"head":1,"text":{"name":"Fine","aperture":"2 mm"}}`
	for name, c := range map[string]struct {
		r      *http.Request
		status int
		field  string
	}{
		"an amount without a unit":    {get("/pieces?mass=9.5&piece=2.4g"), 422, "mass"},
		"a value too few":             {get("/sugar?at=100C"), 422, "solids"},
		"neither of two":              {get("/pieces?mass=9kg"), 422, "piece"},
		"both of two":                 {get("/pieces?mass=9kg&piece=2g&pieces-per-lb=200"), 422, "piece"},
		"a name nobody asks by":       {get("/mix?bag=40&shares=1,1&colour=red"), 422, "colour"},
		"a product of no book":        {get("/shelf-life?product=none"), 404, "product"},
		"no place":                    {get("/shelf-life?product=row-mix&before=3,35C"), 422, "before"},
		"a store of no model":         {get("/shelf-life?product=row-mix&rh=95%25"), 422, "rh"},
		"a value twice":               {get("/mix?bag=40&bag=41&shares=1,1"), 422, "bag"},
		"no number":                   {get("/mix?bag=many&shares=1,1"), 422, "bag"},
		"no share":                    {get("/mix?bag=40&shares=1,x"), 422, "shares"},
		"not a number at all":         {get("/sugar?solids=97%25&at=100C&syrup-de=NaN"), 422, "syrup-de"},
		"a broken query":              {get("/sugar?solids=97%&at=100C"), 422, ""},
		"out of a model's range":      {get("/boil?sugar=3kg&to=900C"), 422, ""},
		"what does not go together":   {get("/boil?recipe=pear-barrels&sugar=3kg"), 422, ""},
		"no end of a boil":            {get("/boil?sugar=3kg"), 422, "to"},
		"no date":                     {get("/plan?date=soon"), 422, "date"},
		"a change not read":           {get("/plan?break=tea"), 422, "break"},
		"a change not meant":          {get("/plan?first=no-such-thing"), 422, "first"},
		"no such recipe":              {get("/boil?recipe=none"), 404, "recipe"},
		"no such kind":                {get("/things/spoon"), 404, ""},
		"no such thing":               {get("/things/recipe/none"), 404, ""},
		"no such version":             {get("/things/recipe/none/versions"), 404, ""},
		"no uses of nothing":          {get("/uses/recipe/none"), 404, ""},
		"another day than the day":    {get("/things/day/night"), 404, ""},
		"no such address":             {get("/nowhere"), 404, ""},
		"a list of none":              {get("/things/recipe?limit=0"), 422, "limit"},
		"a list too long":             {get("/things/recipe?limit=501"), 422, "limit"},
		"versions of none":            {get("/things/room/room/versions?limit=0"), 422, "limit"},
		"before the first version":    {get("/things/room/room/versions?before=0"), 422, "before"},
		"fewer than no uses":          {get("/uses/ingredient/sugar?skip=-1"), 422, "skip"},
		"after what is not there":     {get("/things/recipe?after=none"), 422, "after"},
		"another name":                {foreign, 421, ""},
		"another method":              {newRequest("DELETE", sieve, nil), 405, ""},
		"what is in use":              {put(apiRoot+"/retired/product/pear-bag", `{"head":1}`), 409, ""},
		"an undoing with a reason":    {put(apiRoot+"/last-change", `{"head":1,"why":"no"}`), 422, "why"},
		"a trial that cannot be":      {put(apiRoot+"/kept-trial?first=no-such-thing", `{"head":1}`), 422, "first"},
		"a trial of another state":    {put(apiRoot+"/kept-trial?first=pear-barrels", `{"head":9}`), 409, ""},
		"a write to a question":       {put(apiRoot+"/plan", "{}"), 405, ""},
		"a form":                      {with(put(sieve, good), "Content-Type", "application/x-www-form-urlencoded"), 415, ""},
		"no kind of content":          {with(put(sieve, good), "Content-Type", ""), 415, ""},
		"a page of another site":      {with(put(sieve, good), "Sec-Fetch-Site", "cross-site"), 403, ""},
		"another origin":              {with(put(sieve, good), "Origin", "http://elsewhere.example"), 403, ""},
		"too much":                    {put(sieve, `{"why":"`+strings.Repeat("x", mostBody)+`"}`), 413, ""},
		"no JSON":                     {put(sieve, "name=Fine"), 422, ""},
		"a key nobody knows":          {put(sieve, `{"head":1,"name":"Fine"}`), 422, ""},
		"a key of another kind":       {put(sieve, `{"head":"one"}`), 422, "head"},
		"two objects":                 {put(sieve, good+good), 422, ""},
		"a stale head":                {put(sieve, strings.Replace(good, "1", "0", 1)), 409, ""},
		"a field that cannot be":      {put(sieve, `{"head":1,"text":{"name":"Fine","aperture":"wide"}}`), 422, "aperture"},
		"rows that cannot be":         {put(sieve, `{"head":1,"text":{},"rows":{"lot":-1}}`), 422, "rows.lot"},
		"another id":                  {put(sieve, `{"head":1,"text":{"id":"coarse"}}`), 422, "text.id"},
		"an id that cannot be":        {put(apiRoot+"/things/sieve/Fine%20one", good), 422, ""},
		"a new kind":                  {put(apiRoot+"/things/spoon/long", good), 404, ""},
		"a second day":                {put(apiRoot+"/things/day/night", good), 404, ""},
		"lines on a stale head":       {put(apiRoot+"/to-make", `{"head":0,"lines":[]}`), 409, ""},
		"no lines":                    {put(apiRoot+"/to-make", `{"head":1}`), 422, "lines"},
		"too many lines":              {put(apiRoot+"/to-make", `{"head":1,"lines":[`+strings.Repeat(`{"product":"pear-bag","bags":1,"must":true},`, mostLines)+`{}]}`), 422, "lines"},
		"a line that cannot be meant": {put(apiRoot+"/to-make", `{"head":1,"lines":[{"product":"pear-bag","bags":0,"must":true}]}`), 422, "lines[0].bags"},
	} {
		t.Run(name, func(t *testing.T) {
			p := send(t, site, c.r)
			if p.StatusCode != c.status || p.Header.Get("Content-Type") != "application/problem+json" {
				t.Fatalf("status %d, %s, want %d\n%s", p.StatusCode, p.Header.Get("Content-Type"), c.status, p.body)
			}
			if err := d.check(p.body, "components", "schemas", "problem"); err != nil {
				t.Error(err)
			}
			v := decoded[APIProblem](t, p)
			if v.Status != c.status || v.Type != "about:blank" || v.Title != http.StatusText(c.status) || v.Detail == "" ||
				len(v.Faults) != 1 || v.Faults[0].Field != c.field || v.Faults[0].Text == "" {
				t.Errorf("%+v", v)
			}
			if allow := p.Header.Get("Allow"); c.status == 405 && !strings.HasPrefix(allow, "GET, HEAD") {
				t.Errorf("allow %q", allow)
			}
		})
	}
	if after := ask(t, site, "GET", apiRoot+"/book", nil).body; after != before {
		t.Error("the book has changed")
	}
	if p := send(t, site, with(put(sieve, good), "Origin", "http://127.0.0.1:7373")); p.StatusCode != http.StatusOK {
		t.Errorf("own origin: status %d", p.StatusCode)
	}
}

// A defect and a busy book answer in JSON too, and tell nothing of their inside.
func TestAPI_DefectAndBusy(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	f.panics = true
	p := ask(t, site, "GET", apiRoot+"/plan", nil)
	if v := decoded[APIProblem](t, p); p.StatusCode != 500 || v.Status != 500 || strings.Contains(p.body, "a defect put in") {
		t.Errorf("%d %s", p.StatusCode, p.body)
	}
	f.panics, f.planErr = false, fault.Busy("the book is in use")
	p = ask(t, site, "GET", apiRoot+"/plan", nil)
	if v := decoded[APIProblem](t, p); p.StatusCode != 503 || v.Status != 503 || p.Header.Get("Retry-After") == "" {
		t.Errorf("%d %s", p.StatusCode, p.body)
	}
	f.bookErr = fault.NotFound("no shop book here")
	for _, a := range []string{"/book", "/things/recipe", "/things/recipe/pear", "/uses/recipe/pear", "/to-make"} {
		if p := ask(t, site, "GET", apiRoot+a, nil); p.StatusCode != 404 || !strings.Contains(p.body, "no shop book here") {
			t.Errorf("%s without a book: %d %s", a, p.StatusCode, p.body)
		}
	}
}
