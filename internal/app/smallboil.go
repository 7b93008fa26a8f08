package app

import (
	"fmt"
	"math"

	"slabside/internal/batch"
	"slabside/internal/book"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// SmallBoil says what a boil much smaller than a whole one can and cannot tell of it.
type SmallBoil struct {
	WholeKg  q.Number  `json:"whole_kg"` // charge of a whole boil, in the pan it is boiled in
	Tells    []string  `json:"tells"`
	TellsNot []string  `json:"tells_not"`
	AsLongS  *q.Number `json:"as_long_s"` // time of flame on which it would invert as much as a whole boil; null where it does, or nothing inverts
}

// smallShare is the share of a whole boil under which one is a trial of it: makers boil
// whole, half and third boils and know them to differ (source key practice).
const smallShare = 0.5

// Differences that a maker would see between two boils.
const (
	sameInvert = 0.005 // of the sweet
	sameStands = 1.0   // K
)

// smallBoil compares a small boil of a recipe with a whole one to the same end; nil
// where it is not small.
func (r BoilRequest) smallBoil(b *book.Book, rec recipe.Recipe, p batch.Prediction) (*SmallBoil, error) {
	kept, ok := b.Recipe(rec.ID)
	if !ok {
		return nil, nil
	}
	rec.Kettle = kept.Kettle
	kettle, err := kettleOf(b, rec)
	if err != nil || kettle.TrialsOnly || float64(p.Charge) >= smallShare*float64(kettle.UsualCharge) {
		return nil, nil // without a pan for whole boils there is nothing to compare
	}
	whole, err := r.middleOf(b, rec, kettle.UsualCharge)
	if err != nil {
		return nil, err
	}
	return compareSmall(b.Shop.Units, p, whole), nil
}

func compareSmall(u q.Reader, small, whole batch.Prediction) *SmallBoil {
	a, z := small.Boil, whole.Boil
	out := &SmallBoil{WholeKg: q.Number(whole.Charge)}
	tells := func(format string, v ...any) { out.Tells = append(out.Tells, fmt.Sprintf(format, v...)) }
	not := func(format string, v ...any) { out.TellsNot = append(out.TellsNot, fmt.Sprintf(format, v...)) }
	tells("taste, colour and sourness at these doses, which are shares of what is finished")
	if math.Abs(a.BoilC.Value-z.BoilC.Value) < sameStands {
		tells("the water that is left, and what to read on this glass for it")
	}
	if a.LitS != nil && z.LitS != nil {
		not("the time: the flame burns %s here and %s under a whole boil", u.SayTime(q.ExactOf(a.LitS.Value)), u.SayTime(q.ExactOf(z.LitS.Value)))
	}
	if e, f := a.InvertFrac, z.InvertFrac; e != nil && f != nil {
		switch {
		case math.Abs(e.Value-f.Value) < sameInvert:
			tells("the invert sugar, %s of it in both", u.Percent(q.Fraction(f.Value), 1))
		default:
			long := a.LitS.Value * f.Value / e.Value
			out.AsLongS = number(long)
			not("the invert sugar: %s here, %s in a whole boil, which is longer at the heat or shorter; on a flame that makes this one take some %s it inverts as much",
				u.Percent(q.Fraction(e.Value), 1), u.Percent(q.Fraction(f.Value), 1), u.SayTime(q.ExactOf(long)))
		}
	}
	if e, f := a.GlassC, z.GlassC; e != nil && f != nil {
		if math.Abs(e.Value-f.Value) < sameStands {
			tells("what it stands up to")
		} else {
			not("what it stands up to: %s here, %s as a whole boil", u.Temperature(q.Celsius(e.Value), 0), u.Temperature(q.Celsius(f.Value), 0))
		}
	}
	if e, f := a.AfterHeatK, z.AfterHeatK; e != nil && f != nil {
		not("when to take the flame off: the pan gives another %s here, %s under a whole boil; and ten seconds late cost %s, not %s", u.Difference(q.Kelvins(e.Value), 1), u.Difference(q.Kelvins(f.Value), 1),
			u.Difference(q.Kelvins(a.LateK.Value), 1), u.Difference(q.Kelvins(z.LateK.Value), 1))
	}
	if small.Pieces.Value > 0 && whole.Pieces.Value > 0 {
		per := func(p batch.Prediction) float64 { return p.Pieces.Value / float64(p.Charge) }
		not("what comes of it: %s pieces a kilogram here, %s of a whole boil, since the pan keeps as much and the ends are as large", u.Number(per(small), 0), u.Number(per(whole), 0))
	}
	not("browning, for a thin layer browns sooner; and the slab and the rolls, for a small batch cools sooner")
	return out
}

// number is a figure that may be missing.
func number(v float64) *q.Number {
	n := q.Number(v)
	return &n
}
