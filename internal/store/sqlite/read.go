package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// read runs fn in a transaction that sees one state of the book throughout.
func (k *Keeper) read(ctx context.Context, doing string, fn func(tx *sql.Tx) error) error {
	tx, err := k.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err == nil {
		err = fn(tx)
		tx.Rollback()
	}
	if k.newer > 0 && err != nil && fault.KindOf(err) == fault.KindInternal {
		return k.tooNew().WithCause(err)
	}
	return translate(err, k.path, doing)
}

// tooNew is what a book of a newer schema answers to what it cannot do.
func (k *Keeper) tooNew() *fault.Error {
	return fault.Forbidden("the shop book %s was written by a newer program (schema %d, this one knows %d) and is open for reading only",
		k.path, k.newer, Schema).WithHint("use the newer program")
}

// Book implements store.Keeper.
func (k *Keeper) Book(ctx context.Context) (book.Book, store.Head, error) {
	b := book.Book{Format: book.Format}
	var head store.Head
	err := k.read(ctx, "read the shop book", func(tx *sql.Tx) error {
		var err error
		if head, _, err = headOf(ctx, tx); err != nil {
			return err
		}
		if head == 0 {
			return k.empty()
		}
		if err := k.heads(ctx, tx, &b); err != nil {
			return err
		}
		b.ToMake, err = toMake(ctx, tx)
		return err
	})
	if err != nil {
		return book.Book{}, 0, err
	}
	return b, head, nil
}

// heads puts the head revisions into the book.
func (k *Keeper) heads(ctx context.Context, q querier, b *book.Book) error {
	return each(ctx, q, qHeads, nil, func(scan func(...any) error) error {
		var kind, slug, sum string
		var body []byte
		if err := scan(&kind, &slug, &body, &sum); err != nil {
			return err
		}
		if store.Sum(body) != sum {
			return damaged(k.path).WithCause(errors.New("the sum of " + kind + " " + slug + " does not match"))
		}
		return store.Place(b, kind, body, k.newer == 0)
	})
}

func (k *Keeper) empty() error {
	return fault.NotFound("the shop book %s is empty", k.path).WithHint("import a shop-book file: slabside import shop.toml")
}

// Head implements store.Keeper.
func (k *Keeper) Head(ctx context.Context) (store.Head, error) {
	var head store.Head
	err := k.read(ctx, "read the head", func(tx *sql.Tx) (err error) {
		head, _, err = headOf(ctx, tx)
		return err
	})
	return head, err
}

// ToMakeBefore implements store.Keeper.
func (k *Keeper) ToMakeBefore(ctx context.Context) ([]demand.Line, error) {
	var lines []demand.Line
	err := k.read(ctx, "read the lines to make of before", func(tx *sql.Tx) (err error) {
		lines, err = toMakeBefore(ctx, tx, k.path)
		return err
	})
	return lines, err
}

// Tapped implements store.Keeper.
func (k *Keeper) Tapped(ctx context.Context, device string) (int64, error) {
	var n int64
	err := k.read(ctx, "look for the taps of a device", func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, qDevice, device).Scan(&n)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return n, err
}

// Acts implements store.Keeper.
func (k *Keeper) Acts(ctx context.Context, after int64, limit int) ([]store.Act, error) {
	if limit < 1 {
		return nil, fault.Invalid("%d acts cannot be listed", limit).At("limit")
	}
	var acts []store.Act
	err := k.read(ctx, "read the acts", func(tx *sql.Tx) error {
		return eachAct(ctx, tx, after, limit, func(a store.Act) error {
			acts = append(acts, a)
			return nil
		})
	})
	return acts, err
}

// Versions implements store.Keeper.
func (k *Keeper) Versions(ctx context.Context, kind, slug string, before, limit int) ([]store.Version, error) {
	if limit < 1 {
		return nil, fault.Invalid("%d versions cannot be listed", limit).At("limit")
	}
	if before < 0 {
		return nil, fault.Invalid("there is no version %d", before).At("before")
	}
	var out []store.Version
	err := k.read(ctx, "read the versions", func(tx *sql.Tx) error {
		return each(ctx, tx, qVersions, []any{kind, slug, before, limit}, func(scan func(...any) error) error {
			var v store.Version
			var at int64
			if err := scan(&v.ID, &v.Kind, &v.Slug, &v.N, &v.SHA256, &v.Act, &v.Body, &v.Person, &at, &v.Reason); err != nil {
				return err
			}
			if store.Sum(v.Body) != v.SHA256 {
				return damaged(k.path).WithCause(errors.New("the sum of " + kind + " " + slug + " does not match"))
			}
			v.At = time.UnixMilli(at).UTC()
			out = append(out, v)
			return nil
		})
	})
	switch {
	case err != nil || len(out) > 0:
		return out, err
	case before > 0:
		return nil, fault.NotFound("there is no version of %s %q below %d", kind, slug, before)
	}
	return nil, fault.NotFound("there is no %s %q", kind, slug)
}

// each calls fn for each row of a query.
func each(ctx context.Context, q querier, query string, args []any, fn func(scan func(...any) error) error) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := fn(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

// found calls fn for each name that a query finds, once all are found: the reads of fn
// must not stand in the way of the query's.
func found(ctx context.Context, q querier, query string, args []any, fn func(name string) error) error {
	var names []string
	err := each(ctx, q, query, args, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		names = append(names, name)
		return err
	})
	for _, name := range names {
		if err == nil {
			err = fn(name)
		}
	}
	return err
}

func eachAct(ctx context.Context, q querier, after int64, limit int, fn func(store.Act) error) error {
	return each(ctx, q, qActs, []any{after, limit}, func(scan func(...any) error) error {
		var a store.Act
		var at, received int64
		err := scan(&a.Seq, &a.ID, &a.Device, &a.DeviceSeq, &a.Person, &at, &received, &a.Kind, &a.Reason, &a.Corrects,
			&a.Body, &a.PrevHash, &a.Hash)
		if err != nil {
			return err
		}
		a.At, a.Received = time.UnixMilli(at).UTC(), time.UnixMilli(received).UTC()
		return fn(a)
	})
}

// headOf returns the last act's sequence number and hash; 0 and FirstHash for none.
func headOf(ctx context.Context, q querier) (store.Head, string, error) {
	var head store.Head
	var hash string
	err := q.QueryRowContext(ctx, qHead).Scan(&head, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, store.FirstHash, nil
	}
	return head, hash, err
}

// thingRow is a thing as the table has it.
type thingRow struct {
	store.Thing
	id, place int64
}

// thingRows returns the things in the shop's order, with the retired ones.
func thingRows(ctx context.Context, q querier) ([]thingRow, error) {
	var all []thingRow
	err := each(ctx, q, qThings, nil, func(scan func(...any) error) error {
		var t thingRow
		if err := scan(&t.id, &t.Kind, &t.Slug, &t.place, &t.Retired, &t.N, &t.SHA256); err != nil {
			return err
		}
		all = append(all, t)
		return nil
	})
	return all, err
}

// toMakeBefore returns the lines to make of before the last act, not nil. NotFound
// if that act left them alone or they were not kept.
func toMakeBefore(ctx context.Context, q querier, path string) ([]demand.Line, error) {
	var act int64
	var body []byte
	err := q.QueryRowContext(ctx, qToMakeBefore).Scan(&act, &body)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fault.NotFound("the lines to make of before the last change are not kept")
	}
	var lines []demand.Line
	if err == nil && json.Unmarshal(body, &lines) != nil {
		err = damaged(path).WithCause(errors.New("the lines to make of before cannot be read"))
	}
	if err != nil {
		return nil, err
	}
	return append([]demand.Line{}, lines...), nil
}

// toMake returns the lines to make.
func toMake(ctx context.Context, q querier) ([]demand.Line, error) {
	var lines []demand.Line
	err := each(ctx, q, qToMake, nil, func(scan func(...any) error) error {
		var l demand.Line
		if err := scan(&l.Product, &l.Bags, &l.Must, &l.Due, &l.For); err != nil {
			return err
		}
		lines = append(lines, l)
		return nil
	})
	return lines, err
}
