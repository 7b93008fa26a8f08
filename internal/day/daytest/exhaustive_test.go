package daytest

import "testing"

// Every plan of the search passes the replay, which is written apart from it.
func TestExhaustivePlansPassCheck(t *testing.T) {
	t.Parallel()
	for size := 1; size <= 3; size++ {
		for seed := range uint64(60) {
			p := Random(seed, size)
			v, plan := Exhaustive(p)
			if vs := Check(p, plan); vs != nil {
				t.Fatalf("seed %d size %d: %v\n%s", seed, size, vs, Draw(p, plan))
			}
			if v != Values(plan) {
				t.Errorf("seed %d size %d: %v, the plan says %v", seed, size, v, Values(plan))
			}
		}
	}
}

// Leaving out states met before changes no optimum.
func TestExhaustiveWithoutMerging(t *testing.T) {
	t.Parallel()
	for size := 1; size <= 3; size++ {
		for seed := range uint64(40) {
			p := Random(seed, size)
			with, _ := exhaustive(p, true)
			without, _ := exhaustive(p, false)
			if with != without {
				t.Errorf("seed %d size %d: %v with, %v without", seed, size, with, without)
			}
		}
	}
}
