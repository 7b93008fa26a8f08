package day_test

import (
	"bufio"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/day"
)

// readMatrix reads a full-matrix instance of the library tsplib; lines before
// NAME are this repository's header. In an SOP file −1 at (i, j) says that j
// comes before i.
func readMatrix(t *testing.T, name string) (cost [][]int, before [][]bool) {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	sc := bufio.NewScanner(f)
	var nums []int
	n, inside := 0, false
	for sc.Scan() {
		line := sc.Text()
		switch {
		case strings.HasPrefix(line, "DIMENSION"):
			n, err = strconv.Atoi(strings.TrimSpace(line[strings.Index(line, ":")+1:]))
			if err != nil {
				t.Fatal(err)
			}
		case strings.HasPrefix(line, "EDGE_WEIGHT_SECTION"):
			inside = true
		case inside && line != "EOF":
			for _, w := range strings.Fields(line) {
				v, err := strconv.Atoi(w)
				if err != nil {
					t.Fatal(err)
				}
				nums = append(nums, v)
			}
		}
	}
	if strings.HasSuffix(name, ".sop") {
		nums = nums[1:] // the dimension once more
	}
	if n == 0 || len(nums) != n*n {
		t.Fatalf("%s: %d numbers for dimension %d", name, len(nums), n)
	}
	for i := range n {
		cost = append(cost, nums[i*n:(i+1)*n])
		before = append(before, make([]bool, n))
	}
	for i := range n {
		for j := range n {
			if cost[i][j] == -1 {
				before[j][i] = true
			}
		}
	}
	return cost, before
}

// Published optima: tsplib; ESC11 (missing in its list) by exact dynamic
// programming and a CP-SAT proof, as noted in the instance file.
func TestSequencePublishedOptima(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		file   string
		want   int
		closed bool
	}{
		{"ESC07.sop", 2125, false},
		{"ESC11.sop", 2075, false},
		{"ESC12.sop", 1675, false},
		{"br17.10.sop", 55, false},
		{"br17.atsp", 39, true},
	} {
		t.Run(c.file, func(t *testing.T) {
			t.Parallel()
			cost, before := readMatrix(t, c.file)
			check(t, cost, before, c.closed, c.want)

			n := len(cost)
			r := rand.New(rand.NewPCG(7, uint64(n)))
			for range 3 {
				perm := r.Perm(n)
				pc, pb := make([][]int, n), make([][]bool, n)
				for i := range n {
					pc[i], pb[i] = make([]int, n), make([]bool, n)
				}
				for i := range n {
					for j := range n {
						pc[perm[i]][perm[j]], pb[perm[i]][perm[j]] = cost[i][j], before[i][j]
					}
				}
				check(t, pc, pb, c.closed, c.want)

				// A constant on every arc out of a node and one on every arc into it
				// move the optimum by the constants of the nodes left and entered:
				// all of them on a tour, on a path all but the last and the first.
				moved := c.want
				order, _, err := day.Sequence(pc, pb, c.closed)
				if err != nil {
					t.Fatal(err)
				}
				for i := range n {
					out, in := r.IntN(50), r.IntN(50)
					for j := range n {
						pc[i][j] += out
						pc[j][i] += in
					}
					if c.closed || i != order[n-1] {
						moved += out
					}
					if c.closed || i != order[0] {
						moved += in
					}
				}
				check(t, pc, pb, c.closed, moved)
			}
		})
	}
}

func check(t *testing.T, cost [][]int, before [][]bool, closed bool, want int) {
	t.Helper()
	order, total, err := day.Sequence(cost, before, closed)
	if err != nil {
		t.Fatal(err)
	}
	n := len(cost)
	seen := make([]bool, n)
	sum := 0
	for k, i := range order {
		for j := range n {
			if before[j][i] && !seen[j] {
				t.Errorf("%d before %d", i, j)
			}
		}
		seen[i] = true
		if k > 0 {
			sum += cost[order[k-1]][i]
		}
	}
	if closed {
		sum += cost[order[n-1]][order[0]]
	}
	if len(order) != n || sum != total || total != want {
		t.Errorf("order %v sums to %d, says %d, want %d", order, sum, total, want)
	}
}
