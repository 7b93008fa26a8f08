package reading

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/fault"
)

// find finds the columns. Where none can be the time or the value the file is separated
// by something else, or is no logger's.
func (t *table) find(l Layout) (columns, *fault.Error) {
	c := columns{date: -1, clock: -1, value: -1, body: -1}
	for i, row := range t.rows[:min(len(t.rows), mostPreamble)] {
		if date, clock, ok := timeCells(row.text); ok && hasNumber(row.text, date, clock) {
			c.body, c.date, c.clock = i, date, clock
			for c.body > 0 && c.timeIn(t.rows[c.body-1].text) { // of rows before it nothing was measured
				c.body--
			}
			break
		}
	}
	if c.body < 0 {
		return c, t.noReadings()
	}
	if c.body > 0 && len(t.rows[c.body-1].text) >= 2 {
		c.header = t.rows[c.body-1].text
	}
	if err := c.statedTime(t, l.TimeColumn); err != nil {
		return c, err
	}
	if l.ValueColumn != "" {
		i, err := c.index(t, "value-column", l.ValueColumn)
		c.value = i
		return c, err
	}
	return c, c.findValue(t)
}

// timeIn reports whether a row has its time where the columns say.
func (c columns) timeIn(row []string) bool {
	date, clock, ok := timeCells(row)
	return ok && date == c.date && clock == c.clock
}

// noReadings is the fault of a file in which no line is a time and a value.
func (t *table) noReadings() *fault.Error {
	return fault.Invalid("no line of the first %d of %s holds a time and a temperature", mostPreamble, t.name).
		WithHint("a line looks like 2026-11-28 10:02:03,151.2")
}

// statedTime takes the time column that is stated.
func (c *columns) statedTime(t *table, said string) *fault.Error {
	if said == "" {
		return nil
	}
	date, clock, two := strings.Cut(said, "+")
	var err *fault.Error
	c.clock = -1
	if c.date, err = c.index(t, "time-column", date); err == nil && two {
		c.clock, err = c.index(t, "time-column", clock)
	}
	return err
}

// index finds a column by its name in the header or by its number.
func (c columns) index(t *table, field, said string) (int, *fault.Error) {
	said = strings.TrimSpace(said)
	for i, name := range c.header {
		if strings.EqualFold(name, said) {
			return i, nil
		}
	}
	if n, err := strconv.Atoi(said); err == nil && n >= 1 && n <= len(t.rows[c.body].text) {
		return n - 1, nil
	}
	return -1, fault.Invalid("%s has no column %q", t.name, fault.Clip(said, fault.Echo)).At(field).WithHint("its columns: %s", c.list(t))
}

// list names the columns for a hint.
func (c columns) list(t *table) string {
	var out []string
	for i := range t.rows[c.body].text {
		out = append(out, strconv.Quote(fault.Clip(c.name(i), fault.Echo)))
	}
	return strings.Join(out, ", ")
}

// The words by which a header tells a temperature, and what else a logger writes.
var (
	warm  = []string{"temp", "°c", "ºc", "°f", "ºf", "(c)", "(f)", "[c]", "[f]", "celsius", "fahrenheit", "t1", "probe", "value", "reading"}
	other = []string{"humid", "rh", "%", "batt", "volt", "index", "record", "sample", "serial", "dew", "press", "alarm", "min", "max", "lux", "co2", "#"}
)

func says(name string, words []string) bool {
	name = strings.ToLower(name)
	return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(name, w) })
}

// findValue finds the one column of numbers that can be the temperature.
func (c *columns) findValue(t *table) *fault.Error {
	var numeric []int
	for i := range t.rows[c.body].text {
		if i != c.date && i != c.clock && t.mostlyNumbers(c.body, i) && !t.counts(c.body, i) {
			numeric = append(numeric, i)
		}
	}
	likely := slices.DeleteFunc(slices.Clone(numeric), func(i int) bool { return !says(c.name(i), warm) || says(c.name(i), other) })
	possible := slices.DeleteFunc(slices.Clone(numeric), func(i int) bool { return says(c.name(i), other) })
	for _, list := range [][]int{likely, possible, numeric} {
		if len(list) == 1 {
			c.value = list[0]
			return nil
		}
		if len(list) > 1 {
			break
		}
	}
	if len(numeric) == 0 {
		return t.noReadings()
	}
	return fault.Invalid("%s has more than one column that can be the temperature", t.name).At("value-column").WithHint("say which: %s", c.list(t))
}

// mostlyNumbers reports whether the cells of a column are numbers, but for at most half.
func (t *table) mostlyNumbers(body, col int) bool {
	n, ok := 0, 0
	for _, row := range t.rows[body:min(len(t.rows), body+200)] {
		if row.at(col) == "" {
			continue
		}
		n++
		if isNumber(row.at(col)) {
			ok++
		}
	}
	return ok > 0 && 2*ok >= n
}

// counts reports whether a column only numbers the rows, as loggers do in the first one.
func (t *table) counts(body, col int) bool {
	rows := t.rows[body:min(len(t.rows), body+200)]
	if len(rows) < 2 || col != 0 {
		return false
	}
	for i := 1; i < len(rows); i++ {
		a, err1 := strconv.Atoi(rows[i-1].at(col))
		b, err2 := strconv.Atoi(rows[i].at(col))
		if err1 != nil || err2 != nil || b != a+1 && b != a-1 {
			return false
		}
	}
	return true
}

// isNumber reports whether a cell can be a temperature, in whatever unit.
func isNumber(text string) bool {
	_, _, c := number(text, Celsius)
	_, _, f := number(text, Fahrenheit)
	return c == nil || f == nil
}

// timeCells finds the cell of a time, or those of a date and of a time of day.
func timeCells(row []string) (date, clock int, ok bool) {
	for i, text := range row {
		if isStamp(text) {
			return i, -1, true
		}
	}
	date, clock = -1, -1
	for i, text := range row {
		switch {
		case date < 0 && isDate(text):
			date = i
		case clock < 0 && isClock(text):
			clock = i
		}
	}
	return date, clock, date >= 0 && clock >= 0
}

// hasNumber reports whether a row has a number beside its time.
func hasNumber(row []string, date, clock int) bool {
	for i, text := range row {
		if i != date && i != clock && isNumber(text) {
			return true
		}
	}
	return false
}

// unit is the one that is stated, else the one that the header or the cells name, else °C.
func (t *table) unit(c columns, l Layout) (Unit, *fault.Error) {
	found := Unit("")
	head := strings.ToLower(c.name(c.value))
	switch {
	case len(c.header) == 0:
	case strings.Contains(head, "°f") || strings.Contains(head, "ºf") || strings.Contains(head, "fahrenheit") || strings.Contains(head, "(f)") || strings.Contains(head, "[f]"):
		found = Fahrenheit
	case strings.Contains(head, "°c") || strings.Contains(head, "ºc") || strings.Contains(head, "celsius") || strings.Contains(head, "(c)") || strings.Contains(head, "[c]"):
		found = Celsius
	}
	if cell := strings.ToUpper(t.rows[c.body].at(c.value)); found == "" && cell != "" {
		switch cell[len(cell)-1] {
		case 'F':
			found = Fahrenheit
		case 'C':
			found = Celsius
		}
	}
	switch {
	case l.Unit == "" && found == "":
		return Celsius, nil
	case l.Unit == "" || l.Unit == found || found == "":
		return max(l.Unit, found), nil // one of them is empty, or they are the same
	}
	return "", fault.Invalid("the unit is said to be %s, and %s says %s", l.Unit, fmt.Sprintf("%s:%d", t.name, t.rows[max(c.body-1, 0)].line), found).At("unit").WithHint("state the unit the thermometer showed")
}
