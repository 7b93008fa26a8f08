package trace_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/trace"
)

func ids(steps []trace.Step) []string {
	out := []string{}
	for _, s := range steps {
		out = append(out, s.ID)
	}
	return out
}

// A drum of syrup in two batches, scraps of the first in a third, two of them blended in
// one lot of bags: worked by hand.
func TestTrace(t *testing.T) {
	t.Parallel()
	g := trace.New([]trace.Edge{
		{"drum", "one", 3e6}, {"drum", "two", 2e6}, {"drum", "two", 1e6}, {"sack", "one", 6e6}, {"other sack", "three", 6e6},
		{"one", "three", 400_000}, {"one", "bags a", 5e6}, {"three", "bags b", 2e6}, {"two", "bags b", 2e6},
	})
	for _, c := range []struct {
		name string
		got  []trace.Step
		want []string
	}{
		{"what the drum is in", g.Down("drum"), []string{"one", "two", "bags a", "three", "bags b"}},
		{"what is in the mixture", g.Up("bags b"), []string{"three", "two", "one", "other sack", "drum", "sack"}},
		{"of a sack used once", g.Down("other sack"), []string{"three", "bags b"}},
		{"of nothing", g.Down("bags a"), []string{}},
		{"never heard of", g.Up("x"), []string{}},
	} {
		if d := cmp.Diff(c.want, ids(c.got)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
	if by := g.Down("drum")[1].By; len(by) != 1 || by[0].MassMg != 3e6 {
		t.Errorf("weighed twice of one drum: %+v", by)
	}
	if by := g.Down("drum")[4].By; len(by) != 2 {
		t.Errorf("the mixture is reached by %+v", by)
	}
	frozen := g.Frozen([]string{"two", "other sack"})
	want := map[string][]string{"two": {"two"}, "other sack": {"other sack"}, "three": {"other sack"}, "bags b": {"other sack", "two"}}
	if d := cmp.Diff(want, frozen); d != "" {
		t.Errorf("frozen (-want +got):\n%s", d)
	}
}

// What a thing is in has that thing in it, on any graph, circles among them; and the
// walk ends.
func TestTrace_Duality(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(7, 11))
	for range 200 {
		n := 2 + rnd.IntN(12)
		var edges []trace.Edge
		for range rnd.IntN(3 * n) {
			edges = append(edges, trace.Edge{From: fmt.Sprint(rnd.IntN(n)), To: fmt.Sprint(rnd.IntN(n)), MassMg: rnd.Int64N(9)})
		}
		g := trace.New(edges)
		for i := range n {
			a := fmt.Sprint(i)
			down := ids(g.Down(a))
			if slices.Contains(down, a) {
				t.Fatalf("%s is in itself: %v", a, edges)
			}
			for j := range n {
				b := fmt.Sprint(j)
				if a != b && slices.Contains(down, b) != slices.Contains(ids(g.Up(b)), a) {
					t.Fatalf("of %s and %s one way alone is known: %v", a, b, edges)
				}
			}
			for id := range g.Frozen([]string{a}) {
				if id != a && !slices.Contains(down, id) {
					t.Fatalf("%s is frozen by %s", id, a)
				}
			}
		}
	}
}
