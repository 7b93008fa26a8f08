package boil

import (
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// The crack lies where the tables have it (146 to 154 °C, key stage-table; 145 to 152, key
// hartel2012), lower on a mountain, and is too coarse to vouch: it finds a glass that is
// far off and hardly moves one that is not.
func TestCrack(t *testing.T) {
	t.Parallel()
	check := func(read q.Celsius) rig.Glass {
		return rig.Glass{ID: "brass", Class: 4, Division: 1, Checks: []rig.GlassCheck{{On: "2026-03-02", Against: rig.AgainstCrack, Read: read}}}
	}
	known, sd, err := CheckedAgainst(check(0).Checks[0], seaRoom())
	if err != nil || known < 146 || known > 152 || sd < 1.5 || sd > 3 {
		t.Errorf("the crack at %.1f ± %.1f °C, %v", known, sd, err)
	}
	high, _, err := CheckedAgainst(check(0).Checks[0], rig.Room{Altitude: 1500})
	if err != nil || known-high < 4 || known-high > 9 { // water boils 5 K lower there
		t.Errorf("at 1500 m %.1f °C, %v", high, err)
	}
	for _, c := range []struct{ off, low, high float64 }{{0, -0.01, 0.01}, {10, 4, 9.9}} {
		g := Checked(check(known.Plus(q.Kelvins(c.off))), seaRoom())
		if o := float64(g.Offset); o < c.low || o > c.high {
			t.Errorf("a glass %.0f K off at the crack: offset %.2f", c.off, o)
		}
		if g.CheckedAt != 0 {
			t.Error("the crack vouches")
		}
		if g.Class >= 4 {
			t.Errorf("a check leaves the class at %.2f", g.Class)
		}
	}
}
