package app

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/care"
	"slabside/internal/rig"
)

// stopLots puts the boils that are not made today, because something that they are made on
// is out of use, behind those that can be, and returns how many can: no order and no
// longer day helps them. With them go the boils that would only fill what cannot be packed
// without them.
func (m *making) stopLots() int {
	m.stopped, m.idle = map[int][]StoppedThing{}, map[int][]string{}
	stops := map[int][]StoppedThing{} // recipe → what stops it
	for _, l := range m.lots {
		if s := m.stopsOf(l); len(s) > 0 {
			stops[l.recipe] = s
		}
	}
	if len(stops) == 0 {
		return len(m.lots)
	}
	wanted, without := m.wanted(stops)
	var able, not []lot
	boils := map[int]int{}
	for _, l := range m.lots {
		boils[l.recipe]++
		if len(stops[l.recipe]) == 0 && boils[l.recipe] <= wanted[l.recipe] {
			able = append(able, l)
		} else {
			not = append(not, l)
		}
	}
	for i, l := range not {
		if m.stopped[len(able)+i] = stops[l.recipe]; len(stops[l.recipe]) == 0 {
			delete(m.stopped, len(able)+i)
			m.idle[len(able)+i] = without
		}
	}
	m.lots = append(slices.Clip(able), not...)
	return len(able)
}

// stopsOf lists what stops a boil. Without its board it is stopped where even the least
// charge would go short before it is rolled.
func (m *making) stopsOf(l lot) []StoppedThing {
	out := m.req.Stopped.stops(m.b, l.rec, l.kettle.ID, m.glass.ID)
	if m.boardless[l.recipe] {
		out = append(out, m.boards()...)
	}
	return out
}

// boards lists the boards that are out of use.
func (m *making) boards() []StoppedThing {
	return slices.DeleteFunc(slices.Clone(m.req.Stopped), func(s StoppedThing) bool { return s.Kind != care.Board })
}

// wanted returns how many boils of each recipe fill the lines that can be packed without
// what is stopped, and the names of what the others lack.
func (m *making) wanted(stops map[int][]StoppedThing) (boils map[int]int, without []string) {
	boils = map[int]int{}
	for _, l := range m.result.Best.Lines {
		var lacks []string
		for r, n := range l.Own {
			if n > 0 && len(stops[r]) > 0 {
				lacks = append(lacks, m.recipes[r].Name)
			}
		}
		if len(lacks) > 0 {
			without = append(without, lacks...)
			continue
		}
		for r, n := range l.Own {
			boils[r] = max(boils[r], n)
		}
	}
	return boils, Once(without)
}

// whyIdle says why a boil that could be made is not.
func (m *making) whyIdle(without []string) string {
	return "it would only fill what cannot be packed without " + lower(Listed(without))
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
	text := fmt.Sprintf("The %s can be used again once put right and written down under care", thingName(m.b, t))
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
