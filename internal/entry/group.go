package entry

import (
	"strconv"
	"strings"
)

// Group is what stands together on a form: what most shops give, and the rest,
// which few do and which is folded away.
type Group struct {
	Of     string // "the kettle"
	Shown  []Node
	Folded []Node
	Open   bool // something folded is given or wrong
}

// GroupOf parts the fields of a thing by how rare they are.
func GroupOf(of string, nodes []Node) Group {
	g := Group{Of: of}
	for _, n := range nodes {
		if !n.Rare {
			g.Shown = append(g.Shown, n)
			continue
		}
		g.Folded = append(g.Folded, n)
		g.Open = g.Open || n.Given || len(n.Faults) > 0
	}
	return g
}

// Group parts the fields of a table.
func (n Node) Group() Group { return GroupOf(small(n.Label), n.Sub) }

// Group parts the fields of a row.
func (r Row) Group() Group {
	return GroupOf(small(r.Of)+", row "+strconv.Itoa(r.Place()), r.Sub)
}

// Names lists what is folded, for people to know where to look.
func (g Group) Names() string {
	var out []string
	for _, n := range g.Folded {
		out = append(out, small(n.Label))
	}
	return strings.Join(out, "; ")
}

// small begins a label with a small letter, as it stands in a sentence.
func small(s string) string { return strings.ToLower(s[:1]) + s[1:] }
