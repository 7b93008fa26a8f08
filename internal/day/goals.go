package day

import (
	"cmp"
	"slices"
)

// goal is a count of boils that just makes some set of lines. Any final count
// of boils covers a goal that makes the same lines, so what bounds every way of
// covering a goal bounds every plan.
type goal struct {
	count  []int
	must   int // must-lines it leaves unmade
	should int
	tab    *reach
}

const (
	maxGoals    = 48  // goals bounded one by one
	maxGoalSets = 400 // sets of lines looked at for them
)

// newGoals lists the goals, best first. When there are too many to list, the
// rest is stood for by one goal without boils and with the value of the best
// goal left out, which is weaker and still true.
func (in *instance) newGoals() []goal {
	needs := in.needs()
	type set struct {
		mask uint64
		goal goal
	}
	of := func(mask uint64) set {
		g := goal{count: make([]int, len(in.order))}
		for i, n := range needs {
			if mask>>i&1 != 0 {
				for r, c := range n {
					g.count[r] = max(g.count[r], c)
				}
			}
		}
		g.must, g.should = in.lines(g.count)
		return set{mask, g}
	}
	var goals []goal
	known := map[int]bool{}
	all := ^uint64(0) >> (64 - min(len(needs), 64))
	if len(needs) == 0 {
		all = 0
	}
	queue, seen := []set{of(all)}, map[uint64]bool{all: true}
	for len(queue) > 0 {
		q := queue[0]
		if len(goals) >= maxGoals || len(seen) > maxGoalSets || len(needs) > 64 && len(goals) > 0 {
			q.goal.count = make([]int, len(in.order))
			return append(goals, q.goal)
		}
		queue = queue[1:]
		if k := in.codeOf(q.goal.count); !known[k] {
			known[k] = true
			goals = append(goals, q.goal)
		}
		for i := range min(len(needs), 64) {
			// Not to make a line is not to make those that need as much.
			m := q.mask
			for j := range min(len(needs), 64) {
				if covers(needs[j], needs[i]) {
					m &^= 1 << j
				}
			}
			if !seen[m] {
				seen[m] = true
				queue = append(queue, of(m))
			}
		}
		slices.SortStableFunc(queue, func(a, b set) int {
			return cmp.Or(cmp.Compare(a.goal.must, b.goal.must), cmp.Compare(a.goal.should, b.goal.should))
		})
	}
	return goals
}

// needs lists the different needs of the lines there are enough boils for.
func (in *instance) needs() [][]int {
	var out [][]int
	for _, l := range in.p.Lines {
		ok := true
		for r, n := range l.Needs {
			ok = ok && n <= len(in.order[r])
		}
		if ok && !slices.ContainsFunc(out, func(n []int) bool { return slices.Equal(n, l.Needs) }) {
			out = append(out, l.Needs)
		}
	}
	return out
}

func (in *instance) codeOf(count []int) int {
	k := 0
	for r, c := range count {
		k += c * in.stride[r]
	}
	return k
}
