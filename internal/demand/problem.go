package demand

import (
	q "slabside/internal/quantity"

	"slabside/internal/bag"
)

// Problem is what is to be made, what is there already, and what a boil gives.
type Problem struct {
	Today    string // date a line without a due date is due; empty: before all others
	Lines    []Line
	Stock    []Stock
	Products []bag.Product
	Recipes  []Recipe

	// Draws is the number of draws of Yield and of the piece masses, at least
	// [LeastDraws]. Draw d of every one of them belongs to the same possible day.
	Draws int
	Yield Yield
}

// LeastDraws is the smallest number of draws a 95 % cover is read from.
const LeastDraws = 512

// Yield returns the mass of good pieces that a boil of the recipe gives [kg],
// portion by portion and draw by draw: scraps and siftings taken off, what a
// finish adds put on. The recipe is an index into Problem.Recipes, the charge is
// all that goes into the kettle, and index counts the boils of the recipe from
// 0, so that every boil can have errors of its own beside those it shares.
type Yield func(recipe int, charge q.Kilograms, index int) (kgPerPortion [][]float64, err error)

// Recipe is what the boils of a recipe are made of, as far as covering asks.
type Recipe struct {
	ID       string
	Portions []Portion

	LeastCharge q.Kilograms // of its kettle
	UsualCharge q.Kilograms // of its kettle: a whole boil
	// MostCharge caps a charge below the usual one, where a pull would be more
	// than the hook takes or rolling longer than the batch stays in condition. 0: no cap.
	MostCharge q.Kilograms
}

// Portion is one colour of a recipe.
type Portion struct {
	ID    string
	Share q.Fraction  // of the recipe's finished mass
	Piece q.Kilograms // mean mass of a finished piece
	Draws []float64   // the same, draw by draw [kg]; nil: no spread
}

// The confidences a plan is held to: a must-line is covered in 95 of 100
// possible days, a should-line as expected.
const (
	MustCover   = 0.95
	ShouldCover = 0.50
)

// Limits of what is taken for a meant entry.
const (
	MostBags  = 100_000 // in one line; more is a slip of the key
	MostBoils = 100     // of one recipe
)

// Result is what [Cover] found.
type Result struct {
	Lines   []Asked   // in order of priority
	Recipes []Reasons // one a recipe of the problem
	Best    LotPlan
	Others  []LotPlan // up to [MostOthers], fewest boils first, then least left over
}

// MostOthers is how many other lot plans are kept.
const MostOthers = 10

// Asked is a line in its place, net of the packed bags that serve it.
type Asked struct {
	Line      int // index into Problem.Lines
	FromStock int // packed bags that serve it
	ToPack    int // bags still to be packed
	Kg        []Need
}

// Need is what the bags still to be packed hold of one sweet, on average. Loose
// stock is not taken off.
type Need struct {
	Recipe, Portion int // indices into Problem.Recipes and its Portions
	Mass            q.Kilograms
}

// LotPlan is a set of boils that covers every line.
type LotPlan struct {
	Lots     []Lot // one a recipe of the problem
	Boils    int
	LeftOver q.Kilograms // expected, of all recipes
	Lines    []LineNeeds // parallel to Result.Lines
}

// Lot is the boils of one recipe.
type Lot struct {
	Charges  []q.Kilograms // largest first; none: nothing to boil
	Odd      bool          // a charge is none of the standard sizes
	Chance   Chance
	LeftOver q.Kilograms // expected, all portions
	Portions []LeftOver  // one a portion
}

// Chance is how surely the boils of a recipe cover, in every portion at once,
// what the must-lines need and what all lines need, loose stock taken off.
type Chance struct {
	Must, All float64
}

// covers reports whether the chances are what a plan is held to. The draws are
// counted, so the comparison forgives only the rounding of the quotient.
func (c Chance) covers() bool {
	return c.Must >= MustCover-1e-12 && c.All >= ShouldCover-1e-12
}

// LeftOver is what a portion leaves beyond all lines.
type LeftOver struct {
	Portion   string
	Mean      q.Kilograms
	Low, High q.Kilograms // 5 % and 95 % points
}

// LineNeeds says how many boils of each recipe, in the order of the lot's
// charges, a line waits for. Both lists have one entry a recipe.
type LineNeeds struct {
	// Needs covers this line and all before it, at this line's own confidence;
	// it never falls from a line to the next.
	Needs []int
	// Own is Needs for the recipes the line's product is made of, and 0 for the others.
	Own []int
}

// Reasons is why a recipe gets the boils it gets.
type Reasons struct {
	Sizes  []q.Kilograms // standard sizes allowed, largest first
	Capped bool          // the cap took a standard size away

	Must, All []q.Kilograms // expected need of every portion, loose stock taken off

	// Fewer is the chance with one boil fewer, all of them as large as allowed;
	// nil where there is nothing to boil.
	Fewer *Chance
	// Smaller holds, for every size in the best lot that has a smaller one, the
	// chance with one such boil a size smaller.
	Smaller []Smaller
	// OddLot is a lot with an odd charge that leaves less or takes fewer boils
	// than the best lot of standard sizes; nil where there is none.
	OddLot *Lot
	// OddLess is how much less OddLot leaves over; negative if more.
	OddLess q.Kilograms
}

// Smaller is a step down from one charge to the next smaller size.
type Smaller struct {
	From, To q.Kilograms
	Chance   Chance
}
