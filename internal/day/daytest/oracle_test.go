package daytest

import (
	"testing"

	"slabside/internal/day"
	"slabside/internal/validation"
)

// The days given to an outside solver, chosen before any was solved.
var oracleDays = []struct {
	of       maker
	size     int
	from, to uint64 // seeds
}{{plain, 4, 1000, 1012}, {plain, 5, 1000, 1004}, {allergens, 3, 2000, 2008}, {allergens, 4, 2000, 2003}}

const oracleFile = "oracle.csv" // of testdata

// oracleLevels names the columns of the objective values.
var oracleLevels = []string{day.ObjMust, day.ObjAppoint, day.ObjShould, day.ObjEnd, day.ObjClean}

type oracleKey struct {
	days string // the maker's name
	size int
	seed uint64
}

// readOracle reads the committed answers of the outside solver.
func readOracle(t *testing.T) map[oracleKey]Vector {
	t.Helper()
	out := map[oracleKey]Vector{}
	for _, r := range validation.Records(t, oracleFile) {
		var v Vector
		for i, o := range oracleLevels {
			v[i] = r.Whole(o)
		}
		out[oracleKey{r.Text("days"), r.Whole("size"), uint64(r.Whole("seed"))}] = v
	}
	return out
}

// Outside source: cbc (COIN-OR branch and cut) on the whole model as a mixed
// integer programme, see Programme; its answers stand in testdata/oracle.csv.
func TestSolveEqualsOutsideSolver(t *testing.T) {
	t.Parallel()
	answers := readOracle(t)
	days := 0
	for _, d := range oracleDays {
		for seed := d.from; seed < d.to; seed++ {
			days++
			want, ok := answers[oracleKey{d.of.name, d.size, seed}]
			if !ok {
				t.Errorf("%s size %d seed %d has no outside answer", d.of.name, d.size, seed)
				continue
			}
			p := d.of.make(seed, d.size)
			plan := solve(t, p, day.Options{})
			if got := Values(plan); got != want || !plan.ProvedBest {
				t.Errorf("%s size %d seed %d: planned %v (proved %v), outside %v\n%s", d.of.name, d.size, seed, got, plan.ProvedBest, want, Draw(p, plan))
			}
			if got, _ := Exhaustive(p); got != want {
				t.Errorf("%s size %d seed %d: exhaustive search has %v, outside %v", d.of.name, d.size, seed, got, want)
			}
		}
	}
	if len(answers) != days {
		t.Errorf("%d outside answers for %d days", len(answers), days)
	}
}
