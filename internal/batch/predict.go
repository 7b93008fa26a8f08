package batch

import (
	"math"
	"slices"
	"time"

	"slabside/internal/boil"
	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/roller"
)

// Prediction is what one boil will do. Values are those of the boil as intended
// and add up; ranges are those of the ensemble.
type Prediction struct {
	Charge q.Kilograms
	Boil   boil.Result // dial, water, masses, time, fuel, weighings, sources

	SoundKg     q.Estimate // sound pieces of all portions, finish included
	Pieces      q.Estimate
	EndsKg      q.Estimate
	WebKg       q.Estimate
	ScrapsKg    q.Estimate // ends and web together
	Hot         *Run       // from the pour to the last sheet, by the middle figures; nil: no slab, or beyond its models
	RollMinutes q.Estimate
	RollBand    q.Duration  // how long it stays in condition; 0: not known
	RollFits    bool        // the middle figure is rolled while the batch is in condition
	LargestRoll q.Kilograms // most on the slab the band can eat; 0: no band on file
	Portions    []Portion

	Cautions []caution.Caution // of the whole chain, the boil's first

	followed *Hot
	plan     *boil.Plan
	draws    boil.Draws
}

// Portion is what becomes of one portion. The draws are kept so that boils can be
// added: index i of every slice, in every boil of one ensemble, is one outcome.
type Portion struct {
	ID      string
	SlabKg  q.Estimate
	SoundKg q.Estimate
	Pieces  q.Estimate
	PieceG  q.Estimate  // mean piece off the rolls, before the finish
	GlassC  *q.Estimate // what it stands up to

	SlabDraws   []float64 // kg on the slab
	SoundDraws  []float64 // kg of sound pieces, finish included
	PiecesDraws []float64
}

// Predict works out one boil.
//
// Faults are those of package boil; an unknown ingredient is not found, rolls
// without a piece mass are invalid. Without rolls there are no pieces, with a
// caution.
func Predict(in Inputs) (Prediction, error) {
	plan, draws, err := in.simulate()
	if err != nil {
		return Prediction{}, err
	}
	p := Prediction{Charge: plan.Charge(), plan: plan, draws: draws}
	if p.Boil, err = plan.Result(draws); err != nil {
		return Prediction{}, err
	}
	rolling := roller.RollingOf(in.Room, in.Machine, in.Board)
	for i, d := range draws.Portions {
		p.Portions = append(p.Portions, Portion{ID: d.ID, SlabKg: p.Boil.Portions[i].MassKg,
			GlassC: p.Boil.Portions[i].GlassC, SlabDraws: d.Mass})
	}
	beyond, err := p.hotRun(in, &rolling)
	if err != nil {
		return Prediction{}, err
	}
	p.RollMinutes = p.Boil.FinishedKg.Scale(1 / rolling.Rate)
	p.RollBand = rolling.Band
	p.RollFits, p.LargestRoll = rolling.Fits(q.Kilograms(p.Boil.FinishedKg.Value)), rolling.Largest()
	if err := p.roll(in, draws); err != nil {
		return Prediction{}, err
	}
	p.Cautions = caution.Merge(p.Boil.Cautions, p.Boil.Band, in.cautions(p, rolling), beyond)
	return p, nil
}

// hotRun follows the boil to its last sheet by the middle figures, and lets how long it
// is in condition be what comes of that. What lies beyond the models of the slab is a
// caution: what the room states is then held to.
func (p *Prediction) hotRun(in Inputs, rolling *roller.Rolling) ([]caution.Caution, error) {
	if in.Slab == nil {
		return nil, nil
	}
	hot := HotOf(in, *p, *in.Slab, in.Hook)
	hot.Learned = in.Held
	h, err := PrepareHot(hot)
	if err == nil {
		var run Run
		if run, err = h.At(h.Held().Mean); err == nil {
			var most float64
			if most, err = h.largest(run); err == nil {
				p.Hot, p.followed = &run, h
				rolling.Followed, rolling.Most = true, q.Kilograms(most)
				rolling.Rate, rolling.Band = run.Rate*60, q.Duration(run.Fed.GoneS*float64(time.Second))
				return h.pullLate(run), nil
			}
		}
	}
	if fault.KindOf(err) == fault.KindInternal {
		return nil, err
	}
	why, _ := fault.Said(err)
	return []caution.Caution{{Code: CodeNoHotRun, Text: "How long it lies on the slab cannot be worked out, and the room's own times are taken: " + why + "."}}, nil
}

// Followed returns the hot run of a predicted boil, made ready; nil without one.
func (p Prediction) Followed() *Hot { return p.followed }

// Holds returns what the portions of a predicted boil are made of, by ingredient.
func (p Prediction) Holds() ([]boil.PortionHolds, error) { return p.plan.Holds(p.draws) }

// Holds returns what the portions of one boil are made of, by ingredient, without the
// figures that nobody asks for there; its faults are those of package boil.
func Holds(in Inputs) ([]boil.PortionHolds, error) {
	plan, draws, err := in.simulate()
	if err != nil {
		return nil, err
	}
	return plan.Holds(draws)
}

// roll fills in the pieces.
func (p *Prediction) roll(in Inputs, draws boil.Draws) error {
	pair, ok := in.pair()
	if !ok {
		return nil
	}
	yields, err := pair.Roll(in.portions(draws))
	if err != nil {
		return err
	}
	middles := in.portions(draws)
	for j := range middles {
		middles[j].Mass = []float64{p.Portions[j].SlabKg.Value}
	}
	mid, err := pair.Middle(middles)
	if err != nil {
		return err
	}
	n := in.ensemble().Len()
	var s boil.Ranges
	var all struct{ kg, pieces, ends, web float64 }
	kg, pieces, ends, web := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for j, y := range yields {
		part := &p.Portions[j]
		part.SoundDraws, part.PiecesDraws = y.Kg, y.Pieces
		part.SoundKg, part.Pieces = s.Of(y.Kg, mid[j].Kg[0]), whole(s.Of(y.Pieces, mid[j].Pieces[0]))
		part.PieceG = s.Of(y.PieceKg, mid[j].PieceKg[0]).Scale(1e3)
		all.kg, all.pieces = all.kg+mid[j].Kg[0], all.pieces+mid[j].Pieces[0]
		all.ends, all.web = all.ends+mid[j].Ends[0], all.web+mid[j].Web[0]
		add(kg, y.Kg)
		add(pieces, y.Pieces)
		add(ends, y.Ends)
		add(web, y.Web)
	}
	p.SoundKg, p.Pieces = s.Of(kg, all.kg), whole(s.Of(pieces, all.pieces))
	p.EndsKg, p.WebKg = s.Of(ends, all.ends), s.Of(web, all.web)
	add(ends, web)
	p.ScrapsKg = s.Of(ends, all.ends+all.web)
	if s.Err != nil {
		return fault.Internal(s.Err, "the pieces could not be summarised")
	}
	return nil
}

func add(to, what []float64) {
	for i, v := range what {
		to[i] += v
	}
}

// whole rounds a count for print; the draws stay unrounded.
func whole(e q.Estimate) q.Estimate {
	e.Value, e.Low, e.High = math.Round(e.Value), math.Round(e.Low), math.Round(e.High)
	return e
}

// Codes of the cautions given here.
const (
	CodeNoRolls  caution.Code = "no-rolls"   // no pieces are computed
	CodeNoHotRun caution.Code = "no-hot-run" // the slab lies beyond its models
)

// cautions are those of pour, slab and rolls.
func (in Inputs) cautions(p Prediction, rolling roller.Rolling) []caution.Caution {
	var out []caution.Caution
	out = append(out, caution.Of(caution.HotSugar), caution.Of(caution.Prediction), caution.Of(caution.Thermometer))
	pour := p.Boil.MassKg.Value
	tilt := in.Kettle != nil && in.Kettle.TiltStand
	if in.Room.PourAlone > 0 && pour > float64(in.Room.PourAlone) && !tilt {
		out = append(out, caution.About(caution.TwoToPour, in.Units.Mass(q.Kilograms(pour))))
	}
	out = append(out, rolling.Cautions(q.Kilograms(p.Boil.FinishedKg.Value), in.Units)...)
	pair, ok := in.pair()
	if !ok {
		return append(out, caution.Caution{Code: CodeNoRolls, Text: "no rolls are named: no pieces are computed"})
	}
	out = append(out, pair.Cautions(in.Units)...)
	out = append(out, in.rollsCautions()...)
	return out
}

// rollsCautions are those of the metal of the rolls and of hands near them.
func (in Inputs) rollsCautions() []caution.Caution {
	r := in.Rolls
	out := []caution.Caution{caution.Of(caution.Nips), caution.Of(caution.RollsIntact)}
	if in.Machine != nil && !in.Machine.Stop {
		out = append(out, caution.About(caution.StopReach, "machine "+in.Machine.Name))
	}
	acid := slices.ContainsFunc(in.Ingredients, func(i ingredient.Ingredient) bool {
		return i.Kind == ingredient.Acid && in.uses(i.ID)
	})
	if acid {
		out = append(out, caution.Of(caution.AcidDust))
	}
	if r.Material.Bare() {
		out = append(out, caution.Of(caution.BrassMagnet))
		if acid {
			out = append(out, caution.About(caution.AcidOnCopper, "rolls "+r.Name))
		}
	}
	if r.Material.AsksTest() && !r.Tested.Done() {
		out = append(out, caution.About(caution.OldMetal, "rolls "+r.Name))
	}
	return out
}

// uses reports whether the recipe boils or adds an ingredient.
func (in Inputs) uses(id string) bool {
	for _, p := range in.Recipe.Boil {
		if p.Ingredient == id {
			return true
		}
	}
	for _, a := range in.Recipe.Additions {
		if a.Ingredient == id {
			return true
		}
	}
	return false
}
