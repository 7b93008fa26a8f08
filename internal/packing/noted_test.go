package packing_test

import (
	"strings"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/journal"
	"slabside/internal/packing"
)

// A note stands among those of its day until it is taken back, and nowhere else.
func TestNotes(t *testing.T) {
	t.Parallel()
	id := packing.NotesID("2026-03-02")
	note := packing.Entry{Ledger: id, Noted: &packing.Noted{Why: "lot b2026-03-02-1 is on hold", Tried: `{"bags":10}`}}
	var kept []packing.Kept
	write := func(e packing.Entry, corrects int64) error {
		err := packing.Follow(kept, e, corrects)
		if err == nil {
			kept = append(kept, packing.Kept{Entry: e, Act: int64(len(kept) + 1), Corrects: corrects})
		}
		return err
	}
	for range 2 {
		if err := write(note, 0); err != nil {
			t.Fatal(err)
		}
	}
	if row := packing.RowOf(kept); !row.Live || !row.Stands || row.On != "2026-03-02" || len(packing.Notes(kept)) != 2 {
		t.Errorf("two notes: %+v, %v", row, packing.Notes(kept))
	}
	for _, act := range []int64{1, 2} {
		if err := write(packing.Entry{Ledger: id}, act); err != nil {
			t.Fatal(err)
		}
	}
	if row := packing.RowOf(kept); row.Live || row.Stands || len(packing.Notes(kept)) != 0 {
		t.Errorf("both are read: %+v", row)
	}
	if err := write(packing.Entry{Ledger: id}, 1); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("read twice: %v", err)
	}
	for name, e := range map[string]packing.Entry{
		"in a bag lot":    {Ledger: "b2026-03-02-1", Noted: note.Noted},
		"a count of them": {Ledger: id, Counted: &packing.Counted{}},
		"without a why":   {Ledger: id, Noted: &packing.Noted{Why: " ", Tried: "x"}},
		"without a what":  {Ledger: id, Noted: &packing.Noted{Why: "x"}},
		"a novel":         {Ledger: id, Noted: &packing.Noted{Why: "x", Tried: strings.Repeat("x", 4001)}},
	} {
		if err := e.Check(); fault.KindOf(err) != fault.KindInvalid || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if e := (packing.Entry{Ledger: id}); e.Kind() != journal.Taking || e.Check() != nil {
		t.Errorf("taking one back is %s, %v", e.Kind(), e.Check())
	}
}
