package app

import (
	"context"
	"fmt"
	"math"
	"slices"

	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/store"
	"slabside/internal/trouble"
)

// Codes of the cautions of what a batch came to.
const (
	codeUnaccounted = "unaccounted"  // more is missing than the kettle keeps
	codeMoreWritten = "more-written" // more is written than there was
	codeMoreUsed    = "more-used"    // more is cooked back than that batch kept
	codeGrainedBack = "grained-back" // of a batch that grained
)

// MadeLine is what a batch was to make beside what it made.
type MadeLine struct {
	What    string     `json:"what"` // pieces, sound, scraps
	Unit    string     `json:"unit"` // pieces, kg
	Planned q.Estimate `json:"planned"`
	Made    *q.Number  `json:"made"` // null: not written
	Off     bool       `json:"off"`  // outside the range
}

// Balance holds what was in the kettle against all that is written of it. Nothing is
// taken off to make it come out: what is missing stands as unaccounted.
type Balance struct {
	LiftKg        q.Estimate    `json:"lift_kg"`         // in the kettle at the lift
	Weighed       bool          `json:"weighed"`         // else as it was planned
	AddedKg       q.Estimate    `json:"added_kg"`        // after it, by the recipe: additions less what flashes off, and the finish
	Written       []BalanceLine `json:"written"`         // all that was weighed
	UnaccountedKg q.Estimate    `json:"unaccounted_kg"`  // with the uncertainty of the scales
	KettleKeepsKg q.Estimate    `json:"kettle_keeps_kg"` // of it, by the book: what is left in the kettle
}

// BalanceLine is a mass that is written.
type BalanceLine struct {
	What string   `json:"what"` // sound, ends, web, siftings, left, waste
	Kg   q.Number `json:"kg"`
}

// madeLines puts what was planned beside what is written.
func madeLines(p batch.Prediction, m *record.Made) []MadeLine {
	if p.SoundKg == (q.Estimate{}) { // no rolls
		return []MadeLine{}
	}
	if m == nil {
		m = &record.Made{}
	}
	line := func(what, unit string, plan q.Estimate, made float64, written bool) MadeLine {
		l := MadeLine{What: what, Unit: unit, Planned: plan}
		if written {
			n := q.Number(made)
			l.Made, l.Off = &n, made < plan.Low || made > plan.High
		}
		return l
	}
	pieces, counted := m.PieceCount()
	return []MadeLine{
		line("pieces", "pieces", p.Pieces, math.Round(pieces), counted),
		line("sound", "kg", p.SoundKg, kg(m.SoundMg), m.SoundMg > 0),
		line("scraps", "kg", p.ScrapsKg, kg(m.RolledScrapsMg()), m.RolledScrapsMg() > 0),
	}
}

func kg(mg int64) float64 { return float64(mg) / 1e6 }

// finishSD is the spread of what dusting or sanding leaves, as a share of it (judgement,
// as the rolls' part of the plan has it).
const finishSD = 0.25

// ninety turns a standard deviation into the half-width between the 5 % and 95 % points.
const ninety = 1.6448536269514722

// balanceOf strikes the balance; nil without the sound pieces on the scale.
func balanceOf(b *book.Book, in batch.Inputs, p batch.Prediction, l *record.Lifted, m *record.Made) *Balance {
	if m == nil || m.SoundMg == 0 {
		return nil
	}
	out := &Balance{LiftKg: p.Boil.MassKg, KettleKeepsKg: p.Boil.SmearKg, Written: []BalanceLine{}}
	sd := (p.Boil.MassKg.High - p.Boil.MassKg.Low) / 2 / ninety
	if l != nil {
		if net, ok := l.NetKg(); ok {
			out.LiftKg, out.Weighed = q.ExactOf(net), true
			sd = readingSD(stepOf(b, l.Scale))
			if l.EmptyMg > 0 {
				sd *= math.Sqrt2
			}
		}
	}
	variance := sd * sd
	added := p.Boil.FinishedKg.Value - p.Boil.MassKg.Value + p.Boil.SmearKg.Value
	finish := 0.0
	if gain := float64(in.Recipe.FinishGain); gain > 0 {
		finish = kg(m.SoundMg) * gain / (1 + gain)
	}
	out.AddedKg = q.Estimate{Value: added + finish, Low: added + finish*(1-ninety*finishSD), High: added + finish*(1+ninety*finishSD), Basis: q.Estimated}
	variance += finish * finishSD * finish * finishSD

	left := out.LiftKg.Value + out.AddedKg.Value
	reading := readingSD(stepOf(b, m.Scale))
	for _, x := range []struct {
		what string
		mg   int64
	}{{"sound", m.SoundMg}, {"ends", m.EndsMg}, {"web", m.WebMg}, {"siftings", m.SiftingsMg}, {"left", m.LeftMg}, {"waste", m.WasteMg}} {
		if x.mg > 0 {
			out.Written = append(out.Written, BalanceLine{x.what, q.Number(kg(x.mg))})
			left -= kg(x.mg)
			variance += reading * reading
		}
	}
	half := ninety * math.Sqrt(variance)
	out.UnaccountedKg = q.Estimate{Value: left, Low: left - half, High: left + half, Basis: q.Estimated}
	return out
}

// readingSD is the standard deviation of a reading on a scale of a step: anywhere within
// half a step of it (JCGM 100:2008, 4.3.7: a rectangle).
func readingSD(step float64) float64 { return step / math.Sqrt(12) }

// stepOf returns the step of a scale [kg], the coarsest of the room where it is not said
// which.
func stepOf(b *book.Book, id string) float64 {
	if s, ok := byID(b.Scales, id, func(s rig.Scale) string { return s.ID }); ok {
		return float64(s.Resolution)
	}
	coarsest := 0.0
	for _, s := range b.Scales {
		coarsest = math.Max(coarsest, float64(s.Resolution))
	}
	return coarsest
}

// balanceCautions say what a balance tells beyond the scales.
func balanceCautions(u q.Reader, x *Balance) []Caution {
	switch {
	case x == nil:
		return nil
	case x.UnaccountedKg.Low > x.KettleKeepsKg.High:
		return []Caution{{Code: codeUnaccounted, Text: fmt.Sprintf("written nowhere: %s; the kettle keeps: %s; look for what was not weighed", u.SayMass(x.UnaccountedKg), u.SayMass(x.KettleKeepsKg))}}
	case x.UnaccountedKg.High < 0:
		return []Caution{{Code: codeMoreWritten, Text: "more is written than was there: look at the weights again"}}
	}
	return nil
}

// cookedBackCautions are those of the scraps that went in: what they bring of allergens,
// and whether their batch kept so much.
func (a *App) cookedBackCautions(ctx context.Context, b *book.Book, r record.Record) ([]Caution, error) {
	list := r.All(record.CookingBack)
	if len(list) == 0 {
		return nil, nil
	}
	out := []Caution{{Code: string(caution.CookBack), Text: caution.Text(caution.CookBack)}}
	rec, ok := b.Recipe(r.Begun().Recipe)
	used := map[string]int64{}
	for _, k := range list {
		used[k.CookedBack.From] += k.CookedBack.MassMg
	}
	for _, k := range list {
		from := k.CookedBack.From
		mg, first := used[from]
		delete(used, from)
		if from == "" || !first {
			continue
		}
		of, err := a.keeper.Records(ctx, store.Find{Batch: from, Limit: 1})
		if err != nil {
			return nil, err
		}
		if len(of) == 0 || of[0].Begun() == nil {
			continue
		}
		if why := leavesOf(b, rec, of[0].Begun().Recipe); ok && why != "" {
			c := caution.About(caution.CookBackAllergens, "batch "+from+" ("+why+")")
			out = append(out, Caution{Code: string(c.Code), Text: c.Text})
		}
		if slices.Contains(trouble.What(of[0]), record.DidGrain) {
			out = append(out, Caution{Code: codeGrainedBack, Text: fmt.Sprintf("batch %s grained: only if it was dissolved in water to a clear syrup, for one crystal seeds this batch; look at it through a glass before it goes in", from)})
		}
		if m := of[0].Made(); m != nil && mg > m.CookBackMg {
			out = append(out, Caution{Code: codeMoreUsed, Text: fmt.Sprintf("%s of batch %s is cooked back, and its record keeps %s for that", b.Shop.Units.Mass(q.Kilograms(kg(mg))), from, b.Shop.Units.Mass(q.Kilograms(kg(m.CookBackMg))))})
		}
	}
	return out, nil
}
