package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/record"
	"slabside/internal/store"
)

// BookAt implements store.Keeper.
func (k *Keeper) BookAt(ctx context.Context, at store.Head) (book.Book, store.Head, error) {
	b := book.Book{Format: book.Format}
	var last store.Head
	err := k.read(ctx, "read the shop book as it was", func(tx *sql.Tx) error {
		head, _, err := headOf(ctx, tx)
		if err != nil {
			return err
		}
		if at < 1 || at > head {
			return fault.NotFound("the shop book was never in state %d", at)
		}
		return each(ctx, tx, qHeadsAt, []any{int64(at)}, func(scan func(...any) error) error {
			var kind, slug, sum string
			var body []byte
			var act int64
			if err := scan(&kind, &slug, &body, &sum, &act); err != nil {
				return err
			}
			if store.Sum(body) != sum {
				return damaged(k.path).WithCause(errors.New("the sum of " + kind + " " + slug + " does not match"))
			}
			last = max(last, store.Head(act))
			return store.Place(&b, kind, body, false)
		})
	})
	if err != nil {
		return book.Book{}, 0, err
	}
	return b, last, nil
}

// Enter implements store.Keeper.
func (k *Keeper) Enter(ctx context.Context, e record.Entry, corrects int64, m store.Meta) (store.Head, error) {
	return k.enter(ctx, "write to the record of a batch", store.ActBatch, corrects, m, func(w *writer) (store.ActBody, error) {
		kept, err := entries(ctx, w.tx, e.Batch)
		if err != nil {
			return store.ActBody{}, err
		}
		if err := record.Follow(kept, e, corrects); err != nil {
			return store.ActBody{}, err
		}
		if b := e.Begun; b != nil && b.Book > int64(w.head) {
			return store.ActBody{}, fault.NotFound("the shop book was never in state %d", b.Book).At("begun.book")
		}
		moves := store.LotMoves(kept, e, corrects)
		if err := w.mayMove(moves, corrects); err != nil {
			return store.ActBody{}, err
		}
		return store.ActBody{Entry: &e, Lots: moves}, nil
	})
}

// mayMove refuses what a weighing or a making cannot do to lots.
func (w *writer) mayMove(moves []lot.Entry, corrects int64) error {
	for _, e := range moves {
		kept, err := lotEntries(w.ctx, w.tx, e.Lot)
		if err != nil {
			return err
		}
		if err := lot.Follow(kept, e, store.CorrectedOf(kept, corrects)); err != nil {
			return err
		}
	}
	return nil
}

// Records implements store.Keeper.
func (k *Keeper) Records(ctx context.Context, f store.Find) ([]record.Record, error) {
	if f.Limit < 1 {
		return nil, fault.Invalid("%d records cannot be listed", f.Limit).At("limit")
	}
	var out []record.Record
	err := k.read(ctx, "look for records", func(tx *sql.Tx) error {
		args := []any{f.Batch, f.Recipe, f.Glass, f.From, f.To, whole(f.Stopped), f.Before, f.Limit}
		return found(ctx, tx, qFindBatches, args, func(id string) error {
			kept, err := entries(ctx, tx, id)
			if err == nil {
				out = append(out, record.Fold(kept))
			}
			return err
		})
	})
	return out, err
}

// entries reads what is kept of a batch.
func entries(ctx context.Context, q querier, batch string) ([]record.Kept, error) {
	var out []record.Kept
	err := eachEntry(ctx, q, qEntries, []any{batch}, func(a store.Act, body store.ActBody) error {
		if body.Entry == nil {
			return fmt.Errorf("act %d holds no entry of a batch", a.Seq)
		}
		out = append(out, store.KeptOf(a, *body.Entry))
		return nil
	})
	return out, err
}

// eachEntry calls fn for each act that wrote to a record or a ledger, in their order.
func eachEntry(ctx context.Context, q querier, query string, args []any, fn func(store.Act, store.ActBody) error) error {
	return each(ctx, q, query, args, func(scan func(...any) error) error {
		var a store.Act
		var at, received int64
		if err := scan(&a.Seq, &a.Person, &at, &received, &a.Reason, &a.Corrects, &a.Body); err != nil {
			return err
		}
		body, err := store.DecodeBody(a.Body)
		if err != nil {
			return fmt.Errorf("the body of act %d cannot be read", a.Seq)
		}
		a.At, a.Received = time.UnixMilli(at).UTC(), time.UnixMilli(received).UTC()
		return fn(a, body)
	})
}

// entry puts the entry of the act at hand into the tables.
func (w *writer) entry(e record.Entry) error {
	if b := e.Begun; b != nil {
		if err := w.batch(e.Batch, *b, int64(w.head)); err != nil {
			return err
		}
	}
	if err := w.exec(qAddEntry, int64(w.head), e.Batch, string(e.Kind())); err != nil {
		return err
	}
	if e.Kind() != record.Taking && e.Kind() != record.Placing {
		return nil
	}
	kept, err := entries(w.ctx, w.tx, e.Batch)
	if err != nil {
		return err
	}
	r := record.Fold(kept)
	if err := w.exec(qPlaceBatch, string(r.Place().As), e.Batch); err != nil || r.Begun() != nil {
		return err
	}
	return w.exec(qFallBatch, e.Batch)
}

// batch puts the row of a batch in, or follows its correction.
func (w *writer) batch(id string, b record.Begun, act int64) error {
	used := [2]int64{}
	for i, n := range []store.Name{{Kind: store.KindRecipe, Slug: b.Recipe}, {Kind: store.KindGlass, Slug: b.Glass}} {
		t, err := w.thing(n)
		if err != nil {
			return err
		}
		if t.id == 0 {
			return fault.NotFound("there was never a %s %q in the book", n.Kind, fault.Clip(n.Slug, fault.Echo)).At("begun." + n.Kind)
		}
		used[i] = t.id
	}
	return w.exec(qAddBatch, id, b.On, numberOf(id), used[0], used[1], act)
}

// numberOf is the number of a batch within its day.
func numberOf(id string) int {
	n, _ := strconv.Atoi(id[strings.LastIndexByte(id, '-')+1:]) // checked before it was kept
	return n
}

// batches compares the tables of batches and their entries with the log.
func (v *verifier) batches() error {
	have := map[string][]string{}
	err := each(v.ctx, v.tx, qAllEntries, nil, func(scan func(...any) error) error {
		var act int64
		var batch, kind string
		err := scan(&act, &batch, &kind)
		have[batch] = append(have[batch], fmt.Sprintf("%d %s", act, kind))
		return err
	})
	if err != nil {
		return err
	}
	rows := map[string]string{}
	err = each(v.ctx, v.tx, qAllBatches, nil, func(scan func(...any) error) error {
		var id, on, recipe, glass, place string
		var n, stands int
		var begun int64
		err := scan(&id, &on, &n, &recipe, &glass, &begun, &stands, &place)
		rows[id] = batchRow(on, n, recipe, glass, begun, stands == 1) + " " + place
		return err
	})
	if err != nil {
		return err
	}
	for _, id := range v.state.Batches() {
		v.audit.Batches++
		kept := v.state.Record(id)
		want := make([]string, len(kept))
		var row string
		for i, k := range kept {
			want[i] = fmt.Sprintf("%d %s", k.Act, k.Kind())
			if b := k.Begun; b != nil {
				row = batchRow(b.On, numberOf(id), b.Recipe, b.Glass, k.Act, record.Fold(kept).Begun() != nil)
			}
		}
		row += " " + string(record.Fold(kept).Place().As)
		if strings.Join(have[id], ", ") != strings.Join(want, ", ") {
			v.say("batch "+id, "its entries are kept as [%s]; the log says [%s]", strings.Join(have[id], ", "), strings.Join(want, ", "))
		}
		if rows[id] != row {
			v.say("batch "+id, "its row is not the log's")
		}
		delete(have, id)
		delete(rows, id)
	}
	if n := len(have) + len(rows); n > 0 {
		v.say("batches", "%d that are not in the log are kept", max(len(have), len(rows)))
	}
	return nil
}

func batchRow(on string, n int, recipe, glass string, begun int64, stands bool) string {
	return fmt.Sprintf("%s %d %s %s %d %t", on, n, recipe, glass, begun, stands)
}
