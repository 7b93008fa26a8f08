//go:build oracle

package daytest

import (
	"encoding/csv"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"

	"slabside/internal/day"
)

var rewrite = flag.Bool("rewrite", false, "write the answers of the outside solver instead of comparing them")

var oracleHead = slices.Concat([]string{"days", "size", "seed"}, oracleLevels, []string{"solver", "date"})

// TestOutsideSolver solves the days of the outside solver again. Every plan it
// returns must pass the replay.
func TestOutsideSolver(t *testing.T) {
	var rows [][]string
	var committed map[oracleKey]Vector
	if !*rewrite {
		committed = readOracle(t)
	}
	for _, d := range oracleDays {
		for seed := d.from; seed < d.to; seed++ {
			began := time.Now()
			v, version := outside(t, d.of.make(seed, d.size))
			t.Logf("%s size %d seed %d: %v by %s in %v", d.of.name, d.size, seed, v, version, time.Since(began))
			if want := committed[oracleKey{d.of.name, d.size, seed}]; !*rewrite && v != want {
				t.Errorf("%s size %d seed %d: %v, committed %v", d.of.name, d.size, seed, v, want)
			}
			row := []string{d.of.name, fmt.Sprint(d.size), fmt.Sprint(seed)}
			for _, n := range v {
				row = append(row, fmt.Sprint(n))
			}
			rows = append(rows, append(row, "cbc "+version, began.UTC().Format(time.DateOnly)))
		}
	}
	if !*rewrite || t.Failed() {
		return
	}
	f, err := os.Create(filepath.Join("testdata", oracleFile))
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintln(f, "# Best objective values of the days Random(seed, size) and RandomAllergens(seed, size), found by an outside solver (COIN-OR cbc)")
	fmt.Fprintln(f, "# on the mixed integer programme of milp.go. Counts, and minutes from the opening.")
	w := csv.NewWriter(f)
	if err := w.Write(oracleHead); err != nil {
		t.Fatal(err)
	}
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// Small days, many of them: the programme and the exhaustive search, written
// apart, have the same best.
func TestProgrammeEqualsExhaustive(t *testing.T) {
	for _, of := range []maker{plain, allergens} {
		for size := 1; size <= 3; size++ {
			for seed := range uint64(40) {
				p := of.make(seed, size)
				if n := len(p.Recipes); n > 1 && seed%2 == 1 && of.name == plain.name {
					p.Rules = append(p.Rules, day.Rule{Kind: day.Before, A: int(seed) % n, B: int(seed+1) % n})
				}
				want, _ := Exhaustive(p)
				if got, _ := outside(t, p); got != want {
					t.Errorf("%s size %d seed %d: outside %v, exhaustive search has %v", of.name, size, seed, got, want)
				}
			}
		}
	}
}

var cbcVersion = regexp.MustCompile(`Version: (\S+)`)

// cbc solves one stage with the outside solver and returns its variables.
func cbc(t *testing.T, g *Programme, stage int, best Vector) (value map[string]float64, version string) {
	t.Helper()
	dir := t.TempDir()
	lp, sol := filepath.Join(dir, "day.lp"), filepath.Join(dir, "day.sol")
	f, err := os.Create(lp)
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Write(f, stage, best); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("cbc", lp, "ratio", "0", "allow", "0", "solve", "solution", sol).CombinedOutput()
	if err != nil {
		t.Fatalf("cbc: %v\n%s", err, out)
	}
	in, err := os.Open(sol)
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	defer in.Close()
	optimal, value, err := ReadSolution(in)
	if err != nil || !optimal {
		t.Fatalf("stage %d: optimal %v, %v\n%s", stage, optimal, err, out)
	}
	if m := cbcVersion.FindSubmatch(out); m != nil {
		version = string(m[1])
	}
	return value, version
}

// outside solves a day stage by stage, and has the replay check the plan.
func outside(t *testing.T, p *day.Problem) (best Vector, version string) {
	t.Helper()
	g := NewProgramme(p)
	var value map[string]float64
	for stage := range Stages {
		value, version = cbc(t, g, stage, best)
		best = g.Vector(value)
	}
	plan := g.Plan(value)
	if vs := Check(p, plan); vs != nil {
		t.Errorf("the outside plan breaks the replay: %v\n%s", vs, Draw(p, plan))
	}
	return best, version
}
