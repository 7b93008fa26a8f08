package learn

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// Name names a learned figure.
type Name string

// The figures.
const (
	Boils    Name = "boils_hotter"     // to the same dryness, than the boiling equation says [K]
	Reads    Name = "glass_reads_high" // of a glass: it reads too high at the end of the boil [K]
	StandsUp Name = "stands_up_higher" // than the glass transition says [K]
	Fire     Name = "kettle_gets"      // of a kettle: share of the burner's heat that reaches the pan
)

// Says says what a figure is, as a maker does.
func (n Name) Says() string {
	switch n {
	case Boils:
		return "boils hotter than the equation"
	case Reads:
		return "glass reads too high"
	case StandsUp:
		return "sweets stand up to more"
	case Fire:
		return "heat that reaches the kettle"
	}
	return string(n)
}

// Figure is a learned figure beside what is held of it without records.
type Figure struct {
	Name    Name
	Of      string // id of the glass or the kettle; empty: of the room
	key     string
	Before  q.Estimate
	Now     q.Estimate
	Batches []string // that taught it
}

// Holds reports whether boils in a room of these kettles and glasses, the checks laid
// over them, go by the figure: one that was checked since, or has another fire, is known
// anew.
func (f Figure) Holds(kettles []rig.Kettle, glasses []rig.Glass) bool {
	return f.Of == "" || slices.ContainsFunc(kettles, func(k rig.Kettle) bool { return f.key == KettleName(k) }) ||
		slices.ContainsFunc(glasses, func(g rig.Glass) bool { return f.key == GlassName(g) })
}

// Refused is a figure that nothing has taught, and why.
type Refused struct {
	Name Name
	Why  string
}

// Figures lists what the batches have taught, and what they have not.
func (l *Lessons) Figures() ([]Figure, []Refused) {
	var out []Figure
	add := func(n Name, of, unknown string, at func(z float64) float64) {
		i := l.at[unknown]
		mean, sd := l.belief.Mean(i), l.belief.SD(i)
		list := l.taught[unknown]
		out = append(out, Figure{Name: n, Of: of, key: unknown[strings.IndexByte(unknown, ':')+1:], Before: rangeOf(at, 0, 1, 0), Now: rangeOf(at, mean, sd, len(list)), Batches: list})
	}
	has := map[Name]bool{}
	order := []string{ofModel, ofGlass(""), ofStands, ofFire("")}
	rank := func(unknown string) int {
		return slices.IndexFunc(order, func(o string) bool { return strings.HasPrefix(unknown, o) })
	}
	unknowns := slices.SortedFunc(maps.Keys(l.taught), func(a, b string) int { return cmp.Or(rank(a)-rank(b), cmp.Compare(a, b)) })
	for _, unknown := range unknowns {
		b, ok := l.last(unknown)
		if !ok {
			continue
		}
		of := unknown[strings.IndexByte(unknown, ':')+1:]
		switch {
		case unknown == ofModel:
			has[Boils] = true
			k := l.weight(b, Read, unknown)
			add(Boils, "", unknown, func(z float64) float64 { return k * z })
		case unknown == ofGlass(of):
			has[Reads], of = true, b.Glass.ID
			k := l.weight(b, Read, unknown)
			add(Reads, of, unknown, func(z float64) float64 { return float64(b.Lift.Glass.Offset) + k*z })
		case unknown == ofStands:
			has[StandsUp] = true
			k := float64(sugar.GlassSD(sugar.Mix(b.Lift.Solids, 0)))
			add(StandsUp, "", unknown, func(z float64) float64 { return k * z })
		case unknown == ofFire(of):
			has[Fire], of = true, b.Kettle.ID
			add(Fire, of, unknown, b.Lift.Efficiency)
		}
	}
	var refused []Refused
	for _, r := range []Refused{
		{Boils, "no batch has a reading of the glass at the lift and, beside it, the kettle on the scale or a measured moisture"},
		{Reads, "no batch has a reading of the glass at the lift and, beside it, the kettle on the scale or a measured moisture"},
		{StandsUp, "no batch has the temperatures at which it could be pulled or rolled"},
		{Fire, "no batch has its time of flame"},
	} {
		if !has[r.Name] {
			refused = append(refused, r)
		}
	}
	return out, refused
}

// rangeOf is a figure that goes with an error, its middle and 90 % limits.
func rangeOf(at func(z float64) float64, mean, sd float64, batches int) q.Estimate {
	a, b := at(mean-ninety*sd), at(mean+ninety*sd)
	e := q.Estimate{Value: at(mean), Low: min(a, b), High: max(a, b), Basis: q.Estimated}
	if batches > 0 {
		e.Basis, e.Batches = q.Learned, batches
	}
	return e
}

// last is the last batch that taught an unknown.
func (l *Lessons) last(unknown string) (seen, bool) {
	list := l.taught[unknown]
	if len(list) == 0 {
		return seen{}, false
	}
	i := slices.IndexFunc(l.batches, func(b seen) bool { return b.ID == list[len(list)-1] })
	return l.batches[i], true
}

// weight is how much an unknown weighs in a sight of a batch.
func (l *Lessons) weight(b seen, what What, unknown string) float64 {
	for _, s := range b.sights {
		for _, p := range s.of {
			if s.what == what && p.name == unknown {
				return p.weight
			}
		}
	}
	return 0
}
