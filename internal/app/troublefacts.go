package app

import (
	"context"
	"slices"
	"time"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/trouble"
	"slabside/internal/verdict"
)

// factsOf returns what the options of a batch hang on, by the book by which it was begun.
// A book that cannot be read leaves what went in unknown, which closes most.
func (a *App) factsOf(ctx context.Context, r record.Record) trouble.Facts {
	f := trouble.Facts{Lifted: r.Lifted() != nil || r.Made() != nil}
	begun := r.Begun()
	if begun == nil {
		return f
	}
	b, err := a.bookBegun(ctx, begun.Book)
	if err != nil {
		return f
	}
	f.Units = b.Shop.Units
	rec, _ := b.Recipe(begun.Recipe)
	for _, id := range rec.KettleIngredients() {
		in, _ := b.Ingredient(id)
		f.Sours = f.Sours || in.Kind == ingredient.Doctor
	}
	contains, _ := allergensIn(&b, rec)
	for _, id := range strangers(rec, r) {
		in, ok := b.Ingredient(id)
		f.WentIn = append(f.WentIn, nameOr(in.Name, id))
		f.Unknown = f.Unknown || !ok || !in.Stated() && in.Kind != ingredient.Water
		for _, x := range in.Contains {
			if !slices.Contains(contains, x) && !slices.Contains(f.Brings, x) {
				f.Brings = append(f.Brings, x)
			}
		}
	}
	return f
}

func nameOr(name, id string) string {
	if name == "" {
		return id
	}
	return name
}

// strangers are the ingredients that were weighed for a batch and are not of its recipe.
func strangers(rec recipe.Recipe, r record.Record) []string {
	var out []string
	for _, k := range r.All(record.Weighing) {
		if id := k.Weighed.Ingredient; !slices.Contains(rec.Ingredients(), id) && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// evidenceOf gathers what record, prediction and book say of a batch. With a fault it is
// what is written alone.
func (a *App) evidenceOf(ctx context.Context, b *book.Book, res *RecordResult) (trouble.Evidence, error) {
	r, begun := res.record, *res.Begun
	e := trouble.Evidence{Units: b.Shop.Units, Humidity: b.Room.Humidity, Charge: q.Kilograms(kg(begun.ChargeMg)), PourAlone: b.Room.PourAlone}
	evidenceOfChecks(&e, r)
	evidenceOfTimes(&e, r)
	if g, ok := byID(b.Glasses, begun.Glass, func(g rig.Glass) string { return g.ID }); ok {
		e.Glass = g.Name
		if n := len(g.Checks); n > 0 {
			if found, err := boil.FoundBy(g, n-1, b.Room); err == nil {
				e.GlassOff, e.GlassSure = &found.Off, found.Allowed
			}
		}
	}
	if err := a.evidenceOfBefore(ctx, b, r, &e); err != nil {
		return e, err
	}
	was, err := a.bookBegun(ctx, begun.Book)
	if err != nil {
		return e, err
	}
	evidenceOfWeighing(&e, &was, begun, r)
	if res.Planned != nil {
		e.Sheet, e.Planned, e.Lit = res.Planned.ReadC, res.Planned.WaterFrac, res.Planned.FlameS
	}
	if res.Became != nil {
		e.Water = res.Became.WaterFrac
	}
	return e, evidenceOfBoil(&e, &was, begun)
}

// evidenceOfChecks reads what was looked at and found.
func evidenceOfChecks(e *trouble.Evidence, r record.Record) {
	c := r.Checked()
	for _, x := range c.Refused() {
		says := "before the flame, " + CheckName(x) + ": no"
		switch x {
		case record.RollsWhole:
			e.RollsBad = append(e.RollsBad, says)
		case record.GlassWhole:
			e.GlassBad = append(e.GlassBad, says)
		case record.MachineSeated, record.GuardsOn, record.StopWorks:
			e.StopBad = append(e.StopBad, says)
		}
	}
	after := record.After{}
	if a := r.After(); a != nil {
		after = *a
	}
	if after.Rolls == record.No {
		e.RollsBad = append(e.RollsBad, "after the last sheet, rolls whole: no")
	}
	if after.Glass == record.No {
		e.GlassBad = append(e.GlassBad, "after the last sheet, glass whole: no")
	}
	for _, k := range r.All(record.Finding) {
		says := "found, " + string(k.Found.Of) + ": " + k.Found.What + ", " + k.Found.Where
		switch k.Found.Of {
		case record.OfGlass:
			e.GlassBad = append(e.GlassBad, says)
		case record.OfMetal:
			e.Metal = append(e.Metal, says)
		default:
			e.OtherBad = append(e.OtherBad, says)
		}
	}
	for _, x := range []record.Item{record.RollsWhole, record.GlassWhole} {
		if c.Of(x).Says == "" {
			e.Unlooked = append(e.Unlooked, "before the flame it is not answered: "+CheckName(x))
		}
	}
	if after == (record.After{}) {
		e.Unlooked = append(e.Unlooked, "rolls and glass were not looked at after the last sheet")
	}
}

// evidenceOfTimes reads how long flame, wait and slab took.
func evidenceOfTimes(e *trouble.Evidence, r record.Record) {
	l, m := r.Lifted(), r.Made()
	if l == nil {
		l = &record.Lifted{}
	}
	if m == nil {
		m = &record.Made{}
	}
	if l.ReadC != 0 {
		read := q.Celsius(l.ReadC)
		e.Read = &read
	}
	if e.Flame = between(l.LitAt, l.LiftedAt); l.FlameS > 0 {
		d := q.Duration(time.Duration(l.FlameS) * time.Second)
		e.Flame = &d
	}
	e.Waited, e.Slab = between(l.LiftedAt, m.PouredAt), between(m.PouredAt, m.RolledFrom)
}

// between returns the time from one time of day to another; nil if one is not written or
// they run backwards.
func between(from, to string) *q.Duration {
	a, err := time.Parse("15:04", from)
	b, err2 := time.Parse("15:04", to)
	if err != nil || err2 != nil || b.Before(a) {
		return nil
	}
	d := q.Duration(b.Sub(a))
	return &d
}

// evidenceOfBefore reads what earlier batches brought into this one.
func (a *App) evidenceOfBefore(ctx context.Context, b *book.Book, r record.Record, e *trouble.Evidence) error {
	for _, k := range r.All(record.CookingBack) {
		back := trouble.Back{Mass: q.Kilograms(kg(k.CookedBack.MassMg)), From: k.CookedBack.From}
		if back.From != "" {
			of, err := a.recordFold(ctx, back.From)
			if err != nil {
				return err
			}
			back.Grained = slices.Contains(trouble.What(of), record.DidGrain) || slices.ContainsFunc(of.All(record.Tasting), func(k record.Kept) bool {
				return slices.Contains(k.Tasted.Words, record.Grained)
			})
		}
		e.Back = append(e.Back, back)
	}
	list, err := a.grained(ctx, b, r.Begun().On)
	if err != nil {
		return err
	}
	for _, g := range list {
		if numberIn(g.Batch) < numberIn(r.ID) {
			e.Unwashed = append(e.Unwashed, g.Batch)
		}
	}
	return nil
}

// evidenceOfWeighing reads what was weighed beside what the sheet has.
func evidenceOfWeighing(e *trouble.Evidence, b *book.Book, begun record.Begun, r record.Record) {
	rec, ok := b.Recipe(begun.Recipe)
	if !ok {
		return
	}
	named := func(id string) string {
		in, _ := b.Ingredient(id)
		return nameOr(in.Name, id)
	}
	strange := strangers(rec, r)
	for _, k := range r.All(record.Weighing) {
		w := k.Weighed
		in, _ := b.Ingredient(w.Ingredient)
		if w.Stage == "" && in.Kind == ingredient.Acid && !slices.Contains(rec.KettleIngredients(), w.Ingredient) {
			e.Acids = append(e.Acids, named(w.Ingredient))
		}
		switch {
		case w.Instead != "":
			e.Put = append(e.Put, trouble.Put{Name: named(w.Ingredient), Instead: named(w.Instead), Why: w.Why})
		case slices.Contains(strange, w.Ingredient):
			e.Put = append(e.Put, trouble.Put{Name: named(w.Ingredient)})
		}
		if name := named(w.Ingredient); in.Kind.Sours() && w.Lot != "" && !w.Scanned && !slices.Contains(e.Picked, name) {
			e.Picked = append(e.Picked, name)
		}
	}
	if k, ok := b.Kettle(begun.Kettle); ok {
		e.Whole, e.Least, e.TiltStand = k.UsualCharge, k.LeastCharge, k.TiltStand
	}
}

// evidenceOfBoil reads what the boil was to be.
func evidenceOfBoil(e *trouble.Evidence, b *book.Book, begun record.Begun) error {
	in, err := chainOf(b, begun)
	if err != nil {
		return err
	}
	in.Ensemble, in.Units = numeric.NewEnsemble(planDraws, planSeed), e.Units
	whole, err := batch.Predict(in)
	if err != nil {
		return err
	}
	p := whole.Boil
	e.Browns, e.Heavy = p.Browns, q.Kilograms(p.MassKg.Value)
	if e.Invert = p.InvertFrac; p.Doctored && p.DoctorFrac.Value <= boil.Trace {
		e.Sticky = boil.InvertSticks
	}
	for _, v := range verdictsOf(p, in.Room, in.Recipe, e.Units).List {
		if v.Question == verdict.Grains && v.Answer != verdict.NotKnown {
			e.Grain, e.Says = trouble.Risk(v.Answer), v.Text
		}
	}
	if len(p.Additions) > 0 && p.FinishedKg.Value > 0 {
		water := -p.WaterFrac.Value * (p.MassKg.Value - p.SmearKg.Value)
		for _, x := range p.Portions {
			water += x.WaterFrac.Value * x.MassKg.Value
		}
		brought := q.Fraction(max(0, water/p.FinishedKg.Value))
		e.Coloured = &brought
	}
	return nil
}
