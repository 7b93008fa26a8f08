package app

import (
	"context"
	"fmt"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// Boil works out one boil of a recipe of the book, in its kettle and on its glass.
func (a *App) Boil(ctx context.Context, r BoilRequest) (*BoilResult, error) {
	b, _, err := a.keeper.Book(ctx)
	if err != nil {
		return nil, err
	}
	rec, ok := b.Recipe(r.Recipe)
	if !ok {
		return nil, fault.NotFound("no recipe %q in the shop book", r.Recipe).At("recipe").WithHint("slabside export recipes lists them")
	}
	kettle, err := kettleOf(&b, rec)
	if err != nil {
		return nil, err
	}
	if r.Charge == 0 {
		r.Charge = kettle.UsualCharge
	}
	if r.Charge < 0 {
		return nil, fault.Invalid("a charge of %g kg is not above zero", float64(r.Charge)).At("charge")
	}
	in, err := boilInputs(&b, rec, kettle, r.Charge)
	if err != nil {
		return nil, err
	}
	if r.To != 0 {
		in.End = boil.End{Here: r.To}
	} else if r.WaterLeft != 0 {
		in.End = boil.End{WaterLeft: r.WaterLeft}
	}
	in.Room = airOf(in.Room, r)
	out, err := boilResult(in, b.Shop.Units)
	if err != nil {
		return nil, err
	}
	if r.To == 0 && r.WaterLeft == 0 {
		out.Pieces, err = pieces(&b, rec, in)
	}
	return out, err
}

// pieces returns the sound pieces of a boil as its recipe wants it, nil if its
// rolls are not in the book.
func pieces(b *book.Book, rec recipe.Recipe, in boil.Inputs) (*q.Estimate, error) {
	rolls, ok := b.RollsOf(rec.Rolls)
	if !ok {
		return nil, nil
	}
	p, err := batch.Predict(batch.Inputs{Recipe: rec, Ingredients: b.Ingredients, Room: in.Room, Kettle: in.Kettle, Glass: in.Glass,
		Rolls: &rolls, Scales: b.Scales, Charge: in.Charge.Mass(), Index: 1})
	if err != nil {
		return nil, err
	}
	return &p.Pieces, nil
}

// BoilRaw works out one boil from amounts, without a book: no kettle, no scales,
// a glass nobody has named.
func BoilRaw(r BoilRequest) (*BoilResult, error) {
	raw := boil.Raw{Sugar: r.Sugar, Syrup: r.Syrup, SyrupDE: r.SyrupDE, SyrupSolids: r.SyrupSolids, Tartar: r.Tartar}
	if r.Water >= 0 {
		raw.Water = &r.Water
	}
	c, err := raw.Charge()
	if err != nil {
		return nil, err
	}
	in := boil.Inputs{Batch: "raw", Charge: c, End: boil.End{Here: r.To, WaterLeft: r.WaterLeft}}
	in.Room = airOf(rig.Room{}, r)
	return boilResult(in, q.Metric)
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

// boilInputs gathers what the boil room needs for one charge of a recipe.
func boilInputs(b *book.Book, rec recipe.Recipe, kettle rig.Kettle, charge q.Kilograms) (boil.Inputs, error) {
	ingredients := boil.BookOf(b.Ingredients)
	c, err := boil.Scaled(rec, ingredients, charge)
	if err != nil {
		return boil.Inputs{}, err
	}
	doses, err := boil.DosesOf(rec, ingredients)
	if err != nil {
		return boil.Inputs{}, err
	}
	glass, err := dayGlass(b)
	if err != nil {
		return boil.Inputs{}, err
	}
	return boil.Inputs{Recipe: rec.ID, Batch: rec.ID + ":1", Charge: c, End: boil.EndOf(rec), Additions: doses,
		Portions: rec.Portions, Room: b.Room, Glass: &glass, Kettle: &kettle, Scales: b.Scales, Units: b.Shop.Units}, nil
}

// readOn prints the mark to look for on a glass, to no more decimals than its
// division can be read.
func readOn(units q.System, g rig.Glass, mark q.Celsius) string {
	const coarse = 0.5 // K; a finer glass is read to tenths
	if g.Division > 0 && g.Division < coarse {
		return units.Temperature(mark, 1)
	}
	return units.Temperature(mark, 0)
}

func boilResult(in boil.Inputs, units q.System) (*BoilResult, error) {
	r, err := boil.Predict(in)
	if err != nil {
		return nil, err
	}
	out := &BoilResult{BoilC: &r.BoilC, DialC: &r.DialC, WaterFrac: &r.WaterFrac, MassKg: &r.MassKg, SolidsKg: &r.SolidsKg,
		WaterOffKg: &r.WaterOffKg, InvertFrac: r.InvertFrac, GlassC: r.GlassC, BoilTimeS: r.LitS, EnergyKWh: r.EnergyKWh,
		ChargeKg: q.Number(in.Charge.Mass()), PressurePa: q.Number(r.Pressure), Units: units,
		Weigh: []WeighLine{}, Stock: []StockSolution{}, Cautions: []Caution{}, Sources: keys(r.Sources)}
	if len(in.Scales) > 0 {
		out.Weigh, out.Stock = weighLines(r.Weighings, in.Scales, units, nil)
	}
	glass := boil.UnnamedGlass()
	if in.Glass != nil {
		glass = *in.Glass
	}
	out.MarkC, out.Read = q.Number(r.MarkC), readOn(units, glass, r.MarkC)
	for _, c := range r.Cautions {
		out.Cautions = append(out.Cautions, Caution{Code: string(c.Code), Text: c.Text})
	}
	return out, nil
}

// weighLines turns weighings into lines for people; lookup finds the ingredient
// for its lots and allergens and may be nil.
func weighLines(list []boil.Weighing, scales []rig.Scale, units q.System, lookup func(id string) (ingredient.Ingredient, bool)) ([]WeighLine, []StockSolution) {
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
				w.Name, q.Percent(w.ErrorShare, 1), units.Weight(st.OfDose, w.Resolution), w.Name, units.Weight(st.OfCarrier, w.Resolution),
				st.Carrier, q.Percent(st.Strength, 1), units.Weight(st.Weigh, w.Resolution), scaleName(scales, st.Scale))})
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
