//go:build unix

package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

// writes of one batch as a maker makes them: begun, lifted with all figures, a
// moisture, the temperatures at slab and rolls.
func writes(n int) []record.Entry {
	b := storetest.Full()
	day := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n/5).Format(time.DateOnly)
	id := fmt.Sprintf("%s-%d", day, n%5+1)
	return []record.Entry{
		{Batch: id, Begun: &record.Begun{On: day, Book: 1, Recipe: b.Recipes[0].ID, ChargeMg: 7e6, Kettle: b.Kettles[0].ID, Glass: b.Glasses[0].ID}},
		{Batch: id, Lifted: &record.Lifted{ReadC: 151, GrossMg: 15_600_000, EmptyMg: 6_000_000, Scale: b.Scales[0].ID, FlameS: 1680, StationPa: 100_400}},
		{Batch: id, Moisture: &record.Moisture{Of: record.OfSweet, WaterFrac: 0.026, SureFrac: 0.003, Method: "oven, 4 h"}},
		{Batch: id, Worked: &record.Worked{PullC: 85, RollC: 80, LastC: 70, SureK: 2}},
	}
}

// rawTable is a database of one table with the pragmas of a shop book.
func rawTable(tb testing.TB, path string) *sql.DB {
	tb.Helper()
	u := url.URL{Scheme: "file", Path: path}
	db, err := sql.Open("sqlite", u.String()+"?_txlock=immediate&_pragma=busy_timeout(5000)&_pragma=foreign_keys(ON)&_pragma=synchronous(FULL)&_pragma=journal_mode(WAL)")
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { db.Close() })
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("CREATE TABLE entry (id INTEGER PRIMARY KEY, body TEXT NOT NULL) STRICT"); err != nil {
		tb.Fatal(err)
	}
	return db
}

// BenchmarkEnter writes an entry of a batch, acknowledged when it is on the disk, and
// after each the same number of bytes as one row of a bare SQLite table with the same
// journal and sync; the medians of both, and their ratio.
func BenchmarkEnter(b *testing.B) {
	ctx := context.Background()
	dir := b.TempDir()
	k, err := sqlite.Open(ctx, filepath.Join(dir, "book.db"), sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer k.Close()
	if err := doAct(ctx, k, 1); err != nil {
		b.Fatal(err)
	}
	raw := rawTable(b, filepath.Join(dir, "raw.db"))
	body := strings.Repeat("x", 200)
	var kept, bare []time.Duration
	var next []record.Entry
	for n := 0; b.Loop(); {
		if len(next) == 0 {
			next = writes(n)
			n++
		}
		began := time.Now()
		if _, err := k.Enter(ctx, next[0], 0, at(1)); err != nil {
			b.Fatal(err)
		}
		between := time.Now()
		if _, err := raw.Exec("INSERT INTO entry (body) VALUES (?)", body); err != nil {
			b.Fatal(err)
		}
		kept, bare, next = append(kept, between.Sub(began)), append(bare, time.Since(between)), next[1:]
	}
	b.ReportMetric(0, "ns/op") // of both together says nothing
	b.ReportMetric(ms(median(kept)), "ms/entry")
	b.ReportMetric(ms(median(bare)), "ms/raw-row")
	b.ReportMetric(float64(median(kept))/float64(median(bare)), "entry/raw")
}

func median(d []time.Duration) time.Duration {
	slices.Sort(d)
	return d[len(d)/2]
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// yearBatches is five batches a day on 250 days.
const yearBatches = 1250

// year is a book with a year of batches, closed.
type year struct {
	book    []byte
	batches int // bytes they added to the file
}

var aYear = sync.OnceValues(func() (y year, err error) {
	dir, err := os.MkdirTemp("", "slabside-year-")
	if err != nil {
		return y, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "book.db")
	ctx := context.Background()
	u, err := calmly()
	if err != nil {
		return y, err
	}
	if err := os.WriteFile(path, u.book, 0o644); err != nil {
		return y, err
	}
	k, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return y, err
	}
	for n := range yearBatches {
		for _, e := range writes(n) {
			if _, err := k.Enter(ctx, e, 0, at(n)); err != nil {
				return y, err
			}
		}
	}
	if err := k.Close(); err != nil {
		return y, err
	}
	y.book, err = os.ReadFile(path)
	y.batches = len(y.book) - len(u.book)
	return y, err
})

// BenchmarkSafe times audit, backup and restore of a book with a year of batches, each
// with its own checks and syncs, and tells the bytes a batch takes.
func BenchmarkSafe(b *testing.B) {
	ctx := context.Background()
	y, err := aYear()
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	path := filepath.Join(dir, "book.db")
	if err := os.WriteFile(path, y.book, 0o644); err != nil {
		b.Fatal(err)
	}
	k, err := sqlite.Open(ctx, path, sqlite.Options{MustExist: true})
	if err != nil {
		b.Fatal(err)
	}
	defer k.Close()
	copied := filepath.Join(dir, "copy.db")
	b.Run("audit", func(b *testing.B) {
		for b.Loop() {
			if a, err := k.Verify(ctx); err != nil || len(a.Problems) > 0 {
				b.Fatal(a, err)
			}
		}
		b.ReportMetric(float64(y.batches)/yearBatches, "B/batch")
		b.ReportMetric(float64(len(y.book)), "B/book")
	})
	b.Run("backup", func(b *testing.B) {
		for b.Loop() {
			os.Remove(copied)
			if _, err := k.Backup(ctx, copied); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("restore", func(b *testing.B) {
		to := filepath.Join(dir, "restored.db")
		for b.Loop() {
			os.Remove(to)
			if _, err := sqlite.Restore(ctx, copied, to, store.RestoreOptions{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}
