package shoptest

import "time"

// Zone is the time zone of the sample shops.
const Zone = "Europe/London"

// Date is the sample shops' making day, a Tuesday.
const Date = "2026-03-17"

// Now is the clock of every test: ten minutes before the sample shops open.
// London keeps Greenwich time in March until the last Sunday.
func Now() time.Time { return time.Date(2026, time.March, 17, 7, 50, 0, 0, time.UTC) }

// Clock returns a clock that starts at Now and moves on by step at each call.
// It is not for concurrent use.
func Clock(step time.Duration) func() time.Time {
	at := Now().Add(-step)
	return func() time.Time {
		at = at.Add(step)
		return at
	}
}
