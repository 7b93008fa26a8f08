package app

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"slabside/internal/bag"
	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// charge returns what goes into the kettle for what a request asks of a recipe:
// the charge it names, a whole boil, or what is expected to make so many sound
// pieces or to fill so many bags. What it is expected to make is as likely to be
// a little more as a little less; the answer's ranges say how much.
//
// Faults: OutOfRange if the kettle cannot take what is asked for at once.
func (r BoilRequest) charge(b *book.Book, rec recipe.Recipe) (q.Kilograms, error) {
	if r.Charge != 0 {
		return r.Charge, nil
	}
	kettle, err := kettleOf(b, rec)
	if err != nil {
		return 0, err
	}
	whole := kettle.UsualCharge
	if r.Pieces == 0 && r.Bags == 0 {
		return whole, nil
	}
	first, err := r.middleOf(b, rec, whole)
	if err != nil {
		return 0, err
	}
	boils, err := r.boils(b, rec, first)
	if err != nil {
		return 0, err
	}
	// Ends and smear do not grow with the charge, and a larger one boils longer and
	// inverts more: a charge is looked for whose own boil makes what is asked for.
	// Pieces are counted whole, so that it may lie at the edge of one.
	const settled = 1e-7
	charge, little, much := whole*q.Kilograms(boils), q.Kilograms(0), q.Kilograms(math.Inf(1))
	for much > little*(1+settled) {
		p, err := r.middleOf(b, rec, charge)
		if err != nil {
			return 0, r.refused(err, b.Shop.Units, charge, boils)
		}
		more, err := r.boils(b, rec, p)
		if err != nil {
			return 0, err
		}
		switch {
		case math.Abs(more-1) < settled:
			return charge, nil
		case more > 1:
			little = charge
		default:
			much = charge
		}
		if charge *= q.Kilograms(more); charge <= little || charge >= much {
			charge = (little + much) / 2
		}
	}
	return much, nil
}

// refused says of a charge that the kettle does not take what it was for, and of
// one that is too large how many boils it would take.
func (r BoilRequest) refused(err error, u q.Reader, charge q.Kilograms, boils float64) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	more := *f
	more.Text = fmt.Sprintf("%s would need %s in the kettle at once: %s", r.asked(), u.Mass(charge), f.Text)
	if boils > 1 {
		more.Hint = fmt.Sprintf("boil them in %d goes", int(math.Ceil(boils)))
	}
	return &more
}

func (r BoilRequest) asked() string {
	if r.Bags > 0 {
		return fmt.Sprintf("%d bags", r.Bags)
	}
	return fmt.Sprintf("%d pieces", r.Pieces)
}

// inputs gathers what a boil of a charge needs, ended and in the air as is asked.
func (r BoilRequest) inputs(b *book.Book, rec recipe.Recipe, charge q.Kilograms) (batch.Inputs, error) {
	in, err := chain(b, r.Taught, rec, charge)
	in.End, in.Room, in.CookBack = r.end(), airOf(in.Room, r), r.CookBack
	return in, err
}

// middle works out the boil that is asked for by its middle figures alone, which
// need no draws.
func (r BoilRequest) middle(b *book.Book, rec recipe.Recipe) (batch.Prediction, error) {
	charge, err := r.charge(b, rec)
	if err != nil {
		return batch.Prediction{}, err
	}
	return r.middleOf(b, rec, charge)
}

// middleOf is middle for a charge.
func (r BoilRequest) middleOf(b *book.Book, rec recipe.Recipe, charge q.Kilograms) (batch.Prediction, error) {
	in, err := r.inputs(b, rec, charge)
	if err != nil {
		return batch.Prediction{}, err
	}
	in.Ensemble = numeric.NewEnsemble(2, planSeed)
	return batch.Predict(in)
}

// boils returns how many boils like the predicted one make what is asked for.
func (r BoilRequest) boils(b *book.Book, rec recipe.Recipe, p batch.Prediction) (float64, error) {
	if !(p.Pieces.Value > 0) {
		return 0, fault.Invalid("%s makes no pieces", rec.Name).At("recipe").WithHint("give it a pair of rolls")
	}
	if r.Pieces > 0 {
		return float64(r.Pieces) / p.Pieces.Value, nil
	}
	product, err := r.product(b, rec)
	if err != nil {
		return 0, err
	}
	sweets, err := sweetsOf(b, product, rec, p, r)
	if err != nil {
		return 0, err
	}
	blend, err := bag.NewBlend(product, sweets)
	if err != nil {
		return 0, err
	}
	// Each portion must be enough, and the scarcest decides.
	most := 0.0
	for _, h := range blend.Makeup(sweets).Holdings {
		if h.Recipe != rec.ID {
			continue
		}
		for _, portion := range p.Portions {
			if portion.ID == h.Portion {
				most = max(most, float64(r.Bags)*float64(h.Mass)/portion.SoundKg.Value)
			}
		}
	}
	if !(most > 0) || math.IsInf(most, 1) {
		return 0, fault.Invalid("no bag of %s can be filled from a boil of %s", product.Name, rec.Name).At("product")
	}
	return most, nil
}

// product finds what the bags are of: the one that was named, or the only one
// made of this recipe.
func (r BoilRequest) product(b *book.Book, rec recipe.Recipe) (bag.Product, error) {
	made := productsOf(b, rec.ID)
	ids := make([]string, len(made))
	for i, p := range made {
		if p.ID == r.Product || r.Product == "" && len(made) == 1 {
			return p, nil
		}
		ids[i] = p.ID
	}
	switch {
	case len(made) == 0:
		return bag.Product{}, fault.Invalid("no product is made of %s", rec.Name).At("bags").WithHint("scale it to a charge or to pieces, or add a product")
	case r.Product == "":
		return bag.Product{}, fault.Invalid("bags of what? %s goes into several products", rec.Name).At("product").WithHint("one of %s", strings.Join(ids, ", "))
	}
	return bag.Product{}, fault.NotFound("%s does not go into a product %q", rec.Name, r.Product).At("product").WithHint("one of %s", strings.Join(ids, ", "))
}

// productsOf lists the products a recipe goes into.
func productsOf(b *book.Book, id string) []bag.Product {
	var out []bag.Product
	for _, p := range b.Products {
		if slices.ContainsFunc(p.Parts, func(x bag.Part) bool { return x.Recipe == id }) {
			out = append(out, p)
		}
	}
	return out
}

// sweetsOf lists what a product may hold, with the mean mass of each piece as its
// boil makes it; that of the recipe at hand is predicted already.
func sweetsOf(b *book.Book, p bag.Product, rec recipe.Recipe, at batch.Prediction, r BoilRequest) ([]bag.Sweet, error) {
	var out []bag.Sweet
	seen := map[string]bool{}
	for _, part := range p.Parts {
		if seen[part.Recipe] {
			continue
		}
		seen[part.Recipe] = true
		of, pred := rec, at
		if part.Recipe != rec.ID {
			var ok bool
			if of, ok = b.Recipe(part.Recipe); !ok {
				return nil, fault.NotFound("product %q is made of recipe %q, which is not in the book", p.ID, part.Recipe)
			}
			kettle, err := kettleOf(b, of)
			if err != nil {
				return nil, err
			}
			// Boiled as it always is: only the recipe at hand is asked about.
			if pred, err = (BoilRequest{Altitude: r.Altitude, Pressure: r.Pressure, Taught: r.Taught}).middleOf(b, of, kettle.UsualCharge); err != nil {
				return nil, named(err, of.Name)
			}
		}
		for i, portion := range pred.Portions {
			out = append(out, bag.Sweet{Recipe: of.ID, Portion: portion.ID, Share: of.Portions[i].Share,
				Piece: q.Kilograms(portion.SoundKg.Value / portion.Pieces.Value)})
		}
	}
	return out, nil
}
