package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"time"

	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// AddReadings implements store.Keeper.
func (k *Keeper) AddReadings(ctx context.Context, list []reading.Reading) (reading.Counts, error) {
	all := make([]reading.Reading, len(list))
	for i, r := range list {
		all[i] = r.Rounded()
		if err := all[i].Check(); err != nil {
			return reading.Counts{}, ofReading(err, i)
		}
	}
	var n reading.Counts
	if len(all) == 0 {
		return n, nil
	}
	err := k.write(ctx, "keep readings", func(w *writer) error {
		if w.head == 0 {
			return k.empty()
		}
		in := readings{w: w, probes: map[string]int64{}, batches: map[string]bool{"": true}}
		if err := in.prepare(); err != nil {
			return err
		}
		for i, r := range all {
			if err := in.add(r, &n); err != nil {
				return ofReading(err, i)
			}
		}
		return nil
	})
	if err != nil {
		return reading.Counts{}, err
	}
	return n, nil
}

// ofReading names the reading of a list that a fault is of.
func ofReading(err error, i int) error {
	if f, ok := err.(*fault.Error); ok && f.Field != "" {
		return f.At(fmt.Sprintf("readings[%d].%s", i, f.Field))
	}
	return err
}

// readings puts readings into the table. What it has looked up it need not look up again.
type readings struct {
	w           *writer
	look, write *sql.Stmt
	probes      map[string]int64
	batches     map[string]bool
}

func (in *readings) prepare() (err error) {
	if in.look, err = in.w.tx.PrepareContext(in.w.ctx, qReadingsAt); err == nil {
		in.write, err = in.w.tx.PrepareContext(in.w.ctx, qAddReading)
	}
	return err
}

// add keeps one reading, and counts what became of it.
func (in *readings) add(r reading.Reading, n *reading.Counts) error {
	probe, err := in.probe(r.Probe)
	if err == nil {
		err = in.batch(r.Batch)
	}
	if err != nil {
		return err
	}
	rows, err := in.look.QueryContext(in.w.ctx, probe, r.At.UnixMilli())
	if err != nil {
		return err
	}
	defer rows.Close()
	kept := 0
	for rows.Next() {
		var c int64
		var place string
		if err := rows.Scan(&c, &place); err != nil {
			return err
		}
		if r.Same(reading.Reading{C: reading.FromMilli(c), In: reading.Place(place)}) {
			n.Repeated++
			return nil
		}
		kept++
	}
	if err := rows.Err(); err != nil {
		return err
	}
	if kept > 0 {
		n.SetAside++
	} else {
		n.Kept++
	}
	return in.insert(probe, reading.Kept{Reading: r, N: kept})
}

func (in *readings) insert(probe int64, k reading.Kept) error {
	_, err := in.write.ExecContext(in.w.ctx, probe, k.At.UnixMilli(), k.N, k.MilliC(), string(k.In), k.Batch, string(k.Source), k.By, k.Received.UnixMilli())
	return err
}

// probe finds the thermometer of the shop book, in use or not any more.
func (in *readings) probe(slug string) (int64, error) {
	if id, ok := in.probes[slug]; ok {
		return id, nil
	}
	t, err := in.w.thing(store.Name{Kind: store.KindGlass, Slug: slug})
	if err == nil && t.id == 0 {
		err = fault.NotFound("no thermometer %q in the shop book", fault.Clip(slug, fault.Echo)).At("probe").WithHint("add it to the book, or correct the id")
	}
	in.probes[slug] = t.id
	return t.id, err
}

func (in *readings) batch(id string) error {
	if in.batches[id] {
		return nil
	}
	var n int
	if err := in.w.tx.QueryRowContext(in.w.ctx, qHasBatch, id).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return fault.NotFound("batch %q has no record", fault.Clip(id, fault.Echo)).At("batch").WithHint("begin one, or leave the batch out")
	}
	in.batches[id] = true
	return nil
}

// Reading implements store.Sink.
func (w *writer) Reading(k reading.Kept) error {
	if w.readings == nil {
		w.readings = &readings{w: w, probes: map[string]int64{}}
		if err := w.readings.prepare(); err != nil {
			return err
		}
	}
	probe, err := w.readings.probe(k.Probe)
	if err != nil {
		return err
	}
	return w.readings.insert(probe, k)
}

// Readings implements store.Keeper.
func (k *Keeper) Readings(ctx context.Context, f store.FindReadings) ([]reading.Kept, error) {
	if f.Limit < 1 {
		return nil, fault.Invalid("%d readings cannot be listed", f.Limit).At("limit")
	}
	from, to := int64(0), int64(math.MaxInt64)
	if !f.From.IsZero() {
		from = f.From.UnixMilli()
	}
	if !f.To.IsZero() {
		to = f.To.UnixMilli()
	}
	after := store.ReadingKey{At: time.UnixMilli(-1)}
	if f.After != nil {
		after = *f.After
		from = max(from, after.At.UnixMilli())
	}
	query, of := qReadings, f.Probe
	args := []any{f.Probe}
	if f.Batch != "" {
		query, args = qBatchReadings, []any{f.Batch, of}
	}
	args = append(args, string(f.In), from, to, f.Standing, after.At.UnixMilli(), after.Probe, after.N, f.Limit)
	var out []reading.Kept
	err := k.read(ctx, "read the readings", func(tx *sql.Tx) error {
		return eachReading(ctx, tx, query, args, func(r reading.Kept, _ string) error {
			out = append(out, r)
			return nil
		})
	})
	return out, err
}

// eachReading calls fn for each reading of a query, with the kind of thing it is of.
func eachReading(ctx context.Context, q querier, query string, args []any, fn func(k reading.Kept, kind string) error) error {
	return each(ctx, q, query, args, func(scan func(...any) error) error {
		var k reading.Kept
		var at, received, c int64
		var kind, place, source string
		if err := scan(&kind, &k.Probe, &at, &k.N, &c, &place, &k.Batch, &source, &k.By, &received); err != nil {
			return err
		}
		k.At, k.Received, k.C = time.UnixMilli(at).UTC(), time.UnixMilli(received).UTC(), reading.FromMilli(c)
		k.In, k.Source = reading.Place(place), reading.Source(source)
		return fn(k, kind)
	})
}

// readings looks through the readings: whether each can be meant, is of a thermometer and
// a batch of the book, and stands in its order.
func (v *verifier) readings() error {
	return eachReading(v.ctx, v.tx, qAllReadings, nil, func(k reading.Kept, kind string) error {
		v.audit.Readings++
		where := fmt.Sprintf("reading of %s at %s", k.Probe, k.At.Format(time.RFC3339Nano))
		if kind != store.KindGlass {
			v.say(where, "it is of no thermometer but of the kind %s", fault.Clip(kind, fault.Echo))
			return nil
		}
		v.sayAll(where, v.state.Reading(k))
		return nil
	})
}
