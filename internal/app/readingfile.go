package app

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// LoggerRequest is a file that a logger wrote, and how it is to be read.
type LoggerRequest struct {
	Name  string // in faults
	From  io.Reader
	Probe string
	In    string
	Batch string // empty: found by time and place

	TimeColumn, ValueColumn string        // name or number from 1; empty: found
	Unit                    string        // C or F; empty: as the file says, else C
	Dates                   string        // day-first or month-first; empty: found
	Zone                    string        // of times that say none; empty: the book's
	Overlap                 string        // first or second, where the clocks go back; empty: found
	Ahead                   time.Duration // how far the logger's clock was ahead
	Look                    bool          // keep nothing

	Source reading.Source // empty: a logger
}

// LoggerResult is what a logger's file is taken for and what became of it.
type LoggerResult struct {
	reading.File
	Probe    string        `json:"probe"`
	In       reading.Place `json:"in"`
	Batch    string        `json:"batch,omitempty"`
	N        int           `json:"n"` // readings in it
	First    time.Time     `json:"first"`
	Last     time.Time     `json:"last"`
	LowestC  float64       `json:"lowest_c"`
	HighestC float64       `json:"highest_c"`
	Looked   bool          `json:"only_looked_at"` // nothing was kept; the counts are what would become of it
	reading.Counts
	Shown    []LoggerRow `json:"shown"` // the first few
	Cautions []Caution   `json:"cautions"`

	Units q.Reader `json:"-"`
}

// LoggerRow is a reading of a file, as it was read.
type LoggerRow struct {
	Line int       `json:"line"`
	At   time.Time `json:"at"`
	C    float64   `json:"c"`
}

// mostShown is how many readings of a file are shown.
const mostShown = 8

// ReadLogger reads a logger's file and keeps its readings, all or none; with Look it only
// says what would be kept.
//
// Faults: Problems at "name:line, column x" for lines that cannot be meant, at the name of
// the field for what is asked; NotFound for a thermometer or a batch that is not there.
func (a *App) ReadLogger(ctx context.Context, r LoggerRequest, who string) (*LoggerResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	layout, place, err := r.layout(zoneOf(&b))
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(r.From, reading.MostFile+1))
	if err != nil {
		return nil, fault.Internal(err, "%s could not be read", r.Name)
	}
	file, faults := reading.ReadFile(r.Name, data, layout)
	if len(faults) > 0 {
		return nil, Problems(faults)
	}
	list, err := r.readings(file, place, a.now(), who)
	if err != nil {
		return nil, err
	}
	zone := zoneOf(&b)
	out := &LoggerResult{File: *file, Probe: r.Probe, In: place, Batch: r.Batch, N: len(list), First: list[0].At.In(zone), Last: list[0].At.In(zone),
		LowestC: list[0].C, HighestC: list[0].C, Looked: r.Look, Shown: []LoggerRow{}, Units: b.Shop.Units}
	for i, x := range list {
		if x.At.Before(out.First) {
			out.First = x.At.In(zone)
		}
		if x.At.After(out.Last) {
			out.Last = x.At.In(zone)
		}
		out.LowestC, out.HighestC = min(out.LowestC, x.C), max(out.HighestC, x.C)
		if i < mostShown {
			out.Shown = append(out.Shown, LoggerRow{file.Rows[i].Line, x.At.In(zone), x.C})
		}
	}
	if r.Look {
		out.Counts, err = a.wouldKeep(ctx, list)
	} else {
		var n *ReadingsAdded
		if n, err = a.addReadings(ctx, list); err == nil {
			out.Counts = n.Counts
		}
	}
	out.Cautions = setAsideCaution(out.SetAside)
	return out, notOfLine(err)
}

// layout is how the file is to be read.
func (r LoggerRequest) layout(zone *time.Location) (reading.Layout, reading.Place, error) {
	l := reading.Layout{TimeColumn: r.TimeColumn, ValueColumn: r.ValueColumn, Dates: reading.DateOrder(r.Dates), Overlap: reading.Overlap(r.Overlap), Zone: zone, Ahead: r.Ahead}
	place, err := reading.ParsePlace(r.In)
	if err == nil && r.Unit != "" {
		l.Unit, err = reading.ParseUnit(r.Unit)
	}
	if err != nil {
		return l, place, err
	}
	if r.Zone != "" {
		if l.Zone, err = time.LoadLocation(r.Zone); err != nil || r.Zone == "Local" {
			return l, place, fault.Invalid("%q is no time zone that is known", fault.Clip(r.Zone, fault.Echo)).At("zone").WithHint("write it as Europe/Paris or UTC")
		}
	}
	switch {
	case r.Dates != "" && l.Dates != reading.DayFirst && l.Dates != reading.MonthFirst:
		return l, place, fault.Invalid("%q is no order of day and month", fault.Clip(r.Dates, fault.Echo)).At("dates").WithHint("%s or %s", reading.DayFirst, reading.MonthFirst)
	case r.Overlap != "" && l.Overlap != reading.First && l.Overlap != reading.Second:
		return l, place, fault.Invalid("%q is neither of the two", fault.Clip(r.Overlap, fault.Echo)).At("overlap").WithHint("%s or %s", reading.First, reading.Second)
	case r.Ahead.Abs() > reading.MostClock:
		return l, place, fault.Invalid("a clock is not off by %s", r.Ahead).At("ahead").WithHint("set it")
	}
	return l, place, nil
}

// readings makes readings of the rows of a file; each that cannot be meant is a problem at
// its line.
func (r LoggerRequest) readings(f *reading.File, in reading.Place, now time.Time, who string) ([]reading.Reading, error) {
	var p Problems
	list := make([]reading.Reading, len(f.Rows))
	for i, row := range f.Rows {
		x := reading.Reading{Probe: r.Probe, At: row.At, C: row.C, In: in, Batch: r.Batch, Source: cmp.Or(r.Source, reading.Logged), By: who, Received: now}
		list[i] = x.Rounded()
		var e *fault.Error
		if err := list[i].Check(); errors.As(err, &e) {
			switch e.Field {
			case "value":
				e = e.At(fmt.Sprintf("%s:%d, column %s", r.Name, row.Line, f.ValueColumn))
			case "at":
				e = e.At(fmt.Sprintf("%s:%d, column %s", r.Name, row.Line, f.TimeColumn))
			default: // of all lines alike
				return nil, e
			}
			if p = append(p, e); len(p) == mostProblems {
				break
			}
		}
	}
	if len(p) > 0 {
		return nil, p
	}
	return list, nil
}

// mostProblems is how many wrong lines of a file are told.
const mostProblems = 20

// wouldKeep counts what would become of readings of one thermometer, and keeps none.
func (a *App) wouldKeep(ctx context.Context, list []reading.Reading) (reading.Counts, error) {
	var n reading.Counts
	first, last := list[0].At, list[0].At
	for _, r := range list {
		if r.At.Before(first) {
			first = r.At
		}
		if r.At.After(last) {
			last = r.At
		}
	}
	if err := a.knowsProbe(ctx, list[0].Probe); err != nil {
		return n, err
	}
	if list[0].Batch != "" {
		if _, err := a.spanOf(ctx, list[0].Batch); err != nil {
			return n, err
		}
	}
	at := map[int64][]reading.Reading{}
	f := store.FindReadings{Probe: list[0].Probe, From: first, To: last.Add(time.Millisecond), Limit: mostReadings}
	for {
		page, err := a.keeper.Readings(ctx, f)
		if err != nil {
			return n, err
		}
		for _, k := range page {
			at[k.At.UnixMilli()] = append(at[k.At.UnixMilli()], k.Reading)
		}
		if len(page) < f.Limit {
			break
		}
		key := store.KeyOf(page[len(page)-1])
		f.After = &key
	}
	for _, r := range list {
		ms := r.At.UnixMilli()
		same := false
		for _, x := range at[ms] {
			same = same || r.Same(x)
		}
		switch {
		case same:
			n.Repeated++
			continue
		case len(at[ms]) > 0:
			n.SetAside++
		default:
			n.Kept++
		}
		at[ms] = append(at[ms], r)
	}
	return n, nil
}

// knowsProbe refuses a thermometer that never was in the book.
func (a *App) knowsProbe(ctx context.Context, probe string) error {
	_, err := a.keeper.Versions(ctx, store.KindGlass, probe, 0, 1)
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		return fault.NotFound("no thermometer %q in the shop book", fault.Clip(probe, fault.Echo)).At("probe").WithHint("add it to the book, or correct the id")
	}
	return err
}

// notOfLine names the field of a fault that is of all lines alike.
func notOfLine(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) || f.Field == "" {
		return err
	}
	var i int
	var field string
	if n, _ := fmt.Sscanf(f.Field, "readings[%d].%s", &i, &field); n == 2 {
		return f.At(field)
	}
	return err
}

// Span is how long a file's readings reach [s].
func (r *LoggerResult) Span() float64 { return math.Round(r.Last.Sub(r.First).Seconds()) }
