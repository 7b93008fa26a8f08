package app

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/care"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/store"
)

// Stopped are the things that are not to be used, each with the faults that stop it.
type Stopped []StoppedThing

// StoppedThing is a thing that is not to be used.
type StoppedThing struct {
	care.Thing
	Faults []care.Fault
}

// Of returns what stops a thing, nil if nothing does.
func (s Stopped) Of(t care.Thing) []care.Fault {
	if i := slices.IndexFunc(s, func(x StoppedThing) bool { return x.Thing == t }); i >= 0 {
		return s[i].Faults
	}
	return nil
}

// mostCared is how many ledgers are looked at; no room has so many things.
const mostCared = 2000

// careLedgers returns the ledgers of the room's things.
func (a *App) careLedgers(ctx context.Context, f store.FindJots) ([]care.Ledger, error) {
	f.Limit = mostCared
	list, err := store.Care().Find(ctx, a.keeper, f)
	out := make([]care.Ledger, len(list))
	for i, kept := range list {
		out[i] = care.Fold(kept)
	}
	return out, err
}

// stopped returns the things of the room that are not to be used.
func (a *App) stopped(ctx context.Context) (Stopped, error) {
	list, err := a.careLedgers(ctx, store.FindJots{Live: true})
	var out Stopped
	for _, l := range list {
		if l.OutOfUse() {
			out = append(out, StoppedThing{l.Thing, l.Stopped()})
		}
	}
	slices.SortFunc(out, func(a, b StoppedThing) int { return byThing(a.Thing, b.Thing) })
	return out, err
}

// byThing orders things as [care.Kinds] does, those of a kind by their ids.
func byThing(a, b care.Thing) int {
	if d := slices.Index(care.Kinds(), a.Kind) - slices.Index(care.Kinds(), b.Kind); d != 0 {
		return d
	}
	return strings.Compare(a.ID, b.ID)
}

// thingName is what a thing is called: "the Leaf rolls", "the Tall pan".
func thingName(b *book.Book, t care.Thing) string {
	name := entry.NameOf(b, t.Kind, t.ID)
	if t.Kind == care.Rolls && !strings.Contains(lower(name), "roll") {
		name += " rolls"
	}
	return name
}

// SayTrouble says a fault in a few words: "cracked: a hair crack, third groove".
func SayTrouble(f care.Found) string {
	what := joined(", ", f.What, f.Where)
	if f.Kind == care.Other || strings.EqualFold(f.What, string(f.Kind)) {
		return what
	}
	return string(f.Kind) + ": " + what
}

// Say says why the thing is not to be used: "the Leaf rolls are out of use: cracked, a
// hair crack (found 2 March 2026)".
func (s StoppedThing) Say(b *book.Book) string {
	words := make([]string, len(s.Faults))
	for i, f := range s.Faults {
		words[i] = fmt.Sprintf("%s (found %s)", SayTrouble(f.Found), longDay(f.On))
	}
	is := "is"
	if s.Kind == care.Rolls {
		is = "are"
	}
	return fmt.Sprintf("the %s %s out of use: %s", thingName(b, s.Thing), is, Listed(words))
}

// longDay prints an ISO date as "2 March 2026".
func longDay(date string) string {
	on, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return on.Format("2 January 2006")
}

// needsThings lists what a boil is made on: its kettle, the glass it is read on, and what
// the plan counts on of slab, hook, rolls and machine.
func needsThings(b *book.Book, rec recipe.Recipe, kettle, glass string) []care.Thing {
	out := []care.Thing{{Kind: care.Kettle, ID: kettle}, {Kind: care.Glass, ID: glass}}
	if s, ok := b.DaySlab(); ok {
		out = append(out, care.Thing{Kind: care.Slab, ID: s.ID})
	}
	if len(b.Hooks) > 0 && pulled(rec) {
		out = append(out, care.Thing{Kind: care.Hook, ID: b.Hooks[0].ID})
	}
	if rec.Rolls == "" {
		return out
	}
	out = append(out, care.Thing{Kind: care.Rolls, ID: rec.Rolls})
	if m := dayMachine(b); m != nil {
		out = append(out, care.Thing{Kind: care.Machine, ID: m.ID})
	}
	return out
}

func pulled(rec recipe.Recipe) bool {
	return slices.ContainsFunc(rec.Portions, func(p recipe.Portion) bool { return p.Work == recipe.Pulled })
}

// stops lists what keeps a boil from being made: of the things it is made on those that
// are not to be used and have nothing to take their place.
func (s Stopped) stops(b *book.Book, rec recipe.Recipe, kettle, glass string) []StoppedThing {
	without := s.without(*b)
	var out []StoppedThing
	for _, t := range needsThings(&without, rec, kettle, glass) {
		if f := s.Of(t); len(f) > 0 {
			out = append(out, StoppedThing{t, f})
		}
	}
	return out
}

// without is the book of a room in which another thing of the kind is used where there is
// one: the next slab, hook and machine. A board that is out of use is not reckoned with,
// so that a batch is in condition for a shorter time.
func (s Stopped) without(b book.Book) book.Book {
	if len(s) == 0 {
		return b
	}
	b.Slabs = others(b.Slabs, s, care.Slab, func(x rig.Slab) (string, bool) { return x.ID, !x.TrialsOnly })
	b.Hooks = others(b.Hooks, s, care.Hook, func(x rig.Hook) (string, bool) { return x.ID, true })
	b.Machines = others(b.Machines, s, care.Machine, func(x rig.Machine) (string, bool) { return x.ID, true })
	b.Boards = slices.DeleteFunc(slices.Clone(b.Boards), func(x rig.Board) bool { return len(s.Of(care.Thing{Kind: care.Board, ID: x.ID})) > 0 })
	return b
}

// others leaves out of a list what is not to be used, if that leaves one that serves.
func others[T any](list []T, s Stopped, kind string, is func(T) (id string, serves bool)) []T {
	var out []T
	any := false
	for _, x := range list {
		id, serves := is(x)
		if len(s.Of(care.Thing{Kind: kind, ID: id})) == 0 {
			out = append(out, x)
			any = any || serves
		}
	}
	if !any {
		return list
	}
	return out
}

// itemOf is the check before the flame that a stopping fault answers with no; empty:
// there is none for it.
func itemOf(t care.Thing, f care.Fault) record.Item {
	switch {
	case t.Kind == care.Rolls:
		return record.RollsWhole
	case t.Kind == care.Glass:
		return record.GlassWhole
	case t.Kind != care.Machine:
		return ""
	case f.Kind == care.Guard:
		return record.GuardsOn
	case f.Kind == care.Stop:
		return record.StopWorks
	}
	return record.MachineSeated
}

// stopsBatch lists what of the room a batch that waits for its flame is not to be made
// on. One that was lifted, or was made before a fault was found, is past being stopped.
func (a *App) stopsBatch(ctx context.Context, b *book.Book, r record.Record) ([]StoppedThing, error) {
	begun := r.Begun()
	if begun == nil || r.Lifted() != nil {
		return nil, nil
	}
	rec, ok := b.Recipe(begun.Recipe)
	if !ok {
		return nil, nil
	}
	all, err := a.stopped(ctx)
	if err != nil {
		return nil, err
	}
	var out []StoppedThing
	for _, s := range all.stops(b, rec, begun.Kettle, begun.Glass) {
		s.Faults = slices.DeleteFunc(slices.Clone(s.Faults), func(f care.Fault) bool { return f.On > begun.On })
		if len(s.Faults) > 0 {
			out = append(out, s)
		}
	}
	return out, nil
}

// mayCheck refuses to answer a check before the flame with yes while a fault is open that
// says no: what is looked at every day is answered by habit.
func (a *App) mayCheck(ctx context.Context, r record.Record, c record.Checked) error {
	if r.Begun() == nil {
		return nil
	}
	b, err := a.bookBegun(ctx, r.Begun().Book)
	if err != nil {
		return err
	}
	stops, err := a.stopsBatch(ctx, &b, r)
	if err != nil {
		return err
	}
	for _, s := range stops {
		for _, f := range s.Faults {
			item := itemOf(s.Thing, f)
			if item == "" || c.Of(item).Says != record.Yes {
				continue
			}
			return fault.Conflict("%s", s.Say(&b)).At("checked." + string(item)).
				WithHint("answer no; or write down first, under care, what was done about it")
		}
	}
	return nil
}

// stoppedCautions are the fixed cautions of things that are not to be used, each with
// what is wrong.
func stoppedCautions(b *book.Book, list Stopped, at string) []Caution {
	var out []Caution
	for _, s := range list {
		for _, f := range s.Faults {
			out = append(out, Caution{Code: string(caution.OutOfUse), At: at, Text: caution.About(caution.OutOfUse, thingName(b, s.Thing)+", "+SayTrouble(f.Found)).Text})
		}
	}
	return out
}

// inBook reports whether a thing is in the shop book.
func inBook(b *book.Book, t care.Thing) bool {
	return slices.ContainsFunc(entry.List(b, t.Kind), func(x entry.Thing) bool { return x.ID == t.ID })
}

// otherRolls names the pairs of rolls that could take the place of one, but for those
// that are out of use themselves.
func (s Stopped) otherRolls(b *book.Book, not string) []rig.Rolls {
	var out []rig.Rolls
	for _, x := range b.Rolls {
		if x.ID != not && len(s.Of(care.Thing{Kind: care.Rolls, ID: x.ID})) == 0 {
			out = append(out, x)
		}
	}
	return out
}
