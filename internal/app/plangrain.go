package app

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/book"
	"slabside/internal/day"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/trouble"
)

// codeGrainWash is the caution of a day on whose line grain lies.
const codeGrainWash = "grain-wash"

// grainLevel is what a grained batch leaves on the line: more than a wipe takes off. No
// boil bears any of it, so that a wash comes before the next, a hard rule.
const grainLevel = 3

// Grained is a batch of the day that grained and of which the wash is not written whole.
type Grained struct {
	Batch string           // number
	Begun []string         // recipes of the day's batches up to it, in the order in which they were begun, its own last
	Left  []record.Surface // not yet washed
}

func (g Grained) caution() Caution {
	return Caution{Code: codeGrainWash, At: "day", Text: fmt.Sprintf("Batch %s grained, and grain is catching: hot wet wash of all it touched before the next flame. No wash is written of: %s.", g.Batch, strings.Join(words(g.Left), ", "))}
}

// words are the names of a list.
func words[T ~string](list []T) []string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = string(x)
	}
	return out
}

// roomSurfaces are the surfaces that a room has and that grain is washed off.
func roomSurfaces(b *book.Book) []record.Surface {
	return slices.DeleteFunc(trouble.WashedSurfaces(), func(s record.Surface) bool {
		return s == record.OnHook && len(b.Hooks) == 0 || s == record.OnRolls && len(b.Rolls) == 0
	})
}

// ofDay returns the records of a making day that are begun, in the order of their numbers.
func (a *App) ofDay(ctx context.Context, date string) ([]record.Record, error) {
	if checkDate("date", date) != nil {
		return nil, nil // the plan says it better
	}
	list, err := a.keeper.Records(ctx, store.Find{From: date, To: date, Limit: mostRecords})
	if err != nil {
		return nil, err
	}
	list = slices.DeleteFunc(list, func(r record.Record) bool { return r.Begun() == nil })
	slices.SortFunc(list, func(x, y record.Record) int { return numberIn(x.ID) - numberIn(y.ID) })
	return list, nil
}

// numberIn is the number of a batch in its day.
func numberIn(id string) int {
	n, _ := strconv.Atoi(id[strings.LastIndexByte(id, '-')+1:])
	return n
}

// grained finds the batches of a day that grained and were not washed after. What the day
// before left is washed off by its clean-down.
func (a *App) grained(ctx context.Context, b *book.Book, date string) ([]Grained, error) {
	list, err := a.ofDay(ctx, date)
	if err != nil {
		return nil, err
	}
	var out []Grained
	var begun []string
	for _, r := range list {
		begun = append(begun, r.Begun().Recipe)
		if left, _ := trouble.Unwashed(r, roomSurfaces(b)); len(left) > 0 {
			out = append(out, Grained{Batch: r.ID, Begun: slices.Clone(begun), Left: left})
		}
	}
	return out, nil
}

// grainChannel is what lies on the line of the grained batches of the day.
func (d *dayline) grainChannel() channel {
	ids := make([]string, len(d.grained))
	for i, g := range d.grained {
		ids[i] = g.Batch
	}
	what := "batch " + Listed(ids) + " grained"
	if len(ids) > 1 {
		what = "batches " + Listed(ids) + " grained"
	}
	return channel{Channel: day.Channel{Name: "grain of " + Listed(ids)}, grain: what}
}

// grain lays what grained batches left on the line after their boils; where the day is
// planned from a later hour on, or they are no boils of it, at its opening.
func (d *dayline) grain(p *day.Problem) {
	at := slices.IndexFunc(d.channels, func(c channel) bool { return c.grain != "" })
	if at < 0 {
		return
	}
	for _, g := range d.grained {
		if i := d.boilBegun(p, g.Begun); i >= 0 && !d.late {
			p.Boils[i].Emit[at] = grainLevel
		} else {
			p.Levels[at] = grainLevel
		}
	}
}

// boilBegun finds the boil of the day that the last of the batches that were begun is, or
// the last before it that is one; −1 if none is. Boils of one recipe are made in the order
// in which they are listed, so that the n-th batch of a recipe is its n-th boil.
func (d *dayline) boilBegun(p *day.Problem, begun []string) int {
	for n := len(begun); n > 0; n-- {
		id, before := begun[n-1], 0
		for _, other := range begun[:n-1] {
			if other == id {
				before++
			}
		}
		for i, b := range p.Boils {
			if d.recipes[b.Recipe].ID != id {
				continue
			}
			if before == 0 {
				return i
			}
			before--
		}
	}
	return -1
}

// seeded reports whether grain is among the causes of an act.
func (m *making) seeded(causes []day.Cause) bool {
	return slices.ContainsFunc(causes, func(c day.Cause) bool { return c.Channel >= 0 && m.channels[c.Channel].grain != "" })
}
