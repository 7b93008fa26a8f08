package quantity

import (
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

// DecimalOf returns the mark for decimals of the language that a reader likes best:
// of a list as browsers send it ("de-AT,en;q=0.8") or one name ("fr_FR"). What cannot
// be read, and a language whose digits or marks are neither a point nor a comma, reads
// a point. Source: Unicode CLDR, as in golang.org/x/text.
func DecimalOf(languages string) Decimal {
	const most = 200 // bytes looked at: a browser sends some 30
	if len(languages) > most {
		return Point
	}
	tags, _, err := language.ParseAcceptLanguage(strings.ReplaceAll(languages, "_", "-"))
	if err != nil || len(tags) == 0 {
		return Point
	}
	if message.NewPrinter(tags[0]).Sprint(number.Decimal(1.5)) == "1,5" {
		return Comma
	}
	return Point
}
