package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"strconv"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/reading"
)

// mostReadingsBody is the largest body of readings [bytes]: a logger's memory.
const mostReadingsBody = reading.MostFile + 1<<10

// usualReadings is how many readings are listed where nobody says how many.
const usualReadings = 500

// APIReading is what a thermometer showed. Without a time it is of now; without a unit in
// °C; without a batch it is found by its time and place.
type APIReading struct {
	Probe string  `json:"probe"`        // id of the thermometer in the shop book
	In    string  `json:"in"`           // where it looks
	At    string  `json:"at,omitempty"` // RFC 3339
	Value float64 `json:"value"`
	Unit  string  `json:"unit,omitempty"` // C or F
	Batch string  `json:"batch,omitempty"`
	Ahead int64   `json:"clock_ahead_ms,omitempty"` // how far the sender's clock is ahead
}

// sentReading is a reading whose value may be missing, which no zero may stand for.
type sentReading struct {
	APIReading
	Value *float64 `json:"value"`
}

// readingEndpoints are the readings of thermometers.
func (s *server) readingEndpoints() []endpoint {
	return []endpoint{{path: "/readings", most: mostReadingsBody,
		get: &operation{summary: "Readings of thermometers by time, as they were shown: of a batch, those that are said to be of it and those found to be by time and place.", answer: "readings", do: s.getReadings, params: []param{
			{name: "batch", help: "Those of one batch.", example: "2026-11-28-2"},
			{name: "probe", help: "Those of one thermometer.", example: "brass"},
			{name: "in", help: "Those of one place: " + placesText() + ".", example: "kettle"},
			{name: "from", help: "Measured then or later: a date, or a time with its zone or in the shop's.", example: "2026-11-28"},
			{name: "to", help: "Measured before then.", example: "2026-11-28T14:00:00+13:00"},
			{name: "limit", help: "How many at most, 1 to 5000; default 500.", example: "50"},
			{name: "after", help: "The next of the list before, to go on after.", example: "1795860000000,0,brass"},
		}},
		post: &operation{summary: "Keeps readings, all or none: one, a list, or lines of CSV with a time and a value, whose thermometer and place the query says; a body of one number is of now. They are on the disk when it answers. What is sent twice is kept once; another value for the same thermometer and time is set aside.",
			answer: "readings-added", body: "write-reading", measure: true, list: true, csv: true, do: s.postReadings, params: []param{
				{name: "probe", help: "CSV: the thermometer.", example: "brass"},
				{name: "in", help: "CSV: where it looks.", example: "kettle"},
				{name: "batch", help: "CSV: the batch.", example: "2026-11-28-2"},
				{name: "unit", help: "CSV: C or F; default as its header says, else C.", example: "F"},
				{name: "zone", help: "CSV: time zone of times that say none; default the shop's.", example: "UTC"},
				{name: "time-column", help: "CSV: name or number of the column of the time.", example: "1"},
				{name: "value-column", help: "CSV: name or number of the column of the value.", example: "2"},
				{name: "dates", help: "CSV: day-first or month-first.", example: "day-first"},
				{name: "overlap", help: "CSV: first or second, for times that come twice where the clocks go back.", example: "first"},
				{name: "clock-ahead", help: "CSV: how far the sender's clock is ahead.", example: "90s"},
			}}}}
}

// placesText lists where a thermometer may look.
func placesText() string {
	var all []string
	for _, p := range reading.Places() {
		all = append(all, string(p))
	}
	return strings.Join(all, ", ")
}

func (s *server) getReadings(c *call) (any, error) {
	a := c.query()
	req := app.ReadingQuery{Batch: a.text("batch"), Probe: a.text("probe"), In: a.text("in"), After: a.text("after"), Limit: given(whole(a, "limit"), usualReadings)}
	zone := s.zone(c.Request)
	for name, to := range map[string]*time.Time{"from": &req.From, "to": &req.To} {
		at, err := app.ParseMoment(name, a.text(name), zone)
		if err != nil {
			a.fail(name, err)
		}
		*to = at
	}
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.Readings(c.Context(), req)
}

func (s *server) postReadings(c *call) (any, error) {
	a := c.query()
	kind, _, err := mime.ParseMediaType(c.Header.Get("Content-Type"))
	if err != nil || kind != "application/json" && kind != "text/csv" {
		return nil, fault.Invalid("what was sent is said to be neither JSON nor CSV").WithCause(errMediaType).WithHint("send it with Content-Type: application/json or text/csv")
	}
	if kind == "application/json" {
		for _, p := range c.op.params {
			if a.text(p.name) != "" {
				a.fail(p.name, fault.Invalid("it goes with CSV alone").WithHint("write it into the JSON"))
			}
		}
	}
	if err := a.err(); err != nil {
		return nil, err
	}
	data, err := c.whole()
	if err != nil {
		return nil, err
	}
	if kind == "text/csv" {
		return s.postCSV(c, a, data)
	}
	posts, one, err := readingsIn(data)
	if err != nil {
		return nil, err
	}
	return s.keepReadings(c, posts, one)
}

// readingsIn reads one reading or a list of them.
func readingsIn(data []byte) (posts []app.ReadingPost, one bool, err error) {
	var list []json.RawMessage
	if one = !bytes.HasPrefix(bytes.TrimLeft(data, " \t\r\n"), []byte("[")); one {
		list = []json.RawMessage{data}
	} else if err := readJSON(data, &list); err != nil {
		return nil, one, err
	}
	for i, raw := range list {
		var r sentReading
		if err := readJSON(raw, &r); err != nil {
			return nil, one, ofSent(err, i, one)
		}
		p := app.ReadingPost{Probe: r.Probe, In: r.In, Batch: r.Batch, Unit: r.Unit, Ahead: time.Duration(r.Ahead) * time.Millisecond}
		if r.Value == nil {
			return nil, one, ofSent(fault.Invalid("there is no value").At("value").WithHint("leave the reading out if nothing was measured"), i, one)
		}
		p.Value = *r.Value
		if r.At != "" {
			if p.At, err = time.Parse(time.RFC3339, r.At); err != nil {
				return nil, one, ofSent(fault.Invalid("%q is no time", fault.Clip(r.At, fault.Echo)).At("at").WithHint("write it as 2026-11-28T10:02:03.5+13:00"), i, one)
			}
		}
		if r.Ahead != p.Ahead.Milliseconds() {
			return nil, one, ofSent(fault.Invalid("no clock is that far ahead").At("clock_ahead_ms").WithHint("set it"), i, one)
		}
		posts = append(posts, p)
	}
	return posts, one, nil
}

// ofSent names the reading that a fault is of, where there are several.
func ofSent(err error, i int, one bool) error {
	var f *fault.Error
	if !errors.As(err, &f) || one {
		return err
	}
	field := fmt.Sprintf("readings[%d]", i)
	if f.Field != "" {
		field += "." + f.Field
	}
	return f.At(field)
}

// keepReadings keeps what whoever asks may bring in.
func (s *server) keepReadings(c *call, posts []app.ReadingPost, one bool) (any, error) {
	for _, p := range posts {
		if err := s.mayMeasure(c, p.Probe); err != nil {
			return nil, err
		}
	}
	n, err := s.shop.AddReadings(c.Context(), posts, reading.Posted, s.who(c.Request))
	var f *fault.Error
	if one && errors.As(err, &f) {
		err = f.At(strings.TrimPrefix(f.Field, "readings[0]."))
	}
	if err != nil {
		return nil, err
	}
	return n, nil
}

// mayMeasure refuses readings of another thermometer than a token is held to.
func (s *server) mayMeasure(c *call, probe string) error {
	t := visitorOf(c.Request).token
	if t == nil || t.MayMeasure(probe) {
		return nil
	}
	return fault.Forbidden("%s brings in readings of %s alone", s.who(c.Request), t.Probe).At("probe").WithHint("the owner makes another token under People")
}

// postCSV keeps lines of CSV, or one number that is of now.
func (s *server) postCSV(c *call, a *query, data []byte) (any, error) {
	if err := s.mayMeasure(c, a.text("probe")); err != nil {
		return nil, err
	}
	var ahead time.Duration
	if text := a.text("clock-ahead"); text != "" {
		var err error
		if ahead, err = time.ParseDuration(text); err != nil {
			return nil, fault.Invalid("%q is no duration", fault.Clip(text, fault.Echo)).At("clock-ahead").WithHint("write it as 90s or 1h, with - in front if it is behind")
		}
	}
	if v, err := strconv.ParseFloat(strings.TrimSpace(string(data)), 64); err == nil {
		return s.keepReadings(c, []app.ReadingPost{{Probe: a.text("probe"), In: a.text("in"), Batch: a.text("batch"), Unit: a.text("unit"), Value: v}}, true)
	}
	r, err := s.shop.ReadLogger(c.Context(), app.LoggerRequest{Name: "line", From: bytes.NewReader(data), Source: reading.Posted,
		Probe: a.text("probe"), In: a.text("in"), Batch: a.text("batch"), Unit: a.text("unit"), Zone: a.text("zone"),
		TimeColumn: a.text("time-column"), ValueColumn: a.text("value-column"), Dates: a.text("dates"), Overlap: a.text("overlap"), Ahead: ahead}, s.who(c.Request))
	if err != nil {
		return nil, err
	}
	return &app.ReadingsAdded{Counts: r.Counts, Cautions: r.Cautions}, nil
}
