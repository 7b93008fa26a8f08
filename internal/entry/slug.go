package entry

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// fold writes a name in small letters without accents.
func fold(name string) string {
	return strings.Map(func(c rune) rune {
		if unicode.Is(unicode.Mn, c) {
			return -1
		}
		return unicode.ToLower(c)
	}, norm.NFD.String(name))
}
