package fault

import (
	"strings"
	"unicode/utf8"
)

// mostText is the longest text of an entry that is kept [bytes].
const mostText = 200

// Texts refuses texts of an entry that cannot be kept: longer than a line on a sheet, not
// UTF-8, or with characters that do not print. Part names what they are of.
func Texts(part string, texts ...string) error {
	for _, s := range texts {
		if len(s) > mostText || !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' }) {
			return Invalid("a text is too long or holds characters that cannot be kept").At(part)
		}
	}
	return nil
}
