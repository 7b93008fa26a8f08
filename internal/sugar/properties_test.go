package sugar

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// fields returns the estimates by their JSON keys.
func fields(p Properties) map[string]*quantity.Estimate {
	out := map[string]*quantity.Estimate{}
	v := reflect.ValueOf(p)
	for i := range v.NumField() {
		if e, ok := v.Field(i).Interface().(*quantity.Estimate); ok {
			out[v.Type().Field(i).Tag.Get("json")] = e
		}
	}
	return out
}

// Each property is given exactly where its own function answers, its range
// brackets its value, and what is left out has a caution.
func TestProperties_AgreeWithTheFunctions(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := Mix(solidsOf(t, MaxDE), quantity.Fraction(rapid.Float64Range(0, 1).Draw(t, "water")))
		at := quantity.Celsius(rapid.Float64Range(-20, 200).Draw(t, "at"))
		p := quantity.Pascals(rapid.Float64Range(40e3, 120e3).Draw(t, "pressure"))
		got, err := PropertiesOf(State{m, at, p})
		if err != nil {
			t.Fatal(err)
		}
		boil, boilErr := BoilingPoint(m, p)
		glass, glassErr := GlassTransition(m)
		want := map[string]func() (float64, error){
			"boiling_c":            func() (float64, error) { return float64(boil), boilErr },
			"water_activity":       func() (float64, error) { return WaterActivity(m, at) },
			"density_kg_l":         func() (float64, error) { return Density(m, at) },
			"viscosity_pa_s":       func() (float64, error) { return Viscosity(m, at) },
			"heat_capacity_kj_kgk": func() (float64, error) { return HeatCapacity(m, at) },
			"conductivity_w_mk":    func() (float64, error) { return Conductivity(m, at) },
			"glass_c":              func() (float64, error) { return float64(glass), glassErr },
		}
		missing := 0
		for name, e := range fields(got) {
			v, err := want[name]()
			if (e == nil) != (err != nil) {
				t.Fatalf("%s is %v, its function says %v", name, e, err)
			}
			if e == nil {
				missing++
				continue
			}
			exact := m.Water > 0.999 // water itself boils where it boils
			if !(e.Low <= e.Value && e.Value <= e.High && (exact || e.Low < e.High)) || e.Basis != quantity.Estimated {
				t.Fatalf("%s is %+v", name, *e)
			}
			ranged := AtEdge(m.Water) && (name == "boiling_c" || name == "water_activity")
			if !ranged && e.Value != v {
				t.Fatalf("%s is %g, its function says %g", name, e.Value, v)
			}
			if ranged && e.Value != (e.Low+e.High)/2 {
				t.Fatalf("%s is %g, not the middle of %g to %g", name, e.Value, e.Low, e.High)
			}
		}
		out := 0
		for _, c := range got.Cautions {
			if c.Code == CodeOutsideRange {
				out++
			}
		}
		if out != missing {
			t.Fatalf("%d properties are missing, %d cautions say so: %v", missing, out, got.Cautions)
		}
		if missing < len(want) != (len(got.Sources) > 0) {
			t.Fatalf("%d properties missing, sources %v", missing, got.Sources)
		}
		for _, k := range got.Sources {
			if _, ok := source.Lookup(k); !ok {
				t.Fatalf("unknown source %q", k)
			}
		}
	})
}

func TestProperties_JSON(t *testing.T) {
	t.Parallel()
	p := must(PropertiesOf(State{Mix(Solids{}, 0.85), 100, sea}))
	text := string(must(json.Marshal(p)))
	for _, part := range []string{`"glass_c":null`, `"boiling_c":{"value":`, `"basis":"estimated"`, `"code":"outside-range"`, `"sources":["`} {
		if !strings.Contains(text, part) {
			t.Errorf("%s lacks %s", text, part)
		}
	}
}

func TestProperties_Cautions(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name  string
		state State
		want  []string
	}{
		{"hot syrup", State{Mix(Solids{}, 0.3), 90, sea}, nil},
		{"hard crack", State{Mix(Solids{Syrup: 0.4}, 0.03), 100, sea}, []string{CodeThickGuess}},
		{"near dry", State{Mix(Solids{}, 0.012), 120, sea}, []string{CodeBoilEdge, CodeThickGuess}},
		{"ball", State{Mix(Solids{}, 0.10), 110, sea}, []string{CodeBoilLoose, CodeThickGuess}},
		{"cool syrup", State{Mix(Solids{}, 0.3), 59.9, sea}, []string{CodeCoolActivity}},
		{"warm syrup", State{Mix(Solids{}, 0.3), 60.1, sea}, nil},
	}
	for _, c := range cases {
		p := must(PropertiesOf(c.state))
		var got []string
		for _, caution := range p.Cautions {
			got = append(got, caution.Code)
			if caution.Text == "" {
				t.Errorf("%s: %s says nothing", c.name, caution.Code)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: cautions %v, want %v", c.name, got, c.want)
		}
	}
}

func TestProperties_Faults(t *testing.T) {
	t.Parallel()
	good := State{Mix(Solids{Syrup: 0.4}, 0.03), 100, sea}
	for name, turn := range map[string]func(*State){
		"make-up":               func(s *State) { s.Mixture.Solids.Syrup = 1.2 },
		"water above one":       func(s *State) { s.Mixture.Water = 1.01 },
		"water not a number":    func(s *State) { s.Mixture.Water = quantity.Fraction(math.NaN()) },
		"below absolute zero":   func(s *State) { s.At = -274 },
		"infinitely hot":        func(s *State) { s.At = quantity.Celsius(math.Inf(1)) },
		"no pressure":           func(s *State) { s.Pressure = 0 },
		"infinite pressure":     func(s *State) { s.Pressure = quantity.Pascals(math.Inf(1)) },
		"pressure not a number": func(s *State) { s.Pressure = quantity.Pascals(math.NaN()) },
	} {
		s := good
		turn(&s)
		if _, err := PropertiesOf(s); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}
