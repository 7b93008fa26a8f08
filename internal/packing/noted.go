package packing

import (
	"regexp"
	"strings"

	"slabside/internal/fault"
	"slabside/internal/journal"
)

// Noting is the kind of what was tapped on a tablet that nobody heard, and could not be
// written as it was meant.
const Noting = "noted"

// Noted is what was tapped while nobody heard and could not be written as it was meant,
// when it came: the bags are on hold, more would go in than is left. A tap is a fact and
// is not thrown away. It stands in a ledger of its day, since the lot that was meant may
// not be there, until somebody has read it, written what is true and taken it back.
type Noted struct {
	Why   string `json:"why"`   // it could not be written
	Tried string `json:"tried"` // what was tapped, in words or as it was sent
}

// notesID is an n and a day: "n2026-11-28".
var notesID = regexp.MustCompile(`^n[0-9]{4}-[0-9]{2}-[0-9]{2}$`)

// IsNotes reports whether an id is that of the notes of a day.
func IsNotes(id string) bool { return notesID.MatchString(id) }

// NotesID returns the ledger of the notes of a day.
func NotesID(day string) string { return "n" + day }

func (n *Noted) check(string) error {
	const mostTried = 4000
	switch {
	case strings.TrimSpace(n.Why) == "":
		return fault.Invalid("it is not said why it could not be written").At("noted.why")
	case n.Tried == "" || len(n.Tried) > mostTried:
		return fault.Invalid("what was tapped is missing or too long").At("noted.tried")
	}
	return fault.Texts("noted", n.Why)
}

// Notes returns the notes of a ledger that nobody has taken back: what is to be read.
func Notes(kept []Kept) []Kept {
	var out []Kept
	for _, k := range journal.Standing(kept) {
		if k.Entry.Noted != nil {
			out = append(out, k)
		}
	}
	return out
}
