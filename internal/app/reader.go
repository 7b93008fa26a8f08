package app

import (
	"context"

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
