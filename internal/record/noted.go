package record

import (
	"strings"

	"slabside/internal/fault"
)

// Noted is what was tapped on a tablet while nobody heard and could not be written as it
// was meant, when it came: somebody else had written it, a lot was on hold by then. A tap
// is a fact and is not thrown away; somebody reads it and writes what is true.
type Noted struct {
	Why   string `json:"why"`   // it could not be written
	Tried string `json:"tried"` // what was tapped, as an entry's JSON
}

// mostTried is the longest entry that is kept in a note [bytes].
const mostTried = 4000

func (n *Noted) check() error {
	switch {
	case strings.TrimSpace(n.Why) == "":
		return fault.Invalid("it is not said why it could not be written").At("noted.why")
	case n.Tried == "" || len(n.Tried) > mostTried:
		return fault.Invalid("what was tapped is missing or too long").At("noted.tried")
	}
	return fault.Texts("noted", n.Why)
}
