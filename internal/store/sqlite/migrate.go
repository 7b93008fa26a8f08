package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"
)

// Schema is the version of the tables this program writes; it stands in the
// file's user_version and in the book row.
const Schema = 4

// appID marks a file as a shop book ("SLAB" in ASCII).
const appID = 0x534c4142

//go:embed migrations/*.sql
var migrations embed.FS

// migrate brings a database up to the newest schema of the folder in one
// transaction, which is a no-op if it is there already. Files are named
// NNNN_text.sql; those with the same number make one version and run in the
// order of their names. A no-op still proves that the file can be written.
func migrate(ctx context.Context, db *sql.DB, folder fs.FS) error {
	files, err := fs.Glob(folder, "migrations/*.sql")
	if err != nil {
		return err
	}
	slices.Sort(files)
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	was, err := number(ctx, tx, "user_version")
	if err != nil {
		return err
	}
	version := was
	for _, name := range files {
		n, err := strconv.Atoi(strings.TrimPrefix(name, "migrations/")[:4])
		if err != nil {
			return fmt.Errorf("migration %s: %w", name, err)
		}
		if n <= was {
			continue
		}
		text, err := fs.ReadFile(folder, name)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, string(text)); err != nil {
			return fmt.Errorf("migration %s: %w", name, err)
		}
		version = n
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", version)); err != nil {
		return err
	}
	if version == was {
		return nil
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", appID)); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, qSetSchema, version); err != nil {
		return err
	}
	return tx.Commit()
}

// querier is a database, a connection or a transaction.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// number reads a pragma that is a number.
func number(ctx context.Context, q querier, pragma string) (int, error) {
	var n int
	err := q.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&n)
	return n, err
}
