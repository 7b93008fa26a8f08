package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"slabside/internal/bag"
	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/care"
	"slabside/internal/caution"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/source"
)

// RollsRequest asks which pairs of rolls serve instead of one. One of Rolls and Recipe may
// be left out: the rolls are the recipe's then, or the recipes all that run on the rolls.
type RollsRequest struct {
	Rolls   string      // id of the pair that is not to be used
	Recipe  string      // id
	Product string      // id; empty: every product the recipe goes into
	Charge  q.Kilograms // 0: a whole boil
}

// RollsResult answers a RollsRequest; JSON is the contract of the rolls command.
type RollsResult struct {
	Rolls    string        `json:"rolls"`
	Name     string        `json:"name"`
	OutOfUse string        `json:"out_of_use"` // why it is; empty: it may be used
	Recipes  []RollsRecipe `json:"recipes"`
	Cautions []Caution     `json:"cautions"`
	Sources  []string      `json:"sources"`
	Units    q.Reader      `json:"units"`
}

// RollsRecipe is one recipe on its own rolls and on the others.
type RollsRecipe struct {
	Recipe   string      `json:"recipe"`
	Name     string      `json:"name"`
	ChargeKg q.Number    `json:"charge_kg"`
	Own      RollsPair   `json:"own"`
	Others   []RollsPair `json:"others"` // those nearest in piece weight first, what is out of use last
}

// RollsPair is what one boil comes to on one pair of rolls.
type RollsPair struct {
	Rolls     string      `json:"rolls"`
	Name      string      `json:"name"`
	PieceG    q.Number    `json:"piece_g"` // a clear piece, as the book has it
	Material  string      `json:"material"`
	ChangeMin q.Number    `json:"change_min"` // to change to this pair
	Mounted   bool        `json:"mounted"`    // on the machine in the morning
	OutOfUse  string      `json:"out_of_use"` // empty: it may be used
	Cannot    string      `json:"cannot"`     // why nothing is worked out; empty: it is
	Pieces    *q.Estimate `json:"pieces"`     // sound pieces of the boil
	SoundKg   *q.Estimate `json:"sound_kg"`
	Bags      []RollsBags `json:"bags"`
	Differs   []string    `json:"differs"`  // what else is to be seen to, in words
	Cautions  []Caution   `json:"cautions"` // those that the recipe's own pair does not carry
}

// RollsBags is what one boil fills of one product.
type RollsBags struct {
	Product string       `json:"product"`
	Name    string       `json:"name"`
	NetKg   q.Number     `json:"net_kg"`
	Pieces  q.Estimate   `json:"pieces"`  // in a bag
	Bags    q.Estimate   `json:"bags"`    // if the other sweets of a mixture are there
	Least   []RollsLeast `json:"least"`   // pieces that a bag is to hold at least
	Differs []string     `json:"differs"` // what changes on the label, in words
}

// RollsLeast is how surely a bag holds the pieces it is to hold at least.
type RollsLeast struct {
	Least  int      `json:"least"`
	Chance q.Number `json:"chance"` // that a bag holds the least of every part
}

// InsteadOf returns, for the recipes that run on a pair of rolls, what a boil of each comes
// to on every other pair of the book: pieces, pieces in a bag, bags, and what changes with
// them. The boil is the same; only the rolls are another pair, so that every figure is that
// of the boil and the plan on those rolls.
//
// Faults: NotFound, at the name of the field, for what is not in the book or does not go
// together; OutOfRange for a charge the kettle does not take.
func (a *App) InsteadOf(ctx context.Context, r RollsRequest) (*RollsResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	recipes, err := r.find(&b)
	if err != nil {
		return nil, err
	}
	stopped, err := a.stopped(ctx)
	if err != nil {
		return nil, err
	}
	taught, err := a.taught(ctx, &b)
	if err != nil {
		return nil, err
	}
	b = stopped.without(b)
	own, _ := b.RollsOf(r.Rolls)
	out := &RollsResult{Rolls: r.Rolls, Name: own.Name, OutOfUse: stopped.why(&b, r.Rolls), Recipes: []RollsRecipe{}, Sources: source.Strings(source.Practice), Units: b.Shop.Units,
		Cautions: plainCautions([]caution.Caution{caution.Of(caution.Prediction), caution.Of(caution.Choking), caution.Of(caution.NotLegal)})}
	w := instead{b: &b, stopped: stopped, req: BoilRequest{Taught: taught, Charge: r.Charge}, product: r.Product, yields: map[string][]batch.Yield{}}
	for _, rec := range recipes {
		x, err := w.recipe(rec)
		if err != nil {
			return nil, named(err, rec.Name)
		}
		out.Recipes = append(out.Recipes, x)
	}
	return out, nil
}

// find fills in the rolls and returns the recipes.
func (r *RollsRequest) find(b *book.Book) ([]recipe.Recipe, error) {
	if r.Rolls == "" && r.Recipe == "" {
		return nil, fault.Invalid("it is not said which rolls").At("rolls").WithHint("name a pair, or a recipe that runs on it")
	}
	if r.Recipe != "" {
		rec, ok := b.Recipe(r.Recipe)
		if !ok {
			return nil, fault.NotFound("no recipe %q in the shop book", fault.Clip(r.Recipe, fault.Echo)).At("recipe")
		}
		if r.Rolls = cmp.Or(r.Rolls, rec.Rolls); r.Rolls != rec.Rolls {
			return nil, fault.Invalid("%s runs on the rolls %q", rec.Name, rec.Rolls).At("rolls").WithHint("leave one of the two out")
		}
	}
	if _, ok := b.RollsOf(r.Rolls); !ok {
		return nil, fault.NotFound("no rolls %q in the shop book", fault.Clip(r.Rolls, fault.Echo)).At("rolls").WithHint("the boiling room lists them")
	}
	if _, ok := b.Product(r.Product); !ok && r.Product != "" {
		return nil, fault.NotFound("no product %q in the shop book", fault.Clip(r.Product, fault.Echo)).At("product")
	}
	var out []recipe.Recipe
	for _, rec := range b.Recipes {
		if rec.Rolls != r.Rolls || r.Recipe != "" && rec.ID != r.Recipe {
			continue
		}
		if r.Product == "" || slices.ContainsFunc(productsOf(b, rec.ID), productID(r.Product)) {
			out = append(out, rec)
		}
	}
	if r.Product != "" && len(out) == 0 {
		return nil, fault.NotFound("nothing that runs on these rolls goes into %q", r.Product).At("product")
	}
	return out, nil
}

// why says why a pair of rolls is out of use; empty: it is not.
func (s Stopped) why(b *book.Book, rolls string) string {
	t := care.Thing{Kind: care.Rolls, ID: rolls}
	if f := s.Of(t); len(f) > 0 {
		return StoppedThing{t, f}.Say(b)
	}
	return ""
}

// instead works out boils on other rolls.
type instead struct {
	b       *book.Book
	stopped Stopped
	req     BoilRequest
	product string
	yields  map[string][]batch.Yield // of the other sweets of mixtures, as they are always made
}

func (w *instead) recipe(rec recipe.Recipe) (RollsRecipe, error) {
	charge, err := w.req.charge(w.b, rec)
	if err != nil {
		return RollsRecipe{}, err
	}
	out := RollsRecipe{Recipe: rec.ID, Name: rec.Name, ChargeKg: q.Number(charge), Others: []RollsPair{}}
	ownRolls, _ := w.b.RollsOf(rec.Rolls)
	own, ownCautions, err := w.pair(rec, ownRolls, charge)
	if err != nil {
		return RollsRecipe{}, err
	}
	out.Own = own
	for _, x := range w.b.Rolls {
		if x.ID == rec.Rolls {
			continue
		}
		other := rec
		other.Rolls = x.ID
		p, list, err := w.pair(other, x, charge)
		if err != nil && fault.KindOf(err) == fault.KindInternal {
			return RollsRecipe{}, err
		}
		if err != nil {
			p = w.blank(x)
			p.Cannot, _ = fault.Said(err)
		}
		p.Cautions = plainCautions(slices.DeleteFunc(list, func(c caution.Caution) bool { return slices.Contains(ownCautions, c) }))
		p.Differs = append(p.Differs, w.seenTo(ownRolls, x)...)
		for i := range p.Bags {
			p.Bags[i].Differs = differs(w.b, rec, ownRolls, x, own.Bags[i], p.Bags[i])
		}
		out.Others = append(out.Others, p)
	}
	slices.SortStableFunc(out.Others, func(x, y RollsPair) int {
		return cmp.Or(compare(x.OutOfUse != "", y.OutOfUse != ""), cmp.Compare(apart(x, own), apart(y, own)))
	})
	return out, nil
}

// apart is how far the pieces of two pairs are from each other, as a share of the smaller.
func apart(x, y RollsPair) float64 {
	a, b := float64(x.PieceG), float64(y.PieceG)
	return max(a, b) / min(a, b)
}

func (w *instead) blank(x rig.Rolls) RollsPair {
	return RollsPair{Rolls: x.ID, Name: x.Name, PieceG: q.Number(x.PieceMass().Grams()), Material: string(x.Material), ChangeMin: q.Number(x.Change.Minutes()),
		Mounted: x.ID == w.b.Day.Mounted, OutOfUse: w.stopped.why(w.b, x.ID), Bags: []RollsBags{}, Differs: []string{}, Cautions: []Caution{}}
}

// pair works out one boil on the rolls that its recipe names.
func (w *instead) pair(rec recipe.Recipe, x rig.Rolls, charge q.Kilograms) (RollsPair, []caution.Caution, error) {
	out := w.blank(x)
	in, err := w.req.inputs(w.b, rec, charge)
	if err != nil {
		return out, nil, err
	}
	pred, err := batch.Predict(in)
	if err != nil {
		return out, nil, err
	}
	yield, err := batch.YieldOf(in, charge, 0)
	if err != nil {
		return out, nil, err
	}
	out.Pieces, out.SoundKg = &pred.Pieces, &pred.SoundKg
	for _, p := range productsOf(w.b, rec.ID) {
		if w.product != "" && p.ID != w.product {
			continue
		}
		bags, err := w.bags(p, rec, yield)
		if err != nil {
			return out, nil, err
		}
		out.Bags = append(out.Bags, bags)
	}
	return out, pred.Cautions, nil
}

// plenty is of the other sweets of a mixture [kg]: more than any boil can use up.
const plenty = 1e6

// bags fills bags of a product from one boil, draw by draw as the plan does, with the
// other sweets of a mixture at hand.
func (w *instead) bags(p bag.Product, rec recipe.Recipe, yield []batch.Yield) (RollsBags, error) {
	sweets, piece, kg, err := w.sweets(p, rec, yield)
	if err != nil {
		return RollsBags{}, err
	}
	blend, err := bag.NewBlend(p, sweets)
	if err != nil {
		return RollsBags{}, err
	}
	held, made := make([]float64, planDraws), make([]float64, planDraws)
	at, left, mass := make([]float64, len(sweets)), make([]float64, len(sweets)), make([]float64, len(blend.Pieces))
	for d := range made {
		for i := range sweets {
			at[i], left[i] = piece[i][d], plenty
			if kg[i] != nil {
				left[i] = kg[i][d]
			}
		}
		held[d] = blend.KgPerBag(at, mass)
		made[d] = float64(blend.Fill(int(plenty), at, left))
	}
	out := RollsBags{Product: p.ID, Name: p.Name, NetKg: q.Number(p.Net), Least: []RollsLeast{}, Differs: []string{}}
	if out.Pieces, err = estimate(held); err != nil {
		return out, err
	}
	if out.Bags, err = estimate(made); err != nil {
		return out, err
	}
	least := 0
	for _, part := range p.Parts {
		least = max(least, part.Least)
	}
	if least > 0 {
		c, err := blend.LeastMet(sweets, 0)
		if err != nil {
			return out, err
		}
		out.Least = append(out.Least, RollsLeast{Least: least, Chance: q.Number(c.Bag)})
	}
	return out, nil
}

// sweets lists what a product may hold, with the mass of a piece draw by draw, and how
// much there is of the recipe at hand; nil for the others.
func (w *instead) sweets(p bag.Product, rec recipe.Recipe, yield []batch.Yield) (out []bag.Sweet, piece, kg [][]float64, err error) {
	seen := map[string]bool{}
	for _, part := range p.Parts {
		if seen[part.Recipe] {
			continue
		}
		seen[part.Recipe] = true
		of, y := rec, yield
		if part.Recipe != rec.ID {
			if of, y, err = w.other(part.Recipe); err != nil {
				return nil, nil, nil, err
			}
		}
		for i, portion := range y {
			at, mean := make([]float64, planDraws), 0.0
			for d := range at {
				at[d] = portion.Kg[d] / portion.Pieces[d]
				mean += at[d] / planDraws
			}
			out = append(out, bag.Sweet{Recipe: of.ID, Portion: portion.Portion, Share: of.Portions[i].Share, Piece: q.Kilograms(mean)})
			piece = append(piece, at)
			if part.Recipe == rec.ID {
				kg = append(kg, portion.Kg)
			} else {
				kg = append(kg, nil)
			}
		}
	}
	return out, piece, kg, nil
}

// other is a recipe beside the one at hand, and a whole boil of it as it is always made.
func (w *instead) other(id string) (recipe.Recipe, []batch.Yield, error) {
	rec, ok := w.b.Recipe(id)
	if !ok {
		return rec, nil, fault.NotFound("no recipe %q in the shop book", fault.Clip(id, fault.Echo))
	}
	if y, ok := w.yields[id]; ok {
		return rec, y, nil
	}
	req := BoilRequest{Taught: w.req.Taught}
	charge, err := req.charge(w.b, rec)
	if err != nil {
		return rec, nil, err
	}
	in, err := req.inputs(w.b, rec, charge)
	if err != nil {
		return rec, nil, err
	}
	y, err := batch.YieldOf(in, charge, 0)
	w.yields[id] = y
	return rec, y, err
}

// coarse is the clear piece from which the coarse sieve serves [kg]: 5 to 6 mm for drops
// of 1.6 g and more, 3 mm for smaller ones (key practice).
const coarse = 0.0016

// seenTo says what of the work is another with other rolls.
func (w *instead) seenTo(was, is rig.Rolls) []string {
	var out []string
	if was, is := was.PieceMass() < coarse, is.PieceMass() < coarse; was != is {
		if is {
			out = append(out, "the fine sieve (3 mm) instead of the coarse one")
		} else {
			out = append(out, "the coarse sieve (5 to 6 mm) instead of the fine one")
		}
	}
	if is.Material != was.Material {
		out = append(out, fmt.Sprintf("%s rolls instead of %s", is.Material, was.Material))
	}
	return out
}

// differs says what of a product's label and promise is no longer so.
func differs(b *book.Book, rec recipe.Recipe, was, is rig.Rolls, before, after RollsBags) []string {
	u := b.Shop.Units
	out := []string{fmt.Sprintf("the net weight stays %s; a count, a picture, and what is stated for a piece change: about %s pieces of %s, not %s of %s", u.Mass(q.Kilograms(after.NetKg)),
		u.Number(after.Pieces.Value, 0), u.Mass(is.PieceMass()), u.Number(before.Pieces.Value, 0), u.Mass(was.PieceMass()))}
	if names := namesShape(was.Name, rec.Name, after.Name); len(names) > 0 {
		out = append(out, fmt.Sprintf("the name says %s: %s would be another shape than its name", lower(was.Name), Listed(names)))
	}
	p, _ := b.Product(after.Product)
	if len(p.Parts) > 1 && p.By != bag.ByMass {
		out = append(out, "the shares count pieces, so that a bag holds another weight of each sweet: the list of ingredients and the nutrition table are reckoned anew")
	}
	for i, l := range after.Least {
		if i < len(before.Least) && !sameChance(l.Chance, before.Least[i].Chance) {
			out = append(out, fmt.Sprintf("a bag holds the least pieces of every sweet with a chance of %s, not %s", u.Percent(q.Fraction(l.Chance), 1), u.Percent(q.Fraction(before.Least[i].Chance), 1)))
		}
	}
	return out
}

func sameChance(a, b q.Number) bool { return a-b < 0.0005 && b-a < 0.0005 }

// namesShape lists the names that say what the rolls press: "Pear barrels" of "Barrel".
func namesShape(rolls string, names ...string) []string {
	word := strings.TrimSuffix(lower(strings.TrimSpace(rolls)), "s")
	var out []string
	for _, n := range names {
		if word != "" && slices.ContainsFunc(strings.Fields(lower(n)), func(x string) bool { return sameShape(x, word) }) {
			out = append(out, n)
		}
	}
	return Once(out)
}

// sameShape compares a word with the name of a shape, in its singular or plural.
func sameShape(x, word string) bool {
	stem := strings.TrimSuffix(word, "f") // leaf, leaves
	return x == word || x == word+"s" || x == word+"es" || stem != word && x == stem+"ves"
}
