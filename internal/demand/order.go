package demand

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"slabside/internal/fault"
)

// priority returns the indices of the lines in the order they are served: all
// must-lines before all others, by due date within each, in the book's order
// within a date.
func priority(lines []Line, today string) ([]int, error) {
	if today != "" {
		if _, err := time.Parse(time.DateOnly, today); err != nil {
			return nil, fault.Invalid("%q is not a date", today).At("today").WithHint("write it as 2026-03-14")
		}
	}
	order := make([]int, len(lines))
	due := make([]string, len(lines))
	for i, l := range lines {
		order[i] = i
		if due[i] = today; l.Due != "" {
			if _, err := time.Parse(time.DateOnly, l.Due); err != nil {
				return nil, fault.Invalid("%q is not a date", l.Due).At(lineField(i, "due")).WithHint("write it as 2026-03-14")
			}
			due[i] = l.Due
		}
	}
	rank := func(i int) int {
		if lines[i].Must {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(order, func(a, b int) int {
		// ISO 8601 dates sort as text.
		return cmp.Or(cmp.Compare(rank(a), rank(b)), strings.Compare(due[a], due[b]))
	})
	return order, nil
}
