package inversion

import (
	"testing"

	"slabside/internal/numeric"
	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

func ensemble() numeric.Ensemble { return numeric.NewEnsemble(numeric.Draws, 1) }

// usual is a boil with tartar of 1 kg, along a curve of 201 points and a table.
func usual() (Boil, []Point) {
	b := Boil{Dry: 1, Bath: Bath{Doses: []Dose{{Acid: CreamOfTartar(), Mass: 0.0015}}, Alkali: 0.001}}
	return b, evenly(20, 150, seaLevel)
}

// The kernels make no garbage: what a boil allocates it allocates once. Not parallel: the
// count is the whole process's.
func TestKernels_DoNotAllocate(t *testing.T) {
	b, curve := usual()
	p, nodes, err := b.prepare(curve)
	if err != nil {
		t.Fatal(err)
	}
	grid := p.overAlkali(nodes, b.Bath.Alkali, 1e-4)
	for name, f := range map[string]func(){
		"expose": func() { p.expose(nodes, b.Bath.Alkali) },
		"pH":     func() { g := cold(); p.ph(0.1, 0.001, &g) },
		"grid":   func() { grid.of(0.3) },
		"rate":   func() { must(Rate(120, 4, sugar.Mix(sugar.Solids{}, 0.1))) },
		"cook":   func() { must(CookBack(0.1, 0.1, 3)) },
	} {
		if n := testing.AllocsPerRun(20, f); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
}

func BenchmarkPH(b *testing.B) {
	bath := Bath{Doses: []Dose{{Acid: CreamOfTartar(), Mass: 0.0015}, {Acid: Citric(), Mass: 0.001}}, Alkali: 0.001}
	for b.Loop() {
		must(bath.PH(0.1))
	}
}

func BenchmarkRate(b *testing.B) {
	m := sugar.Mix(sugar.Solids{}, 0.1)
	for b.Loop() {
		must(Rate(120, 4, m))
	}
}

// A whole boil along 201 points and the cooling after it, cold.
func BenchmarkAlong200(b *testing.B) {
	boil, curve := usual()
	b.ReportAllocs()
	for b.Loop() {
		must(boil.Along(curve))
	}
}

// The same in 1024 worlds, water unknown.
func BenchmarkDraws200(b *testing.B) {
	boil, curve := usual()
	e := ensemble()
	b.ReportAllocs()
	for b.Loop() {
		must(boil.Draws(curve, e, Priors{AlkaliSD: 3e-4}))
	}
}

func BenchmarkCookBack(b *testing.B) {
	for b.Loop() {
		must(CookBack(0.1, quantity.Fraction(0.12), 7))
	}
}
