package roller

import (
	"fmt"
	"math"

	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// Codes of the cautions given here.
const (
	CodeLossEdge caution.Code = "loss-edge"    // a piece outside the sizes the loss is known for
	CodeRollTime caution.Code = "rolling-time" // a boil the rolls cannot eat in time
)

// DefaultPieceSD is the spread of a pair's mean piece where none is on file:
// setting and thickness of the sheet (data model of the rolls).
const DefaultPieceSD = 0.03

// Air kept by pulled pieces after the rolls, as a share of their volume: 5 to
// 12 % (source key practice), half of the spread the habit of a recipe, half of
// a boil.
const (
	DefaultAir = 0.085
	airHalf    = 0.035
)

// finishSD is the spread of what dusting or sanding leaves, as a share of it (judgement).
const finishSD = 0.25

// ninety turns a half-width between the 5 % and 95 % points into standard deviations.
const ninety = 1.6448536269514722

// Pair is a pair of rolls at work on a recipe in one boil.
type Pair struct {
	Rolls      rig.Rolls
	Recipe     string // id; names the draws that belong to a recipe
	Batch      string // names the draws of this boil alone
	FinishGain q.Fraction
	Ensemble   numeric.Ensemble
}

// Portion is a portion as it goes to the rolls.
type Portion struct {
	ID   string
	Work recipe.Work
	Air  q.Fraction // of a pulled portion; 0: DefaultAir
	Mass []float64  // kg on the slab, a draw each
}

// Yield is what a portion makes: index i of every slice is one possible outcome.
type Yield struct {
	Portion string
	Kg      []float64 // sound pieces, finish included
	Pieces  []float64 // their number, not rounded
	Ends    []float64 // kg of bar ends
	Web     []float64 // kg of web, chips and dust
	PieceKg []float64 // mean mass of a piece as it leaves the rolls, before the finish
}

// Roll returns what a boil's portions make, in their order.
//
//	sound = (mass − ends) (1 − loss)
//	pieces = sound / [clear piece (1 − air)]
//	kg = sound (1 + finish gain)
//
// The pair's mean piece, its loss and the shop's ends have columns shared by all
// boils; each boil adds its own scatter.
func (p Pair) Roll(portions []Portion) ([]Yield, error) {
	clear := float64(p.Rolls.PieceMass())
	if !(clear > 0) {
		return nil, noPiece(p.Rolls)
	}
	air := make([][]float64, len(portions))
	for j, portion := range portions {
		air[j] = p.air(portion)
	}
	return p.roll(portions, p.columns(), air, clear)
}

// Middle returns what the portions make when nothing is off: every portion's Mass
// holds one figure, and so does every answer.
func (p Pair) Middle(portions []Portion) ([]Yield, error) {
	clear := float64(p.Rolls.PieceMass())
	if !(clear > 0) {
		return nil, noPiece(p.Rolls)
	}
	air := make([][]float64, len(portions))
	for j, portion := range portions {
		air[j] = []float64{portion.midAir()}
	}
	return p.roll(portions, columns{piece: []float64{0}, loss: []float64{1}, ends: []float64{0.5}, finish: []float64{0}}, air, clear)
}

// roll works the portions out, a draw at a time.
func (p Pair) roll(portions []Portion, c columns, airs [][]float64, clear float64) ([]Yield, error) {
	out := make([]Yield, len(portions))
	whole := make([]float64, len(c.piece))
	for _, portion := range portions {
		if len(portion.Mass) != len(whole) {
			return nil, fault.Internal(nil, "portion %q has %d draws, not %d", portion.ID, len(portion.Mass), len(whole))
		}
		for i, m := range portion.Mass {
			whole[i] += m
		}
	}
	sd := float64(p.Rolls.PieceSD)
	if sd == 0 {
		sd = DefaultPieceSD
	}
	for j, portion := range portions {
		air, n := airs[j], len(whole)
		y := Yield{Portion: portion.ID, Kg: make([]float64, n), Pieces: make([]float64, n),
			Ends: make([]float64, n), Web: make([]float64, n), PieceKg: make([]float64, n)}
		for i, mass := range portion.Mass {
			if whole[i] > 0 {
				y.Ends[i] = ends(whole[i], c.ends[i]) * mass / whole[i]
			}
			rolled := mass - y.Ends[i]
			y.PieceKg[i] = clear * math.Max(1+sd*c.piece[i], 0.5) * (1 - air[i])
			mid, _ := Loss(q.Kilograms(y.PieceKg[i]))
			loss := math.Min(float64(mid)*c.loss[i], 0.9)
			y.Web[i] = rolled * loss
			sound := rolled - y.Web[i]
			y.Pieces[i] = sound / y.PieceKg[i]
			y.Kg[i] = sound * (1 + float64(p.FinishGain)*math.Max(1+finishSD*c.finish[i], 0))
		}
		out[j] = y
	}
	return out, nil
}

func noPiece(r rig.Rolls) error {
	return fault.Invalid("the rolls %q have no piece mass", r.ID).At("rolls").
		WithHint("give the mass of a piece or the pieces to the pound")
}

// columns is one error of the rolls each; loss is a factor, ends a place between 0 and 1.
type columns struct{ piece, loss, ends, finish []float64 }

func (p Pair) columns() columns {
	e := p.Ensemble
	batch, pair := "batch:"+p.Batch, "rolls:"+p.Rolls.ID
	c := columns{
		piece:  e.Normal(pair + ":piece"),
		loss:   e.Normal(pair + ":loss"),
		ends:   e.Normal("shop:ends"),
		finish: e.Normal("recipe:" + p.Recipe + ":finish"),
	}
	loss, end := e.Normal(batch+":loss"), e.Normal(batch+":ends")
	for i := range c.loss {
		c.loss[i] = math.Exp(lossLogSD*c.loss[i] + lossBatchLogSD*loss[i])
		// Two normal errors of equal weight, bent back to an even spread.
		c.ends[i] = 0.5 * math.Erfc(-(c.ends[i]+end[i])/2)
	}
	return c
}

// midAir returns the air of a portion's pieces as intended.
func (p Portion) midAir() float64 {
	switch {
	case p.Work != recipe.Pulled:
		return 0
	case p.Air == 0:
		return DefaultAir
	}
	return float64(p.Air)
}

// air returns the air kept by a portion's pieces, a draw each; none in clear ones.
func (p Pair) air(portion Portion) []float64 {
	out := make([]float64, p.Ensemble.Len())
	if portion.Work != recipe.Pulled {
		return out
	}
	mid := portion.midAir()
	name := p.Recipe + ":air:" + portion.ID
	habit := p.Ensemble.Normal("recipe:" + name)
	boil := p.Ensemble.Normal("batch:" + p.Batch + ":air:" + portion.ID)
	for i := range out {
		z := (habit[i] + boil[i]) / math.Sqrt2
		out[i] = math.Min(math.Max(mid+z*airHalf/ninety, 0), 0.5)
	}
	return out
}

// Cautions returns what is to be said of a pair's pieces.
func (p Pair) Cautions(say q.Reader) []caution.Caution {
	if _, edge := Loss(p.Rolls.PieceMass()); edge {
		return []caution.Caution{lossCaution(p.Rolls.PieceMass(), say)}
	}
	return nil
}

func lossCaution(piece q.Kilograms, say q.Reader) caution.Caution {
	return caution.Caution{Code: CodeLossEdge, Text: fmt.Sprintf(
		"a piece of %s is outside the %s to %s for which a loss is known: the nearest figure is used; weigh this shop's own scrap", say.Mass(piece), say.Mass(0.0009), say.Mass(0.0045))}
}

// Count is how many pieces a mass makes.
type Count struct {
	Pieces   q.Estimate
	Cautions []caution.Caution
}

// Pieces returns how many pieces of a mass a mass of finished sweet makes. A loss
// that is given is exact, and so is the answer; without one (loss nil) the loss
// by size of piece is used with its range. Counts are rounded to whole pieces.
func Pieces(mass, piece q.Kilograms, loss *q.Fraction) (Count, error) {
	switch {
	case !(mass >= 0) || math.IsInf(float64(mass), 0):
		return Count{}, fault.Invalid("a mass of %g kg is not zero or more", float64(mass)).At("mass")
	case !(piece > 0) || math.IsInf(float64(piece), 0):
		return Count{}, fault.Invalid("a piece of %g g is not above zero", piece.Grams()).At("piece")
	}
	whole := float64(mass) / float64(piece)
	if loss != nil {
		if !(*loss >= 0 && *loss <= 1) {
			return Count{}, fault.Invalid("a loss of %s is not between 0 %% and 100 %%", q.Plain.Percent(*loss, 2)).At("loss")
		}
		return Count{Pieces: q.ExactOf(math.Round(whole * (1 - float64(*loss))))}, nil
	}
	mid, edge := Loss(piece)
	spread := math.Exp(ninety * math.Hypot(lossLogSD, lossBatchLogSD))
	c := Count{Pieces: q.Estimate{
		Value: math.Round(whole * (1 - float64(mid))),
		Low:   math.Round(whole * (1 - float64(mid)*spread)),
		High:  math.Round(whole * (1 - float64(mid)/spread)),
		Basis: q.Estimated,
	}}
	if edge {
		c.Cautions = append(c.Cautions, lossCaution(piece, q.Plain))
	}
	return c, nil
}
