package main

import (
	"bytes"
	"context"
	"encoding"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"slabside/internal/app"
	"slabside/internal/cli"
	q "slabside/internal/quantity"
	"slabside/internal/store"
	"slabside/internal/web"
)

var update = flag.Bool("update", false, "rewrite the committed schemas")

const schemaDir = "../../docs/schema"

// results is what each command prints with --json.
var results = map[string]reflect.Type{
	"plan":       reflect.TypeFor[app.DayPlan](),
	"demo":       reflect.TypeFor[app.DayPlan](),
	"boil":       reflect.TypeFor[app.BoilResult](),
	"limits":     reflect.TypeFor[app.LimitsResult](),
	"sugar":      reflect.TypeFor[app.SugarResult](),
	"slab":       reflect.TypeFor[app.SlabResult](),
	"pieces":     reflect.TypeFor[app.PiecesResult](),
	"mix":        reflect.TypeFor[app.MixResult](),
	"shelf-life": reflect.TypeFor[app.ShelfLifeResult](),
	"import":     reflect.TypeFor[store.Changes](),
	"proof":      reflect.TypeFor[cli.ProofResult](),

	"records":    reflect.TypeFor[app.RecordList](),
	"record":     reflect.TypeFor[app.RecordResult](),
	"begin":      reflect.TypeFor[app.RecordResult](),
	"note":       reflect.TypeFor[app.RecordResult](),
	"trouble":    reflect.TypeFor[app.TroubleResult](),
	"decide":     reflect.TypeFor[app.TroubleResult](),
	"learn":      reflect.TypeFor[app.LearnResult](),
	"stores":     reflect.TypeFor[app.StoresResult](),
	"lot":        reflect.TypeFor[app.LotResult](),
	"supplies":   reflect.TypeFor[app.SuppliesResult](),
	"supply-lot": reflect.TypeFor[app.SupplyResult](),
	"open":       reflect.TypeFor[app.OpenList](),
	"make-stock": reflect.TypeFor[app.LotResult](),
	"receive":    reflect.TypeFor[app.LotResult](),
	"count":      reflect.TypeFor[app.LotResult](),
	"use":        reflect.TypeFor[app.LotResult](),
	"waste":      reflect.TypeFor[app.LotResult](),
	"hold":       reflect.TypeFor[app.LotResult](),
	"release":    reflect.TypeFor[app.LotResult](),
	"look-back":  reflect.TypeFor[app.LookBack](),
	"weigh-in":   reflect.TypeFor[app.WeighIn](),
	"weigh":      reflect.TypeFor[app.WeighIn](),
	"trace":      reflect.TypeFor[app.TraceResult](),
	"held":       reflect.TypeFor[app.Halts](),
	"scan":       reflect.TypeFor[app.Scanned](),
	"pack":       reflect.TypeFor[app.PackingResult](),
	"when":       reflect.TypeFor[app.WhenResult](),
	"care":       reflect.TypeFor[app.CareResult](),
	"rolls":      reflect.TypeFor[app.RollsResult](),
	"attach":     reflect.TypeFor[app.AttachedList](),

	"readings":        reflect.TypeFor[app.ReadingsResult](),
	"import-readings": reflect.TypeFor[app.LoggerResult](),

	"audit":   reflect.TypeFor[app.AuditResult](),
	"backup":  reflect.TypeFor[app.BackupResult](),
	"restore": reflect.TypeFor[cli.RestoreResult](),
}

// exchanged is what the API answers and takes beyond that.
var exchanged = map[string]reflect.Type{
	"book":         reflect.TypeFor[web.APIBook](),
	"things":       reflect.TypeFor[web.APIThings](),
	"thing":        reflect.TypeFor[web.APIThing](),
	"save-thing":   reflect.TypeFor[web.APISaveThing](),
	"versions":     reflect.TypeFor[web.APIVersions](),
	"uses":         reflect.TypeFor[web.APIUses](),
	"to-make":      reflect.TypeFor[web.APIToMake](),
	"save-to-make": reflect.TypeFor[web.APISaveToMake](),
	"act":          reflect.TypeFor[web.APIAct](),
	"head":         reflect.TypeFor[web.APIHead](),
	"last":         reflect.TypeFor[web.APILast](),
	"problem":      reflect.TypeFor[web.APIProblem](),

	"write-begun":       reflect.TypeFor[web.APIBegin](),
	"write-lifted":      reflect.TypeFor[web.APILift](),
	"write-moisture":    reflect.TypeFor[web.APIMoisture](),
	"write-worked":      reflect.TypeFor[web.APIWork](),
	"write-weighed":     reflect.TypeFor[web.APIWeighed](),
	"write-cooked-back": reflect.TypeFor[web.APICookedBack](),
	"write-checked":     reflect.TypeFor[web.APIChecked](),
	"write-made":        reflect.TypeFor[web.APIMade](),
	"write-found":       reflect.TypeFor[web.APIFound](),
	"write-after":       reflect.TypeFor[web.APIAfter](),
	"write-cleaned":     reflect.TypeFor[web.APICleaned](),
	"write-tasted":      reflect.TypeFor[web.APITasted](),
	"write-signed":      reflect.TypeFor[web.APISigned](),
	"write-trouble":     reflect.TypeFor[web.APITrouble](),
	"write-washed":      reflect.TypeFor[web.APIWashed](),
	"write-decided":     reflect.TypeFor[web.APIDecide](),
	"at-slab":           reflect.TypeFor[app.AtSlab](),
	"take-back":         reflect.TypeFor[web.APITakeBack](),

	"write-reading":  reflect.TypeFor[web.APIReading](),
	"readings-added": reflect.TypeFor[app.ReadingsAdded](),

	"bag-lots":           reflect.TypeFor[app.BagList](),
	"bag-lot":            reflect.TypeFor[app.BagLot](),
	"jar":                reflect.TypeFor[app.JarResult](),
	"batch-left":         reflect.TypeFor[app.BatchLeft](),
	"pack-window":        reflect.TypeFor[app.PackWindow](),
	"write-packed":       reflect.TypeFor[web.APIPack](),
	"write-moved":        reflect.TypeFor[web.APIMove](),
	"write-bags-counted": reflect.TypeFor[web.APIBagCount](),
	"write-filled":       reflect.TypeFor[web.APIFill](),
	"write-taken":        reflect.TypeFor[web.APITake](),
	"write-left":         reflect.TypeFor[web.APILeft](),
	"write-day":          reflect.TypeFor[web.APIDay](),
	"care-thing":         reflect.TypeFor[app.CareThing](),
	"write-care-found":   reflect.TypeFor[web.APICareFound](),
	"write-care-done":    reflect.TypeFor[web.APICareDone](),
	"write-care-due":     reflect.TypeFor[web.APICareDue](),

	"write-made-lot":        reflect.TypeFor[web.APIMake](),
	"write-received":        reflect.TypeFor[web.APIReceive](),
	"write-supply-received": reflect.TypeFor[web.APISupplyReceive](),
	"write-supply-used":     reflect.TypeFor[web.APISupplyUse](),
	"write-supply-wasted":   reflect.TypeFor[web.APISupplyWaste](),
	"write-supply-counted":  reflect.TypeFor[web.APISupplyCount](),
	"write-hold":            reflect.TypeFor[web.APIHold](),
	"write-placed":          reflect.TypeFor[web.APIPlace](),
	"write-used":            reflect.TypeFor[web.APIUse](),
	"write-wasted":          reflect.TypeFor[web.APIWaste](),
	"write-counted":         reflect.TypeFor[web.APICount](),
}

type object = map[string]any

// schemaOf describes a result type as JSON Schema: every key it prints, which
// may be missing, and nothing else.
func schemaOf(t reflect.Type) object {
	switch t {
	case reflect.TypeFor[q.Estimate]():
		return object{"$ref": "#/$defs/estimate"}
	case reflect.TypeFor[time.Time]():
		return object{"type": "string", "format": "date-time"}
	}
	if t.Kind() != reflect.Pointer && t.Implements(reflect.TypeFor[encoding.TextMarshaler]()) {
		return object{"type": "string"}
	}
	switch t.Kind() {
	case reflect.Map:
		return object{"type": "object", "additionalProperties": schemaOf(t.Elem())}
	case reflect.Pointer:
		return object{"anyOf": []any{schemaOf(t.Elem()), object{"type": "null"}}}
	case reflect.Slice:
		return object{"type": "array", "items": schemaOf(t.Elem())}
	case reflect.Struct:
		props, required := object{}, []any{}
		for _, f := range reflect.VisibleFields(t) {
			tag, ok := f.Tag.Lookup("json")
			if !ok || tag == "-" {
				continue
			}
			name, opts, _ := strings.Cut(tag, ",")
			props[name] = schemaOf(f.Type)
			if !strings.Contains(opts, "omitempty") && !strings.Contains(opts, "omitzero") {
				required = append(required, name)
			}
		}
		return object{"type": "object", "properties": props, "required": required, "additionalProperties": false}
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.Int, reflect.Int64:
		return object{"type": "integer"}
	case reflect.Float64:
		return object{"type": "number"}
	}
	return object{"type": "string"}
}

func document(title string, t reflect.Type) object {
	s := schemaOf(t)
	s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	s["title"] = title
	number := object{"type": "number"}
	s["$defs"] = object{"estimate": object{
		"description": "a computed quantity in the unit of its key; low and high are its 5 % and 95 % points",
		"type":        "object",
		"properties": object{"value": number, "low": number, "high": number,
			"basis": object{"enum": []any{"exact", "estimated", "learned"}}, "batches": object{"type": "integer"}},
		"required": []any{"value", "low", "high", "basis", "batches"}, "additionalProperties": false,
	}}
	return s
}

// TestSchemas keeps the committed schemas equal to what the commands print and the
// API exchanges.
func TestSchemas(t *testing.T) {
	for name, typ := range results {
		checkSchema(t, name, "slabside "+name+" --json", typ)
	}
	for name, typ := range exchanged {
		checkSchema(t, name, "slabside API "+name, typ)
	}
}

func checkSchema(t *testing.T, name, title string, typ reflect.Type) {
	want, err := json.MarshalIndent(document(title, typ), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	want = append(want, '\n')
	file := filepath.Join(schemaDir, name+".schema.json")
	if *update {
		if err := os.WriteFile(file, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is stale: go test ./cmd/slabside -run TestSchemas -update", file)
	}
}

// TestAnswersMeetTheirSchemas runs every command for real and validates its JSON.
func TestAnswersMeetTheirSchemas(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "demo.db")
	toml := filepath.Join(dir, "demo.toml")
	run := func(want int, args ...string) []byte {
		t.Helper()
		var out, errs bytes.Buffer
		env := wire()
		env.Args, env.Stdout, env.Stderr = append([]string{"--book", db, "--json"}, args...), &out, &errs
		env.Now = func() time.Time { return time.Date(2026, 11, 28, 7, 0, 0, 0, time.UTC) }
		if got := cli.Run(context.Background(), env); got != want {
			t.Fatalf("%v: exit %d, want %d\n%s", args, got, want, errs.String())
		}
		return out.Bytes()
	}
	if err := os.WriteFile(toml, wire().DemoBook(), 0o644); err != nil {
		t.Fatal(err)
	}
	picture := filepath.Join(dir, "seal.png")
	if err := os.WriteFile(picture, []byte("\x89PNG\r\n\x1a\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	logger := filepath.Join(dir, "logger.csv")
	if err := os.WriteFile(logger, []byte("Zeit;Temperatur °C\n28.11.2026 06:00:00;18,4\n28.11.2026 06:00:10;18,5\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	answers := []struct {
		name string
		json []byte
	}{
		{"import", run(0, "import", toml)},
		{"demo", run(0, "demo", "--no-serve", "--date", "2026-11-28")},
		{"plan", run(0, "plan", "--date", "2026-11-28")},
		{"boil", run(0, "boil", "--sugar", "6.35kg", "--syrup", "1.36kg", "--to", "149C")},
		{"limits", run(0, "limits", "--recipe", "mint-beads", "--market", "uk,us,eu,ca", "--most", "peppermint-oil")},
		{"limits", run(1, "limits", "--recipe", "rhubarb-fish", "--market", "us", "--most", "green")},
		{"slab", run(0, "slab", "--mass", "10kg", "--pour", "140C", "--depth", "20mm")},
		{"slab", run(0, "slab", "--mass", "6kg", "--pour", "145C", "--pulled", "30%", "--slab", "marble")},
		{"sugar", run(0, "sugar", "--solids", "97%", "--syrup-share", "40%", "--at", "100C")},
		{"sugar", run(0, "sugar", "--solids", "30%", "--at", "20C")},
		{"pieces", run(0, "pieces", "--mass", "9.5kg", "--piece", "2.4g")},
		{"mix", run(0, "mix", "--bag", "40", "--shares", "1,1,1", "--least", "8", "--pool", "5000")},
		{"shelf-life", run(0, "shelf-life", "--product", "harbour-mix-227", "--rh", "65%", "--at", "25C")},
		{"shelf-life", run(0, "shelf-life", "--product", "barley-jar", "--rh", "10%", "--before", "3,35C,60%")},
		{"proof", run(0, "proof", toml)},
		{"begin", run(0, "begin", "--recipe", "barley-barrels", "--batch", "2026-11-28-91")},
		{"note", run(0, "note", "2026-11-28-91", "--read", "152C", "--gross", "15.5kg", "--empty", "6kg", "--flame", "25min", "--pull", "85C", "--probe", "2C")},
		{"note", run(0, "note", "2026-11-28-91", "--check", "guards=no,allergen-clean=yes", "--verified", "Bram", "--cooked-back", "300g", "--sound", "8kg", "--ends", "400g", "--cook-back", "300g", "--found", "glass",
			"--what", "a splinter", "--where", "on the bench", "--done", "batch held", "--rolls-after", "yes", "--cleaned", "slab", "--how", "wash", "--cleaned-by", "Odile", "--tasted", "dull")},
		{"note", run(0, "note", "2026-11-28-91", "--sign", lastAct(run(0, "record", "2026-11-28-91")))},
		{"record", run(0, "record", "2026-11-28-91")},
		{"records", run(0, "records", "--limit", "1")},
		{"learn", run(0, "learn")},
		{"look-back", run(0, "look-back", "probe")},
		{"receive", run(0, "receive", "--ingredient", "sugar", "--mass", "25kg", "--supplier", "Fenwold Sugar", "--best-before", "2028-10-01")},
		{"make-stock", run(0, "make-stock", "--of", "r2026-11-28-1=1kg", "--packets", "4")},
		{"use", run(0, "use", "r2026-11-28-1", "--mass", "5kg")},
		{"waste", run(0, "waste", "r2026-11-28-1", "--mass", "250g", "--why", "spilt")},
		{"count", run(0, "count", "r2026-11-28-1", "--found", "19kg", "--sure", "50g")},
		{"hold", run(0, "hold", "r2026-11-28-1")},
		{"release", run(0, "release", "r2026-11-28-1", "--why", "looked through")},
		{"lot", run(0, "lot", "r2026-11-28-1")},
		{"attach", run(0, "attach", "r2026-11-28-1", picture, "--note", "the seal")},
		{"attach", run(0, "attach", "2026-11-28-91")},
		{"import-readings", run(0, "import-readings", logger, "--probe", "probe", "--in", "slab", "--dry-run")},
		{"import-readings", run(0, "import-readings", logger, "--probe", "probe", "--in", "slab", "--zone", "UTC", "--ahead=-30s")},
		{"readings", run(0, "readings", "--from", "2026-11-28", "--limit", "1")},
		{"readings", run(0, "readings", "--batch", "2026-11-28-91")},
		{"stores", run(0, "stores")},
		{"supply-lot", run(0, "supplies", "receive", "--supply", "jars-1kg", "--amount", "24", "--mark", "J-4", "--declared-on", "2026-03-02")},
		{"supply-lot", run(0, "supplies", "use", "s2026-11-28-1", "--amount", "2", "--for", "window")},
		{"supply-lot", run(0, "supplies", "waste", "s2026-11-28-1", "--amount", "1", "--why", "cracked")},
		{"supply-lot", run(0, "supplies", "count", "s2026-11-28-1", "--found", "20", "--sure", "1")},
		{"supply-lot", run(0, "supplies", "hold", "s2026-11-28-1")},
		{"supply-lot", run(0, "supplies", "release", "s2026-11-28-1", "--why", "looked through")},
		{"supply-lot", run(0, "supplies", "lot", "s2026-11-28-1")},
		{"open", run(0, "supplies", "open", "barley-jar")},
		{"supplies", run(0, "supplies")},
		{"bag-lot", run(0, "pack", "bags", "--product", "barley-jar", "--batch", "2026-11-28-91", "--bags", "3", "--tare", "400g", "--weighed", "1403g,1404g")},
		{"bag-lot", run(0, "pack", "bags", "--lot", "b2026-11-28-1", "--batch", "2026-11-28-91", "--bags", "1", "--mass", "1.01kg")},
		{"bag-lot", run(0, "pack", "out", "b2026-11-28-1", "--bags", "2", "--to", "order", "--for", "17")},
		{"bag-lot", run(0, "pack", "out", "b2026-11-28-1", "--bags", "1", "--jar", "j-counter-3")},
		{"bag-lot", run(0, "pack", "count", "b2026-11-28-1", "--found", "1")},
		{"bag-lot", run(0, "pack", "hold", "b2026-11-28-1")},
		{"bag-lot", run(0, "pack", "release", "b2026-11-28-1", "--why", "looked through")},
		{"bag-lots", run(0, "pack", "lots", "--live")},
		{"jar", run(0, "pack", "fill", "j-counter-3", "--batch", "2026-11-28-91", "--mass", "1kg")},
		{"jar", run(0, "pack", "take", "j-counter-3", "--mass", "60g")},
		{"jar", run(0, "pack", "empty", "j-counter-3")},
		{"jar", run(0, "pack", "empty", "j-counter-3", "--washed")},
		{"batch-left", run(0, "pack", "take", "2026-11-28-91", "--mass", "60g", "--to", "sample")},
		{"batch-left", run(0, "pack", "left", "2026-11-28-91", "--found", "2kg", "--sure", "5g")},
		{"batch-left", run(0, "pack", "show", "2026-11-28-91")},
		{"pack-window", run(0, "pack", "window", "--product", "harbour-mix-227", "--tare", "5g")},
		{"pack", run(0, "pack")},
		{"when", run(0, "when", "--product", "barley-jar", "--bags", "8")},
		{"trouble", run(0, "trouble", "2026-11-28-91", "--what", "grained", "--note", "on the slab")},
		{"trouble", run(0, "trouble", "2026-11-28-91", "--washed-by", "Bram")},
		{"decide", run(0, "decide", "2026-11-28-91", "--as", "reboil", "--because", "dissolved in water, boiled up clear")},
		{"weigh-in", run(0, "weigh-in", "2026-11-28-91")},
		{"weigh-in", run(0, "weigh", "2026-11-28-91", "--ingredient", "water", "--mass", "1kg")},
		{"trace", run(1, "trace", "2026-11-28-91")},
		{"trace", run(1, "trace", "b2026-11-28-1")},
		{"held", run(1, "held")},
		{"scan", run(1, "scan", "sugar", "X-1")},
		{"care-thing", run(0, "care", "found", "rolls", "leaf", "--kind", "cracked", "--what", "a hair crack", "--where", "third groove")},
		{"care-thing", run(0, "care", "due", "machine", "drop-machine", "--what", "oil the bearings", "--every-days", "30", "--every-batches", "40")},
		{"care-thing", run(0, "care", "done", "machine", "drop-machine", "--work", "oiled", "--with", "white oil", "--food-grade", "--for", "oil the bearings")},
		{"care-thing", run(0, "care", "of", "rolls", "leaf")},
		{"care", run(0, "care")},
		{"plan", run(1, "plan", "--date", "2026-11-28")},
		{"record", run(0, "record", "2026-11-28-91")},
		{"rolls", run(0, "rolls", "--instead-of", "leaf")},
		{"backup", run(0, "backup", "--dir", dir)},
		{"backup", run(0, "backup", filepath.Join(dir, "copy"))},
		{"audit", run(0, "audit", "--backups", dir)},
		{"audit", run(1, "audit", "--against", "0123 4567 89ab cdef")},
		{"restore", run(0, "restore", filepath.Join(dir, "copy"), "--drill")},
		{"restore", run(0, "restore", filepath.Join(dir, "copy"), "--replace")},
		{"restore", run(1, "restore", toml, "--drill")},
	}
	for _, a := range answers {
		meets(t, a.name, a.json)
	}
	// A schema that lets anything through checks nothing.
	c := jsonschema.NewCompiler()
	s, err := c.Compile(filepath.Join(schemaDir, "mix.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	spoiled := bytes.Replace(answers[9].json, []byte(`"per_colour"`), []byte(`"per_color"`), 1)
	v, _ := jsonschema.UnmarshalJSON(bytes.NewReader(spoiled))
	if s.Validate(v) == nil {
		t.Error("a spoiled key passes the schema of mix")
	}
}

// lastAct is the last act of a record.
func lastAct(answer []byte) string {
	acts := regexp.MustCompile(`"act": ([0-9]+)`).FindAllSubmatch(answer, -1)
	return string(acts[len(acts)-1][1])
}

// meets holds an answer to the schema of its name.
func meets(t *testing.T, name string, answer []byte) {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	s, err := c.Compile(filepath.Join(schemaDir, name+".schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(answer))
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, answer)
	}
	if err := s.Validate(v); err != nil {
		t.Errorf("%s: %v", name, err)
	}
}
