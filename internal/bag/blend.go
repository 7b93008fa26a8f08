package bag

import (
	"math"
	"strings"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Sweet is one kind of piece that can be told apart in a bag: a portion of a recipe.
type Sweet struct {
	Recipe, Portion string
	Share           q.Fraction  // share of the recipe's finished mass; only the proportions within a recipe count
	Piece           q.Kilograms // mean mass of one finished piece
}

// Blend is a product whose parts have been found among the sweets. A part
// without a portion stands for all portions of its recipe, in the shares they
// are made in.
type Blend struct {
	Product Product
	Pieces  []int // holding by holding: index into the sweets
	Parts   []int // holding by holding: index into Product.Parts

	net    float64   // kg
	weight []float64 // holding by holding: share of all parts, in pieces or in mass as the product says
	within []float64 // holding by holding: mass share within the part
}

// NewBlend finds the product's parts among the sweets. Faults are Invalid (no
// net weight, no parts, a share that is not positive, a sweet named twice, a
// piece without mass) and NotFound (a recipe or portion that is not among the sweets).
func NewBlend(p Product, sweets []Sweet) (Blend, error) {
	b := Blend{Product: p, net: float64(p.Net)}
	if !(p.Net > 0) || math.IsInf(b.net, 1) {
		return Blend{}, fault.Invalid("product %q has no net weight", p.ID).At("net")
	}
	if p.By != "" && p.By != ByPiece && p.By != ByMass {
		return Blend{}, fault.Invalid("product %q shares by %q", p.ID, p.By).At("by").WithHint(`write "piece" or "mass"`)
	}
	if len(p.Parts) == 0 {
		return Blend{}, fault.Invalid("product %q has no parts", p.ID).At("part").WithHint("name at least one recipe")
	}
	taken := make([]bool, len(sweets))
	for i, part := range p.Parts {
		if !(part.Share > 0) || math.IsInf(part.Share, 1) {
			return Blend{}, fault.Invalid("part %d of product %q has share %g", i+1, p.ID, part.Share).At("share").
				WithHint("shares are positive numbers, only their proportions count")
		}
		if part.Least < 0 {
			return Blend{}, fault.Invalid("part %d of product %q asks for at least %d pieces", i+1, p.ID, part.Least).At("least")
		}
		found, err := find(p, part, sweets)
		if err != nil {
			return Blend{}, err
		}
		var whole float64
		for _, k := range found {
			s := sweets[k]
			if taken[k] {
				return Blend{}, fault.Invalid("product %q names %s twice", p.ID, name(s.Recipe, s.Portion)).At("part").
					WithHint("give it one part, or name every portion by itself")
			}
			taken[k] = true
			if !(s.Piece > 0) || math.IsInf(float64(s.Piece), 1) {
				return Blend{}, fault.Invalid("a piece of %s has mass %g kg", name(s.Recipe, s.Portion), float64(s.Piece)).At("piece")
			}
			if !(s.Share >= 0) || math.IsInf(float64(s.Share), 1) {
				return Blend{}, fault.Invalid("%s has share %g", name(s.Recipe, s.Portion), float64(s.Share)).At("share")
			}
			whole += float64(s.Share)
		}
		if part.Portion != "" {
			// The part is this portion alone, whatever share of the boil it is.
			whole = float64(sweets[found[0]].Share)
			if whole == 0 {
				return Blend{}, fault.Invalid("product %q asks for %s, which has no share of the boil",
					p.ID, name(part.Recipe, part.Portion)).At("share")
			}
		}
		if whole == 0 {
			return Blend{}, fault.Invalid("the portions of recipe %q have no shares", part.Recipe).At("share")
		}
		for _, k := range found {
			if sweets[k].Share == 0 {
				continue
			}
			b.Pieces = append(b.Pieces, k)
			b.Parts = append(b.Parts, i)
			b.weight = append(b.weight, part.Share)
			b.within = append(b.within, float64(sweets[k].Share)/whole)
		}
	}
	return b, nil
}

// find returns the indices of the sweets a part stands for.
func find(p Product, part Part, sweets []Sweet) ([]int, error) {
	var found []int
	known := false
	for k, s := range sweets {
		if s.Recipe != part.Recipe {
			continue
		}
		known = true
		if part.Portion == "" || part.Portion == s.Portion {
			found = append(found, k)
		}
	}
	switch {
	case !known:
		return nil, fault.NotFound("product %q is made of recipe %q, which is not in the book", p.ID, part.Recipe).At("recipe")
	case len(found) == 0:
		var has []string
		for _, s := range sweets {
			if s.Recipe == part.Recipe {
				has = append(has, s.Portion)
			}
		}
		return nil, fault.NotFound("product %q asks for portion %q of recipe %q", p.ID, part.Portion, part.Recipe).At("portion").
			WithHint("it has %s", strings.Join(has, ", "))
	case part.Portion != "" && len(found) > 1:
		return nil, fault.Invalid("recipe %q has portion %q twice", part.Recipe, part.Portion).At("portion")
	}
	return found, nil
}

func name(recipe, portion string) string {
	if portion == "" {
		return recipe
	}
	return recipe + ", " + portion
}

// KgPerBag writes the expected mass of every holding in one bag into massKg [kg]
// and returns the expected number of pieces. pieceKg holds the piece mass of
// every sweet [kg], in the order NewBlend was given them; massKg has the length
// of Blend.Pieces.
//
// A bag is filled piece by piece until it holds at least its net weight, so on
// average it ends about half a mean piece above (common practice, no source):
//
//	pieces = net / w̄ + ½,  mass = net + w̄ / 2
//
// where w̄ is the mean mass of a piece in the blend.
func (b Blend) KgPerBag(pieceKg, massKg []float64) (pieces float64) {
	// First the pieces of every holding for one unit of all shares.
	byPiece := b.Product.By != ByMass
	var count, mass float64
	for from := 0; from < len(b.Parts); {
		to := from
		var perKg float64 // pieces in a kilogram of the part
		for ; to < len(b.Parts) && b.Parts[to] == b.Parts[from]; to++ {
			perKg += b.within[to] / pieceKg[b.Pieces[to]]
		}
		for h := from; h < to; h++ {
			kg := b.weight[h] * b.within[h]
			if byPiece {
				kg /= perKg
			}
			massKg[h] = kg
			mass += kg
			count += kg / pieceKg[b.Pieces[h]]
		}
		from = to
	}
	mean := mass / count
	scale := (b.net + mean/2) / mass
	for h := range massKg {
		massKg[h] *= scale
	}
	return count * scale
}

// Makeup is what one bag of a product holds on average.
type Makeup struct {
	Pieces   float64     // of all sweets together
	Mass     q.Kilograms // of all sweets together: the net weight and what goes over it
	Over     q.Kilograms // what goes over the net weight
	Holdings []Holding
}

// Holding is one sweet's place in a bag.
type Holding struct {
	Part            int // index into the product's parts
	Recipe, Portion string
	Pieces          float64
	Mass            q.Kilograms
}

// Makeup returns what one bag of the blend holds on average, made from the sweets
// the blend was made of; see [Blend.KgPerBag] for the arithmetic.
func (b Blend) Makeup(sweets []Sweet) Makeup {
	massKg := make([]float64, len(b.Pieces))
	var m Makeup
	m.Pieces = b.KgPerBag(pieceMasses(sweets), massKg)
	for h, k := range b.Pieces {
		s := sweets[k]
		m.Holdings = append(m.Holdings, Holding{
			Part: b.Parts[h], Recipe: s.Recipe, Portion: s.Portion,
			Pieces: massKg[h] / float64(s.Piece), Mass: q.Kilograms(massKg[h]),
		})
		m.Mass += q.Kilograms(massKg[h])
	}
	m.Over = m.Mass - b.Product.Net
	return m
}

func pieceMasses(sweets []Sweet) []float64 {
	pieceKg := make([]float64, len(sweets))
	for i, s := range sweets {
		pieceKg[i] = float64(s.Piece)
	}
	return pieceKg
}
