package web

import (
	"errors"
	"net/http"
	"strings"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/care"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// What is sent to write to the ledger of a thing of the room. Corrects is the act of the
// entry that it stands in place of, 0 for none.
type (
	// APICareFound writes down a fault; without a day it is today's.
	APICareFound struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		care.Found
	}
	// APICareDone writes down what was done; without a day it is today's.
	APICareDone struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		care.Done
	}
	// APICareDue writes down what is due; of the same words the last holds.
	APICareDue struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		care.Due
	}
)

// careEndpoints are the care of the room and the rolls that serve instead of others.
func (s *server) careEndpoints() []endpoint {
	write := func(kind, summary, body string, do func(c *call) (any, error)) endpoint {
		return endpoint{path: "/care/{kind}/{id}/" + kind, put: &operation{summary: summary, answer: "care-thing", body: body, note: true, do: do}}
	}
	return []endpoint{
		{path: "/care", get: &operation{summary: "What is wrong in the room and what is due, the most urgent first.", answer: "care", do: s.getCare,
			params: []param{{name: "date", help: "The day; left out: today.", example: "2026-11-28"}}}},
		{path: "/care/{kind}/{id}", get: &operation{summary: "The ledger of one thing of the room.", answer: "care-thing", do: s.getCareOf}},
		write("found", "Writes down a fault; one that stops leaves what needs the thing out of the day.", "write-care-found", s.putCareFound),
		write("done", "Writes down what was done. Who may only note cannot settle a fault that stops.", "write-care-done", s.putCareDone),
		write("due", "Writes down what is due, and how often.", "write-care-due", s.putCareDue),
		write("taken-back", "Takes an entry back. Who may only note cannot take back a fault that stops.", "take-back", s.putCareBack),
		{path: "/rolls", get: &operation{summary: "What other pairs of rolls come to: pieces, bags, what changes on the label.", answer: "rolls", do: s.getRolls, params: []param{
			{name: "instead-of", help: "The pair that is not to be used; left out: the recipe's.", example: "leaf"},
			{name: "recipe", help: "One recipe; left out: all that run on the pair.", example: "damson-leaves"},
			{name: "product", help: "Bags of one product; left out: all the recipe goes into.", example: "damson-leaves-113"},
			{name: "charge", help: "All that goes into the kettle; left out: a whole boil.", example: "7kg"},
		}}},
	}
}

func (s *server) getCare(c *call) (any, error) {
	a := c.query()
	date := a.text("date")
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.Care(c.Context(), date)
}

func caredThing(r *http.Request) care.Thing {
	return care.Thing{Kind: r.PathValue("kind"), ID: r.PathValue("id")}
}

func (s *server) getCareOf(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.CareOf(c.Context(), caredThing(c.Request))
}

func (s *server) getRolls(c *call) (any, error) {
	a := c.query()
	req := app.RollsRequest{Rolls: a.text("instead-of"), Recipe: a.text("recipe"), Product: a.text("product"), Charge: given(amount[q.Kilograms](a, "charge"), 0)}
	if err := a.err(); err != nil {
		return nil, err
	}
	r, err := s.shop.InsteadOf(c.Context(), req)
	var f *fault.Error
	if errors.As(err, &f) && f.Field == "rolls" {
		return nil, f.At("instead-of")
	}
	return r, err
}

func (s *server) putCareFound(c *call) (any, error) {
	var in APICareFound
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putCare(c, care.Entry{Found: &in.Found}, in.Corrects, in.Why)
}

func (s *server) putCareDone(c *call) (any, error) {
	var in APICareDone
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putCare(c, care.Entry{Done: &in.Done}, in.Corrects, in.Why)
}

func (s *server) putCareDue(c *call) (any, error) {
	var in APICareDue
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putCare(c, care.Entry{Due: &in.Due}, in.Corrects, in.Why)
}

func (s *server) putCareBack(c *call) (any, error) {
	var in APITakeBack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putCare(c, care.Entry{}, in.Corrects, in.Why)
}

// putCare writes an entry to the ledger of the thing of the address, and answers with it.
func (s *server) putCare(c *call, e care.Entry, corrects int64, why string) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	e.Thing = caredThing(c.Request)
	if err := s.writeCare(c.Request, e, corrects, strings.TrimSpace(why)); err != nil {
		return nil, sentCare(err)
	}
	return s.shop.CareOf(c.Context(), e.Thing)
}

// writeCare writes an entry to the ledger of a thing. To let a thing be used again that
// is out of use is for whoever may change the shop book.
func (s *server) writeCare(r *http.Request, e care.Entry, corrects int64, why string) error {
	if !visitorOf(r).role().May(access.Change) {
		frees, err := s.shop.CareReleases(r.Context(), e, corrects, s.who(r))
		if err != nil {
			return err
		}
		if frees {
			return fault.Forbidden("you may not let a thing be used again that is out of use").WithHint("somebody who may change the shop book looks at it and writes it down")
		}
	}
	return s.shop.WriteCare(r.Context(), e, corrects, s.who(r), why)
}

// sentCare names the field of what was sent instead of that of the entry it fills.
func sentCare(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	part, field, _ := strings.Cut(f.Field, ".")
	switch part {
	case "found", "done", "due":
		return f.At(field)
	case "corrects":
		return f.At("corrects_act")
	case "thing":
		return f.At("")
	}
	return err
}
