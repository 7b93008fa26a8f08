package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"

	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

func TestKeeper(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t *testing.T, dir string) store.Keeper {
		t.Helper()
		k, err := sqlite.Open(context.Background(), filepath.Join(dir, "book.db"), sqlite.Options{})
		if err != nil {
			t.Fatalf("Open: %v", err)
		}
		return k
	})
}
