package sugar

import (
	"testing"

	"slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/validation"
)

func TestCoefficients_AsPublished(t *testing.T) {
	t.Parallel()
	inCode := map[string]float64{
		"if97 n1": if97n1, "if97 n2": if97n2, "if97 n3": if97n3, "if97 n4": if97n4, "if97 n5": if97n5,
		"if97 n6": if97n6, "if97 n7": if97n7, "if97 n8": if97n8, "if97 n9": if97n9, "if97 n10": if97n10,
		"activity Q": activityQ, "activity a": activityA, "activity b": activityB, "glass water K": glassWaterK,
		"glass sucrose C": glassSucroseK - quantity.ZeroCelsius, "glass glucose C": glassGlucoseK - quantity.ZeroCelsius,
		"glass fructose C": glassFructoseK - quantity.ZeroCelsius, "glass citric acid C": glassAcidK - quantity.ZeroCelsius,
		"norrish sucrose": norrishSucrose, "norrish hexose": norrishHexose, "norrish maltose": norrishMaltose,
		"gab layer": gabLayer, "gab C": gabC, "gab K": gabK,
	}
	rows := validation.Records(t, "coefficients.csv")
	for _, r := range rows {
		got, ok := inCode[r.Text("name")]
		if !ok {
			t.Errorf("%s is not in the code", r.Text("name"))
		}
		if want := r.Number("value"); got != want {
			t.Errorf("%s is %.17g in the code, %.17g in the table", r.Text("name"), got, want)
		}
	}
	if len(rows) != len(inCode) {
		t.Errorf("%d coefficients in the table, %d in the code", len(rows), len(inCode))
	}
}

// The reducing power of a syrup must fit its composition: the dextrose, maltose
// and maltotriose it is stated to hold account for part of it, and the rest lies
// between that of nothing and that of DP4 (666.6 g/mol). Compositions are
// published or recalled, whole per cents, and the DE of a row is that of its
// class: 8 % allowed.
func TestSyrups_ReducingPowerFitsTheComposition(t *testing.T) {
	t.Parallel()
	const dp1, dp2, dp3, dp4 = 180.16, 342.30, 504.44, 666.58
	for _, s := range Syrups() {
		if _, ok := source.Lookup(s.Source); !ok {
			t.Errorf("%s: unknown source %q", s.Name, s.Source)
		}
		if s.DP3 == nil || s.DP4Plus == nil {
			continue // the source does not say
		}
		if sum := *s.DP1 + *s.DP2 + *s.DP3 + *s.DP4Plus; sum < 98 || sum > 102 {
			t.Errorf("%s: the shares add up to %g %%", s.Name, sum)
		}
		low := *s.DP1/dp1 + *s.DP2/dp2 + *s.DP3/dp3
		high := low + *s.DP4Plus/dp4
		if got := 100 / s.MolarMass(); got < 0.92*low || got > 1.08*high {
			t.Errorf("%s: 1/M of %.4g mol in 100 g, its composition allows %.4g to %.4g", s.Name, got, low, high)
		}
	}
}

func TestSyrups_TheDefaultComesFirst(t *testing.T) {
	t.Parallel()
	first := Syrups()[0]
	if first.DE != DefaultDE || *first.DP1 != 19 || *first.DP2 != 14 || *first.DP3 != 11 || *first.DP4Plus != 56 {
		t.Errorf("the first syrup is %+v", first)
	}
	// 429 g/mol (source key hull2010: composition and DE; the mass is arithmetic).
	if m := first.MolarMass(); m < 428.5 || m > 429.5 {
		t.Errorf("its molar mass is %.2f, want 429", m)
	}
}
