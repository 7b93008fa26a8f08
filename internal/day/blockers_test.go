package day_test

import (
	"context"
	"testing"

	"slabside/internal/day"
)

// A boil that finds no place is told why: the day is too short for both, or it is
// long enough and the rules are in the way.
func TestBlockersNameTheRules(t *testing.T) {
	t.Parallel()
	apart := []day.Rule{{Kind: day.NotNext, A: 0, B: 1}, {Kind: day.NotNext, A: 1, B: 0}}
	for _, c := range []struct {
		name  string
		end   int
		rules []day.Rule
		want  day.CauseKind
	}{
		{"too short", 18, nil, day.CauseNoTime},
		{"too short, with rules too", 18, apart, day.CauseNoTime},
		{"kept apart by rules", 19, apart, day.CauseRule},
	} {
		p := smallDay()
		p.End, p.Rules = c.end, c.rules
		plan := solved(t, p, day.Options{})
		got := day.Blockers(context.Background(), p, plan)
		if len(got) != 1 || !got[0].Alone || len(got[0].Cause) != 1 || got[0].Cause[0].Kind != c.want {
			t.Errorf("%s: %+v, want %q", c.name, got, c.want)
		}
	}
}
