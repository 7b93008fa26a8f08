package app

import (
	"context"
	"slices"
	"strings"

	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/store"
)

// BeforeFlame is what is looked at before a batch's flame, and how it was answered.
type BeforeFlame struct {
	Asked []CheckLine `json:"asked"`
	Ready bool        `json:"ready"` // all that is asked is answered, and nothing with no, and nothing is out of use
	// OutOfUse says what of the room the batch would be made on and is not to be used.
	OutOfUse []string `json:"out_of_use"`
}

// CheckLine is one thing that is looked at.
type CheckLine struct {
	Item record.Item `json:"item"`
	Why  string      `json:"why,omitempty"` // why it is asked of this batch
	Says record.Says `json:"says"`          // empty: not answered
	By   string      `json:"by,omitempty"`
	No   string      `json:"no,omitempty"` // the fault by which it cannot be answered with yes
}

// Asked is a check that is asked of a batch, and why.
type Asked struct {
	Item record.Item
	Why  string
}

// ChecksAsked returns what is looked at before the flame: what of a room and a recipe
// can hurt somebody or spoil a batch. Machine, guards, stop and rolls are asked where the
// sweet is rolled, hood and alarm where a burner burns, water where a slab is cooled by
// it, and an allergen clean where something may be left of what this sweet is made
// without. Before is the records of the batches before it, the newest first.
func ChecksAsked(b *book.Book, rec recipe.Recipe, kettle rig.Kettle, before []record.Record) []Asked {
	var out []Asked
	ask := func(on bool, why string, items ...record.Item) {
		if on {
			for _, x := range items {
				out = append(out, Asked{x, why})
			}
		}
	}
	rolls, rolled := b.RollsOf(rec.Rolls)
	machine := dayMachine(b)
	if rolled && machine != nil {
		ask(true, machine.Name, record.MachineSeated, record.GuardsOn, record.StopWorks)
	}
	ask(rolled, rolls.Name, record.RollsWhole)
	ask(true, "", record.GlassWhole)
	ask(kettle.Burner > 0, kettle.Name, record.HoodOn, record.AlarmWorks)
	if at := slices.IndexFunc(b.Slabs, func(s rig.Slab) bool { return s.Cooling != "" && !s.TrialsOnly }); at >= 0 {
		ask(true, b.Slabs[at].Name, record.WaterOn)
	}
	left := leftOver(b, rec, before)
	ask(len(left) > 0, strings.Join(left, "; "), record.AllergenClean)
	return out
}

// ChecksOnSheet returns what is looked at before the flame of a recipe's boil, for a sheet
// to have a box of each. The cleans before the boil have theirs beside them.
func ChecksOnSheet(b *book.Book, id string) []record.Item {
	rec, _ := b.Recipe(id)
	kettle, err := kettleOf(b, rec)
	if err != nil {
		return nil // there is no plan either
	}
	var out []record.Item
	for _, x := range ChecksAsked(b, rec, kettle, nil) {
		if x.Item != record.AllergenClean {
			out = append(out, x.Item)
		}
	}
	return out
}

// leftOver says what may be left on the line of what a recipe is made without: of the
// batches back to the last one before which a clean was verified, or of the day before,
// where there is no such batch among them.
func leftOver(b *book.Book, rec recipe.Recipe, before []record.Record) []string {
	var out []string
	for _, r := range before {
		begun := r.Begun()
		if begun == nil {
			continue
		}
		if why := leavesOf(b, rec, begun.Recipe); why != "" {
			out = append(out, "batch "+r.ID+": "+why)
		}
		if r.Checked().Of(record.AllergenClean).Says == record.Yes {
			return out
		}
	}
	contains, _, _ := b.AllergensOf(rec)
	for _, x := range b.Day.Residue {
		if x.Level > 0 && slices.Contains(ingredient.Allergens(), x.Family) && !slices.Contains(contains, x.Family) {
			out = append(out, "left of before: "+x.Family)
		}
	}
	return out
}

// leavesOf says what a recipe leaves that another is made without, empty for nothing.
// What nobody has stated is not none.
func leavesOf(b *book.Book, rec recipe.Recipe, other string) string {
	was, ok := b.Recipe(other)
	if !ok {
		return "its recipe is not in the book, and nobody knows what it leaves"
	}
	contains, unstated := allergensIn(b, rec)
	left, unknown := allergensIn(b, was)
	var out []string
	for _, x := range left {
		if !slices.Contains(contains, x) {
			out = append(out, x)
		}
	}
	for _, x := range unknown {
		if !slices.Contains(unstated, x) {
			out = append(out, "no statement of "+x)
		}
	}
	return strings.Join(out, ", ")
}

// allergensIn returns what a recipe contains, and of which ingredients nobody has stated
// it. Water has no supplier who could.
func allergensIn(b *book.Book, rec recipe.Recipe) (contains, unstated []string) {
	contains, _, unstated = b.AllergensOf(rec)
	unstated = slices.DeleteFunc(unstated, func(id string) bool {
		in, ok := b.Ingredient(id)
		return ok && in.Kind == ingredient.Water
	})
	return contains, unstated
}

// batchesBefore is how many batches back it is looked for what may be left on the line.
const batchesBefore = 40

// beforeFlame puts how the checks were answered beside those that are asked.
func (a *App) beforeFlame(ctx context.Context, b *book.Book, r record.Record) (*BeforeFlame, error) {
	begun := r.Begun()
	rec, ok := b.Recipe(begun.Recipe)
	if !ok {
		return nil, nil
	}
	kettle, _ := b.Kettle(begun.Kettle)
	before, err := a.keeper.Records(ctx, store.Find{Before: r.ID, Limit: batchesBefore})
	if err != nil {
		return nil, err
	}
	stops, err := a.stopsBatch(ctx, b, r)
	if err != nil {
		return nil, err
	}
	no := map[record.Item]string{}
	out := &BeforeFlame{Asked: []CheckLine{}, OutOfUse: []string{}, Ready: len(r.Checked().Refused()) == 0 && len(stops) == 0}
	for _, s := range stops {
		out.OutOfUse = append(out.OutOfUse, s.Say(b))
		for _, f := range s.Faults {
			if item := itemOf(s.Thing, f); item != "" {
				no[item] = SayTrouble(f.Found)
			}
		}
	}
	for _, x := range ChecksAsked(b, rec, kettle, before) {
		got := r.Checked().Of(x.Item)
		out.Asked = append(out.Asked, CheckLine{Item: x.Item, Why: x.Why, Says: got.Says, By: got.By, No: no[x.Item]})
		out.Ready = out.Ready && got.Says != ""
	}
	return out, nil
}

// cautionsFor are the fixed cautions of what is answered no.
var cautionsFor = map[record.Item]caution.Code{
	record.MachineSeated: caution.MachineLoose, record.GuardsOn: caution.GuardOff, record.StopWorks: caution.StopDead,
	record.RollsWhole: caution.RollsIntact, record.GlassWhole: caution.GlassBrittle, record.HoodOn: caution.Hood, record.AlarmWorks: caution.Hood,
	record.WaterOn: caution.NoWater, record.AllergenClean: caution.AllergenClean,
}

// marksOf are the fixed cautions of what is written in a record.
func marksOf(r record.Record) []Caution {
	var list []caution.Caution
	if no := r.Checked().Refused(); len(no) > 0 {
		list = append(list, caution.Of(caution.NotBeforeFlame))
		for _, x := range no {
			list = append(list, caution.Of(cautionsFor[x]))
		}
	}
	if x := r.After(); x != nil && x.Rolls == record.No {
		list = append(list, caution.Of(caution.RollsIntact))
	}
	if x := r.After(); x != nil && x.Glass == record.No {
		list = append(list, caution.Of(caution.GlassBrittle))
	}
	if len(r.All(record.Finding)) > 0 {
		list = append(list, caution.Of(caution.ForeignBody))
	}
	for _, k := range r.All(record.Cleaning) {
		if !k.Cleaned.Counts() {
			list = append(list, caution.About(caution.AllergenClean, string(k.Cleaned.Surface)))
		}
	}
	var out []Caution
	for _, c := range caution.Merge(list) {
		out = append(out, Caution{Code: string(c.Code), Text: c.Text})
	}
	return out
}
