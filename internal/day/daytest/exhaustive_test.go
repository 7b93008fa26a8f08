package daytest

import "testing"

// Every plan of the search passes the replay, which is written apart from it,
// and enough of them clean the kettle and put soiled rolls on again.
func TestExhaustivePlansPassCheck(t *testing.T) {
	t.Parallel()
	for _, of := range []maker{plain, allergens} {
		kettles, early, changes := 0, 0, 0
		for size := 1; size <= 3; size++ {
			for seed := range uint64(60) {
				p := of.make(seed, size)
				v, plan := Exhaustive(p)
				if vs := Check(p, plan); vs != nil {
					t.Fatalf("%s seed %d size %d: %v\n%s", of.name, seed, size, vs, Draw(p, plan))
				}
				if v != Values(plan) {
					t.Errorf("%s seed %d size %d: %v, the plan says %v", of.name, seed, size, v, Values(plan))
				}
				pair := p.Mounted
				for k, m := range plan.Made {
					if m.KettleClean {
						kettles++
						// without it, is the boil still in order?
						plan.Made[k].KettleClean = false
						early++
						for _, v := range Check(p, plan) {
							if v.Code == CodeKettleLevel && v.Minute == m.Pour-p.Boils[m.Boil].Lit-p.Boils[m.Boil].Charge {
								early--
							}
						}
						plan.Made[k].KettleClean = true
					}
					if on := p.Boils[m.Boil].Rolls; on != pair {
						if m.RollsMin > p.Pairs[on].Mount {
							changes++
						}
						pair = on
					}
				}
			}
		}
		t.Logf("%s: the kettle is cleaned %d times, %d of them before it must be; soiled rolls go on %d times", of.name, kettles, early, changes)
		if of.name == allergens.name && (kettles < 8 || changes < 8) {
			t.Error("the days test too little")
		}
	}
}

// Leaving out states met before and cleans of a clean kettle changes no optimum.
func TestExhaustiveWithoutMerging(t *testing.T) {
	t.Parallel()
	for _, of := range []maker{plain, allergens} {
		for size, days := range map[int]uint64{1: 40, 2: 40, 3: 3} { // the whole tree of three boils takes seconds
			for seed := range days {
				p := of.make(seed, size)
				with, _ := exhaustive(p, true)
				without, _ := exhaustive(p, false)
				if with != without {
					t.Errorf("%s seed %d size %d: %v with, %v without", of.name, seed, size, with, without)
				}
			}
		}
	}
}
