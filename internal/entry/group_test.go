package entry_test

import (
	"regexp"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/entry"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// laid lays out the form of a thing of the sample book.
func laid(t *testing.T, units q.Reader, kind, id string, change func(entry.Form), faults ...entry.Fault) []entry.Node {
	t.Helper()
	b := shoptest.Book()
	b.Shop.Units = units
	f, err := entry.Print(&b, kind, id)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(f)
	}
	return entry.Layout(&b, f, faults)
}

func find(t *testing.T, nodes []entry.Node, name string) entry.Node {
	t.Helper()
	for _, n := range nodes {
		if n.Name == name {
			return n
		}
		for _, s := range n.Sub {
			if s.Name == name {
				return s
			}
		}
		for _, r := range n.Rows {
			for _, s := range r.Sub {
				if s.Name == name {
					return s
				}
			}
		}
	}
	t.Fatalf("no field %s", name)
	return entry.Node{}
}

// metricOnly finds an amount in a unit that a US shop does not use.
var metricOnly = regexp.MustCompile(`\d (°C|K|kg|g|L|m|mm|kW|hPa)\b`)

// What makers give, and what a field is when it is left out, stand in the shop's units.
func TestUsuallyInTheShopsUnits(t *testing.T) {
	t.Parallel()
	recipe := shoptest.Book().Recipes[0].ID
	kettle := shoptest.Book().Kettles[0].ID
	for _, c := range []struct {
		kind, id, name string
		metric, us     string
	}{
		{"recipe", recipe, "boil_to", "146–154 °C with glucose syrup; 152–157 °C with cream of tartar", "295–309 °F with glucose syrup; 306–315 °F with cream of tartar"},
		{"kettle", kettle, "usual_charge", "8–13 kg", "18–29 lb"},
		{"kettle", kettle, "smear", "50–150 g", "1.8–5.3 oz"},
		{"kettle", kettle, "burner", "15–25 kW in a candy stove; 6–10 kW on a range top", "51000–85000 BTU/h in a candy stove; 20000–34000 BTU/h on a range top"},
		{"kettle", kettle, "foam_room", "40–60 %", "40–60 %"},
		{"room", "", "times.wipe", "3–6 min", "3–6 min"},
	} {
		for units, want := range map[q.Reader]string{q.Plain: c.metric, q.US.With(q.Point): c.us, q.US.With(q.Comma): strings.ReplaceAll(c.us, ".", ",")} {
			if got := find(t, laid(t, units, c.kind, c.id, nil), c.name).Usually; got != want {
				t.Errorf("%s, %s: usually %q, want %q", units, c.name, got, want)
			}
		}
	}
	if got := find(t, laid(t, q.US.With(q.Point), "room", "", nil), "pour_alone").LeftOut; got != "17.637 lb" {
		t.Errorf("left out, one person pours %q", got)
	}
	b := shoptest.Book()
	b.Shop.Units = q.US.With(q.Point)
	every(&b, func(kind, id string) {
		f, err := entry.Print(&b, kind, id)
		if err != nil {
			t.Fatal(err)
		}
		var look func([]entry.Node)
		look = func(nodes []entry.Node) {
			for _, n := range nodes {
				if text := n.Usually + "; " + n.Limits; metricOnly.MatchString(text) {
					t.Errorf("%s, %s: %s", kind, n.Name, text)
				}
				look(n.Sub)
				for _, r := range n.Rows {
					look(r.Sub)
				}
			}
		}
		look(entry.Layout(&b, f, nil))
	})
}

// What few shops give is folded away, and shown if it is given or wrong; a time that
// is left as it stands is not given.
func TestGroupOf(t *testing.T) {
	t.Parallel()
	kettle := shoptest.Book().Kettles[0].ID
	clear := func(f entry.Form) {
		for _, name := range []string{"efficiency_low", "efficiency_high", "lining", "trials_only"} {
			delete(f.Text, name)
		}
	}
	open := func(nodes []entry.Node) bool { return entry.GroupOf("it", nodes).Open }
	if open(laid(t, q.Plain, "kettle", kettle, clear)) {
		t.Error("a kettle of which nothing rare is given opens its fold")
	}
	if !open(laid(t, q.Plain, "kettle", kettle, func(f entry.Form) { clear(f); f.Text["lining"] = "tin" })) {
		t.Error("a lining is folded away")
	}
	if !open(laid(t, q.Plain, "kettle", kettle, clear, entry.Fault{Name: "efficiency_low", Text: "wrong"})) {
		t.Error("a fault is folded away")
	}
	for _, units := range []q.Reader{q.Plain, q.US.With(q.Point), q.Metric.With(q.Comma)} {
		usual := func(f entry.Form) {
			for name := range f.Text {
				delete(f.Text, name)
			}
		}
		// What is read from an empty form is what stands, and is printed as such.
		b := shoptest.Book()
		b.Shop.Units = units
		f, _ := entry.Print(&b, "room", "")
		usual(f)
		b, _, _ = entry.Put(b, f)
		f, _ = entry.Print(&b, "room", "")
		for _, n := range entry.Layout(&b, f, nil) {
			if n.Name == "times" && n.Group().Open {
				t.Errorf("%s: times that are all as they stand open the fold: %s", units, n.Group().Names())
			}
		}
		f.Text["times.rinse"] = "4 min"
		for _, n := range entry.Layout(&b, f, nil) {
			if n.Name == "times" && !n.Group().Open {
				t.Errorf("%s: a time of the shop's own is folded away", units)
			}
		}
	}
}

// Whatever is folded, the fields of a form are all there, each once, and what is rare
// stands in a fold.
func TestGroupOf_Whole(t *testing.T) {
	t.Parallel()
	rare := 0
	for _, kind := range entry.Kinds() {
		b := shoptest.Book()
		if !entry.Single(kind) && len(entry.List(&b, kind)) == 0 {
			t.Fatalf("no %s", kind)
		}
		id := ""
		if !entry.Single(kind) {
			id = entry.List(&b, kind)[0].ID
		}
		nodes := laid(t, q.Plain, kind, id, nil)
		g := entry.GroupOf(kind, nodes)
		if len(g.Shown)+len(g.Folded) != len(nodes) || len(g.Shown) == 0 {
			t.Errorf("%s: %d shown, %d folded, of %d", kind, len(g.Shown), len(g.Folded), len(nodes))
		}
		rare += len(g.Folded)
	}
	if rare < 10 {
		t.Errorf("only %d fields are folded", rare)
	}
}

// The help of a row's fields is that of the first row.
func TestLayout_Helped(t *testing.T) {
	t.Parallel()
	nodes := laid(t, q.Plain, "recipe", shoptest.Book().Recipes[0].ID, nil)
	for name, want := range map[string]string{"boil.0.mass": "boil.0.mass", "boil.1.mass": "boil.0.mass", "boil_to": "boil_to"} {
		if got := find(t, nodes, name).Helped; got != want {
			t.Errorf("%s is helped by %q, want %q", name, got, want)
		}
	}
	if n := find(t, nodes, "boil_to"); n.Kind != book.Temperature || n.Why == "" {
		t.Errorf("boil to: %+v", n)
	}
}
