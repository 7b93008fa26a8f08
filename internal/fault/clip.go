package fault

import (
	"strings"
	"unicode"
)

// Echo is how much a fault says again of what was typed [runes].
const Echo = 40

// Clip shortens a text that is said again to so many runes, with … for the rest,
// and keeps it on one line: each run of white space and of what cannot be seen, as
// line ends, control characters and marks that turn the writing round, becomes one
// space.
func Clip(s string, most int) string {
	var out strings.Builder
	n, gap := 0, false
	for _, r := range s {
		if unicode.IsSpace(r) || !unicode.IsGraphic(r) {
			if gap {
				continue
			}
			r = ' '
		}
		gap = r == ' '
		if n == most {
			return out.String() + "…"
		}
		out.WriteRune(r)
		n++
	}
	return out.String()
}
