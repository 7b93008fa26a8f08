package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"slabside/internal/fault"
	"slabside/internal/journal"
	"slabside/internal/store"
)

// EnterJot implements store.Keeper.
func (k *Keeper) EnterJot(ctx context.Context, j store.Jot, corrects int64, m store.Meta) (store.Head, error) {
	return k.enter(ctx, "write to a journal", store.ActJot, corrects, m, func(w *writer) (store.ActBody, error) {
		kept, err := jotsOf(ctx, w.tx, j.Journal, j.Subject)
		if err != nil {
			return store.ActBody{}, err
		}
		if err := store.FollowJot(kept, j, corrects); err != nil {
			return store.ActBody{}, err
		}
		return store.ActBody{Jot: &j}, nil
	})
}

// Jots implements store.Keeper.
func (k *Keeper) Jots(ctx context.Context, f store.FindJots) ([]store.Jots, error) {
	if f.Limit < 1 {
		return nil, fault.Invalid("%d ledgers cannot be listed", f.Limit).At("limit")
	}
	var out []store.Jots
	err := k.read(ctx, "look through a journal", func(tx *sql.Tx) error {
		args := []any{f.Journal(), f.Subject, f.Of, whole(f.Live), f.From, f.To, f.Before, f.Limit}
		return found(ctx, tx, qFindJots, args, func(subject string) error {
			kept, err := jotsOf(ctx, tx, f.Journal(), subject)
			out = append(out, kept)
			return err
		})
	})
	return out, err
}

// NextJot implements store.Keeper.
func (k *Keeper) NextJot(ctx context.Context, name, on string) (int, error) {
	var n int
	err := k.read(ctx, "number a ledger", func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, qLastJot, name, on).Scan(&n) })
	return n + 1, err
}

func whole(b bool) int {
	if b {
		return 1
	}
	return 0
}

// jotsOf reads what is kept of a subject.
func jotsOf(ctx context.Context, q querier, name, subject string) (store.Jots, error) {
	var out store.Jots
	err := eachEntry(ctx, q, qJots, []any{name, subject}, func(a store.Act, body store.ActBody) error {
		if body.Jot == nil {
			return fmt.Errorf("act %d writes to no journal", a.Seq)
		}
		out.Add(a, *body.Jot)
		return nil
	})
	return out, err
}

// jot puts the entry of the act at hand into the tables.
func (w *writer) jot(j store.Jot) error {
	kept, err := jotsOf(w.ctx, w.tx, j.Journal, j.Subject)
	if err != nil {
		return err
	}
	a := store.Act{Seq: int64(w.head), Corrects: w.corrects}
	kept.Add(a, j)
	row, err := store.RowOfJots(j.Journal, kept)
	if err != nil {
		return err
	}
	if err := w.exec(qSetJots, j.Journal, j.Subject, row.On, row.N, row.Of, whole(row.Live), whole(row.Stands)); err != nil {
		return err
	}
	return w.exec(qAddJot, int64(w.head), j.Journal, j.Subject, j.Kind)
}

// jots compares the tables of the journals with the log.
func (v *verifier) jots() error {
	type key = [2]string
	have := map[key][]string{}
	err := each(v.ctx, v.tx, qAllJots, nil, func(scan func(...any) error) error {
		var act int64
		var name, subject, kind string
		err := scan(&act, &name, &subject, &kind)
		have[key{name, subject}] = append(have[key{name, subject}], fmt.Sprintf("%d %s", act, kind))
		return err
	})
	if err != nil {
		return err
	}
	rows := map[key]journal.Row{}
	err = each(v.ctx, v.tx, qAllJotSubjects, nil, func(scan func(...any) error) error {
		var k key
		var r journal.Row
		var live, stands int
		err := scan(&k[0], &k[1], &r.On, &r.N, &r.Of, &live, &stands)
		r.Live, r.Stands = live == 1, stands == 1
		rows[k] = r
		return err
	})
	if err != nil {
		return err
	}
	for _, k := range v.state.JotKeys() {
		kept, want := v.state.JotsOf(k[0], k[1])
		where := k[0] + " " + k[1]
		if !slices.Equal(have[k], want) {
			v.say(where, "its entries are kept as [%s]; the log says [%s]", strings.Join(have[k], ", "), strings.Join(want, ", "))
		}
		if row, err := store.RowOfJots(k[0], kept); err != nil || rows[k] != row {
			v.say(where, "its row is not the log's")
		}
		delete(have, k)
		delete(rows, k)
	}
	if n := max(len(have), len(rows)); n > 0 {
		v.say("journals", "%d ledgers that are not in the log are kept", n)
	}
	return nil
}
