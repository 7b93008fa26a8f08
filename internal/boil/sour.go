package boil

import (
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

// EquallySour is how much of one acid makes a sweet as sour as another.
type EquallySour struct {
	Times     q.Estimate // of the mass as weighed, by the tongue
	Titration float64    // the same by titration, of the mass as weighed
}

// sourness is the mass of an acid, dry, that is as sour as one of citric acid: 0.8 to
// 0.9 of tartaric or malic (source key practice). False where nobody has a figure.
func sourness(a ingredient.Sour) (low, value, high float64, ok bool) {
	switch a {
	case ingredient.Citric:
		return 1, 1, 1, true
	case ingredient.Tartaric, ingredient.Malic:
		return 0.8, 0.85, 0.9, true
	}
	return 0, 0, 0, false
}

// SourOf returns which acid an acid of the shop is: citric unless it says.
func SourOf(in ingredient.Ingredient) ingredient.Sour {
	if in.Acid == "" && in.Kind == ingredient.Acid {
		return ingredient.Citric
	}
	return in.Acid
}

// EqualSour returns how much of an acid is as sour as another, as both are weighed: their
// dry matter tells an anhydrous acid from a monohydrate. Titration weighs acids by the
// hydrogens they give; that comes out too sour with tartaric and malic acid, so it is
// told and not used (source key practice).
//
// Faults: invalid for what is no acid, for a buffered one and for an acid whose sourness
// nobody has put into a figure.
func EqualSour(from, to ingredient.Ingredient) (EquallySour, error) {
	var out EquallySour
	for _, in := range []ingredient.Ingredient{from, to} {
		switch _, _, _, ok := sourness(SourOf(in)); {
		case in.Kind != ingredient.Acid || in.Solids <= 0:
			return out, fault.Invalid("%s is no acid", in.Name).WithHint("choose an ingredient of the kind acid")
		case in.Neutralised > 0:
			return out, fault.Invalid("%s is buffered: there is no figure for how sour it is", in.Name).WithHint("taste it against the plain acid")
		case !ok:
			return out, fault.Invalid("there is no figure for how sour %s acid is", string(SourOf(in))).WithHint("citric, tartaric and malic acid have one; taste it against one of them")
		}
	}
	fromLow, fromMid, fromHigh, _ := sourness(SourOf(from))
	toLow, toMid, toHigh, _ := sourness(SourOf(to))
	weighed := float64(from.Solids / to.Solids)
	out.Times = q.Estimate{Value: weighed * toMid / fromMid, Low: weighed * toLow / fromHigh, High: weighed * toHigh / fromLow, Basis: q.Estimated}
	if SourOf(from) == SourOf(to) {
		out.Times = q.ExactOf(weighed)
	}
	a, _ := acidOf(from)
	b, _ := acidOf(to)
	out.Titration = weighed * b.Equivalent() / a.Equivalent()
	return out, nil
}
