package app_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
)

// kitchen is a shop with a database and a clock that is set by hand.
type kitchen struct {
	*app.App
	path  string
	clock time.Time
}

func databaseShop(t *testing.T) *kitchen {
	t.Helper()
	s := &kitchen{path: filepath.Join(t.TempDir(), "shop.db"), clock: time.Date(2026, 11, 28, 6, 0, 0, 0, time.UTC)}
	k, err := sqlite.Open(t.Context(), s.path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	s.App = app.New(k, func() time.Time { return s.clock })
	if _, err := s.Import(t.Context(), shoptest.Book(), "Ada", "the beginning"); err != nil {
		t.Fatal(err)
	}
	return s
}

// TestPlan_marksTheBook: a plan tells the state of the book it was made by, and the
// next state another.
func TestPlan_marksTheBook(t *testing.T) {
	t.Parallel()
	s := databaseShop(t)
	for head := int64(1); head <= 2; head++ {
		p, err := s.Plan(t.Context(), app.PlanRequest{Date: "2026-11-28"})
		if err != nil {
			t.Fatal(err)
		}
		a, err := s.Audit(t.Context(), app.AuditRequest{})
		if err != nil || !a.OK || p.Book == nil || p.Book.Act != head || p.Book.Hash != a.Hash {
			t.Fatalf("the plan is of %+v, the book of %+v, %v", p.Book, a, err)
		}
		if got, err := s.Audit(t.Context(), app.AuditRequest{Against: a.Printed, Act: head}); err != nil || !got.OK || got.Against.Act != head {
			t.Errorf("against %s: %+v, %v", a.Printed, got, err)
		}
		b, at, err := s.Book(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if err := s.SetToMake(t.Context(), b.ToMake[:1], at, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
}

// TestAudit_backups: what is wrong with the newest backup is wrong with the shop.
func TestAudit_backups(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s := databaseShop(t)
	dir := t.TempDir()
	audit := func(want ...string) *app.AuditResult {
		t.Helper()
		r, err := s.Audit(ctx, app.AuditRequest{Backups: dir, Within: 24 * time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, p := range r.Problems {
			got = append(got, p.Where)
		}
		if len(got) != len(want) || r.OK != (len(want) == 0) || len(want) > 0 && got[0] != want[0] {
			t.Errorf("problems %+v, want those of %v", r.Problems, want)
		}
		return r
	}
	audit("backups")
	r, err := s.Backup(ctx, app.BackupRequest{Dir: dir, Keep: 2})
	if err != nil || r.Head != 1 || filepath.Base(r.File) != "shop-20261128T060000Z.db" {
		t.Fatalf("Backup = %+v, %v", r, err)
	}
	if last := s.Backups(); !last.At.Equal(s.clock) || !last.Failed.IsZero() {
		t.Errorf("the last backup: %+v", last)
	}
	s.clock = s.clock.Add(48 * time.Hour) // old, but nothing has happened since
	audit()
	b, at, err := s.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.SetToMake(ctx, b.ToMake[:1], at, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	if seen := audit("backups").Backup; seen == nil || seen.Behind != 1 {
		t.Errorf("the backup that is behind: %+v", seen)
	}
	// Half of it is gone: a disk that failed.
	if err := os.Truncate(r.File, r.Bytes/2); err != nil {
		t.Fatal(err)
	}
	audit("backup " + r.File)
	// One of another book under this one's name.
	other := databaseShop(t)
	b.Shop.Name = "Another shop"
	for range 2 {
		if _, err := other.Import(ctx, b, "Eve", ""); err != nil {
			t.Fatal(err)
		}
	}
	other.clock = s.clock
	if _, err := other.Backup(ctx, app.BackupRequest{Dir: dir}); err != nil {
		t.Fatal(err)
	}
	audit("backup " + filepath.Join(dir, "shop-20261130T060000Z.db"))
}

// TestKeepBackups: backups come by themselves, a failed one is told and tried again,
// and the next good one puts it right.
func TestKeepBackups(t *testing.T) {
	t.Parallel()
	s := databaseShop(t)
	dir := filepath.Join(t.TempDir(), "later")
	ctx, stop := context.WithCancel(t.Context())
	var failed, good int
	s.KeepBackups(ctx, time.Millisecond, app.BackupRequest{Dir: dir, Keep: 2}, func(r *app.BackupResult, err error) {
		s.clock = s.clock.Add(time.Hour)
		switch {
		case err != nil && r == nil:
			failed++
			if last := s.Backups(); last.Failed.IsZero() || last.Why == "" || !last.At.IsZero() {
				t.Errorf("after a failure: %+v", last)
			}
			if fault.KindOf(err) != fault.KindNotFound {
				t.Errorf("failed with %v", err)
			}
			if failed == 2 {
				if err := os.Mkdir(dir, 0o755); err != nil {
					t.Error(err)
				}
			}
		case err != nil:
			t.Error(err)
		default:
			if good++; good == 4 {
				stop()
			}
			if last := s.Backups(); last.At.IsZero() || !last.Failed.IsZero() {
				t.Errorf("after a good one: %+v", last)
			}
		}
	})
	left, err := os.ReadDir(dir)
	if failed != 2 || good != 4 || err != nil || len(left) != 2 {
		t.Errorf("%d failed, %d good, %d left, %v", failed, good, len(left), err)
	}
}

// TestBackup_file: a book that is a file is told to be copied as one.
func TestBackup_file(t *testing.T) {
	t.Parallel()
	a := app.New(filedKeeper{}, time.Now)
	if _, err := a.Backup(t.Context(), app.BackupRequest{File: "x.db"}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("Backup: %v", err)
	}
}

// filedKeeper cannot be copied.
type filedKeeper struct{ store.Keeper }
