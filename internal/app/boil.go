package app

import (
	"context"
	"encoding/json"
	"fmt"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/store"
	"slabside/internal/verdict"
)

// Boil works out one boil of a recipe of the book, in its kettle and on its glass. The
// answer may be one that was given before, and is not to be changed.
func (a *App) Boil(ctx context.Context, r BoilRequest) (*BoilResult, error) {
	b, head, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	asked, err := json.Marshal(r)
	if err != nil { // a figure that is no number, which the working out tells of
		return a.BoilIn(ctx, &b, r)
	}
	key := boilKey{b.Shop.Units, string(asked)}
	a.mu.Lock()
	if a.boils.head != head {
		a.boils = boils{head: head, kept: map[boilKey]*BoilResult{}}
	}
	out := a.boils.kept[key]
	a.mu.Unlock()
	if out != nil {
		return out, nil
	}
	if out, err = a.BoilIn(ctx, &b, r); err != nil {
		return nil, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.boils.head == head && len(a.boils.kept) < keptBoils {
		a.boils.kept[key] = out
	}
	return out, nil
}

// keptBoils is how many answers are remembered of a state of the book: a page that is
// typed on asks for the kept recipe at every key, and each answer holds its draws.
const keptBoils = 16

// boils is the answers that are remembered, of one state of the book.
type boils struct {
	head store.Head
	kept map[boilKey]*BoilResult
}

// boilKey names a boil of a state of the book: for whom it is printed and what is asked.
type boilKey struct {
	units q.Reader
	asked string
}

// BoilIn works out one boil of a book as it would be, in memory, with what the kept
// records teach of it.
func (a *App) BoilIn(ctx context.Context, b *book.Book, r BoilRequest) (*BoilResult, error) {
	var err error
	if r.Taught, err = a.taught(ctx, b); err != nil {
		return nil, err
	}
	return BoilOf(b, r)
}

// BoilRaw works out one boil from amounts, without a book: no kettle, no scales,
// a glass nobody has named. It is printed for u.
func BoilRaw(r BoilRequest, u q.Reader) (*BoilResult, error) {
	raw := boil.Raw{Sugar: r.Sugar, Syrup: r.Syrup, SyrupDE: r.SyrupDE, SyrupSolids: r.SyrupSolids, Tartar: r.Tartar}
	if r.Water >= 0 {
		raw.Water = &r.Water
	}
	c, err := raw.Charge()
	if err != nil {
		return nil, err
	}
	if err := meant("sugar", c.Mass()); err != nil {
		return nil, err
	}
	in := boil.Inputs{Batch: "raw", Charge: c, End: *r.end(), Units: u}
	in.Room = airOf(rig.Room{}, r)
	p, err := boil.Predict(in)
	if err != nil {
		return nil, err
	}
	glass := boil.UnnamedGlass()
	out := boilResult(p, c.Mass(), &glass, nil, u)
	out.Verdicts = verdict.Of(verdict.Inputs{Boil: p, Room: rig.UsualRoom(0), Units: u})
	return out, nil
}

// end is where the request ends the boil, nil for where the recipe does.
func (r BoilRequest) end() *boil.End {
	if r.To == 0 && r.WaterLeft == 0 && r.StandsUp == 0 {
		return nil
	}
	return &boil.End{Here: r.To, WaterLeft: r.WaterLeft, StandsUp: r.StandsUp}
}

// airOf puts the altitude or station pressure of a request over the room's own.
func airOf(room rig.Room, r BoilRequest) rig.Room {
	if r.Altitude != nil {
		room.Altitude, room.StationPressure = *r.Altitude, 0
	}
	if r.Pressure != 0 {
		room.StationPressure = r.Pressure
	}
	return room
}

// readOn prints the mark to look for on a glass, to no more decimals than its
// division can be read.
func readOn(units q.Reader, g rig.Glass, mark q.Celsius) string {
	const coarse = 0.5 // K; a finer glass is read to tenths
	if g.Division > 0 && g.Division < coarse {
		return units.Temperature(mark, 1)
	}
	return units.Temperature(mark, 0)
}

func boilResult(r boil.Result, charge q.Kilograms, glass *rig.Glass, scales []rig.Scale, units q.Reader) *BoilResult {
	out := &BoilResult{EndWater: r.End.WaterLeft, BoilC: &r.BoilC, DialC: &r.DialC, MarkC: q.Number(r.MarkC), Read: readOn(units, *glass, r.MarkC),
		WaterFrac: &r.WaterFrac, MassKg: &r.MassKg, FinishedKg: &r.FinishedKg, SolidsKg: &r.SolidsKg,
		WaterOffKg: &r.WaterOffKg, InvertFrac: r.InvertFrac, GlassC: r.GlassC, BoilTimeS: r.LitS, EnergyKWh: r.EnergyKWh,
		ChargeKg: q.Number(charge), PressurePa: q.Number(r.Pressure), Units: units,
		Additions: additionLines(r.Additions, units), CookedBack: cookedBack(r.CookedBack), Weigh: []WeighLine{}, Stock: []StockSolution{}, Cautions: []Caution{}, Sources: source.Strings(r.Sources...)}
	if m := r.LiftMarkC; m != nil {
		mark := q.Number(*m)
		out.AfterHeatK, out.LiftC, out.LiftMarkC, out.Lift = r.AfterHeatK, r.LiftC, &mark, readOn(units, *glass, *m)
		out.LateK, out.LateWater = r.LateK, r.LateWaterFrac
	}
	out.Course = courseOf(r.Course, *glass, units)
	if len(scales) > 0 {
		out.Weigh, out.Stock = weighLines(r.Weighings, scales, units, nil)
	}
	for _, c := range r.Cautions {
		out.Cautions = append(out.Cautions, Caution{Code: string(c.Code), Text: c.Text})
	}
	return out
}

// weighLines turns weighings into lines for people; lookup finds the ingredient
// for its lots and allergens and may be nil.
func weighLines(list []boil.Weighing, scales []rig.Scale, units q.Reader, lookup func(id string) (ingredient.Ingredient, bool)) ([]WeighLine, []StockSolution) {
	lines, stock := []WeighLine{}, []StockSolution{}
	for _, w := range list {
		l := WeighLine{Stage: "kettle", Ingredient: w.Ingredient, Name: w.Name, Portion: w.Portion,
			MassKg: q.ExactOf(float64(w.Target)), Show: units.Weight(w.Rounded, w.Resolution), Fine: !w.Coarse(), Scale: "no scale named"}
		if w.Stage != "" {
			l.Stage = string(w.Stage)
		}
		if s, ok := byID(scales, w.Scale, func(s rig.Scale) string { return s.ID }); ok {
			l.Scale = s.Name
			if w.Goes > 1 {
				l.Scale = fmt.Sprintf("%s, in %d goes", s.Name, w.Goes)
			}
		}
		if lookup != nil {
			if in, ok := lookup(w.Ingredient); ok {
				l.Allergens = in.Contains
				for _, lot := range in.Lots {
					l.Lots = append(l.Lots, lot.Lot)
				}
			}
		}
		lines = append(lines, l)
		if st := w.Stock; st != nil {
			stock = append(stock, StockSolution{Ingredient: w.Ingredient, Text: fmt.Sprintf(
				"%s: half a division of the scale is %s of this dose. Make a stock solution of %s %s in %s %s (%s), label it, and weigh %s of it on %s",
				w.Name, units.Percent(w.ErrorShare, 1), units.Weight(st.OfDose, w.Resolution), w.Name, units.Weight(st.OfCarrier, w.Resolution),
				st.Carrier, units.Percent(st.Strength, 1), units.Weight(st.Weigh, w.Resolution), scaleName(scales, st.Scale))})
		}
	}
	return lines, stock
}

func scaleName(scales []rig.Scale, id string) string {
	if s, ok := byID(scales, id, func(s rig.Scale) string { return s.ID }); ok {
		return s.Name
	}
	return id
}
