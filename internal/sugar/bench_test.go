package sugar_test

import (
	"testing"

	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

// One state in the middle of the work: 40 % syrup, 3 % water, sea level. Nothing
// is cached between calls.

func BenchmarkBoilingPoint(b *testing.B) {
	m := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03)
	for b.Loop() {
		if _, err := sugar.BoilingPoint(m, quantity.StandardAtmospherePa); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBoilingPointWith(b *testing.B) {
	m := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03)
	for b.Loop() {
		if _, err := sugar.BoilingPointWith(m, quantity.StandardAtmospherePa, 1); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWaterAtBoil(b *testing.B) {
	s := sugar.Solids{Syrup: 0.4}
	for b.Loop() {
		if _, err := sugar.WaterAtBoil(s, 149, quantity.StandardAtmospherePa); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBoilingDownHeat(b *testing.B) {
	for b.Loop() {
		if _, err := sugar.BoilingDownHeat(sugar.Solids{Syrup: 0.4}, 0.25, 0.03, quantity.StandardAtmospherePa); err != nil {
			b.Fatal(err)
		}
	}
}
