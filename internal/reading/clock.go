package reading

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"slabside/internal/fault"
)

// The forms of a time: with the year first, with the year last, as seconds or
// milliseconds since 1970; then a zone, if it says one.
var (
	yearFirst = regexp.MustCompile(`^(\d{4})([-/.])(\d{1,2})[-/.](\d{1,2})$`)
	yearLast  = regexp.MustCompile(`^(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})$`)
	dayTime   = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)? ?([AaPp])?\.?(?:[Mm]\.?)?$`)
	zoneEnd   = regexp.MustCompile(` ?(Z|UTC|GMT|[+-]\d{2}:?\d{2})$`)
	unixForm  = regexp.MustCompile(`^\d{10}(\d{3})?$`)
)

// halves cuts a time into its date, its time of day and its zone.
func halves(text string) (date, clock, zone string) {
	text = strings.TrimSpace(text)
	date, clock, _ = strings.Cut(strings.Replace(text, "T", " ", 1), " ")
	if z := zoneEnd.FindString(clock); z != "" {
		clock, zone = strings.TrimSuffix(clock, z), strings.TrimSpace(z)
	}
	return strings.TrimRight(date, ","), clock, zone
}

func isDate(text string) bool {
	return yearFirst.MatchString(text) || yearLast.MatchString(text)
}

func isClock(text string) bool {
	_, clock, _ := halves("x " + text)
	return dayTime.MatchString(clock)
}

func isStamp(text string) bool {
	date, clock, _ := halves(text)
	return isDate(date) && dayTime.MatchString(clock) || unixForm.MatchString(text)
}

// stampOf is the time of a row as one text.
func stampOf(rows []cells, c columns, i int) (string, bool) {
	if i < 0 || i >= len(rows) {
		return "", false
	}
	text := rows[i].at(c.date)
	if c.clock >= 0 {
		text += " " + rows[i].at(c.clock)
	}
	return text, true
}

// order finds whether the day or the month stands first where the year stands last.
func (t *table) order(rows []cells, c columns, l Layout) (DateOrder, *fault.Error) {
	any, dots, day, month, line := false, true, false, false, 0
	for i, row := range rows {
		text, _ := stampOf(rows, c, i)
		date, _, _ := halves(text)
		m := yearLast.FindStringSubmatch(date)
		if m == nil {
			continue
		}
		if !any {
			any, line = true, row.line
		}
		a, _ := strconv.Atoi(m[1])
		b, _ := strconv.Atoi(m[3])
		dots = dots && m[2] == "."
		day, month = day || a > 12, month || b > 12
	}
	where := fmt.Sprintf("%s:%d, column %s", t.name, line, c.name(c.date))
	switch {
	case !any:
		return "", nil
	case day && month:
		return "", fault.Invalid("the day stands first in some dates and the month in others").At(where).WithHint("sort the file out by hand")
	case l.Dates == DayFirst && month || l.Dates == MonthFirst && day:
		return "", fault.Invalid("the dates of the file are not written %s", l.Dates).At(where).WithHint("leave the order of day and month out")
	case l.Dates != "":
		return l.Dates, nil
	case day, dots && !month: // dots are written with the day first
		return DayFirst, nil
	case month:
		return MonthFirst, nil
	}
	return "", fault.Invalid("day and month could change places in every date").At(where).WithHint("say day-first or month-first")
}

// newestFirst reports whether the rows run backwards in time, most of them.
func newestFirst(rows []cells, c columns, order DateOrder) bool {
	var last time.Time
	up, down := 0, 0
	for i := range rows {
		text, _ := stampOf(rows, c, i)
		n, err := readNaive(text, order)
		if err != nil {
			continue
		}
		if !last.IsZero() && n.at.After(last) {
			up++
		} else if n.at.Before(last) {
			down++
		}
		last = n.at
	}
	return down > up
}

// naive is a time as it is written: in its zone if it says one, else of no zone yet,
// which it is kept in UTC for.
type naive struct {
	at    time.Time
	zoned bool
}

// readNaive reads a time.
func readNaive(text string, order DateOrder) (naive, *fault.Error) {
	text = strings.TrimSpace(text)
	if unixForm.MatchString(text) {
		n, _ := strconv.ParseInt(text, 10, 64)
		if len(text) == 10 {
			n *= 1000
		}
		return naive{time.UnixMilli(n).UTC(), true}, nil
	}
	no := func() (naive, *fault.Error) {
		return naive{}, fault.Invalid("%q is no time", fault.Clip(text, fault.Echo)).WithHint("write it as 2026-11-28 10:02:03, with +13:00 or Z behind it if the zone is known")
	}
	date, clock, zone := halves(text)
	var year, month, day int
	if m := yearFirst.FindStringSubmatch(date); m != nil {
		year, month, day = atoi(m[1]), atoi(m[3]), atoi(m[4])
	} else if m := yearLast.FindStringSubmatch(date); m != nil {
		day, month, year = atoi(m[1]), atoi(m[3]), atoi(m[4])
		if order == MonthFirst {
			day, month = month, day
		}
		if len(m[4]) == 2 {
			year += 2000
		}
	} else {
		return no()
	}
	m := dayTime.FindStringSubmatch(clock)
	if m == nil {
		return no()
	}
	hour, minute, second := atoi(m[1]), atoi(m[2]), atoi(m[3])
	ns := atoi((m[4] + "000000000")[:9])
	if half := strings.ToLower(m[5]); half != "" {
		if hour < 1 || hour > 12 {
			return no()
		}
		hour %= 12
		if half == "p" {
			hour += 12
		}
	}
	loc, zoned := time.UTC, zone != ""
	if zoned && zone[0] != 'Z' && zone != "UTC" && zone != "GMT" {
		digits := strings.Replace(zone[1:], ":", "", 1)
		off := atoi(digits[:2])*3600 + atoi(digits[2:])*60
		if zone[0] == '-' {
			off = -off
		}
		loc = time.FixedZone("", off)
	}
	at := time.Date(year, time.Month(month), day, hour, minute, second, ns, loc)
	if at.Year() != year || int(at.Month()) != month || at.Day() != day || at.Hour() != hour || at.Minute() != minute || at.Second() != second {
		return naive{}, fault.Invalid("there is no time %q", fault.Clip(text, fault.Echo)).WithHint("look at the line")
	}
	return naive{at.UTC(), zoned}, nil
}

// atoi reads digits that a pattern has found; empty is 0.
func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// clock reads the times of a file from the first row to the last.
type clock struct {
	zone    *time.Location
	order   DateOrder
	overlap Overlap
	later   func(i int) (string, bool) // the time of another row
	last    time.Time                  // of the row before
	stated  int                        // times that said their zone
	notes   []string
	told    map[string]bool
}

func newClock(l Layout, order DateOrder) *clock {
	return &clock{zone: l.Zone, order: order, overlap: l.Overlap, told: map[string]bool{}}
}

// read reads the time of a row. A time that a zone skips, where its clocks go forward, is
// a fault; one that it has twice is told by the rows around it.
func (c *clock) read(date, timeOfDay string, i int) (time.Time, *fault.Error) {
	text := date
	if timeOfDay != "" {
		text += " " + timeOfDay
	}
	n, err := readNaive(text, c.order)
	if err != nil {
		return time.Time{}, err
	}
	at := n.at
	if n.zoned {
		c.stated++
	} else if at, err = c.place(n.at, text, i); err != nil {
		return at, err
	}
	c.last = at
	return at, nil
}

// Moments returns the instants at which clocks of a zone show a time: one, none where
// they go forward over it, two where they go back over it. The time is given as if it
// were in UTC.
func Moments(shown time.Time, zone *time.Location) []time.Time {
	var out []time.Time
	for _, near := range []time.Duration{-26 * time.Hour, 26 * time.Hour} {
		_, off := shown.Add(near).In(zone).Zone()
		at := shown.Add(-time.Duration(off) * time.Second)
		_, is := at.In(zone).Zone()
		if is == off && (len(out) == 0 || !out[0].Equal(at)) {
			out = append(out, at)
		}
	}
	if len(out) == 2 && out[1].Before(out[0]) {
		out[0], out[1] = out[1], out[0]
	}
	return out
}

// place finds the instant of a time that says no zone.
func (c *clock) place(shown time.Time, text string, i int) (time.Time, *fault.Error) {
	can := Moments(shown, c.zone)
	day := shown.Format(time.DateOnly)
	switch len(can) {
	case 1:
		return can[0], nil
	case 0:
		return shown, fault.Invalid("there is no %q in %s: the clocks go forward over it that day", fault.Clip(text, fault.Echo), c.zone).
			WithHint("the logger keeps another zone; say which, as --zone UTC")
	}
	at, how := can[0], ""
	switch {
	case c.overlap == Second:
		at, how = can[1], "second"
	case c.overlap == First:
		how = "first"
	case c.last.Equal(can[0]): // the same minute twice, or an hour later
		return shown, twice(text, c.zone)
	case !c.last.IsZero() && c.last.Before(can[0]):
		how = "first, then, once they begin again, the second"
	case !c.last.IsZero() && c.last.After(can[0]) && c.last.Before(can[1]):
		at, how = can[1], "first, then, once they begin again, the second"
	case c.last.IsZero() && c.turnsBack(shown, i):
		how = "first, then, once they begin again, the second"
	default:
		return shown, twice(text, c.zone)
	}
	if !c.told[day] {
		c.told[day] = true
		c.notes = append(c.notes, fmt.Sprintf("on %s the clocks of %s go back: times that come twice were taken for the %s", day, c.zone, how))
	}
	return at, nil
}

func twice(text string, zone *time.Location) *fault.Error {
	return fault.Invalid("%q comes twice in %s: the clocks go back over it that day, and the lines around it do not say which is meant", fault.Clip(text, fault.Echo), zone).
		WithHint("say first or second for the overlap")
}

// turnsBack reports whether a later row shows an earlier time, so that those before it are
// of the first pass.
func (c *clock) turnsBack(shown time.Time, i int) bool {
	for {
		i++
		text, ok := c.later(i)
		if !ok {
			return false
		}
		n, err := readNaive(text, c.order)
		if err != nil || n.zoned {
			continue
		}
		if n.at.Before(shown) {
			return true
		}
		if n.at.Sub(shown) > 3*time.Hour {
			return false
		}
		shown = n.at
	}
}
