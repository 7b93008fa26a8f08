package reading

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// rowsOf prints what was read as "line instant °C".
func rowsOf(f *File) string {
	var out []string
	for _, r := range f.Rows {
		out = append(out, fmt.Sprintf("%d %s %.5g", r.Line, r.At.UTC().Format("02T15:04:05.999"), r.C))
	}
	return strings.Join(out, "; ")
}

// TestReadFile reads files in the forms in which loggers write them. The forms are common
// practice, no source; quoting is RFC 4180's, the form of a time RFC 3339's.
func TestReadFile(t *testing.T) {
	t.Parallel()
	auckland := zone(t, "Pacific/Auckland") // +13:00 in November
	for name, c := range map[string]struct {
		text, want string
		layout     Layout
		see        func(*File) bool // something of how it was read
	}{
		"plain": {text: "time,temp\n2026-11-28 10:00:00,151.2\n2026-11-28 10:00:01,151.3\n", want: "2 27T21:00:00 151.2; 3 27T21:00:01 151.3",
			see: func(f *File) bool {
				return f.TimeColumn == "time" && f.ValueColumn == "temp" && f.Unit == Celsius && !f.Comma
			}},
		"RFC 3339":                  {text: "at,value\n2026-11-28T10:00:00Z,20\n2026-11-28T23:00:00.250+13:00,21\n", want: "2 28T10:00:00 20; 3 28T10:00:00.25 21"},
		"no header":                 {text: "2026-11-28T10:00:00Z,20\n", want: "1 28T10:00:00 20", see: func(f *File) bool { return f.Columns == nil && f.ValueColumn == "2" }},
		"no line end":               {text: "2026-11-28T10:00:00Z,20", want: "1 28T10:00:00 20"},
		"old line ends":             {text: "t,c\r2026-11-28T10:00:00Z,20\r", want: "2 28T10:00:00 20"},
		"mark of UTF-8":             {text: "\ufefftime,temp\n2026-11-28 10:00:00,1\n", want: "2 27T21:00:00 1", see: func(f *File) bool { return f.TimeColumn == "time" }},
		"Windows-1252":              {text: "Zeit;Temp \xb0C\n28.11.2026 10:00;151,25\n", want: "2 27T21:00:00 151.25", see: func(f *File) bool { return f.Unit == Celsius && f.Comma }},
		"semicolons and commas":     {text: "Date;Temperature;RH\n2026-11-28 10:00;151,2;40,1\n2026-11-28 10:01;151,4;40,2\n", want: "2 27T21:00:00 151.2; 3 27T21:01:00 151.4", see: func(f *File) bool { return f.Separator == ";" && f.Comma }},
		"tabs":                      {text: "Date\tT °C\n2026-11-28 10:00\t-4,5\n", want: "2 27T21:00:00 -4.5"},
		"quoted decimal commas":     {text: "time,temp\n2026-11-28 10:00,\"151,2\"\n", want: "2 27T21:00:00 151.2"},
		"lines before the header":   {text: "Logger,7\nSerial,00012345\n\nNo.,Date,Time,Temp(C),Battery V\n1,2026/11/28,10:00:00,20.5,3.1\n2,2026/11/28,10:05:00,20.6,3.1\n3,2026/11/28,10:10:00,20.7,3.0\n", want: "5 27T21:00:00 20.5; 6 27T21:05:00 20.6; 7 27T21:10:00 20.7", see: func(f *File) bool { return f.TimeColumn == "Date+Time" && f.ValueColumn == "Temp(C)" }},
		"Fahrenheit by its header":  {text: "time,Temp °F\n2026-11-28 10:00,302\n", want: "2 27T21:00:00 150", see: func(f *File) bool { return f.Unit == Fahrenheit }},
		"Fahrenheit by its cells":   {text: "time,temp\n2026-11-28 10:00,302 °F\n", want: "2 27T21:00:00 150"},
		"Fahrenheit as it is said":  {text: "time,temp\n2026-11-28 10:00,212\n", layout: Layout{Unit: Fahrenheit}, want: "2 27T21:00:00 100"},
		"day first by its dots":     {text: "t;c\n01.11.2026 10:00;20\n", want: "2 31T21:00:00 20"},
		"day first by another line": {text: "t,c\n01/11/2026 10:00,20\n28/11/2026 10:00,21\n", want: "2 31T21:00:00 20; 3 27T21:00:00 21", see: func(f *File) bool { return f.Dates == DayFirst }},
		"month first":               {text: "t,c\n11/28/2026 10:00:00 AM,20\n11/28/2026 12:30:00 PM,21\n11/29/26 12:30:00 AM,22\n", want: "2 27T21:00:00 20; 3 27T23:30:00 21; 4 28T11:30:00 22"},
		"day first as it is said":   {text: "t,c\n02/03/2026 10:00,20\n", layout: Layout{Dates: DayFirst}, want: "2 01T21:00:00 20"},
		"month first as it is said": {text: "t,c\n02/03/2026 10:00,20\n", layout: Layout{Dates: MonthFirst}, want: "2 02T21:00:00 20"},
		"seconds since 1970":        {text: "unix,temp\n1795860000,20\n1795860001500,21\n", want: "2 28T10:00:00 20; 3 28T10:00:01.5 21"},
		"newest first":              {text: "t,c\n2026-11-28 10:01,21\n2026-11-28 10:00,20\n", want: "3 27T21:00:00 20; 2 27T21:01:00 21"},
		"columns as they are said":  {text: "a,b,c,d\n2026-11-28 10:00,2026-11-29 10:00,20,30\n", layout: Layout{TimeColumn: "B", ValueColumn: "4"}, want: "2 28T21:00:00 30"},
		"date and time as said":     {text: "v,d,h\n20,2026-11-28,10:00\n", layout: Layout{TimeColumn: "d+h"}, want: "2 27T21:00:00 20"},
		"gaps":                      {text: "t,c\n2026-11-28 10:00,\n2026-11-28 10:01,20\n\n", want: "3 27T21:01:00 20", see: func(f *File) bool { return f.Empty == 1 }},
		"a clock ahead":             {text: "t,c\n2026-11-28 10:00,20\n", layout: Layout{Ahead: 90 * time.Second}, want: "2 27T20:58:30 20"},
		"a sign of another kind":    {text: "t,c\n2026-11-28 10:00,\u22124.5\n", want: "2 27T21:00:00 -4.5"},
		"empty cells at the end":    {text: "t,c\n2026-11-28 10:00,20,,\n", want: "2 27T21:00:00 20"},
	} {
		if c.layout.Zone == nil {
			c.layout.Zone = auckland
		}
		f, faults := ReadFile("log.csv", []byte(c.text), c.layout)
		if len(faults) > 0 {
			t.Errorf("%s: %v", name, faults)
			continue
		}
		if got := rowsOf(f); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", name, got, c.want)
		}
		if c.see != nil && !c.see(f) {
			t.Errorf("%s: read as %+v", name, *f)
		}
	}
}

// TestReadFile_wrong: what cannot be meant is told with its line and column, and what is
// to be done.
func TestReadFile_wrong(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		text, field, says string
		layout            Layout
	}{
		"nothing":                  {text: " \n", says: "is empty"},
		"a workbook":               {text: "PK\x03\x04\x00\x00", says: "not plain text"},
		"UTF-16":                   {text: "\xff\xfet\x00", says: "not plain text"},
		"no readings":              {text: "name,price\nmint,3.20\n", says: "no line of the first"},
		"a word for a value":       {text: "time,temp\n2026-11-28 10:00,20\n2026-11-28 10:01,open\n", field: "log.csv:3, column temp", says: `"open" is no temperature`},
		"a power of ten":           {text: "time,temp\n2026-11-28 10:00,20\n2026-11-28 10:01,2e2\n", field: "log.csv:3, column temp", says: "is no temperature"},
		"two decimal marks":        {text: "time;temp\n2026-11-28 10:00;20,5\n2026-11-28 10:01;1.020,5\n", field: "log.csv:3, column temp", says: "is no temperature"},
		"a word for a time":        {text: "time,temp\n2026-11-28 10:00,20\nthe end,20\n", field: "log.csv:3, column time", says: `"the end" is no time`},
		"a time that is not":       {text: "time,temp\n2026-11-28 10:00,20\n2026-11-31 10:00,20\n", field: "log.csv:3, column time", says: "there is no time"},
		"an hour that is not":      {text: "time,temp\n2026-11-28 10:00,20\n2026-11-28 13:00 PM,20\n", field: "log.csv:3, column time", says: "is no time"},
		"day or month":             {text: "time,temp\n02/03/2026 10:00,20\n", field: "log.csv:2, column time", says: "day and month could change places"},
		"both orders":              {text: "time,temp\n13/03/2026 10:00,20\n03/13/2026 10:00,20\n", field: "log.csv:2, column time", says: "in others"},
		"an order that is not so":  {text: "time,temp\n13/03/2026 10:00,20\n", layout: Layout{Dates: MonthFirst}, field: "log.csv:2, column time", says: "not written month-first"},
		"two temperatures":         {text: "time,temp 1,temp 2\n2026-11-28 10:00,20,30\n", field: "value-column", says: "more than one column"},
		"no such column":           {text: "time,temp\n2026-11-28 10:00,20\n", layout: Layout{ValueColumn: "heat"}, field: "value-column", says: `no column "heat"`},
		"no such time column":      {text: "time,temp\n2026-11-28 10:00,20\n", layout: Layout{TimeColumn: "3"}, field: "time-column", says: `no column "3"`},
		"a decimal comma":          {text: "time,temp\n2026-11-28 10:00,151,2\n", field: "log.csv:2", says: "3 cells and the header 2"},
		"another unit":             {text: "time,temp °F\n2026-11-28 10:00,20\n", layout: Layout{Unit: Celsius}, field: "unit", says: "°C"},
		"another unit in one cell": {text: "time,temp °C\n2026-11-28 10:00,20\n2026-11-28 10:01,68 F\n", field: "log.csv:3, column temp °C", says: "is in °F"},
		"no partner":               {text: "time,temp\n\"2026-11-28 10:00,20\n", says: ""},
		"only gaps":                {text: "time,temp\n2026-11-28 10:00,20,x\n", field: "log.csv:2", says: "cells"},
	} {
		f, faults := ReadFile("log.csv", []byte(c.text), c.layout)
		if len(faults) == 0 {
			t.Errorf("%s: read as %s", name, rowsOf(f))
			continue
		}
		if e := faults[0]; e.Field != c.field || !strings.Contains(e.Text, c.says) || e.Hint == "" {
			t.Errorf("%s: at %q %q (%s), want at %q something with %q", name, e.Field, e.Text, e.Hint, c.field, c.says)
		}
	}
}

// Many wrong lines are told as a few and a count.
func TestReadFile_manyWrong(t *testing.T) {
	t.Parallel()
	text := "time,temp\n2026-11-28 10:00,20\n2026-11-28 10:00,20\n2026-11-28 10:00,20\n" + strings.Repeat("2026-11-28 10:00,20 K\n", 3*mostTold)
	_, faults := ReadFile("log.csv", []byte(text), Layout{ValueColumn: "temp"})
	if len(faults) != mostTold+1 || !strings.Contains(faults[mostTold].Text, "40 more") {
		t.Errorf("%d faults, the last %v", len(faults), faults[len(faults)-1])
	}
}

func TestReadFile_tooLarge(t *testing.T) {
	t.Parallel()
	line := "2026-11-28 10:00,20\n"
	for name, text := range map[string]string{"bytes": strings.Repeat("x", MostFile+1), "rows": strings.Repeat(line, MostRows+mostPreamble+1), "columns": line + strings.Repeat(",", mostColumns)} {
		if _, faults := ReadFile("log.csv", []byte(text), Layout{}); len(faults) == 0 {
			t.Errorf("%s: read", name)
		}
	}
}

// The clocks of the European Union go forward at 01:00 UTC of the last Sunday of March and
// back at 01:00 UTC of the last Sunday of October (Directive 2000/84/EC, articles 2 and 3):
// in Paris on 2026-03-29 from 02:00 to 03:00, on 2026-10-25 from 03:00 to 02:00. Lord Howe
// Island moves them by half an hour (IANA time zone database, Australia/Lord_Howe).
func TestMoments(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		zone, shown string
		want        string
	}{
		{"Europe/Paris", "2026-03-29 01:59:59", "00:59:59"},
		{"Europe/Paris", "2026-03-29 02:00:00", ""},
		{"Europe/Paris", "2026-03-29 02:59:59", ""},
		{"Europe/Paris", "2026-03-29 03:00:00", "01:00:00"},
		{"Europe/Paris", "2026-10-25 01:59:59", "23:59:59"},
		{"Europe/Paris", "2026-10-25 02:00:00", "00:00:00 01:00:00"},
		{"Europe/Paris", "2026-10-25 02:59:59", "00:59:59 01:59:59"},
		{"Europe/Paris", "2026-10-25 03:00:00", "02:00:00"},
		{"Australia/Lord_Howe", "2026-10-04 02:15:00", ""},
		{"Australia/Lord_Howe", "2026-04-05 01:45:00", "14:45:00 15:15:00"},
		{"UTC", "2026-10-25 02:30:00", "02:30:00"},
	} {
		shown, err := time.Parse(time.DateTime, c.shown)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, at := range Moments(shown, zone(t, c.zone)) {
			got = append(got, at.UTC().Format(time.TimeOnly))
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s in %s is %v, want %s", c.shown, c.zone, got, c.want)
		}
	}
}

// A file over the two nights on which clocks change.
func TestReadFile_clockChanges(t *testing.T) {
	t.Parallel()
	paris := zone(t, "Europe/Paris")
	read := func(o Overlap, lines ...string) (string, string) {
		f, faults := ReadFile("log.csv", []byte("t,c\n"+strings.Join(lines, "\n")), Layout{Zone: paris, Overlap: o})
		if len(faults) > 0 {
			return "", faults[0].Error()
		}
		return rowsOf(f), strings.Join(f.Notes, "; ")
	}
	// Through the hour that comes twice, the rows say which is which.
	got, note := read("", "2026-10-25 01:30,1", "2026-10-25 02:00,2", "2026-10-25 02:30,3", "2026-10-25 02:00,4", "2026-10-25 02:30,5", "2026-10-25 03:00,6")
	if want := "2 24T23:30:00 1; 3 25T00:00:00 2; 4 25T00:30:00 3; 5 25T01:00:00 4; 6 25T01:30:00 5; 7 25T02:00:00 6"; got != want || !strings.Contains(note, "2026-10-25") {
		t.Errorf("through it: %s, %s", got, note)
	}
	// Two lines that go back may be of either pass, or the newest may stand first.
	if got, note := read("", "2026-10-25 02:30,1", "2026-10-25 02:00,2"); got != "" || !strings.Contains(note, "comes twice") {
		t.Errorf("two lines: %s, %s", got, note)
	}
	// Beginning in it, and turning back later.
	if got, note := read("", "2026-10-25 02:30,1", "2026-10-25 02:40,2", "2026-10-25 02:10,3", "2026-10-25 02:50,4"); got != "2 25T00:30:00 1; 3 25T00:40:00 2; 4 25T01:10:00 3; 5 25T01:50:00 4" {
		t.Errorf("turning back: %s, %s", got, note)
	}
	// Beginning in it, and nothing says which.
	if got, note := read("", "2026-10-25 02:30,1", "2026-10-25 03:30,2"); got != "" || !strings.Contains(note, "comes twice") || !strings.Contains(note, "log.csv:2") {
		t.Errorf("not told: %s, %s", got, note)
	}
	for o, want := range map[Overlap]string{First: "2 25T00:30:00 1", Second: "2 25T01:30:00 1"} {
		if got, note := read(o, "2026-10-25 02:30,1"); got != want || !strings.Contains(note, string(o)) {
			t.Errorf("%s: %s, %s", o, got, note)
		}
	}
	// The hour that is not.
	if got, note := read("", "2026-03-29 01:59,1", "2026-03-29 02:00,2"); got != "" || !strings.Contains(note, "log.csv:3, column t") || !strings.Contains(note, "forward") {
		t.Errorf("skipped: %s, %s", got, note)
	}
	// A file that says its zone has neither.
	if got, _ := read("", "2026-10-25 02:30+02:00,1", "2026-10-25 02:30+01:00,2", "2026-03-29 02:30Z,3"); !strings.Contains(got, "25T00:30:00 1") || !strings.Contains(got, "25T01:30:00 2") || !strings.Contains(got, "29T02:30:00 3") {
		t.Errorf("with its zone: %s", got)
	}
}

// Whatever a file holds, it is read or refused, and what is read can be meant.
func FuzzReadFile(f *testing.F) {
	for _, s := range []string{"time,temp\n2026-11-28 10:00,20\n", "28.11.2026;10:00;151,2", "\ufeff1795860000\t20", "a,b\n\"2026-11-28 10:00\",-4 °F\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		file, faults := ReadFile("f", data, Layout{})
		if len(faults) > 0 {
			return
		}
		if len(file.Rows) == 0 {
			t.Fatal("no rows and no fault")
		}
		for _, r := range file.Rows {
			if math.IsNaN(r.C) || math.IsInf(r.C, 0) || r.At.IsZero() || r.Line < 1 {
				t.Fatalf("%+v", r)
			}
		}
	})
}
