package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// What is sent to write to the record of a batch. Corrects is the act of the entry that
// it stands in place of, 0 for none.
type (
	// APIBegin begins a batch; what is left out is the recipe's, the day's, a whole boil,
	// or as it was in what is corrected.
	APIBegin struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		Recipe   string `json:"recipe,omitempty"`
		ChargeMg int64  `json:"charge_mg,omitempty"`
		Kettle   string `json:"kettle,omitempty"`
		Glass    string `json:"glass,omitempty"`
	}
	// APILift writes down the lift.
	APILift struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Lifted
	}
	// APIMoisture writes down a measured moisture.
	APIMoisture struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Moisture
	}
	// APIWork writes down the temperatures of the slab and the rolls.
	APIWork struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Worked
	}
	// APITakeBack takes an entry back.
	APITakeBack struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act"`
	}
)

// recordEndpoints are the records of batches and what they teach.
func (s *server) recordEndpoints() []endpoint {
	write := func(kind, summary, body string, do func(c *call) (any, error)) endpoint {
		return endpoint{path: "/records/{batch}/" + kind, put: &operation{summary: summary, answer: "record", body: body, makes: kind == "begun", note: true, do: do}}
	}
	return append([]endpoint{
		{path: "/records", get: &operation{summary: "The records of batches, the newest first.", answer: "records", do: s.getRecords, params: []param{
			{name: "recipe", help: "Those of one recipe.", example: "damson-leaves"},
			{name: "from", help: "Made on this day or later.", example: "2026-11-01"},
			{name: "to", help: "Made on this day or earlier.", example: "2026-11-28"},
			limitParam(), {name: "before", help: "The batch to go on after.", example: "2026-11-28-2"},
		}}},
		{path: "/records/{batch}", get: &operation{summary: "One record: what is written, what was planned, what became of it.", answer: "record", do: s.getRecord}},
		write("begun", "Begins a batch under a number that is free, by the book as it is now, or corrects how it was begun.", "write-begun", s.putBegun),
		write("lifted", "Writes down the lift. What was not looked at is left out.", "write-lifted", s.putLifted),
		write("moisture", "Writes down a measured moisture.", "write-moisture", s.putMoisture),
		write("worked", "Writes down the temperatures at which it was pulled and rolled. What was not looked at is left out.", "write-worked", s.putWorked),
		write("taken-back", "Takes an entry back.", "take-back", s.putTakenBack),
		{path: "/batches/{batch}/slab", get: &operation{summary: "A batch under way beside kettle and slab: what was done, what comes next, when, and how long there is.", answer: "at-slab", do: s.getAtSlab}},
		{path: "/learned", get: &operation{summary: "What the records teach of the room.", answer: "learn", do: s.getLearned}},
		{path: "/look-back/{glass}", get: &operation{summary: "The batches since the last good check of a thermometer, if a later one found it off.", answer: "look-back", do: s.getLookBack}},
	}, slices.Concat(s.workEndpoints(), s.weighInEndpoints(), s.troubleEndpoints())...)
}

func (s *server) getRecords(c *call) (any, error) {
	a := c.query()
	req := app.RecordQuery{Recipe: a.text("recipe"), From: a.text("from"), To: a.text("to"), Before: a.text("before"), Limit: a.limit()}
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.Records(c.Context(), req)
}

func (s *server) getRecord(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.Record(c.Context(), c.PathValue("batch"))
}

func (s *server) getLearned(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.Learned(c.Context())
}

func (s *server) getLookBack(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.LookBack(c.Context(), c.PathValue("glass"))
}

func (s *server) putBegun(c *call) (any, error) {
	var in APIBegin
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	if in.ChargeMg < 0 {
		return nil, fault.Invalid("a charge below zero").At("charge_mg").WithHint("leave it out for a whole boil")
	}
	batch := c.PathValue("batch")
	if err := record.CheckID(batch); err != nil {
		return nil, err
	}
	_, err := s.shop.Begin(c.Context(), app.BeginRequest{Batch: batch, Recipe: in.Recipe, Charge: q.Kilograms(float64(in.ChargeMg) / 1e6), Kettle: in.Kettle, Glass: in.Glass, Corrects: in.Corrects},
		s.who(c.Request), strings.TrimSpace(in.Why))
	if err != nil {
		return nil, sent(err)
	}
	if in.Corrects == 0 {
		c.status = http.StatusCreated
	}
	return s.shop.Record(c.Context(), batch)
}

func (s *server) putLifted(c *call) (any, error) {
	var in APILift
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putEntry(c, record.Entry{Lifted: &in.Lifted}, in.Corrects, in.Why)
}

func (s *server) putMoisture(c *call) (any, error) {
	var in APIMoisture
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putEntry(c, record.Entry{Moisture: &in.Moisture}, in.Corrects, in.Why)
}

func (s *server) putWorked(c *call) (any, error) {
	var in APIWork
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putEntry(c, record.Entry{Worked: &in.Worked}, in.Corrects, in.Why)
}

func (s *server) putTakenBack(c *call) (any, error) {
	var in APITakeBack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putEntry(c, record.Entry{}, in.Corrects, in.Why)
}

// putEntry writes an entry to the record of the batch of the address, and answers with
// the record.
func (s *server) putEntry(c *call, e record.Entry, corrects int64, why string) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	e.Batch = c.PathValue("batch")
	if err := s.mayWrite(c.Request, e, corrects); err != nil {
		return nil, err
	}
	if err := s.shop.Enter(c.Context(), e, corrects, s.who(c.Request), strings.TrimSpace(why)); err != nil {
		return nil, sent(err)
	}
	return s.shop.Record(c.Context(), e.Batch)
}

// sent names the field of what was sent instead of that of the record it fills.
func sent(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	kind, field, _ := strings.Cut(f.Field, ".")
	switch {
	case kind == string(record.Checking) && slices.Contains(record.Items(), record.Item(field)):
		return f.At("checks")
	case slices.Contains(record.Kinds(), record.Kind(kind)):
		return f.At(field)
	}
	switch kind {
	case "corrects":
		return f.At("corrects_act")
	case "charge":
		return f.At("charge_mg")
	}
	return err
}
