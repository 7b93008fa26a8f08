package app

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// Codes of the cautions of readings.
const (
	codeAsShown   = "as-shown"   // readings are uncorrected
	codeTwoValues = "two-values" // set aside
	codeMore      = "more-readings"
)

// mostPosted is how many readings come in one posting.
const mostPosted = 10_000

// mostReadings is how many readings are listed at once, and mostOfBatch how many of a batch.
const (
	mostReadings = 5_000
	mostOfBatch  = 100_000
)

// ReadingPost is a reading as somebody brings it in.
type ReadingPost struct {
	Probe string        // id of the thermometer
	In    string        // where it looked
	Batch string        // number of the batch; empty: found by time and place
	At    time.Time     // by the sender's clock; zero: now
	Value float64       // in Unit
	Unit  string        // C or F; empty: C
	Ahead time.Duration // how far the sender's clock is ahead
}

// ReadingsAdded is what became of readings that came in.
type ReadingsAdded struct {
	reading.Counts
	Cautions []Caution `json:"cautions"`
}

// AddReadings keeps readings of thermometers, all or none; they are on the disk when it
// returns. What is there already is passed over, another value for the same thermometer
// and time is set aside. Whoever watches is told.
//
// Faults, at "readings[i]." and the field: Invalid for what cannot be meant, NotFound for a
// thermometer or a batch that is not in the book.
func (a *App) AddReadings(ctx context.Context, posts []ReadingPost, by reading.Source, who string) (*ReadingsAdded, error) {
	if len(posts) == 0 || len(posts) > mostPosted {
		return nil, fault.Invalid("%d readings cannot be taken at once", len(posts)).At("readings").WithHint("send 1 to %d", mostPosted)
	}
	now := a.now()
	list := make([]reading.Reading, len(posts))
	for i, p := range posts {
		r, err := p.reading(now)
		if err != nil {
			return nil, atReading(err, i)
		}
		r.Source, r.By = by, who
		list[i] = r
	}
	return a.addReadings(ctx, list)
}

// atReading names the reading of a list that a fault is of.
func atReading(err error, i int) error {
	var f *fault.Error
	if errors.As(err, &f) && f.Field != "" {
		return f.At(fmt.Sprintf("readings[%d].%s", i, f.Field))
	}
	return err
}

// reading is what is meant by a posting.
func (p ReadingPost) reading(now time.Time) (reading.Reading, error) {
	place, err := reading.ParsePlace(p.In)
	if err != nil {
		return reading.Reading{}, err
	}
	unit, err := reading.ParseUnit(p.Unit)
	if err != nil {
		return reading.Reading{}, err
	}
	if p.Ahead.Abs() > reading.MostClock {
		return reading.Reading{}, fault.Invalid("a clock is not off by %s", p.Ahead).At("clock_ahead_ms").WithHint("set it")
	}
	at := now
	if !p.At.IsZero() {
		at = p.At.Add(-p.Ahead)
	}
	return reading.Reading{Probe: p.Probe, At: at, C: unit.ToC(p.Value), In: place, Batch: p.Batch, Received: now}, nil
}

func (a *App) addReadings(ctx context.Context, list []reading.Reading) (*ReadingsAdded, error) {
	n, err := a.keeper.AddReadings(ctx, list)
	if err != nil {
		return nil, err
	}
	if n.Kept+n.SetAside > 0 {
		a.tellReadings(ctx, list)
	}
	return &ReadingsAdded{n, setAsideCaution(n.SetAside)}, nil
}

func setAsideCaution(n int) []Caution {
	if n == 0 {
		return []Caution{}
	}
	return []Caution{{Code: codeTwoValues, Text: fmt.Sprintf("%d came with another value than the same thermometer had at the same time: set aside, the first stands", n)}}
}

// ReadingQuery says which readings are looked for; what is empty does not matter.
type ReadingQuery struct {
	Probe, In string
	Batch     string    // said to be of it, or found to be by time and place
	From, To  time.Time // measured from the first on and before the second
	After     string    // the Next of the list before
	Limit     int
}

// ReadingLine is one reading in a list.
type ReadingLine struct {
	Probe    string         `json:"probe"`
	Name     string         `json:"name"` // of the thermometer
	At       time.Time      `json:"at"`   // in the book's time zone
	C        float64        `json:"c"`    // as it was shown
	In       reading.Place  `json:"in"`
	Batch    string         `json:"batch,omitempty"` // that it was said to be of
	Source   reading.Source `json:"source"`
	By       string         `json:"by"`
	Received time.Time      `json:"received"`
	SetAside int            `json:"set_aside"` // 0: it stands
}

// ReadingsResult is a list of readings, by time.
type ReadingsResult struct {
	Batch    string        `json:"batch,omitempty"`
	Readings []ReadingLine `json:"readings"`
	Next     string        `json:"next,omitempty"` // what to give as after for those that follow
	Cautions []Caution     `json:"cautions"`

	Units q.Reader       `json:"-"`
	Zone  *time.Location `json:"-"`
}

// Readings lists readings by time.
//
// Faults: Invalid at the name of the field, NotFound for a batch that was never begun.
func (a *App) Readings(ctx context.Context, r ReadingQuery) (*ReadingsResult, error) {
	f := store.FindReadings{Probe: r.Probe, From: r.From, To: r.To, Limit: r.Limit + 1}
	if r.Limit < 1 || r.Limit > mostReadings {
		return nil, fault.Invalid("a list gives 1 to %d readings at once", mostReadings).At("limit")
	}
	var err error
	if r.In != "" {
		if f.In, err = reading.ParsePlace(r.In); err != nil {
			return nil, err
		}
	}
	if r.After != "" {
		if f.After, err = parseKey(r.After); err != nil {
			return nil, err
		}
	}
	var list []reading.Kept
	if r.Batch == "" {
		list, err = a.keeper.Readings(ctx, f)
	} else if list, err = a.readingsOf(ctx, r.Batch, time.Time{}); err == nil {
		list = slices.DeleteFunc(list, func(k reading.Kept) bool { return !isFound(k, f) })
	}
	if err != nil {
		return nil, err
	}
	more := len(list) > r.Limit
	list = list[:min(len(list), r.Limit)]
	out, err := a.listReadings(ctx, list)
	if err != nil {
		return nil, err
	}
	out.Batch = r.Batch
	if more {
		out.Next = printKey(list[len(list)-1])
	}
	return out, nil
}

// isFound reports whether a reading is one of those that are looked for, the batch apart.
func isFound(k reading.Kept, f store.FindReadings) bool {
	return (f.Probe == "" || k.Probe == f.Probe) && (f.In == "" || k.In == f.In) &&
		!k.At.Before(f.From) && (f.To.IsZero() || k.At.Before(f.To)) &&
		(f.After == nil || reading.Compare(k, reading.Kept{Reading: reading.Reading{At: f.After.At, Probe: f.After.Probe}, N: f.After.N}) > 0)
}

// ReadingsOf returns the readings of a batch from a time on, zero for all: those that are
// said to be of it, and of those that say none the ones that fall into its time at the
// place where they look. NotFound for a batch that was never begun.
func (a *App) ReadingsOf(ctx context.Context, batch string, since time.Time) (*ReadingsResult, error) {
	list, err := a.readingsOf(ctx, batch, since)
	if err != nil {
		return nil, err
	}
	out, err := a.listReadings(ctx, list)
	if err != nil {
		return nil, err
	}
	out.Batch = batch
	if len(list) == mostOfBatch {
		out.Cautions = append(out.Cautions, Caution{Code: codeMore, Text: fmt.Sprintf("only the first %d readings of the batch are here", mostOfBatch)})
	}
	return out, nil
}

func (a *App) readingsOf(ctx context.Context, batch string, since time.Time) ([]reading.Kept, error) {
	own, err := a.spanOf(ctx, batch)
	if err != nil {
		return nil, err
	}
	said, err := a.pages(ctx, store.FindReadings{Batch: batch, From: since}, func(reading.Kept) bool { return true })
	if err != nil || !own.known() {
		return said, err
	}
	from := own.from
	if since.After(from) {
		from = since
	}
	found, err := a.pages(ctx, store.FindReadings{From: from, To: own.end}, func(k reading.Kept) bool { return k.Batch == "" && own.holds(k.In, k.At) })
	if err != nil {
		return nil, err
	}
	all := append(said, found...)
	slices.SortFunc(all, reading.Compare)
	return all[:min(len(all), mostOfBatch)], nil
}

// pages reads all readings that are looked for page by page, as far as they are wanted.
func (a *App) pages(ctx context.Context, f store.FindReadings, want func(reading.Kept) bool) ([]reading.Kept, error) {
	f.Limit = mostReadings
	var out []reading.Kept
	for len(out) < mostOfBatch {
		page, err := a.keeper.Readings(ctx, f)
		if err != nil {
			return nil, err
		}
		for _, k := range page {
			if want(k) && len(out) < mostOfBatch {
				out = append(out, k)
			}
		}
		if len(page) < f.Limit {
			break
		}
		key := store.KeyOf(page[len(page)-1])
		f.After = &key
	}
	return out, nil
}

// listReadings lays readings out.
func (a *App) listReadings(ctx context.Context, list []reading.Kept) (*ReadingsResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	zone := zoneOf(&b)
	out := &ReadingsResult{Readings: make([]ReadingLine, 0, len(list)), Cautions: []Caution{}, Units: b.Shop.Units, Zone: zone}
	names := map[string]string{}
	aside := 0
	for _, k := range list {
		if names[k.Probe] == "" {
			names[k.Probe] = cmp.Or(entry.NameOf(&b, store.KindGlass, k.Probe), k.Probe)
		}
		if k.N > 0 {
			aside++
		}
		out.Readings = append(out.Readings, ReadingLine{Probe: k.Probe, Name: names[k.Probe], At: k.At.In(zone), C: k.C, In: k.In, Batch: k.Batch,
			Source: k.Source, By: k.By, Received: k.Received.In(zone), SetAside: k.N})
	}
	if len(list) > 0 {
		out.Cautions = append(out.Cautions, Caution{Code: codeAsShown, Text: "these are what the thermometers showed, uncorrected: what a thermometer is off by is not taken off"})
	}
	out.Cautions = append(out.Cautions, setAsideCaution(aside)...)
	return out, nil
}
