package store_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"slabside/internal/lot"
	"slabside/internal/store"
)

// An act of a lot holds an entry of a lot and nothing of a batch, and its entry follows
// those before it.
func TestStateOfLots(t *testing.T) {
	t.Parallel()
	at := time.UnixMilli(1).UTC()
	came := &lot.Entry{Lot: "r2026-03-14-1", Received: &lot.Received{On: "2026-03-14", Ingredient: "sugar", Supplier: "a", MassMg: 5}}
	used := &lot.Entry{Lot: "r2026-03-14-1", Used: &lot.Used{MassMg: 2}}
	hold := &lot.Entry{Lot: "r2026-03-14-1", Placed: &lot.Placed{As: lot.Hold}}
	for _, c := range []struct {
		name  string
		kind  string
		lots  []*lot.Entry
		wrong string // what is said of the last; empty: nothing
	}{
		{"received and used", store.ActLot, []*lot.Entry{came, used}, ""},
		{"used before it came", store.ActLot, []*lot.Entry{used}, "was not received"},
		{"used on hold", store.ActLot, []*lot.Entry{came, hold, used}, "is on hold"},
		{"nothing", store.ActLot, []*lot.Entry{nil}, "against its kind"},
		{"of another kind", store.ActImport, []*lot.Entry{came}, "against its kind"},
	} {
		s := store.NewState()
		var said []string
		for _, e := range c.lots {
			body, err := store.ActBody{Lot: e}.Encode()
			if err != nil {
				t.Fatal(err)
			}
			a := store.Act{Seq: s.Seq + 1, Device: "desk", DeviceSeq: s.Seq + 1, ID: store.ActID("desk", s.Seq+1), Person: "Ada", At: at, Received: at, Kind: c.kind, Body: body, PrevHash: s.Hash}
			a.Hash = store.HashAct(a)
			said = append(s.Act(a), s.Settle()...)
		}
		if c.wrong == "" && len(said) > 0 || c.wrong != "" && !slices.ContainsFunc(said, func(x string) bool { return strings.Contains(x, c.wrong) }) {
			t.Errorf("%s: %q, want %q", c.name, said, c.wrong)
		}
	}
}
