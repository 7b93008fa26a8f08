package app

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// NoteAsked is what a person wants written down of a batch: what is nil or empty was
// not looked at.
type NoteAsked struct {
	Read         *q.Celsius   // on the glass at the lift
	Gross, Empty *q.Kilograms // kettle and sugar on the scale, and the kettle alone
	Scale        string       // id
	Flame        *q.Duration
	Pressure     *q.Pascals // at the station

	Moisture, Sure *q.Fraction // of the whole, and ±
	Of, Method     string

	Pull, FirstSheet, LastSheet *q.Celsius
	Probe                       *q.Kelvins // ± of the thermometer

	Work WorkAsked // what was done around it
}

// noteNames are the names that a note is asked by, by the field of the record.
var noteNames = map[string]string{
	"lifted": "scale", "lifted.read_c": "read", "lifted.gross_mg": "gross", "lifted.scale": "scale", "lifted.flame_s": "flame", "lifted.station_pa": "pressure",
	"moisture": "method", "moisture.water_frac": "moisture", "moisture.sure_frac": "sure", "moisture.of": "of",
	"worked": "pull", "worked.pull_c": "pull", "worked.roll_c": "first-sheet", "worked.last_c": "last-sheet", "worked.sure_k": "probe",
	"corrects": "corrects",
}

// NoteFault names what was asked for instead of the field of the record it fills, with
// dash before it.
func NoteFault(err error, dash string) error {
	var f *fault.Error
	if errors.As(err, &f) {
		name, ok := noteNames[f.Field]
		if !ok {
			name, ok = workNames[f.Field]
		}
		switch {
		case f.Kind == fault.KindConflict && slices.Contains(record.Kinds(), record.Kind(f.Field)):
			return f.At("") // of the whole entry
		case ok:
			return f.At(dash + name)
		case strings.HasPrefix(f.Field, "checked."):
			return f.At(dash + "check")
		}
	}
	return err
}

// Entries returns an entry for each kind of thing that is to be written down. Dash is
// written before the names in faults.
//
// Faults: Invalid for nothing at all, for what says nothing alone, for what is not above
// zero, and those of [record.Entry.Check].
func (n NoteAsked) Entries(batch, dash string) ([]record.Entry, error) {
	if err := n.check(dash); err != nil {
		return nil, err
	}
	var out []record.Entry
	scale := n.Scale
	if n.Gross == nil {
		scale = "" // it is of what was made
	}
	if n.Read != nil || n.Gross != nil || n.Flame != nil || n.Pressure != nil || n.Work.LitAt+n.Work.LiftedAt != "" {
		out = append(out, record.Entry{Batch: batch, Lifted: &record.Lifted{
			ReadC: float64(or(n.Read, 0)), GrossMg: or(n.Gross, 0).Milligrams(), EmptyMg: or(n.Empty, 0).Milligrams(), Scale: scale,
			FlameS: int64(math.Round(time.Duration(or(n.Flame, 0)).Seconds())), StationPa: float64(or(n.Pressure, 0)),
			LitAt: n.Work.LitAt, LiftedAt: n.Work.LiftedAt}})
	}
	if n.Moisture != nil {
		out = append(out, record.Entry{Batch: batch, Moisture: &record.Moisture{Of: record.Sample(n.Of), WaterFrac: float64(*n.Moisture), SureFrac: float64(or(n.Sure, 0)), Method: n.Method}})
	}
	if n.Pull != nil || n.FirstSheet != nil || n.LastSheet != nil {
		out = append(out, record.Entry{Batch: batch, Worked: &record.Worked{
			PullC: float64(or(n.Pull, 0)), RollC: float64(or(n.FirstSheet, 0)), LastC: float64(or(n.LastSheet, 0)), SureK: float64(or(n.Probe, 0))}})
	}
	work, err := n.Work.entries(batch, n.Scale, dash)
	if err != nil {
		return nil, err
	}
	if out = append(out, work...); len(out) == 0 {
		return nil, fault.Invalid("nothing is said of the batch").WithHint("the lift: %[1]sread, %[1]sgross, %[1]sflame; a moisture: %[1]smoisture; the slab and the rolls: %[1]spull, %[1]sfirst-sheet; what came of it: %[1]ssound, %[1]spieces; before the flame: %[1]scheck", dash)
	}
	if n.Work.Sign != nil && len(out) > 1 {
		return nil, fault.Invalid("%ssign goes with nothing else", dash).WithHint("write the rest down first, look at the record, and sign it then")
	}
	for _, e := range out {
		if err := e.Check(); err != nil {
			return nil, NoteFault(err, dash)
		}
	}
	return out, nil
}

// above is a figure that must be above zero.
type above struct {
	name  string
	value float64
}

func (n NoteAsked) check(dash string) error {
	worked := n.Pull != nil || n.FirstSheet != nil || n.LastSheet != nil
	for _, f := range append(n.Work.given(), []given{
		{"empty", "gross", n.Empty != nil, n.Gross != nil}, {"scale", "gross", n.Scale != "", n.Gross != nil || n.Work.weighed()},
		{"sure", "moisture", n.Sure != nil, n.Moisture != nil}, {"of", "moisture", n.Of != "", n.Moisture != nil}, {"method", "moisture", n.Method != "", n.Moisture != nil},
		{"probe", "pull", n.Probe != nil, worked},
	}...) {
		if f.given && !f.there {
			return fault.Invalid("%s%s without %s%s", dash, f.name, dash, f.of).WithHint("say both, or leave both out")
		}
	}
	for _, f := range append(n.Work.above(), []above{
		{"read", float64(or(n.Read, 1))}, {"gross", float64(or(n.Gross, 1))}, {"empty", float64(or(n.Empty, 1))}, {"flame", float64(or(n.Flame, 1))},
		{"pressure", float64(or(n.Pressure, 1))}, {"moisture", float64(or(n.Moisture, 1))}, {"sure", float64(or(n.Sure, 1))}, {"pull", float64(or(n.Pull, 1))},
		{"first-sheet", float64(or(n.FirstSheet, 1))}, {"last-sheet", float64(or(n.LastSheet, 1))}, {"probe", float64(or(n.Probe, 1))},
	}...) {
		if !(f.value > 0) {
			return fault.Invalid("%s%s is not above zero", dash, f.name).WithHint("write more than zero, or leave out what was not looked at")
		}
	}
	return nil
}

// Writing is what is to be written to the record of a batch, read and checked as far as
// it can be without the book.
type Writing struct {
	list     []record.Entry
	corrects int64
}

// ReadNote reads what is to be written to the record of a batch: a note, one in place of
// what an act wrote, or the taking back of that; 0 is no act. Dash is written before the
// names in faults.
//
// Faults: Invalid for what does not go together, and those of [NoteAsked.Entries].
func ReadNote(batch string, n NoteAsked, corrects, takeBack int64, dash string) (Writing, error) {
	if err := record.CheckID(batch); err != nil {
		return Writing{}, err
	}
	if takeBack != 0 {
		if corrects != 0 || !reflect.ValueOf(n).IsZero() {
			return Writing{}, fault.Invalid("%stake-back goes with nothing else", dash).WithHint("take it back alone, or write %scorrects and what is right", dash)
		}
		return Writing{[]record.Entry{{Batch: batch}}, takeBack}, nil
	}
	list, err := n.Entries(batch, dash)
	if err == nil && corrects != 0 && len(list) > 1 {
		err = fault.Invalid("one act is corrected by one kind of entry").At(dash + "corrects").WithHint("the lift, the slab and the rolls, or another, alone")
	}
	return Writing{list, corrects}, err
}

// Write writes it: all or, as far as can be seen before, nothing.
func (a *App) Write(ctx context.Context, w Writing, who, why string) error {
	if len(w.list) == 1 {
		return a.Enter(ctx, w.list[0], w.corrects, who, why)
	}
	return a.enterAll(ctx, w.list, who, why)
}
