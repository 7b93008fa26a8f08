package trouble

import (
	"slices"

	"slabside/internal/record"
	"slabside/internal/source"
)

// Advice is what is done at once.
type Advice struct {
	Now   []string // the next thirty seconds, line by line: people first
	Holds bool     // the batch goes on hold by itself
	Lies  string   // what it leaves on the line, which a wash alone takes away; empty: nothing
	Keys  []source.Key
}

// Of returns what is done at once in a trouble; nothing for one that is not known.
func Of(t record.Trouble) Advice { return advice[t] }

// advice is common practice, no source, but for what the other keys name: nips, guards and
// the hold of what may hold metal or glass.
var advice = map[record.Trouble]Advice{
	record.DidGrain: {
		Now: []string{
			"Flame off. Gloves and sleeves stay on: it is as hot as before.",
			"Rolls: stop, isolate. Nothing is picked out of them before.",
			"Let it lie. Nobody leans over it; no scrap of it goes into another pan or batch.",
			"Light no other boil. Lay nothing clean on slab, hook or board.",
			"When it is cold, put it apart whole, with its number on it.",
			"Then wash hot and wet: slab, scraper, hook, rolls, kettle rim.",
		},
		Holds: true, Lies: "grain is catching: a crystal left behind seeds the next boil", Keys: []source.Key{source.Practice},
	},
	record.DidScorch: {
		Now: []string{
			"Flame off. Leave the kettle where it stands.",
			"Nobody leans over the smoke. Hood on, door open, visitors out.",
			"No water, no milk, no powder into it: it erupts.",
			"Fire in the pan: lid or fire blanket if that can be done from the side, never water. Else everybody out; call the fire service as local rules say.",
			"Do not pour. Do not scrape the bottom into the rest.",
			"A named adult stays with it until it is cold; then soak it.",
		},
		Holds: true, Keys: []source.Key{source.Practice},
	},
	record.TooSoft: {
		Now: []string{
			"Do not feed the rolls: soft sugar wraps round them.",
			"Some is in them: stop, isolate, then pick it out.",
			"Gloves on. Fold the edges in and let it stand on the slab; nobody leans over it.",
			"Add nothing, dust nothing on.",
			"Read the glass in boiling water or by the second glass, and write down what the kettle was lifted at.",
		},
		Keys: []source.Key{source.Practice},
	},
	record.WrongStuff: {
		Now: []string{
			"Stop adding. Flame off. Do not pour.",
			"Acid, bicarbonate or spirit in it: stand back, eyes covered. It foams, spits or flashes.",
			"Nobody tastes it.",
			"Leave pot, scoop and scale as they stand. Read label and lot; write down what went in.",
			"Slab, hook, rolls and tools that touched it count as soiled with it until a clean is verified by name.",
			"Somebody has swallowed it or reacts: medical help at once, as local rules say.",
		},
		Holds: true, Keys: []source.Key{source.Practice},
	},
	record.Foreign: {
		Now: []string{
			"Rolls: stop, isolate. Only then look; guards stay on.",
			"Flame off, or a named adult stays with the boil.",
			"No bare hand into sugar, sieve or tray. Nobody tastes.",
			"A cut: press a clean cloth on it, away from the food; first aid as local rules say.",
			"Keep every piece that is found and lay them together: is it whole?",
			"All since the last good check is on hold: sheets, trays, siftings, bags.",
			"Glass on the floor: nobody walks through it; damp paper, no brush, no air hose.",
		},
		Holds: true, Keys: []source.Key{source.CPG555425, source.Practice},
	},
	record.Dropped: {
		Now: []string{
			"Nobody catches it, nobody steps into it. People and visitors back.",
			"A burn: cool running water at once, do not peel the sugar off, medical help; local guidance.",
			"Flame off if anything hot ran near it.",
			"Let it go hard where it lies; then a scraper, gloves on.",
			"What touched the floor goes into a waste tub by itself. Not into the scraps.",
			"Floor dry before anybody carries anything.",
		},
		Keys: []source.Key{source.Practice},
	},
	record.Stopped: {
		Now: []string{
			"Somebody hurt or caught: stop, isolate, help first, as local rules say.",
			"Flame off. Smell of gas or a yellow flame: shut the gas, everybody out; a gas fitter and the local code decide.",
			"Machine: stop, isolate. Guards stay on; nobody reaches in, for power comes back by itself.",
			"A named adult stays with the kettle. Nobody leans over it.",
			"Read the glass and write it down: what can be done hangs on it.",
		},
		Keys: []source.Key{source.Practice},
	},
}

// WashedSurfaces are what is washed hot and wet after a grained batch, as far as a room
// has them (common practice, source key practice).
func WashedSurfaces() []record.Surface {
	return []record.Surface{record.OnSlab, record.OnHook, record.OnRolls, record.OnKettle, record.OnTools}
}

// Unwashed returns what of the surfaces of a room is not yet washed since the batch left
// something lying, and the last trouble that did; none without such a trouble. A surface
// counts as washed by an entry that came after the trouble: a wash, or an allergen clean.
func Unwashed(r record.Record, room []record.Surface) (left []record.Surface, by record.Trouble) {
	act := int64(0)
	for _, k := range r.All(record.Troubling) {
		if Of(k.Troubled.What).Lies != "" {
			act, by = k.Act, k.Troubled.What
		}
	}
	if by == "" {
		return nil, ""
	}
	for _, s := range WashedSurfaces() {
		if !slices.Contains(room, s) {
			continue
		}
		washed := slices.ContainsFunc(r.All(record.Cleaning), func(k record.Kept) bool {
			return k.Act > act && k.Cleaned.Surface == s && k.Cleaned.Kind != record.Wiped
		})
		if !washed {
			left = append(left, s)
		}
	}
	return left, by
}

// What returns the troubles that stand written of a batch, each once, the first first.
func What(r record.Record) []record.Trouble {
	var out []record.Trouble
	for _, k := range r.All(record.Troubling) {
		if !slices.Contains(out, k.Troubled.What) {
			out = append(out, k.Troubled.What)
		}
	}
	return out
}
