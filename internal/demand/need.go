package demand

import (
	"errors"
	"fmt"
	"math"

	"slabside/internal/bag"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

func lineField(i int, name string) string  { return fmt.Sprintf("to_make[%d].%s", i, name) }
func stockField(i int, name string) string { return fmt.Sprintf("stock[%d].%s", i, name) }

// shop is the problem with its names resolved.
type shop struct {
	Problem
	sweets []bag.Sweet
	recipe []int     // sweet by sweet: index of its recipe
	first  []int     // recipe by recipe: index of its first sweet
	loose  []float64 // sweet by sweet: loose stock [kg]
	order  []int     // lines in order of priority
	asked  []Asked   // in order of priority
	perBag []*need   // in order of priority, shared by lines of one product; nil: nothing to pack
}

// need is what one bag of a product holds.
type need struct {
	sweets []int
	kg     [][]float64 // [sweet][draw]
}

// open checks the problem and resolves it.
func open(p Problem) (*shop, error) {
	s := &shop{Problem: p}
	if p.Draws < LeastDraws {
		return nil, fault.Invalid("%d draws are too few to read a cover of 95 %% from", p.Draws).At("draws").
			WithHint("give at least %d", LeastDraws)
	}
	if p.Yield == nil {
		return nil, fault.Invalid("nothing says what a boil yields").At("yield")
	}
	if err := s.openRecipes(); err != nil {
		return nil, err
	}
	var err error
	if s.order, err = priority(p.Lines, p.Today); err != nil {
		return nil, err
	}
	packed, err := s.openStock()
	if err != nil {
		return nil, err
	}
	return s, s.openLines(packed)
}

func (s *shop) openRecipes() error {
	known := make(map[string]bool)
	for i, r := range s.Recipes {
		if known[r.ID] {
			return fault.Invalid("recipe %q is there twice", r.ID).At(fmt.Sprintf("recipe[%d].id", i))
		}
		known[r.ID] = true
		if len(r.Portions) == 0 {
			return fault.Invalid("recipe %q has no portions", r.ID).At(fmt.Sprintf("recipe[%d].portion", i))
		}
		s.first = append(s.first, len(s.sweets))
		for j, p := range r.Portions {
			if p.Draws != nil && len(p.Draws) != s.Draws {
				return fault.Internal(nil, "%d draws of the piece mass of recipe %q, portion %q where %d are expected",
					len(p.Draws), r.ID, p.ID, s.Draws)
			}
			for _, kg := range p.Draws {
				if !(kg > 0) || math.IsInf(kg, 1) {
					return fault.Invalid("a piece of recipe %q has mass %g kg", r.ID, kg).At(fmt.Sprintf("recipe[%d].portion[%d].piece", i, j))
				}
			}
			s.sweets = append(s.sweets, bag.Sweet{Recipe: r.ID, Portion: p.ID, Share: p.Share, Piece: p.Piece})
			s.recipe = append(s.recipe, i)
		}
	}
	s.loose = make([]float64, len(s.sweets))
	return nil
}

// openStock adds up loose sweets and returns the packed bags by product.
func (s *shop) openStock() (map[string]int, error) {
	packed := make(map[string]int)
	products := make(map[string]bool)
	for _, p := range s.Products {
		products[p.ID] = true
	}
	for i, k := range s.Stock {
		loose := float64(k.Loose)
		switch {
		case (k.Product == "") == (k.Recipe == ""):
			return nil, fault.Invalid("stock is either bags of a product or loose sweets of a recipe").At(stockField(i, "product"))
		case k.Bags < 0:
			return nil, fault.Invalid("%d bags cannot be in stock", k.Bags).At(stockField(i, "bags"))
		case !(loose >= 0) || math.IsInf(loose, 1):
			return nil, fault.Invalid("%g kg cannot be in stock", loose).At(stockField(i, "loose"))
		case k.Product != "" && k.Portion != "":
			return nil, fault.Invalid("packed bags have no portion").At(stockField(i, "portion"))
		case k.Product != "" && loose > 0:
			return nil, fault.Invalid("packed bags are counted, not weighed").At(stockField(i, "loose")).WithHint("give the number of bags")
		case k.Recipe != "" && k.Bags > 0:
			return nil, fault.Invalid("loose sweets are weighed, not counted in bags").At(stockField(i, "bags")).WithHint("give their mass")
		case k.Product != "" && !products[k.Product]:
			return nil, fault.NotFound("stock of product %q, which is not in the book", k.Product).At(stockField(i, "product"))
		case k.Product != "":
			packed[k.Product] += k.Bags
		default:
			if err := s.addLoose(i, k); err != nil {
				return nil, err
			}
		}
	}
	return packed, nil
}

// addLoose adds loose sweets; without a portion they are all of the recipe's, in
// the shares they are made in.
func (s *shop) addLoose(i int, k Stock) error {
	known := false
	var whole float64
	for n, w := range s.sweets {
		if w.Recipe != k.Recipe {
			continue
		}
		known = true
		if w.Portion == k.Portion {
			s.loose[n] += float64(k.Loose)
			return nil
		}
		whole += float64(w.Share)
	}
	if !known {
		return fault.NotFound("stock of recipe %q, which is not in the book", k.Recipe).At(stockField(i, "recipe"))
	}
	if k.Portion != "" {
		return fault.NotFound("recipe %q has no portion %q", k.Recipe, k.Portion).At(stockField(i, "portion"))
	}
	if !(whole > 0) {
		return fault.Invalid("the portions of recipe %q have no shares", k.Recipe).At(stockField(i, "recipe"))
	}
	for n, w := range s.sweets {
		if w.Recipe == k.Recipe {
			s.loose[n] += float64(k.Loose) * float64(w.Share) / whole
		}
	}
	return nil
}

// openLines takes packed bags off the lines in order of priority and works out
// what a bag of every product still to be packed holds.
func (s *shop) openLines(packed map[string]int) error {
	products := make(map[string]int)
	for i, p := range s.Products {
		if _, twice := products[p.ID]; twice {
			return fault.Invalid("product %q is there twice", p.ID).At(fmt.Sprintf("product[%d].id", i))
		}
		products[p.ID] = i
	}
	made := make(map[string]*need)
	for _, i := range s.order {
		l := s.Lines[i]
		at, ok := products[l.Product]
		switch {
		case !ok:
			return fault.NotFound("product %q is not in the book", l.Product).At(lineField(i, "product"))
		case l.Bags <= 0:
			return fault.Invalid("a line of %d bags asks for nothing", l.Bags).At(lineField(i, "bags")).
				WithHint("give a whole number from 1 up, or take the line out")
		case l.Bags > MostBags:
			return fault.Invalid("a line of %d bags is more than %d", l.Bags, MostBags).At(lineField(i, "bags"))
		}
		p := s.Products[at]
		a := Asked{Line: i, FromStock: min(l.Bags, packed[p.ID])}
		a.ToPack = l.Bags - a.FromStock
		packed[p.ID] -= a.FromStock
		n := made[p.ID]
		if n == nil {
			blend, err := bag.NewBlend(p, s.sweets)
			if err != nil {
				return within(err, fmt.Sprintf("product[%d]", at))
			}
			n = s.needOf(blend)
			made[p.ID] = n
		}
		if a.ToPack == 0 {
			n = nil
		} else {
			a.Kg = s.meanNeed(n, a.ToPack)
		}
		s.asked = append(s.asked, a)
		s.perBag = append(s.perBag, n)
	}
	return nil
}

// needOf works out what a bag holds, draw by draw.
func (s *shop) needOf(b bag.Blend) *need {
	n := &need{sweets: b.Pieces, kg: make([][]float64, len(b.Pieces))}
	for h := range n.kg {
		n.kg[h] = make([]float64, s.Draws)
	}
	pieceKg, massKg := make([]float64, len(s.sweets)), make([]float64, len(b.Pieces))
	for i, w := range s.sweets {
		pieceKg[i] = float64(w.Piece)
	}
	for d := range s.Draws {
		for _, k := range b.Pieces {
			if draws := s.portion(k).Draws; draws != nil {
				pieceKg[k] = draws[d]
			}
		}
		b.KgPerBag(pieceKg, massKg)
		for h, kg := range massKg {
			n.kg[h][d] = kg
		}
	}
	return n
}

func (s *shop) portion(sweet int) Portion {
	r := s.recipe[sweet]
	return s.Recipes[r].Portions[sweet-s.first[r]]
}

// meanNeed returns what so many bags hold on average.
func (s *shop) meanNeed(n *need, bags int) []Need {
	needs := make([]Need, len(n.sweets))
	for h, k := range n.sweets {
		r := s.recipe[k]
		needs[h] = Need{Recipe: r, Portion: k - s.first[r], Mass: q.Kilograms(float64(bags) * mean(n.kg[h]))}
	}
	return needs
}

func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// within puts the path of the whole before the field a fault names.
func within(err error, path string) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	if f.Field != "" {
		path += "." + f.Field
	}
	return f.At(path)
}
