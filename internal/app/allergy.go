package app

import (
	"cmp"
	"context"
	"slices"
	"time"

	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/ingredient"
	ledger "slabside/internal/lot"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/store"
)

// AllergyCard is what is answered to a customer with an allergy: what is known of the
// thing in hand, and never a promise. Wording is the fixed sentence for it.
type AllergyCard struct {
	Contains   []string        `json:"contains"` // by the lots that went in
	May        []string        `json:"may_contain"`
	Unstated   []string        `json:"unstated"`    // of which nobody has stated it, which is not none
	Lots       []string        `json:"lots"`        // of ingredients that went in
	Statements []StatementLine `json:"statements"`  // that came with those
	NotWeighed []string        `json:"not_weighed"` // batches of which not every lot is written: what is missing goes by the recipe
	Here       []HandledHere   `json:"also_handled_here"`
	Wording    string          `json:"wording"`
	Cautions   []Caution       `json:"cautions"`
}

// StatementLine is the supplier's statement that came with a lot.
type StatementLine struct {
	Ingredient string   `json:"ingredient"`
	Lot        string   `json:"lot"`
	On         string   `json:"on"` // empty: none came with it
	May        []string `json:"may_contain"`
}

// HandledHere is an allergen that nothing names of the thing and that is in another sweet
// of the room.
type HandledHere struct {
	Allergen string   `json:"allergen"`
	In       []string `json:"in"`      // names of the recipes
	Shared   []string `json:"shared"`  // what both touch
	Last     string   `json:"last"`    // the last batch with it before this one; empty: none is written in the days looked through
	LastOn   string   `json:"last_on"` //
	Cleans   []string `json:"cleans"`  // verified since, in words
}

// allergyCard answers for a batch, bags or a jar.
func (a *App) allergyCard(ctx context.Context, b *book.Book, n *net, of *TraceResult) (*AllergyCard, error) {
	card := &AllergyCard{Contains: []string{}, May: []string{}, Unstated: []string{}, Lots: []string{}, Statements: []StatementLine{}, NotWeighed: []string{}, Here: []HandledHere{},
		Wording: caution.Text(caution.AllergenPublic), Cautions: []Caution{{Code: string(caution.AllergenCarriers), Text: caution.Text(caution.AllergenCarriers)}}}
	list, err := a.keeper.Lots(ctx, store.FindLots{Limit: mostLots})
	if err != nil {
		return nil, err
	}
	batches := batchesIn(of)
	for _, id := range batches {
		r := n.batches[id]
		begun := r.Begun()
		if begun == nil {
			card.NotWeighed = append(card.NotWeighed, id)
			continue
		}
		was, err := a.bookBegun(ctx, begun.Book)
		if err != nil {
			return nil, err
		}
		c := lotsContain(&was, r, list)
		card.Contains, card.May = append(card.Contains, c.Contains...), append(card.May, c.May...)
		card.Unstated, card.Lots = append(card.Unstated, c.Unstated...), append(card.Lots, c.Lots...)
		if !c.Whole || len(c.NoLot) > 0 {
			card.NotWeighed = append(card.NotWeighed, id)
		}
	}
	for _, words := range []*[]string{&card.Contains, &card.May, &card.Unstated, &card.Lots, &card.NotWeighed} {
		slices.Sort(*words)
		*words = slices.Compact(*words)
	}
	card.May = slices.DeleteFunc(card.May, func(w string) bool { return slices.Contains(card.Contains, w) })
	for _, id := range card.Lots {
		if i := slices.IndexFunc(list, func(l ledger.Ledger) bool { return l.ID == id }); i >= 0 {
			r := list[i].Receipt
			card.Statements = append(card.Statements, StatementLine{Ingredient: nameIn(b, r.Ingredient), Lot: id, On: r.StatementOn, May: append([]string{}, r.MayContain...)})
		}
	}
	if len(card.Unstated) > 0 {
		card.Cautions = append(card.Cautions, Caution{Code: string(caution.AllergenUnknown), Text: caution.Text(caution.AllergenUnknown)})
	}
	made, err := a.madeHere(ctx, n, list)
	if err != nil {
		return nil, err
	}
	card.Here = handledHere(b, n, made, batches, slices.Concat(card.Contains, card.May))
	return card, nil
}

// batchesIn are the batches of which something is in a thing, the thing itself among
// them.
func batchesIn(of *TraceResult) []string {
	var out []string
	if of.Kind == TraceBatch {
		out = append(out, of.ID)
	}
	for _, s := range of.Up {
		if s.Kind == TraceBatch {
			out = append(out, s.ID)
		}
	}
	return out
}

// madeHere returns what each batch that was read contains or may contain, by the lots that
// went in and the book by which it was made: its recipe may be another by now, or gone.
func (a *App) madeHere(ctx context.Context, n *net, list []ledger.Ledger) (map[string][]string, error) {
	out := map[string][]string{}
	for id, r := range n.batches {
		begun := r.Begun()
		if begun == nil {
			continue
		}
		was, err := a.bookBegun(ctx, begun.Book)
		if err != nil {
			return nil, err
		}
		c := lotsContain(&was, r, list)
		out[id] = slices.Concat(c.Contains, c.May)
	}
	return out, nil
}

// handledHere goes through the other sweets of the room: those of the book, and those
// that were made.
func handledHere(b *book.Book, n *net, made map[string][]string, batches, named []string) []HandledHere {
	out := []HandledHere{}
	for _, allergen := range ingredient.Allergens() {
		if slices.Contains(named, allergen) {
			continue
		}
		x := HandledHere{Allergen: allergen, In: []string{}, Shared: []string{}, Cleans: []string{}}
		for _, rec := range b.Recipes {
			if has, may, _ := b.AllergensOf(rec); slices.Contains(has, allergen) || slices.Contains(may, allergen) {
				x.In = append(x.In, rec.Name)
				x.Shared = append(x.Shared, sharedBy(b, n, batches, rec)...)
			}
		}
		if x.lastBefore(b, n, made, batches); len(x.In) == 0 && x.Last == "" {
			continue
		}
		if len(x.In) == 0 { // it is made no more, and was
			x.In = append(x.In, "batch "+x.Last)
		}
		slices.Sort(x.Shared)
		x.Shared = slices.Compact(x.Shared)
		out = append(out, x)
	}
	return out
}

// sharedBy names what the batches and another recipe both touch.
func sharedBy(b *book.Book, n *net, batches []string, other recipe.Recipe) []string {
	var out []string
	for _, id := range batches {
		begun := n.batches[id].Begun()
		if begun == nil {
			continue
		}
		out = append(out, "slab", "hook and tools", "bench and sieve")
		if k, err := kettleOf(b, other); err == nil && k.ID == begun.Kettle {
			out = append(out, k.Name)
		}
		if rec, ok := b.Recipe(begun.Recipe); ok && rec.Rolls != "" && other.Rolls != "" {
			out = append(out, "drop machine")
			if rolls, ok := b.RollsOf(rec.Rolls); ok && rec.Rolls == other.Rolls {
				out = append(out, rolls.Name)
			}
		}
	}
	return out
}

// lastBefore finds the nearest batch with the allergen before one of the batches, and
// what was cleaned and verified since.
func (x *HandledHere) lastBefore(b *book.Book, n *net, made map[string][]string, batches []string) {
	order := keysOf(n.batches)
	slices.SortFunc(order, func(p, q string) int { return compareBatches(p, q) })
	for _, id := range batches {
		at := slices.Index(order, id)
		for i := at - 1; i >= 0; i-- {
			if !slices.Contains(made[order[i]], x.Allergen) {
				continue
			}
			if x.Last == "" || compareBatches(x.Last, order[i]) < 0 {
				x.Last, x.LastOn, x.Cleans = order[i], n.batches[order[i]].Begun().On, cleansSince(b, n, order[i:at+1])
			}
			break
		}
	}
}

// cleansSince are the verified allergen cleans after the first of some batches and before
// the last.
func cleansSince(b *book.Book, n *net, order []string) []string {
	out := []string{}
	zone := zoneOf(b)
	for _, id := range order[:len(order)-1] {
		for _, k := range n.batches[id].All(record.Cleaning) {
			if c := k.Cleaned; c.Kind == record.AllergenCleaned && c.Counts() {
				out = append(out, string(c.Surface)+" by "+c.By+", verified by "+c.Verified+", "+k.At.In(zone).Format(time.DateOnly)+" after "+id)
			}
		}
	}
	last := order[len(order)-1]
	if c := n.batches[last].Checked().Of(record.AllergenClean); c.Says == record.Yes {
		out = append(out, joined(", ", "the line, before the flame of "+last, verifiedBy(c.By)))
	}
	return out
}

func verifiedBy(name string) string {
	if name == "" {
		return ""
	}
	return "verified by " + name
}

// compareBatches orders batches by day and number.
func compareBatches(a, b string) int {
	return cmp.Or(cmp.Compare(dayOfID(a), dayOfID(b)), cmp.Compare(len(a), len(b)), cmp.Compare(a, b))
}
