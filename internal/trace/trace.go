// Package trace follows what went into what: lots of ingredients into batches, scraps of
// a batch into a later one, batches into bags and jars. It knows names and the edges
// between them and nothing of what they are.
package trace

import (
	"cmp"
	"maps"
	"slices"
)

// Edge says that something of From went into To.
type Edge struct {
	From, To string
	MassMg   int64 // how much; 0: not known
}

// Graph is who went into what.
type Graph struct {
	edges    []Edge
	down, up map[string][]Edge
}

// New returns the graph of some edges. The same edge twice is one whose masses add up.
func New(edges []Edge) *Graph {
	g := &Graph{edges, map[string][]Edge{}, map[string][]Edge{}}
	sum := map[[2]string]int64{}
	for _, e := range edges {
		sum[[2]string{e.From, e.To}] += e.MassMg
	}
	for _, k := range slices.SortedFunc(maps.Keys(sum), func(a, b [2]string) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	}) {
		e := Edge{k[0], k[1], sum[k]}
		g.down[e.From] = append(g.down[e.From], e)
		g.up[e.To] = append(g.up[e.To], e)
	}
	return g
}

// With returns the graph with more edges.
func (g *Graph) With(more []Edge) *Graph { return New(slices.Concat(g.edges, more)) }

// Step is something that is reached, and by what it was reached first.
type Step struct {
	ID   string
	By   []Edge // all that lead to it from what is reached
	Deep int    // edges from the beginning
}

// Down returns all that holds something of a thing, the nearest first; without the thing
// itself.
func (g *Graph) Down(id string) []Step {
	return walk(id, g.down, func(e Edge) string { return e.To })
}

// Up returns all of which something is in a thing, the nearest first; without the thing
// itself.
func (g *Graph) Up(id string) []Step {
	return walk(id, g.up, func(e Edge) string { return e.From })
}

func walk(id string, next map[string][]Edge, far func(Edge) string) []Step {
	var out []Step
	at := map[string]int{id: -1} // place in out
	for level, deep := []string{id}, 1; len(level) > 0; deep++ {
		var ahead []string
		for _, x := range level {
			for _, e := range next[x] {
				y := far(e)
				i, seen := at[y]
				if !seen {
					i = len(out)
					at[y] = i
					out = append(out, Step{ID: y, Deep: deep})
					ahead = append(ahead, y)
				}
				if i >= 0 {
					out[i].By = append(out[i].By, e)
				}
			}
		}
		level = ahead
	}
	return out
}

// Frozen returns what must not leave the house while some things are stopped: those
// things and all that holds something of one, each with the stopped ones that it goes
// back to, sorted.
func (g *Graph) Frozen(stopped []string) map[string][]string {
	out := map[string][]string{}
	for _, s := range slices.Sorted(slices.Values(stopped)) {
		add := func(id string) {
			if !slices.Contains(out[id], s) {
				out[id] = append(out[id], s)
			}
		}
		add(s)
		for _, x := range g.Down(s) {
			add(x.ID)
		}
	}
	return out
}
