package day

import (
	"slices"

	"slabside/internal/fault"
)

// far is a cost that stands for "not possible"; sums of a few stay in range.
const far = 1 << 40

// maxOrderSets bounds the sets of nodes an exact order is computed over.
const maxOrderSets = 1 << 20

// orders holds every set of nodes that can be done first, as far as that is a
// matter of sets. Larger sets have larger rows.
type orders struct {
	n    int
	sets []uint64
	row  map[uint64]int32
	step []int32 // row·n + node: the row after doing the node too, −1 if it cannot be next
}

// newOrders lists the sets of n nodes; may tells whether node k can be next after
// a set. It returns nil if there are more than limit.
func newOrders(n int, may func(set uint64, k int) bool, limit int) *orders {
	o := &orders{n: n, sets: []uint64{0}, row: map[uint64]int32{0: 0}}
	for i := 0; i < len(o.sets); i++ {
		set := o.sets[i]
		for k := range n {
			m := set | 1<<k
			if m == set || !may(set, k) {
				o.step = append(o.step, -1)
				continue
			}
			to, ok := o.row[m]
			if !ok {
				if len(o.sets) >= limit {
					return nil
				}
				to = int32(len(o.sets))
				o.row[m] = to
				o.sets = append(o.sets, m)
			}
			o.step = append(o.step, to)
		}
	}
	return o
}

// tails returns, for every row and every node that can be the last of its set
// (index row·n + last), the least cost of going on until enough says that it may
// stop there, plus end[last]; far if there is no way. It is dynamic
// programming over sets (Held and Karp, "A dynamic programming approach to
// sequencing problems", 1962), with precedences as in the sequential ordering
// problem (Escudero, "An inexact algorithm for the sequential ordering
// problem", 1988).
func (o *orders) tails(cost [][]int, end []int, enough func(set uint64, last int) bool) []int {
	rest := make([]int, len(o.sets)*o.n)
	for i, set := range slices.Backward(o.sets) {
		for last := range o.n {
			switch at := i*o.n + last; {
			case set>>last&1 == 0:
				rest[at] = far
			case enough(set, last):
				rest[at] = end[last]
			default:
				rest[at], _ = o.next(i, rest, func(k int) int { return cost[last][k] })
			}
		}
	}
	return rest
}

// next returns the least cost of going on from a row, step(k) being the cost of
// going to node k, and that node; −1 if there is no way.
func (o *orders) next(row int, rest []int, step func(k int) int) (best, node int) {
	best, node = far, -1
	for k, to := range o.step[row*o.n : (row+1)*o.n] {
		if to < 0 {
			continue
		}
		if c := step(k) + rest[int(to)*o.n+k]; c < best {
			best, node = c, k
		}
	}
	return best, node
}

// Sequence orders n nodes, each visited once, so that the sum of cost[i][j]
// over neighbours is least. before[i][j] demands i anywhere before j; nil
// demands nothing. Open, it is a path whose ends are those the precedences
// leave possible; closed, a tour that starts at node 0 and returns there. Of
// equal orders the one with the least first difference comes back.
//
// Faults: Invalid for a matrix that is not square, a circle of precedences, more
// than 64 nodes or more sets of nodes than can be held.
func Sequence(cost [][]int, before [][]bool, closed bool) (order []int, total int, err error) {
	n := len(cost)
	if n == 0 {
		return nil, 0, nil
	}
	if n > 64 {
		return nil, 0, fault.Invalid("%d nodes to order, at most 64", n).At("cost")
	}
	if before != nil && len(before) != n {
		return nil, 0, fault.Invalid("%d rows for %d nodes", len(before), n).At("before")
	}
	for i := range cost {
		if len(cost[i]) != n || before != nil && len(before[i]) != n {
			return nil, 0, fault.Invalid("row %d is not %d long", i, n).At("cost")
		}
	}
	need := make([]uint64, n)
	for i := range before {
		for j, b := range before[i] {
			if b {
				need[j] |= 1 << i
			}
		}
	}
	end := make([]int, n)
	if closed {
		for j := 1; j < n; j++ {
			need[j] |= 1
			end[j] = cost[j][0]
		}
	}
	o := newOrders(n, func(set uint64, k int) bool { return need[k]&^set == 0 }, maxOrderSets)
	if o == nil {
		return nil, 0, fault.Invalid("too many ways to order %d nodes", n).At("cost").WithHint("state more of what comes before what")
	}
	full := ^uint64(0) >> (64 - n)
	if _, ok := o.row[full]; !ok {
		return nil, 0, fault.Invalid("the precedences run in a circle").At("before")
	}
	rest := o.tails(cost, end, func(set uint64, _ int) bool { return set == full })
	total, k := o.next(0, rest, func(k int) int { return 0 })
	for row := 0; k >= 0; {
		order = append(order, k)
		row = int(o.step[row*n+k])
		last := k
		_, k = o.next(row, rest, func(k int) int { return cost[last][k] })
	}
	return order, total, nil
}
