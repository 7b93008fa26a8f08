package hottest

import (
	"math"
	"testing"
)

// plain is matter of one heat capacity as candy: the test values of the reference cases.
func plain(conducts, density, capacity float64) *candy {
	return &candy{density: density, conducts: conducts, heat: newTable(func(t float64) float64 { return capacity * t })}
}

// Case F1 of the reference cases: 20 mm of candy at 140 °C, contact 500, on 10 mm of
// carbon steel over water (800) of 20 °C, 15 above, by sixty roots of the composite
// wall (source key model-heat). The strip is as wide as you like: its sides are shut.
func TestStrip_F1(t *testing.T) {
	t.Parallel()
	for _, wide := range [][]float64{{1}, {0.001, 0.002, 0.004, 0.008}} {
		s := newStrip(plain(0.30, 1480, 1950), solid{50, 7850, 470}, 0.010, 0.020, 8, 40, wide, len(wide), 20, 140)
		s.contact, s.below, s.above = 500, side{ambientC: 20, film: 800, larger: 1}, side{ambientC: 20, film: 15, larger: 1}
		for _, c := range []struct{ at, mean, mid float64 }{{30, 130.741, 139.996}, {120, 117.723, 135.651}, {600, 79.017, 89.827}} {
			s.run(c.at-s.clock, nil)
			mean, mid := s.mean(), (s.t[8+19]+s.t[8+20])/2
			t.Logf("%d columns, %3.0f s: mean %+.4f K, middle %+.4f K off", len(wide), c.at, mean-c.mean, mid-c.mid)
			if math.Abs(mean-c.mean) > 0.1 || math.Abs(mid-c.mid) > 0.1 {
				t.Errorf("at %g s the mean is %.3f °C, want %.3f; the middle %.3f, want %.3f", c.at, mean, c.mean, mid, c.mid)
			}
		}
	}
}

// Heat is kept to rounding: what a strip gains is what came in through its sides, also
// through folds, whatever the steps.
func TestStrip_KeepsHeat(t *testing.T) {
	t.Parallel()
	c := Middle(Shops()[0]).begin(0, 1)
	s := c.pour()
	plate, candy := s.heat()
	begun := plate + candy
	kept := func(what string) {
		t.Helper()
		plate, candy := s.heat()
		if off := plate + candy - begun - s.in; math.Abs(off) > 1e-9*candy {
			t.Errorf("%s: %.6g J/m are unaccounted for of %.6g", what, off, candy)
		}
	}
	s.run(90, nil)
	kept("poured")
	for i := range 4 {
		_, before := s.heat()
		s.fold(0.035+0.002*float64(i), 0.0025)
		if _, after := s.heat(); math.Abs(after/before-1) > 1e-9 {
			t.Errorf("a fold makes %.9g of %.9g J/m", after, before)
		}
		kept("folded")
		s.mix(0.3)
		kept("mixed")
		s.run(30, nil)
		kept("waited")
	}
	if c.truth.PourC-s.mean() < 15 {
		t.Errorf("it cools by %.1f K only", c.truth.PourC-s.mean())
	}
}

// No cell is ever warmer than the pour or colder than all around.
func TestStrip_Maximum(t *testing.T) {
	t.Parallel()
	for _, shop := range Shops() {
		c := NewRoom(shop, 77).begin(0, 1)
		s := c.pour()
		low := math.Min(s.below.ambientC, s.above.ambientC)
		s.run(300, func() bool {
			for j := range s.wide {
				for k := range s.rows() {
					if k >= s.plateRows && j >= s.covered {
						continue
					}
					if x := s.t[j*s.rows()+k]; x < low-1e-6 || x > c.truth.PourC+1e-6 {
						t.Fatalf("%s: %.6f °C at %.1f s, between %.1f and %.1f", shop.Name, x, s.clock, low, c.truth.PourC)
					}
				}
			}
			return false
		})
	}
}

// The band along a free edge: 70 mm of candy at 140 °C on 10 mm of carbon steel over
// water of 18 °C, a bar along its side, by another strip of two dimensions (source key
// model-heat, its times of edges; k 0.30, ρ 1480, the two-level curve with T_g 50 °C, at
// half a second): when the outer 10 mm come to 95 and 80 °C, and far from the edge the
// mean to 110 °C. The mesh of that strip and the temperature of its bar are not told: this
// one, with cells of 1 mm along the edge, is the sooner the tighter the bar and the deeper
// the pour, by up to a seventh; cells of 5 mm would delay it by as much and more.
func TestStrip_Edges(t *testing.T) {
	t.Parallel()
	const early, late, far = 0.15, 0.03, 0.03
	for _, c := range []struct{ mm, bar, at95, at80, mean float64 }{
		{15, 100, 113.5, 188, 128}, {15, 300, 85, 147, 128}, {15, 1000, 71, 128, 128},
		{20, 100, 143.5, 244, 198.5}, {20, 300, 104, 186, 198.5}, {20, 1000, 86.5, 161, 198.5},
		{25, 100, 169.5, 296, 281}, {25, 300, 120.5, 221.5, 281}, {25, 1000, 99.5, 191.5, 281},
	} {
		for _, w := range []struct {
			what        string
			band        bool
			to, want    float64
			under, over float64
		}{{"band to 95", true, 95, c.at95, early, late}, {"band to 80", true, 80, c.at80, early, late}, {"mean to 110", false, 110, c.mean, far, far}} {
			s, of, away := edgeCase(c.mm, c.bar)
			if !w.band {
				of = away
			}
			got := edgeTime(s, of, w.to)
			t.Logf("%2.0f mm, bar %4.0f, %-11s %6.1f s, told %6.1f (%+.1f %%)", c.mm, c.bar, w.what, got, w.want, 100*(got/w.want-1))
			if off := got/w.want - 1; off < -w.under || off > w.over {
				t.Errorf("%g mm, bar %g: %s after %.1f s, want %.1f", c.mm, c.bar, w.what, got, w.want)
			}
		}
	}
}

// edgeCase is a pour of the times of edges, with the temperatures of its outer 10 mm and
// of what is far from there.
func edgeCase(mm, bar float64) (s *strip, band, away func() float64) {
	sweet := &candy{density: 1480, conducts: 0.30, heat: newTable(func(t float64) float64 {
		return 1355*t + 0.9*t*t + 225*(t+8*math.Log(2*math.Cosh((t-50)/8)))
	})}
	wide, covered := columns(0.070, 0, 0.001)
	s = newStrip(sweet, solid{50, 7850, 470}, 0.010, mm/1e3, 6, 40, wide, covered, 18, 140)
	s.contact, s.below, s.longest = 500, side{ambientC: 18, film: 800, larger: 1}, 0.5
	s.above = side{ambientC: 24, free: 1, emits: 0.92, larger: 1}
	s.beside = side{ambientC: 24, film: bar, larger: 1}
	band = func() float64 {
		m, _ := sweet.heat.temp(s.over(0.010, 1, func(i int) float64 { return s.h[i] }))
		return m
	}
	away = func() float64 {
		sum := 0.0
		for _, h := range s.h[s.plateRows:s.rows()] {
			sum += h / float64(s.candyRows)
		}
		m, _ := sweet.heat.temp(sum)
		return m
	}
	return s, band, away
}

// edgeTime goes on until something comes down to a temperature, and returns when.
func edgeTime(s *strip, of func() float64, toC float64) (at float64) {
	before, since := of(), s.clock
	s.run(1000, func() bool {
		now := of()
		if now <= toC {
			at = since + (s.clock-since)*(before-toC)/(before-now)
			return true
		}
		before, since = now, s.clock
		return false
	})
	return at
}
