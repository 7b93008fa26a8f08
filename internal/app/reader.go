package app

import (
	"context"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"

	q "slabside/internal/quantity"
)

type decimalKey struct{}

// ReadWith returns a context whose books, plans and results are printed with a
// reader's mark for decimals. Without it they are printed with a point.
func ReadWith(ctx context.Context, d q.Decimal) context.Context {
	return context.WithValue(ctx, decimalKey{}, d)
}

func decimalOf(ctx context.Context) q.Decimal {
	d, _ := ctx.Value(decimalKey{}).(q.Decimal)
	return d
}

// DecimalOf returns the mark for decimals of the language that a reader likes best:
// of a list as browsers send it ("de-AT,en;q=0.8") or one name ("fr_FR"). What cannot be read, and a language whose digits or marks are
// neither a point nor a comma, reads a point. Source: Unicode CLDR, as in golang.org/x/text.
func DecimalOf(languages string) q.Decimal {
	const most = 200 // bytes looked at: a browser sends some 30
	if len(languages) > most {
		return q.Point
	}
	tags, _, err := language.ParseAcceptLanguage(strings.ReplaceAll(languages, "_", "-"))
	if err != nil || len(tags) == 0 {
		return q.Point
	}
	if message.NewPrinter(tags[0]).Sprint(number.Decimal(1.5)) == "1,5" {
		return q.Comma
	}
	return q.Point
}
