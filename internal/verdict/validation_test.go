package verdict

import (
	"flag"
	"fmt"
	"math"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/sugar"
	"slabside/internal/validation"
)

var update = flag.Bool("update", false, "rewrite testdata/validation.csv")

// floss is spun sugar: sucrose of 2.5 % water at 25 °C.
func floss(humidity float64) Open {
	in := made(45, 0, 150)
	in.Room.Air, in.Room.Humidity = 25, q.Fraction(humidity)
	s := in.weakest()
	s.solids, s.water = sugar.Solids{}, 0.025
	return in.open(s)
}

func TestValidation(t *testing.T) {
	t.Parallel()
	const day = 24.0
	spun := validation.Table{Model: "table of diffusion", Quantity: "time until the skin sticks", Unit: "h", Range: "spun sucrose, 25 °C, 33 % humidity", Kind: validation.Outside,
		Why: "collapsed within three days, all crystal within eleven: a skin has stuck before either"}
	at33 := hours(floss(0.33))
	spun.Rows = []validation.Row{{Name: "collapsed in 3 days", Got: at33, Want: 1.5 * day, Tol: 1.5 * day, Key: source.Labuza2004},
		{Name: "crystalline in 11 days", Got: at33, Want: 5.5 * day, Tol: 5.5 * day, Key: source.Leinen2006}}
	slow := spun.Against("sucrose's own diffusion in place of water's", "the molecule is about ten thousand times slower: has to fail",
		func(r validation.Row) float64 { return 1e4 * r.Got })
	regress := validation.Table{Model: "table of diffusion", Quantity: "time until the skin sticks", Unit: "%", Relative: true, Range: "25 to 75 % humidity, 25 °C",
		Kind: validation.Regression, Why: "the table itself, as it was worked out"}
	rows := validation.Records(t, "open.csv")
	if len(rows) != len(openRows()) {
		t.Fatalf("%d rows for %d of the table", len(rows), len(openRows()))
	}
	for _, r := range rows {
		for i, column := range []string{"little_h", "much_h"} {
			room := [2]float64{openLittle, openMuch}[i]
			if r.Text(column) == "" {
				continue
			}
			h := r.Number("humidity_pct") / 100
			bound, got := openHours(h, room)
			if bound != About {
				t.Errorf("%g humidity, %s: %s", h, column, bound)
			}
			regress.Rows = append(regress.Rows, validation.Row{Name: fmt.Sprintf("%s %%, %s", r.Text("humidity_pct"), column), Got: got,
				Want: r.Number(column), Tol: 1e-9, Key: source.Key(r.Text("key"))})
		}
	}
	validation.Check(t, *update, spun, slow, regress)
}

// Spun sugar at 11 % of humidity was stable, and dry sucrose kept for nearly three
// years below 12 %.
func TestOpen_DryAirKeeps(t *testing.T) {
	t.Parallel()
	for humidity, key := range map[float64]source.Key{0.11: source.Labuza2004, 0.12: source.MakowerDye1956} {
		if o := floss(humidity); o.Bound != Never {
			t.Errorf("%g humidity (%s): %s", humidity, key, o.Text)
		}
	}
	if o := floss(0.40); o.Bound == Never {
		t.Error("at 40 % of humidity, where it crystallises, it keeps too")
	}
}

// Plain recipes boiled to 150 °C weld at 50 °C, and none sticks on a shelf at 20 °C
// (common practice, source key practice).
func TestSticks_Trade(t *testing.T) {
	t.Parallel()
	for _, syrup := range []float64{0.25, 0.35, 0.45} {
		in := boiled(t, syrup, 150)
		in.Room.PostMost = 50
		v := Of(in).List[0]
		if v.Limits[2].Answer == No || *v.Limits[2].Chance < 0.5 {
			t.Errorf("%g of syrup, boiled to 150 °C, stands up to 50 °C: %s", syrup, v.Text)
		}
		in.Room.StoreMost = 20
		if got := Of(in).List[0].Limits[1].Answer; got != No {
			t.Errorf("%g of syrup, boiled to 150 °C, sticks at 20 °C: %q", syrup, got)
		}
	}
}

// Recipes as printed: the teaching formula and the usual proportions keep, the old
// pear drops with 3 lb of glucose to 14 lb of sugar are to be minded, plain sugar grains.
func TestGrains_Recipes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name         string
		sugar, syrup float64 // by weight, syrup of 80.3 % solids
		want         Answer
	}{{"teaching formula", 819, 540, No}, {"60:40", 60, 40, No}, {"50:50", 50, 50, No}, {"pear drops", 14, 3, Borderline}, {"plain sugar", 1, 0, Likely}} {
		share := c.syrup * 0.803 / (c.sugar + c.syrup*0.803)
		if v := Of(boiled(t, share, 0.025)).List[1]; v.Answer != c.want {
			t.Errorf("%s: %q (%s), want %q", c.name, v.Answer, v.Text, c.want)
		}
	}
}

func hours(o Open) float64 {
	if o.TimeS == nil {
		return math.NaN()
	}
	return o.TimeS.Value / 3600
}
