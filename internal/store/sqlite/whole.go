package sqlite

import (
	"context"
	"database/sql"
	"io"

	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// ExportAll implements store.Keeper.
func (k *Keeper) ExportAll(ctx context.Context, w io.Writer) error {
	return k.read(ctx, "export the shop book", func(tx *sql.Tx) error {
		head, _, err := headOf(ctx, tx)
		if err != nil {
			return err
		}
		if head == 0 {
			return k.empty()
		}
		out := store.NewLineWriter(w)
		revs, err := openRevisions(ctx, tx)
		if err != nil {
			return err
		}
		defer revs.Close()
		sums := map[string]bool{}
		err = eachAct(ctx, tx, 0, int(head), func(a store.Act) error {
			out.Act(a)
			if a.Kind == store.ActAttach {
				return exportAttachment(ctx, tx, out, a, sums)
			}
			return revs.upTo(a.Seq, func(r store.Revision) error {
				out.Revision(r)
				return nil
			})
		})
		if err != nil {
			return err
		}
		row, _, err := bookRow(ctx, tx)
		if err != nil {
			return err
		}
		lines, err := toMake(ctx, tx)
		if err != nil {
			return err
		}
		out.Beside(row, lines)
		err = eachReading(ctx, tx, qAllReadings, nil, func(k reading.Kept, _ string) error {
			out.Reading(k)
			return nil
		})
		if err != nil {
			return err
		}
		if err := out.End(); err != nil {
			return fault.Internal(err, "could not write the export")
		}
		return nil
	})
}

// ImportAll implements store.Keeper.
func (k *Keeper) ImportAll(ctx context.Context, r io.Reader) (store.Head, error) {
	var head store.Head
	err := k.write(ctx, "import the whole shop book", func(w *writer) error {
		if w.head != 0 {
			return fault.Conflict("the shop book %s is not empty", k.path).WithHint("import into a new file")
		}
		_, err := store.ReadLines(r, w)
		head = w.head
		return err
	})
	if err != nil {
		return 0, err
	}
	return head, nil
}

// revisions walks through all revisions beside the acts.
type revisions struct {
	rows *sql.Rows
	next *store.Revision
}

func openRevisions(ctx context.Context, q querier) (*revisions, error) {
	rows, err := q.QueryContext(ctx, qAllRevisions)
	return &revisions{rows: rows}, err
}

func (r *revisions) Close() error { return r.rows.Close() }

// upTo calls fn for the revisions up to those of the act.
func (r *revisions) upTo(act int64, fn func(store.Revision) error) error {
	for {
		if r.next == nil {
			if !r.rows.Next() {
				return r.rows.Err()
			}
			var v store.Revision
			if err := r.rows.Scan(&v.ID, &v.Kind, &v.Slug, &v.N, &v.SHA256, &v.Act, &v.Body); err != nil {
				return err
			}
			r.next = &v
		}
		if r.next.Act > act {
			return nil
		}
		if err := fn(*r.next); err != nil {
			return err
		}
		r.next = nil
	}
}

// bookRow returns the book's row and its schema.
func bookRow(ctx context.Context, q querier) (store.BookRow, int, error) {
	var b store.BookRow
	var schema int
	err := q.QueryRowContext(ctx, qBook).Scan(&schema, &b.Name, &b.TimeZone, &b.Units, &b.Currency, &b.Market)
	return b, schema, err
}
