package storetest

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// shown is a reading of a thermometer so many seconds after noon.
func shown(probe string, seconds int, c float64, in reading.Place, batch string) reading.Reading {
	at := Noon(0).Add(time.Duration(seconds) * time.Second)
	return reading.Reading{Probe: probe, At: at, C: c, In: in, Batch: batch, Source: reading.Posted, By: "Zoë's logger (program)", Received: at.Add(700 * time.Millisecond)}
}

// read brings readings in that must be taken.
func (k kit) read(list ...reading.Reading) reading.Counts {
	k.t.Helper()
	n, err := k.AddReadings(k.ctx, list)
	if err != nil {
		k.t.Fatalf("AddReadings: %v (cause %v)", err, cause(err))
	}
	return n
}

// someReadings gives a book readings of every kind: of a batch and of none, one that
// stands and others set aside.
func (k kit) someReadings(probe, batch string) {
	k.t.Helper()
	k.read(shown(probe, 0, 151.2, reading.Kettle, batch), shown(probe, 1, 151.2, reading.Kettle, ""),
		shown(probe, 0, 149, reading.Kettle, batch), shown(probe, 0, -17.778, reading.WaterIn, ""))
}

// metered returns a book with one batch and its first two thermometers.
func metered(t *testing.T, open Open) (k kit, batch, a, b string) {
	t.Helper()
	k, batch, _ = shelved(t, open)
	book, _ := k.get()
	if len(book.Glasses) < 2 {
		t.Fatal("the suite needs two thermometers")
	}
	a, b = book.Glasses[0].ID, book.Glasses[1].ID
	if b < a {
		a, b = b, a
	}
	return k, batch, a, b
}

// all returns every reading.
func (k kit) allReadings() []reading.Kept {
	k.t.Helper()
	out, err := k.Readings(k.ctx, store.FindReadings{Limit: 1000})
	if err != nil {
		k.t.Fatalf("Readings: %v (cause %v)", err, cause(err))
	}
	return out
}

// testReadings brings readings in, again, and with other values.
func testReadings(t *testing.T, open Open) {
	k, batch, a, b := metered(t, open)
	before, err := k.Head(k.ctx)
	if err != nil {
		t.Fatal(err)
	}
	first := []reading.Reading{shown(b, 0, 20.5, reading.Air, ""), shown(a, 0, 151.2, reading.Kettle, batch), shown(a, 1, 151.4, reading.Kettle, batch)}
	if n := k.read(first...); n != (reading.Counts{Kept: 3}) {
		t.Errorf("new: %+v", n)
	}
	if n := k.read(first...); n != (reading.Counts{Repeated: 3}) {
		t.Errorf("again: %+v", n)
	}
	late := first[1]
	late.Batch, late.By, late.Source, late.Received = "", "Ada", reading.Logged, late.Received.Add(time.Hour)
	if n := k.read(late); n != (reading.Counts{Repeated: 1}) {
		t.Errorf("the same value by another way: %+v", n)
	}
	other, place := first[1], first[1]
	other.C, place.In = 149, reading.Slab
	if n := k.read(other, place, other); n != (reading.Counts{SetAside: 2, Repeated: 1}) {
		t.Errorf("another value, another place, and the first of them again: %+v", n)
	}
	if n := k.read(); n != (reading.Counts{}) {
		t.Errorf("none: %+v", n)
	}
	want := []reading.Kept{{Reading: first[1].Rounded()}, {Reading: other.Rounded(), N: 1}, {Reading: place.Rounded(), N: 2}, {Reading: first[0].Rounded()}, {Reading: first[2].Rounded()}}
	if d := cmp.Diff(want, k.allReadings()); d != "" {
		t.Errorf("kept (-want +got):\n%s", d)
	}
	if after, err := k.Head(k.ctx); err != nil || after != before {
		t.Errorf("the head went from %d to %d, %v: readings are no acts", before, after, err)
	}
	if audit := k.sound(); audit.Readings != 5 {
		t.Errorf("the audit saw %d readings, want 5", audit.Readings)
	}
	// A thermometer that is out of use still brings what its memory holds.
	head, _ := k.Head(k.ctx)
	if _, err := k.retire(head, meta(9), store.KindGlass, b); err != nil {
		t.Fatal(err)
	}
	if n := k.read(shown(b, 5, 21, reading.Air, "")); n.Kept != 1 {
		t.Errorf("out of use: %+v", n)
	}
	k.sound()
}

func testReadingsRefused(t *testing.T, open Open) {
	empty := start(t, open)
	_, err := empty.AddReadings(empty.ctx, []reading.Reading{shown("glass", 0, 20, reading.Air, "")})
	wantKind(t, "an empty book", err, fault.KindNotFound)

	k, batch, a, _ := metered(t, open)
	k.read(shown(a, 0, 20, reading.Air, ""))
	before := k.export()
	good := shown(a, 1, 21, reading.Air, batch)
	for _, c := range []struct {
		name   string
		change func(*reading.Reading)
		kind   fault.Kind
		field  string
	}{
		{"no such thermometer", func(r *reading.Reading) { r.Probe = "none" }, fault.KindNotFound, "probe"},
		{"a thing of another kind", func(r *reading.Reading) { r.Probe = "sugar" }, fault.KindNotFound, "probe"},
		{"no such batch", func(r *reading.Reading) { r.Batch = "2026-03-14-7" }, fault.KindNotFound, "batch"},
		{"no number", func(r *reading.Reading) { r.C = math.NaN() }, fault.KindInvalid, "value"},
		{"a time to come", func(r *reading.Reading) { r.At = r.At.Add(time.Hour) }, fault.KindInvalid, "at"},
		{"no place", func(r *reading.Reading) { r.In = "moon" }, fault.KindInvalid, "in"},
	} {
		bad := good
		c.change(&bad)
		n, err := k.AddReadings(k.ctx, []reading.Reading{good, bad})
		wantKind(t, c.name, err, c.kind)
		if f, ok := err.(*fault.Error); ok && f.Field != "readings[1]."+c.field {
			t.Errorf("%s: the fault names %q", c.name, f.Field)
		}
		if n != (reading.Counts{}) {
			t.Errorf("%s: %+v", c.name, n)
		}
	}
	if d := cmp.Diff(before, k.export()); d != "" {
		t.Errorf("a refusal changed the book (-before +after):\n%s", d)
	}
	_, err = k.Readings(k.ctx, store.FindReadings{})
	wantField(t, "a list of none", err, "limit")
	k.sound()
}

// testReadingsFound asks for readings by all that they can be asked for by, and page by page.
func testReadingsFound(t *testing.T, open Open) {
	k, batch, a, b := metered(t, open)
	k.read(shown(a, 0, 20, reading.Air, ""), shown(b, 0, 30, reading.Slab, batch), shown(a, 1, 21, reading.Kettle, batch),
		shown(b, 1, 31, reading.Slab, ""), shown(a, 2, 22, reading.Kettle, batch), shown(a, 2, 99, reading.Kettle, batch))
	all := k.allReadings()
	if len(all) != 6 || !slices.IsSortedFunc(all, reading.Compare) {
		t.Fatalf("%+v", all)
	}
	at := func(s int) time.Time { return Noon(0).Add(time.Duration(s) * time.Second) }
	for name, c := range map[string]struct {
		f    store.FindReadings
		want []float64
	}{
		"all":               {store.FindReadings{}, []float64{20, 30, 21, 31, 22, 99}},
		"of a thermometer":  {store.FindReadings{Probe: b}, []float64{30, 31}},
		"of a batch":        {store.FindReadings{Batch: batch}, []float64{30, 21, 22, 99}},
		"of both":           {store.FindReadings{Batch: batch, Probe: a}, []float64{21, 22, 99}},
		"of a place":        {store.FindReadings{In: reading.Slab}, []float64{30, 31}},
		"of batch, place":   {store.FindReadings{Batch: batch, In: reading.Slab}, []float64{30}},
		"from":              {store.FindReadings{From: at(1)}, []float64{21, 31, 22, 99}},
		"to":                {store.FindReadings{To: at(1)}, []float64{20, 30}},
		"between":           {store.FindReadings{Batch: batch, From: at(1), To: at(2)}, []float64{21}},
		"those that stand":  {store.FindReadings{Standing: true}, []float64{20, 30, 21, 31, 22}},
		"those of a batch":  {store.FindReadings{Standing: true, Batch: batch}, []float64{30, 21, 22}},
		"of nothing":        {store.FindReadings{Probe: "none"}, nil},
		"the first two":     {store.FindReadings{Limit: 2}, []float64{20, 30}},
		"of no such batch":  {store.FindReadings{Batch: "2026-03-14-7"}, nil},
		"after one, from 2": {store.FindReadings{From: at(2), After: &store.ReadingKey{At: at(0), Probe: a}}, []float64{22, 99}},
	} {
		if c.f.Limit == 0 {
			c.f.Limit = 1000
		}
		got, err := k.Readings(k.ctx, c.f)
		var values []float64
		for _, x := range got {
			values = append(values, x.C)
		}
		if err != nil || !slices.Equal(values, c.want) {
			t.Errorf("%s: %v, %v, want %v", name, values, err, c.want)
		}
	}
	for _, f := range []store.FindReadings{{Limit: 1}, {Limit: 2}, {Limit: 1, Batch: batch}} {
		var parts []reading.Kept
		whole := f
		whole.Limit = 1000
		for range 9 {
			page, err := k.Readings(k.ctx, f)
			if err != nil {
				t.Fatal(err)
			}
			if len(page) == 0 {
				break
			}
			parts = append(parts, page...)
			key := store.KeyOf(page[len(page)-1])
			f.After = &key
		}
		want, _ := k.Readings(k.ctx, whole)
		if d := cmp.Diff(want, parts); d != "" {
			t.Errorf("pages of %d (-whole +parts):\n%s", f.Limit, d)
		}
	}
}

// testReadingsWhole carries readings over into another book; a line that is missing,
// spoiled, doubled or out of its order is told, and nothing is taken in.
func testReadingsWhole(t *testing.T, open Open) {
	k, batch, a, b := metered(t, open)
	k.someReadings(a, batch)
	k.read(shown(b, 0, 20.001, reading.Rolls, batch))
	text := k.export()
	to := start(t, open)
	if _, err := to.ImportAll(to.ctx, strings.NewReader(text)); err != nil {
		t.Fatal(err, cause(err))
	}
	if d := cmp.Diff(text, to.export()); d != "" {
		t.Errorf("export of the import (-first +second):\n%s", d)
	}
	if d := cmp.Diff(k.allReadings(), to.allReadings()); d != "" {
		t.Errorf("readings (-first +second):\n%s", d)
	}
	to.sound()

	lines := strings.SplitAfter(strings.TrimSuffix(text, "\n"), "\n")
	first := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, `{"line":"reading"`) })
	end := len(lines) - 1
	if first < 0 || end-first != 5 {
		t.Fatalf("readings from line %d, the end is line %d", first+1, end+1)
	}
	with := func(i int, now ...string) string { return strings.Join(slices.Concat(lines[:i], now, lines[i+1:]), "") }
	swap := func(i int, old, now string) string {
		l := strings.Replace(lines[i], old, now, 1)
		if l == lines[i] {
			t.Fatalf("line %d has no %q: %s", i+1, old, l)
		}
		return with(i, l)
	}
	for _, c := range []struct {
		name, text string
		line       int // that is named
	}{
		{"missing", with(first), first + 1}, // what was set aside beside it has nothing to stand beside
		{"missing at the end", with(end - 1), end},
		{"doubled", with(first, lines[first], lines[first]), first + 2},
		{"another value", swap(first+3, "20.001", "20.002"), end + 1},
		{"a value that cannot be", swap(first+3, "20.001", "500"), first + 4},
		{"a part of a thousandth", swap(first+3, "20.001", "20.0011"), first + 4},
		{"another thermometer", swap(first, `"probe":"`+a, `"probe":"x`+a), first + 1},
		{"another batch", swap(first, batch, batch+"7"), first + 1},
		{"another place", swap(first, `"in":"kettle"`, `"in":"cellar"`), first + 1},
		{"another number", swap(first, `"n":0`, `"n":1`), first + 1},
		{"out of order", with(first, lines[first+4], lines[first]), first + 2},
		{"another count", swap(end, `"readings":5`, `"readings":4`), end + 1},
		{"a line to make after it", with(first, lines[first], `{"line":"to_make","product":"x","bags":1,"must":true,"due":"","for":""}`+"\n"), first + 2},
		{"no JSON of a reading", swap(first, `"n":0`, `"n":"0"`), first + 1},
		{"a time of no form", swap(first, "2026-03-14T", "2026-03-14 "), first + 1},
	} {
		fresh := start(t, open)
		_, err := fresh.ImportAll(fresh.ctx, strings.NewReader(c.text))
		wantField(t, c.name, err, "line "+strconv.Itoa(c.line))
		if head, err := fresh.Head(fresh.ctx); head != 0 || err != nil {
			t.Errorf("%s: head %d, %v", c.name, head, err)
		}
	}
}

// testReadingsAtOnce lets several bring the same readings in at once: each is kept once.
func testReadingsAtOnce(t *testing.T, open Open) {
	k, _, a, _ := metered(t, open)
	var group sync.WaitGroup
	var mu sync.Mutex
	var sum reading.Counts
	for range 4 {
		group.Go(func() {
			for s := range 10 {
				n, err := k.AddReadings(k.ctx, []reading.Reading{shown(a, s, 20, reading.Air, ""), shown(a, s+1, 20, reading.Air, "")})
				if err != nil {
					t.Error(err, cause(err))
				}
				mu.Lock()
				sum.Kept, sum.Repeated, sum.SetAside = sum.Kept+n.Kept, sum.Repeated+n.Repeated, sum.SetAside+n.SetAside
				mu.Unlock()
			}
		})
	}
	group.Wait()
	if sum != (reading.Counts{Kept: 11, Repeated: 69}) || len(k.allReadings()) != 11 {
		t.Errorf("%+v, %d kept", sum, len(k.allReadings()))
	}
	k.sound()
}
