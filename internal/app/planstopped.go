package app

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/care"
	"slabside/internal/rig"
)

// stopLots puts the boils that cannot be made today, because something that they are made
// on is out of use, behind those that can, and returns how many can. The day is planned
// without them: no order and no longer day helps.
func (m *making) stopLots() int {
	m.stopped = map[int][]StoppedThing{}
	var able, not []lot
	var why [][]StoppedThing
	for _, l := range m.lots {
		stops := m.req.Stopped.stops(m.b, l.rec, l.kettle.ID, m.glass.ID)
		if len(stops) == 0 {
			able = append(able, l)
			continue
		}
		not, why = append(not, l), append(why, stops)
	}
	for i, w := range why {
		m.stopped[len(able)+i] = w
	}
	m.lots = append(slices.Clip(able), not...)
	return len(able)
}

// whyStopped says what stops a boil.
func (m *making) whyStopped(stops []StoppedThing) string {
	words := make([]string, len(stops))
	for i, s := range stops {
		words[i] = s.Say(m.b)
	}
	return strings.Join(words, "; ")
}

// offersStopped says, of each thing that stops a boil, what would let it be made.
func (m *making) offersStopped(d *DayPlan) {
	var seen []care.Thing
	for i := range m.lots {
		for _, s := range m.stopped[i] {
			if slices.Contains(seen, s.Thing) {
				continue
			}
			seen = append(seen, s.Thing)
			d.Offers = append(d.Offers, m.offerInstead(s.Thing))
		}
	}
}

func (m *making) offerInstead(t care.Thing) string {
	text := fmt.Sprintf("The %s can be used again once it is put right and written down under care", thingName(m.b, t))
	free := func(kind, id string) bool {
		return id != t.ID && len(m.req.Stopped.Of(care.Thing{Kind: kind, ID: id})) == 0
	}
	var names []string
	switch t.Kind {
	case care.Rolls:
		for _, x := range m.req.Stopped.otherRolls(m.b, t.ID) {
			names = append(names, fmt.Sprintf("%s (%s a piece)", x.Name, m.b.Shop.Units.Mass(x.PieceMass())))
		}
		if len(names) > 0 {
			return text + ". Other pairs in the book: " + Listed(names) + "; care says what changes with each."
		}
	case care.Kettle:
		names = namesOf(m.b.Kettles, func(k rig.Kettle) (string, bool) { return k.Name, !k.TrialsOnly && free(t.Kind, k.ID) })
		if len(names) > 0 {
			return text + ", or the recipe is given another kettle: " + Listed(names) + "."
		}
	case care.Glass:
		names = namesOf(m.b.Glasses, func(g rig.Glass) (string, bool) { return g.Name, free(t.Kind, g.ID) })
		if len(names) > 0 {
			return text + ", or the day is given another glass: " + Listed(names) + "."
		}
	}
	return text + "."
}

// namesOf names the things of a list that serve.
func namesOf[T any](list []T, is func(T) (name string, serves bool)) []string {
	var out []string
	for _, x := range list {
		if name, serves := is(x); serves {
			out = append(out, name)
		}
	}
	return out
}
