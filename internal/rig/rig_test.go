package rig_test

import (
	"math"
	"slices"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// Acid drops ran 500 to the pound: 0.907 g (key guide1896, its table of rollers).
func TestPieceMass(t *testing.T) {
	t.Parallel()
	if got := (rig.Rolls{PerPound: 500}).PieceMass(); math.Abs(float64(got)-0.00090718) > 1e-8 {
		t.Errorf("500 to the pound: %g g", got.Grams())
	}
	if got := (rig.Rolls{Piece: 0.0024}).PieceMass(); got != 0.0024 {
		t.Errorf("2.4 g: %g g", got.Grams())
	}
}

func TestTouches(t *testing.T) {
	t.Parallel()
	k := rig.Kettle{Material: rig.Copper}
	if k.Touches() != rig.Copper || !k.Touches().Bare() {
		t.Error("an unlined copper pan is bare copper")
	}
	k.Lining = rig.TinnedCopper
	if k.Touches() != rig.TinnedCopper || k.Touches().Bare() {
		t.Error("a lined pan is not bare")
	}
}

// Every metal that is bare copper or an alloy of it is also one that asks for a
// test; stone, wood and silicone never do.
func TestMetals(t *testing.T) {
	t.Parallel()
	for _, m := range rig.Materials() {
		if m.Bare() && !m.AsksTest() {
			t.Errorf("%s is bare, but asks for no test", m)
		}
	}
	for _, m := range []rig.Material{rig.Marble, rig.Granite, rig.Wood, rig.Silicone, rig.Stainless, rig.Aluminium} {
		if m.AsksTest() || m.Bare() {
			t.Errorf("%s asks for a test", m)
		}
	}
}

func TestMayDo(t *testing.T) {
	t.Parallel()
	h := rig.Hand{May: []rig.Task{rig.MayWeigh, rig.MayPack}}
	for _, task := range rig.Tasks() {
		if got, want := h.MayDo(task), slices.Contains(h.May, task); got != want {
			t.Errorf("%s: %v", task, got)
		}
	}
}

// The usual times stand within what practice gives: rolling 0.6 to 1.5 kg a
// minute, a batch in condition about 3 min on a cold slab and 14 min under a
// lamp, first turn 1 to 3 min, hold point 105 to 115 °C, two to pour above about
// 8 kg (key practice).
func TestUsualFigures(t *testing.T) {
	t.Parallel()
	r := rig.UsualRoom(35)
	u := r.Times
	if u.RollRate < 0.6 || u.RollRate > 1.5 || u.RollBand.Minutes() != 3 || u.RollBandBoard.Minutes() != 14 ||
		u.FirstTurn.Minutes() < 1 || u.FirstTurn.Minutes() > 3 {
		t.Errorf("%+v", u)
	}
	if r.HoldPoint < 105 || r.HoldPoint > 115 || r.PourAlone != 8 || r.Altitude != q.Metres(35) {
		t.Errorf("%+v", r)
	}
	for name, pair := range map[string][2]q.Duration{
		"wipe, wash": {u.Wipe, u.Wash}, "wash, allergen clean": {u.Wash, u.AllergenClean},
		"rolls wipe, wash": {u.RollsWipe, u.RollsWash}, "rolls wash, allergen clean": {u.RollsWash, u.RollsAllergen},
	} {
		if pair[0] >= pair[1] {
			t.Errorf("%s: %v is not shorter than %v", name, pair[0].Std(), pair[1].Std())
		}
	}
}
