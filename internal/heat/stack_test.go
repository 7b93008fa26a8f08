package heat_test

import (
	"math"
	"testing"

	"slabside/internal/heat"
)

// candy and steel of the composite case F1 of the reference cases.
func candyF1() heat.Matter {
	return heat.Matter{Heat: heat.ConstantHeat(1950), Density: 1480, K: 0.30}
}

func TestF1(t *testing.T) {
	s, err := heat.NewStack(heat.Face{AmbientC: 20, Film: 800}, heat.Face{AmbientC: 20, Film: 15},
		heat.Layer{Matter: heat.Matter{Heat: heat.ConstantHeat(470), Density: 7850, K: 50}, Thickness: 0.010, Cells: 16, TempC: 20},
		heat.Layer{Matter: candyF1(), Thickness: 0.020, Cells: 40, TempC: 140, Contact: 500})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ at, mean, mid float64 }{{30, 130.741, 139.996}, {120, 117.723, 135.651}, {600, 79.017, 89.827}} {
		if err := s.Advance(c.at - s.Time()); err != nil {
			t.Fatal(err)
		}
		mean, mid := s.Mean(1), s.At(1, 0.5)
		t.Logf("%g s: mean %.4f (%.4f), middle %.4f (%.4f), %d steps", c.at, mean, mean-c.mean, mid, mid-c.mid, s.Steps())
		if math.Abs(mean-c.mean) > 0.1 || math.Abs(mid-c.mid) > 0.1 {
			t.Errorf("at %g s the mean is %.4f, want %.4f, the middle %.4f, want %.4f", c.at, mean, c.mean, mid, c.mid)
		}
	}
}

func BenchmarkF1(b *testing.B) {
	for b.Loop() {
		s, _ := heat.NewStack(heat.Face{AmbientC: 20, Film: 800}, heat.Face{AmbientC: 20, Length: 0.15, Emissivity: 0.92},
			heat.Layer{Matter: heat.Matter{Heat: heat.ConstantHeat(470), Density: 7850, K: 50}, Thickness: 0.010, Cells: 6, TempC: 20},
			heat.Layer{Matter: candyF1(), Thickness: 0.020, Cells: 24, TempC: 140, Contact: 500})
		if err := s.Advance(600); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(s.Steps()), "steps")
	}
}
