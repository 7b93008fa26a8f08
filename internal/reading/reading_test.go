package reading

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"slabside/internal/fault"
)

func one() Reading {
	at := time.Date(2026, 11, 28, 10, 2, 3, 4_500_000, time.UTC)
	return Reading{Probe: "brass", At: at, C: 151.2, In: Kettle, Source: Posted, By: "logger (program)", Received: at.Add(time.Second)}
}

// Each rule is tried one step either side of its edge.
func TestCheck(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*Reading)
		field  string // empty: it is taken
	}{
		"as it is":            {func(*Reading) {}, ""},
		"no thermometer":      {func(r *Reading) { r.Probe = "" }, "probe"},
		"no place":            {func(r *Reading) { r.In = "" }, "in"},
		"another place":       {func(r *Reading) { r.In = "cellar" }, "in"},
		"not a number":        {func(r *Reading) { r.C = math.NaN() }, "value"},
		"infinite":            {func(r *Reading) { r.C = math.Inf(-1) }, "value"},
		"coldest":             {func(r *Reading) { r.C = -40 }, ""},
		"too cold":            {func(r *Reading) { r.C = -40.001 }, "value"},
		"hottest":             {func(r *Reading) { r.C = 400 }, ""},
		"too hot":             {func(r *Reading) { r.C = 400.001 }, "value"},
		"no source":           {func(r *Reading) { r.Source = "guessed" }, "source"},
		"nobody":              {func(r *Reading) { r.By = "" }, "by"},
		"a name without end":  {func(r *Reading) { r.By = strings.Repeat("x", 301) }, "by"},
		"as far ahead as may": {func(r *Reading) { r.At = r.Received.Add(MostAhead) }, ""},
		"too far ahead":       {func(r *Reading) { r.At = r.Received.Add(MostAhead + time.Millisecond) }, "at"},
		"the first day":       {func(r *Reading) { r.At = time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC) }, ""},
		"a clock never set":   {func(r *Reading) { r.At = time.Date(2009, 12, 31, 23, 59, 59, 0, time.UTC) }, "at"},
		"no time":             {func(r *Reading) { r.At = time.Time{} }, "at"},
		"of long ago":         {func(r *Reading) { r.At = r.Received.AddDate(-3, 0, 0) }, ""},
	} {
		r := one()
		c.change(&r)
		err := r.Check()
		var f *fault.Error
		switch {
		case c.field == "" && err != nil:
			t.Errorf("%s: %v", name, err)
		case c.field != "" && (!errors.As(err, &f) || f.Field != c.field || f.Kind != fault.KindInvalid):
			t.Errorf("%s: %v, want a fault at %q", name, err, c.field)
		}
	}
}

func TestRounded(t *testing.T) {
	t.Parallel()
	r := one()
	r.C = 151.20049
	got := r.Rounded()
	if got.C != 151.2 || got.At.Nanosecond() != 4_000_000 {
		t.Errorf("%v at %v", got.C, got.At)
	}
	if again := got.Rounded(); again != got {
		t.Errorf("%+v, then %+v", got, again)
	}
	x := got
	x.C += 0.0004
	if !got.Same(x) {
		t.Error("less than half a thousandth makes another value")
	}
	x.C = got.C + 0.001
	if got.Same(x) {
		t.Error("a thousandth makes no other value")
	}
	x = got
	x.In = Slab
	if got.Same(x) {
		t.Error("another place is the same reading")
	}
}

// The fixed points of the two scales: melting ice, boiling water, and where they meet.
// Exact by the definition of the degree Fahrenheit (NIST SP 811, appendix B.8).
func TestUnit(t *testing.T) {
	t.Parallel()
	for f, c := range map[float64]float64{32: 0, 212: 100, -40: -40, 302: 150} {
		if got := Fahrenheit.ToC(f); math.Abs(got-c) > 1e-12 || Celsius.ToC(c) != c {
			t.Errorf("%g °F is %g °C, want %g", f, got, c)
		}
	}
	for text, want := range map[string]Unit{"": Celsius, "C": Celsius, " °c ": Celsius, "ºC": Celsius, "f": Fahrenheit, "°F": Fahrenheit, "fahrenheit": Fahrenheit} {
		if got, err := ParseUnit(text); err != nil || got != want {
			t.Errorf("%q is %q, %v", text, got, err)
		}
	}
	for _, text := range []string{"K", "R", "°", "CF", "deg"} {
		if _, err := ParseUnit(text); text != "°" && err == nil {
			t.Errorf("%q is read", text)
		}
	}
}

func TestPlace(t *testing.T) {
	t.Parallel()
	for _, p := range Places() {
		for _, text := range []string{string(p), p.Slug(), strings.ToUpper(string(p)), strings.ReplaceAll(string(p), " ", "_")} {
			if got, err := ParsePlace(text); err != nil || got != p {
				t.Errorf("%q is %q, %v", text, got, err)
			}
		}
		if strings.ContainsAny(p.Slug(), " /+#") {
			t.Errorf("%q cannot stand in a topic", p.Slug())
		}
	}
	for _, text := range []string{"", "cellar", "kettle2", "kettle/"} {
		if _, err := ParsePlace(text); err == nil {
			t.Errorf("%q is a place", text)
		}
	}
}
