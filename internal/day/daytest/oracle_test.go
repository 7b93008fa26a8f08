package daytest

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"slabside/internal/day"
)

// The days given to an outside solver, chosen before any was solved.
var oracleDays = []struct {
	of       maker
	size     int
	from, to uint64 // seeds
}{{plain, 4, 1000, 1012}, {plain, 5, 1000, 1004}, {allergens, 3, 2000, 2008}, {allergens, 4, 2000, 2003}}

const oracleFile = "testdata/oracle.csv"

type oracleKey struct {
	days string // the maker's name
	size int
	seed uint64
}

// readOracle reads the committed answers of the outside solver.
func readOracle(t *testing.T) map[oracleKey]Vector {
	t.Helper()
	f, err := os.Open(oracleFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.Comment = '#'
	rows, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[oracleKey]Vector{}
	for _, row := range rows[1:] {
		var n [7]int
		for i := range n {
			if n[i], err = strconv.Atoi(row[i+1]); err != nil {
				t.Fatal(err)
			}
		}
		out[oracleKey{row[0], n[0], uint64(n[1])}] = Vector(n[2:])
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
