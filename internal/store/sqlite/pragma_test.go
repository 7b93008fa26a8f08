package sqlite

import (
	"context"
	"database/sql"
	"testing"
	"time"
)

// TestPragmas asks every connection of both pools, held open at once so that
// the pool cannot hand out the same one again.
func TestPragmas(t *testing.T) {
	t.Parallel()
	k := openTemp(t)
	ctx := context.Background()
	for _, pool := range []struct {
		name  string
		db    *sql.DB
		conns int
	}{{"writer", k.writer, 1}, {"reader", k.reader, 4}} {
		if got := pool.db.Stats().MaxOpenConnections; got != pool.conns {
			t.Errorf("%s: %d connections at most, want %d", pool.name, got, pool.conns)
		}
		for range pool.conns {
			c, err := pool.db.Conn(ctx)
			if err != nil {
				t.Fatal(err)
			}
			defer c.Close()
			for pragma, want := range map[string]string{
				"busy_timeout": "5000", "foreign_keys": "1", "synchronous": "2", "journal_mode": "wal",
			} {
				var got string
				if err := c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
					t.Errorf("%s: %s = %q, %v, want %q", pool.name, pragma, got, err, want)
				}
			}
			_, err = c.ExecContext(ctx, qSetSchema, 1)
			if writes := err == nil; writes != (pool.db == k.writer) {
				t.Errorf("%s: a write gives %v", pool.name, err)
			}
		}
	}
}

// TestBegin_immediate: the writer takes its lock when a transaction begins, so
// that two that read and then write never meet half way.
func TestBegin_immediate(t *testing.T) {
	t.Parallel()
	k := openTemp(t)
	ctx := context.Background()
	other, err := Open(ctx, k.path, Options{BusyTimeout: time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := k.writer.BeginTx(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if tx, err := other.writer.BeginTx(ctx, nil); err == nil {
		tx.Rollback()
		t.Error("two writing transactions at once")
	}
}
