package heat

import "testing"

// A slab of 24 cells on a plate of six, for a quarter of an hour: left alone, and turned
// six times, a minute apart.
func BenchmarkSlab(b *testing.B) {
	curve := twoLevelCurve(b)
	for _, c := range []struct {
		name  string
		turns int
	}{{"left alone", 0}, {"six turns", 6}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			steps := 0
			for b.Loop() {
				s := quarter(b, curve, c.turns, 24, 6, 0)
				steps = s.Steps()
			}
			b.ReportMetric(float64(steps), "steps")
		})
	}
}

// quarter is a quarter of an hour of a slab, with turns a minute apart.
func quarter(t testing.TB, curve *Curve, turns, cells, plate int, bound float64) *Stack {
	s := stack(t, bound, Face{AmbientC: 18, Film: 800}, Face{AmbientC: 24, Length: 0.15, Emissivity: 0.9},
		Layer{Matter: steel(), Thickness: 0.010, Cells: plate, TempC: 18},
		Layer{Matter: Matter{Heat: curve, Density: 1480, K: 0.30}, Thickness: 0.02, Cells: cells, TempC: 140, Contact: 500})
	for i := range turns {
		s.to(t, float64(i+1)*60)
		s.Fold(0.3, 0.02)
	}
	return s.to(t, 900)
}

func BenchmarkCurve(b *testing.B) {
	for b.Loop() {
		if _, err := NewCurve(0, 180, twoLevel); err != nil {
			b.Fatal(err)
		}
	}
}

// A piece of a ball of 20 cells, for a quarter of an hour in moving air.
func BenchmarkSphere(b *testing.B) {
	curve := twoLevelCurve(b)
	for b.Loop() {
		s, err := NewSphere(Face{AmbientC: 24, Film: 20}, Layer{Matter: Matter{Heat: curve, Density: 1480, K: 0.30}, Thickness: 0.0075, Cells: 20, TempC: 75})
		if err == nil {
			err = s.Advance(900)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}
