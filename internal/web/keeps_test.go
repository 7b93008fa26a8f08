package web

import (
	"math"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// The slip of how long a sweet keeps computes: the figures put into its formula give the
// days it ends in, and those are the figure's. A tried recipe is worked out anew, and
// both stand beside each other.
func TestKeeps_SlipComputes(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	b, _ := bookOf(t, a)
	at := "/recipes/" + b.Recipes[0].ID
	for _, query := range []string{"", "?" + url.Values{"f.water_left": {"3.2 %"}}.Encode()} {
		p := ask(t, site, "GET", at+query, nil)
		said := figureOn(t, p, "keeps in its pack")
		var formula string
		for _, n := range all(p.root, ".facts div") {
			if s := words(n); strings.HasPrefix(s, "keeps in its pack ") {
				for _, f := range all(n, ".formula") {
					formula = words(f)
				}
			}
		}
		m := regexp.MustCompile(`days = ([\d.]+) g × ([\d.]+) ÷ \(([\d.]+) × ([\d.]+) kPa\) × ln\(\(([\d.]+) − ([\d.]+)\) ÷ \(([\d.]+) − ([\d.]+)\)\) = ([\d.]+)$`).FindStringSubmatch(formula)
		if m == nil {
			t.Fatalf("no formula on the slip: %q", formula)
		}
		var x [9]float64
		for i := range x {
			var err error
			if x[i], err = strconv.ParseFloat(m[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		days := x[0] * x[1] / (x[2] * x[3]) * math.Log((x[4]-x[5])/(x[6]-x[7]))
		if math.Abs(days/x[8]-1) > 0.01 { // printed to four digits, three after the subtraction
			t.Errorf("%q comes to %.4g", formula, days)
		}
		if value, err := strconv.ParseFloat(strings.Fields(said)[0], 64); err != nil || math.Abs(value-x[8]) > 0.51 {
			t.Errorf("the figure is %q, the slip ends in %g", said, x[8])
		}
		if !strings.Contains(said, "Clear bag") {
			t.Errorf("in which pack: %q", said)
		}
		if query != "" && !strings.Contains(said, "against ") {
			t.Errorf("tried, it is not held against the recipe as kept: %q", said)
		}
		if open := figureOn(t, p, "open to the room"); open == "" {
			t.Error("not how long it lies open")
		}
	}
}
