package batch

import (
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// hotInputs is a boil of 9.5 kg on marble, with a board and a lamp beside the rolls.
func hotInputs() HotInputs {
	return HotInputs{Batch: "x", Mass: 9.5, Lift: 152, Water: 0.028, Solids: sugar.Solids{Syrup: 0.4, DE: 42}, Room: rig.UsualRoom(35),
		Slab: rig.Slab{ID: "marble", Material: rig.Marble, Length: 1.5, Width: 0.75}, Board: &rig.Board{ID: "b", Lamp: true, Most: 12}, Units: q.Plain}
}

func BenchmarkHot_one(b *testing.B) {
	h, err := PrepareHot(hotInputs())
	if err != nil {
		b.Fatal(err)
	}
	f := h.Held().Mean
	for b.Loop() {
		if _, err := h.At(f); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkHot_ensemble(b *testing.B) {
	h, err := PrepareHot(hotInputs())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := h.Forecast(); err != nil {
			b.Fatal(err)
		}
	}
}
