package storetest

import (
	"bytes"
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// Open opens the book kept in the folder, making an empty one if there is none.
// Opening a folder again, whether or not the first Keeper was closed, gives the
// same book. The device of its acts is "desk".
type Open func(t *testing.T, dir string) store.Keeper

// Run runs the whole suite.
func Run(t *testing.T, open Open) {
	for _, c := range []struct {
		name string
		test func(*testing.T, Open)
	}{
		{"empty", testEmpty},
		{"every field", testEveryField},
		{"sample shop", testSample},
		{"order", testOrder},
		{"partial import", testPartial},
		{"nothing new", testNothingNew},
		{"revisions", testRevisions},
		{"refused", testRefused},
		{"to make", testToMake},
		{"to make before", testToMakeBefore},
		{"retire", testRetire},
		{"change", testChange},
		{"time", testTime},
		{"names and ids", testNames},
		{"conflict", testConflict},
		{"two keepers", testTwoKeepers},
		{"concurrency", testConcurrency},
		{"acts", testActs},
		{"whole book", testWhole},
		{"broken lines", testBrokenLines},
		{"records", testRecords},
		{"records refused", testRecordsRefused},
		{"weighed", testWeighed},
		{"stopped", testStopped},
		{"taps", testTaps},
		{"book as it was", testBookAt},
		{"lots", testLots},
		{"lots refused", testLotsRefused},
		{"made lots", testMade},
		{"packing", testPacking}, {"supplies", testSupplies},
		{"care", testCare},
		{"attachments", testAttachments},
		{"attachments refused", testAttachmentsRefused},
		{"attachments carried over", testAttachmentsWhole},
		{"readings", testReadings},
		{"readings refused", testReadingsRefused},
		{"readings found", testReadingsFound},
		{"readings carried over", testReadingsWhole},
		{"readings at once", testReadingsAtOnce},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.test(t, open)
		})
	}
}

// Noon is the time of the suite's acts.
func Noon(minutes int) time.Time {
	return time.Date(2026, time.March, 14, 12, minutes, 0, 250e6, time.UTC)
}

func meta(minutes int) store.Meta {
	return store.Meta{Person: "Ada", At: Noon(minutes), Reason: "test"}
}

// kit is a Keeper with helpers that end the test on an error.
type kit struct {
	store.Keeper
	t   *testing.T
	ctx context.Context
}

func start(t *testing.T, open Open) kit { return startIn(t, open, t.TempDir()) }

func startIn(t *testing.T, open Open, dir string) kit {
	t.Helper()
	k := open(t, dir)
	t.Cleanup(func() { k.Close() })
	return kit{k, t, context.Background()}
}

func (k kit) put(b book.Book, expect store.Head) (store.Head, store.Changes) {
	k.t.Helper()
	head, changes, err := k.Import(k.ctx, b, expect, meta(int(expect)))
	if err != nil {
		k.t.Fatalf("Import: %v (cause %v)", err, cause(err))
	}
	return head, changes
}

// retire takes one thing out.
func (k kit) retire(expect store.Head, m store.Meta, kind, slug string) (store.Head, error) {
	return k.Change(k.ctx, store.Change{Out: []store.Name{{Kind: kind, Slug: slug}}}, expect, m)
}

func (k kit) get() (book.Book, store.Head) {
	k.t.Helper()
	b, head, err := k.Book(k.ctx)
	if err != nil {
		k.t.Fatalf("Book: %v (cause %v)", err, cause(err))
	}
	return b, head
}

func (k kit) export() string {
	k.t.Helper()
	var buf bytes.Buffer
	if err := k.ExportAll(k.ctx, &buf); err != nil {
		k.t.Fatalf("ExportAll: %v (cause %v)", err, cause(err))
	}
	return buf.String()
}

// sound fails the test if the audit finds a problem.
func (k kit) sound() store.Audit {
	k.t.Helper()
	a, err := k.Verify(k.ctx)
	if err != nil {
		k.t.Fatalf("Verify: %v (cause %v)", err, cause(err))
	}
	if len(a.Problems) > 0 {
		k.t.Errorf("Verify found %v", a.Problems)
	}
	return a
}

func cause(err error) error {
	if f, ok := err.(*fault.Error); ok {
		return f.Cause
	}
	return nil
}

func wantKind(t *testing.T, what string, err error, kind fault.Kind) {
	t.Helper()
	if err == nil || fault.KindOf(err) != kind {
		t.Errorf("%s: error %v, want one of kind %q", what, err, kind)
	}
}

func wantField(t *testing.T, what string, err error, field string) {
	t.Helper()
	wantKind(t, what, err, fault.KindInvalid)
	if f, ok := err.(*fault.Error); ok && f.Field != field {
		t.Errorf("%s: the fault names field %q, want %q", what, f.Field, field)
	}
}

// same compares books; a nil list and an empty one are the same list.
func same(t *testing.T, what string, got, want book.Book) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}
