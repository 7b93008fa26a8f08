package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"slabside/internal/access"
)

var _ access.Keeper = (*Keeper)(nil)

// Access implements access.Keeper.
func (k *Keeper) Access(ctx context.Context) (access.State, error) {
	var s access.State
	if k.newer > 0 {
		return s, k.tooNew()
	}
	err := k.read(ctx, "read who may do what", func(tx *sql.Tx) (err error) {
		s, err = accessOf(ctx, tx, k.path)
		return err
	})
	return s, err
}

// ChangeAccess implements access.Keeper.
func (k *Keeper) ChangeAccess(ctx context.Context, change func(*access.State) error) error {
	var told error
	err := k.write(ctx, "keep who may do what", func(w *writer) error {
		s, err := accessOf(ctx, w.tx, k.path)
		if err != nil {
			return err
		}
		keep := false
		if told, keep = access.Kept(change(&s)); !keep {
			return told
		}
		body, err := json.Marshal(s)
		if err != nil {
			return err
		}
		return w.exec(qSetAccess, string(body))
	})
	if err != nil {
		return err
	}
	return told
}

func accessOf(ctx context.Context, q querier, path string) (access.State, error) {
	var s access.State
	var body []byte
	err := q.QueryRowContext(ctx, qAccess).Scan(&body)
	if errors.Is(err, sql.ErrNoRows) {
		return s, nil
	}
	if err == nil && json.Unmarshal(body, &s) != nil {
		err = damaged(path).WithCause(errors.New("who may do what cannot be read"))
	}
	return s, err
}
