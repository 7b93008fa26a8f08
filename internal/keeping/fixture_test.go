package keeping

import (
	"testing"

	"slabside/internal/bag"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// drops is a sweet of 60 parts of sugar to 40 of syrup solids with 2.5 % of water.
func drops() Sweet {
	return Sweet{Solids: sugar.Solids{Syrup: 0.4}, Water: 0.025, Phase: 0.975}
}

// flat is a bag of 66 dm² of wall for 250 g.
func flat(layers ...bag.Layer) bag.Pack {
	return bag.Pack{ID: "flat", Name: "Flat bag", Closure: bag.Sealed, Layers: layers, Width: 0.11, Height: 0.3}
}

// kept is 250 g of drops in a flat bag at one place.
func kept(at q.Celsius, humidity q.Fraction, layers ...bag.Layer) Inputs {
	return Inputs{Sweet: drops(), Net: 0.25, Pack: flat(layers...), Steps: []Step{{At: at, Humidity: humidity}}, Units: q.Metric.With(q.Point)}
}

// opp is 30 µm of oriented polypropylene.
func opp() bag.Layer { return bag.Layer{Film: bag.OrientedPP, Thickness: 30e-6} }

// fataler is a test or a drawn case of one.
type fataler interface {
	Helper()
	Fatal(args ...any)
}

func ran(t fataler, in Inputs) *run {
	t.Helper()
	r, err := in.run()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func ask(t *testing.T, in Inputs) Keeps {
	t.Helper()
	k, err := Of(in)
	if err != nil {
		t.Fatal(err)
	}
	return k
}
