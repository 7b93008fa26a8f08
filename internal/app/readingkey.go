package app

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// printKey writes the place of a reading in a list, as it is given for those that follow.
func printKey(k reading.Kept) string { return fmt.Sprintf("%d,%d,%s", k.At.UnixMilli(), k.N, k.Probe) }

// parseKey reads it.
func parseKey(s string) (*store.ReadingKey, error) {
	parts := strings.SplitN(s, ",", 3)
	if len(parts) == 3 {
		at, err1 := strconv.ParseInt(parts[0], 10, 64)
		n, err2 := strconv.Atoi(parts[1])
		if err1 == nil && err2 == nil {
			return &store.ReadingKey{At: time.UnixMilli(at).UTC(), N: n, Probe: parts[2]}, nil
		}
	}
	return nil, fault.Invalid("there is no reading %q to go on after", fault.Clip(s, fault.Echo)).At("after").WithHint("give what the list before said, or begin again")
}

// ParseMoment reads a time of a query: with its zone as RFC 3339 has it, or in the book's
// zone as 2026-11-28 or 2026-11-28 10:02[:03]. Empty is the zero time. The fault is Invalid at
// the name.
func ParseMoment(name, s string, zone *time.Location) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	if at, err := time.Parse(time.RFC3339, s); err == nil {
		return at, nil
	}
	for _, form := range []string{time.DateOnly, "2006-01-02 15:04", time.DateTime} {
		shown, err := time.Parse(form, strings.Replace(s, "T", " ", 1))
		if err != nil {
			continue
		}
		can := reading.Moments(shown, zone)
		if len(can) == 0 { // the clocks go forward over it
			return shown.In(zone), fault.Invalid("there is no %s in %s: the clocks go forward over it that day", s, zone).At(name)
		}
		return can[0], nil
	}
	return time.Time{}, fault.Invalid("%q is no time", fault.Clip(s, fault.Echo)).At(name).WithHint("write it as 2026-11-28, 2026-11-28 10:02 or 2026-11-28T10:02:03+13:00")
}
