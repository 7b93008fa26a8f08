package app

import (
	"context"
	"errors"
	"slices"
	"strings"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/store"
)

// Enter writes an entry to the record of a batch, or corrects one, or takes one back.
// Faults are those of [App.MayEnter].
func (a *App) Enter(ctx context.Context, e record.Entry, corrects int64, who, why string) error {
	return a.enter(ctx, e, corrects, store.Meta{Person: who, At: a.now(), Reason: why})
}

func (a *App) enter(ctx context.Context, e record.Entry, corrects int64, m store.Meta) error {
	e, err := a.withStrength(ctx, e)
	if err != nil {
		return err
	}
	if err := a.mayEnter(ctx, e, corrects, m.Person); err != nil {
		return err
	}
	_, err = a.keeper.Enter(ctx, e, corrects, m)
	return err
}

// enterAll writes entries of one batch, none if one of them cannot be written. Each is
// an act of its own: what somebody else writes in between can still stop the later ones,
// and the fault says then what is written.
func (a *App) enterAll(ctx context.Context, list []record.Entry, who, why string) error {
	return a.enterEach(ctx, list, store.Meta{Person: who, At: a.now(), Reason: why})
}

// enterEach is enterAll for what was tapped: the tap goes with the last act, so that one
// which is broken off comes again, and finds the first ones done.
func (a *App) enterEach(ctx context.Context, list []record.Entry, m store.Meta) error {
	for _, e := range list {
		if err := a.MayEnter(ctx, e, 0); err != nil {
			return err
		}
	}
	var done []string
	for i, e := range list {
		with := m
		if i < len(list)-1 {
			with.Tap = store.Tap{}
		}
		err := a.enter(ctx, e, 0, with)
		var f *fault.Error
		switch {
		case err != nil && len(done) > 0 && errors.As(err, &f):
			return f.WithHint("%s is written down; write the rest again", strings.Join(done, ", "))
		case err != nil:
			return err
		}
		done = append(done, string(e.Kind()))
	}
	return nil
}

// MayEnter refuses what cannot be written to the record of a batch: what cannot follow
// what is kept of it, see [record.Follow], and what cannot be by the book by which it
// was begun: a batch that the kettle does not take, a scale that is not there, a kettle
// that holds more than went in, a pressure that is reduced to sea level, cook-back of a
// batch that has no record, a weighing that is none of the sheet's, a check before the flame answered with yes
// while the room's care says no.
func (a *App) MayEnter(ctx context.Context, e record.Entry, corrects int64) error {
	return a.mayEnter(ctx, e, corrects, "")
}

// mayEnter is MayEnter for what somebody writes.
func (a *App) mayEnter(ctx context.Context, e record.Entry, corrects int64, who string) error {
	if err := e.Check(); err != nil {
		return err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: e.Batch, Limit: 1})
	if err != nil {
		return err
	}
	var r record.Record
	if len(list) > 0 {
		r = list[0]
	}
	if err := record.Follow(r.Entries, e, corrects); err != nil {
		return err
	}
	if e.Checked != nil {
		return a.mayCheck(ctx, r, *e.Checked)
	}
	begun := r.Begun()
	if e.Begun != nil {
		begun = e.Begun
	}
	if begun != nil && (e.Placed != nil || e.Kind() == record.Taking) {
		return a.mayPlace(ctx, r, e, corrects)
	}
	if begun == nil || e.Begun == nil && e.Lifted == nil && e.Made == nil && e.CookedBack == nil && e.Weighed == nil {
		return nil
	}
	b, err := a.bookBegun(ctx, begun.Book)
	switch {
	case err != nil && fault.KindOf(err) == fault.KindNotFound:
		return nil // the keeper says so in its own words
	case err != nil:
		return err
	case e.Begun != nil:
		return canBoil(&b, *begun)
	case e.Made != nil:
		return knownScale(&b, e.Made.Scale, "made.scale")
	case e.Weighed != nil:
		return a.canWeigh(ctx, &b, r, *begun, *e.Weighed, corrects, who)
	case e.CookedBack != nil:
		return a.canCookBack(ctx, &b, *begun, *e.CookedBack)
	}
	return canLift(&b, *begun, *e.Lifted)
}

// bookBegun returns the book as it was, for the reader of the context.
func (a *App) bookBegun(ctx context.Context, at int64) (book.Book, error) {
	a.made.mu.Lock()
	defer a.made.mu.Unlock()
	was, err := a.bookOf(ctx, store.Head(at))
	if err != nil {
		return book.Book{}, err
	}
	b := *was
	b.Shop.Units = b.Shop.Units.With(decimalOf(ctx))
	return b, nil
}

// knownScale refuses a scale that the book does not have.
func knownScale(b *book.Book, id, field string) error {
	if id != "" && !slices.ContainsFunc(b.Scales, func(s rig.Scale) bool { return s.ID == id }) {
		return fault.NotFound("no scale %q in the shop book", fault.Clip(id, fault.Echo)).At(field)
	}
	return nil
}

// canCookBack refuses more than the kettle was charged with, and what is of a batch that
// has no record.
func (a *App) canCookBack(ctx context.Context, b *book.Book, begun record.Begun, c record.CookedBack) error {
	u := b.Shop.Units
	if c.MassMg > begun.ChargeMg {
		return fault.Invalid("%s is cooked back, and %s went into the kettle", u.Mass(q.Kilograms(kg(c.MassMg))), u.Mass(q.Kilograms(kg(begun.ChargeMg)))).At("cooked_back.mass_mg")
	}
	if c.From == "" {
		return nil
	}
	if err := a.mayCookBack(ctx, c.From); err != nil {
		return err
	}
	of, err := a.keeper.Records(ctx, store.Find{Batch: c.From, Limit: 1})
	if err == nil && (len(of) == 0 || of[0].Begun() == nil) {
		err = fault.NotFound("batch %s has no record", c.From).At("cooked_back.from").WithHint("leave the batch out if it was never written down")
	}
	if err != nil {
		return err
	}
	return a.mayBoilAgain(ctx, of[0])
}

// canLift refuses what is written of a lift that cannot be in that room.
func canLift(b *book.Book, begun record.Begun, l record.Lifted) error {
	if err := knownScale(b, l.Scale, "lifted.scale"); err != nil {
		return err
	}
	if err := canHold(b, begun, l); err != nil {
		return err
	}
	if l.StationPa == 0 {
		return nil
	}
	room := b.Room
	room.StationPressure = q.Pascals(l.StationPa)
	_, _, err := boil.Pressure(room)
	var f *fault.Error
	if errors.As(err, &f) {
		return f.At("lifted.station_pa")
	}
	return err
}

// What a kettle on the scale may say that a boil held of water at the lift [of its
// sugar]: dry matter is known to half a per cent or so, so that a dry boil may come out
// below nothing; a wetter one is no hard sweet (judgement, source key practice).
const (
	driestWeighed  = -0.01
	wettestWeighed = 0.15
)

// canHold refuses a weighing that is no boil's.
func canHold(b *book.Book, begun record.Begun, l record.Lifted) error {
	net, weighed := l.NetKg()
	if !weighed {
		return nil
	}
	u := b.Shop.Units
	slip := func(format string, a ...any) error {
		return fault.Invalid(format, a...).At("lifted.gross_mg").WithHint("look at both weights again: the full kettle, and the empty one with all that stood on the scale")
	}
	if in := float64(begun.ChargeMg) / 1e6; net > in {
		return slip("the kettle held %s, and %s went in", u.Mass(q.Kilograms(net)), u.Mass(q.Kilograms(in)))
	}
	in, err := chainOf(b, begun)
	if err != nil {
		return err
	}
	bi, err := in.Boil()
	if err != nil {
		return err
	}
	plan, err := boil.Prepare(bi)
	if err != nil {
		return err
	}
	switch water, _ := plan.AtLift().WaterByWeight(net); {
	case water > wettestWeighed:
		return slip("the kettle held %s, which would be %s of water", u.Mass(q.Kilograms(net)), u.Percent(q.Fraction(water), 0))
	case water < driestWeighed:
		return slip("the kettle held %s, which is less than the dry sugar that went in", u.Mass(q.Kilograms(net)))
	}
	return nil
}
