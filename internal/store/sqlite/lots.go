package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/store"
)

// noDate stands for the date of a lot that has none, which goes out last.
const noDate = "9999-99-99"

// EnterLot implements store.Keeper.
func (k *Keeper) EnterLot(ctx context.Context, e lot.Entry, corrects int64, m store.Meta) (store.Head, error) {
	return k.enter(ctx, "write to the ledger of a lot", store.ActLot, corrects, m, func(w *writer) (store.ActBody, error) {
		kept, err := lotEntries(ctx, w.tx, e.Lot)
		if err != nil {
			return store.ActBody{}, err
		}
		if err := store.FollowLot(kept, e, corrects); err != nil {
			return store.ActBody{}, err
		}
		of := func(id string) ([]lot.Kept, error) { return lotEntries(ctx, w.tx, id) }
		if err := lot.FollowMade(kept, e, corrects, of); err != nil {
			return store.ActBody{}, err
		}
		moves := lot.Moves(kept, e, corrects)
		if err := w.mayMove(moves, corrects); err != nil {
			return store.ActBody{}, err
		}
		return store.ActBody{Lot: &e, Lots: moves}, nil
	})
}

// Lots implements store.Keeper.
func (k *Keeper) Lots(ctx context.Context, f store.FindLots) ([]lot.Ledger, error) {
	if f.Limit < 1 {
		return nil, fault.Invalid("%d lots cannot be listed", f.Limit).At("limit")
	}
	var out []lot.Ledger
	err := k.read(ctx, "look for lots", func(tx *sql.Tx) error {
		args := []any{f.Lot, f.Ingredient, whole(f.OnHand), string(f.Status), f.After, f.Limit}
		return found(ctx, tx, qFindLots, args, func(id string) error {
			kept, err := lotEntries(ctx, tx, id)
			if err == nil {
				out = append(out, lot.Fold(kept))
			}
			return err
		})
	})
	return out, err
}

// NextLot implements store.Keeper.
func (k *Keeper) NextLot(ctx context.Context, on string) (string, error) {
	var n int
	err := k.read(ctx, "number a lot", func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, qLastLot, on).Scan(&n) })
	return fmt.Sprintf("r%s-%d", on, n+1), err
}

// lotEntries reads what is kept of a lot.
func lotEntries(ctx context.Context, q querier, id string) ([]lot.Kept, error) {
	var out []lot.Kept
	err := eachEntry(ctx, q, qLotEntries, []any{id}, func(a store.Act, body store.ActBody) error {
		list := body.Lots
		if body.Lot != nil {
			list = append(slices.Clone(list), *body.Lot)
		}
		at := slices.IndexFunc(list, func(e lot.Entry) bool { return e.Lot == id })
		if at < 0 {
			return fmt.Errorf("act %d holds no entry of lot %s", a.Seq, id)
		}
		out = append(out, store.KeptLot(out, a, body, list[at]))
		return nil
	})
	return out, err
}

// lotEntry puts the entry of the act at hand into the tables.
func (w *writer) lotEntry(e lot.Entry) error {
	if e.Received != nil { // there is no row yet that the entry could point at
		if err := w.lotRow(lot.Fold([]lot.Kept{{Entry: e}})); err != nil {
			return err
		}
	}
	if err := w.exec(qAddLotEntry, int64(w.head), e.Lot, string(e.Kind())); err != nil {
		return err
	}
	kept, err := lotEntries(w.ctx, w.tx, e.Lot)
	if err != nil {
		return err
	}
	l := lot.Fold(kept)
	if l.Receipt == nil {
		return w.exec(qFallLot, e.Lot)
	}
	return w.lotRow(l)
}

// lotRow makes the row of a lot what its ledger says.
func (w *writer) lotRow(l lot.Ledger) error {
	t, err := w.thing(store.Name{Kind: store.KindIngredient, Slug: l.Receipt.Ingredient})
	if err != nil {
		return err
	}
	if t.id == 0 {
		return fault.NotFound("there was never an ingredient %q in the book", fault.Clip(l.Receipt.Ingredient, fault.Echo)).At("received.ingredient")
	}
	b := l.Balance
	return w.exec(qSetLot, l.ID, l.Receipt.On, numberOf(l.ID), t.id, bestOf(l), string(l.Status), b.ReceivedMg, b.UsedMg, b.WastedMg, b.UnaccountedMg, b.OnHandMg)
}

// bestOf is the date by which a lot goes out.
func bestOf(l lot.Ledger) string {
	if l.Receipt.BestBefore == "" {
		return noDate
	}
	return l.Receipt.BestBefore
}

// lots compares the tables of lots and their entries with the log.
func (v *verifier) lots() error {
	have := map[string][]string{}
	err := each(v.ctx, v.tx, qAllLotEntries, nil, func(scan func(...any) error) error {
		var act int64
		var id, kind string
		err := scan(&act, &id, &kind)
		have[id] = append(have[id], fmt.Sprintf("%d %s", act, kind))
		return err
	})
	if err != nil {
		return err
	}
	rows := map[string]lotSaid{}
	err = each(v.ctx, v.tx, qAllLots, nil, func(scan func(...any) error) error {
		var id string
		var r lotSaid
		b := &r.balance
		err := scan(&id, &r.on, &r.n, &r.ingredient, &r.best, &r.status, &b.ReceivedMg, &b.UsedMg, &b.WastedMg, &b.UnaccountedMg, &b.OnHandMg, &r.stands)
		rows[id] = r
		return err
	})
	if err != nil {
		return err
	}
	for _, id := range v.state.Lots() {
		kept := v.state.Ledger(id)
		want := make([]string, len(kept))
		for i, k := range kept {
			want[i] = fmt.Sprintf("%d %s", k.Act, k.Kind())
		}
		if strings.Join(have[id], ", ") != strings.Join(want, ", ") {
			v.say("lot "+id, "its entries are kept as [%s]; the log says [%s]", strings.Join(have[id], ", "), strings.Join(want, ", "))
		}
		if rows[id] != saidOf(kept) {
			v.say("lot "+id, "its row is not the log's")
		}
		delete(have, id)
		delete(rows, id)
	}
	if n := max(len(have), len(rows)); n > 0 {
		v.say("lots", "%d that are not in the log are kept", n)
	}
	return nil
}

// lotSaid is a row of the table of lots.
type lotSaid struct {
	on, ingredient, best, status string
	n, stands                    int
	balance                      lot.Balance
}

// saidOf is the row that goes with a ledger. One that was taken back stays as it was
// before, and does not stand.
func saidOf(kept []lot.Kept) lotSaid {
	l, stands := lot.Fold(kept), 1
	if l.Receipt == nil {
		l, stands = lot.Fold(kept[:len(kept)-1]), 0
	}
	if l.Receipt == nil {
		return lotSaid{}
	}
	return lotSaid{l.Receipt.On, l.Receipt.Ingredient, bestOf(l), string(l.Status), numberOf(l.ID), stands, l.Balance}
}
