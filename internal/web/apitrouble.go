package web

import (
	"net/http"
	"strings"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/record"
)

// What is sent of a batch that went wrong. Corrects is the act of the entry that it
// stands in place of, 0 for none.
type (
	// APITrouble says that a batch went wrong.
	APITrouble struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		record.Troubled
	}
	// APIDecide says what becomes of a batch: usable, hold, reboil, relabel, divert, bin.
	// Why is why.
	APIDecide struct {
		Corrects int64 `json:"corrects_act,omitempty"`
		record.Placed
	}
	// APIWashed says who washed all that a grained batch touched, hot and wet.
	APIWashed struct {
		By string `json:"by"`
	}
)

// troubleEndpoints are trouble with a batch.
func (s *server) troubleEndpoints() []endpoint {
	at := "/records/{batch}/"
	return []endpoint{
		{path: at + "trouble",
			get: &operation{summary: "What to do about a batch that went wrong: the next thirty seconds, what may become of it, bags short, the last moment to remake it, causes by what is written.", answer: "trouble", do: s.getTrouble},
			put: &operation{summary: "Writes down that a batch went wrong, and holds it where that is right; a boil of the plan is begun with it.", answer: "trouble", body: "write-trouble", note: true, do: s.putTrouble}},
		{path: at + "washed", put: &operation{summary: "Writes down that all was washed hot and wet that a grained batch touched.", answer: "trouble", body: "write-washed", note: true, do: s.putGrainWashed}},
		{path: at + "placed", put: &operation{summary: "Says what becomes of a batch; refused where its trouble closes it.", answer: "trouble", body: "write-decided", do: s.putDecided}},
	}
}

func (s *server) getTrouble(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.TroubleOf(c.Context(), c.PathValue("batch"))
}

func (s *server) putTrouble(c *call) (any, error) {
	var in APITrouble
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.wrote(c, func(batch string) error {
		if err := s.mayCorrect(c.Request, in.Corrects); err != nil {
			return err
		}
		return s.shop.Trouble(c.Context(), app.TroubleRequest{Batch: batch, What: in.What, When: in.When, Note: in.Note, Corrects: in.Corrects}, s.who(c.Request), strings.TrimSpace(in.Why))
	})
}

func (s *server) putGrainWashed(c *call) (any, error) {
	var in APIWashed
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.wrote(c, func(batch string) error {
		return s.shop.Washed(c.Context(), batch, strings.TrimSpace(in.By), s.who(c.Request))
	})
}

func (s *server) putDecided(c *call) (any, error) {
	var in APIDecide
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.wrote(c, func(batch string) error {
		return s.shop.Decide(c.Context(), app.DecideRequest{Batch: batch, As: in.As, Why: in.Placed.Why, Corrects: in.Corrects}, s.who(c.Request), "")
	})
}

// wrote writes to the record of the batch of the address and answers with what to do.
func (s *server) wrote(c *call, write func(batch string) error) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	batch := c.PathValue("batch")
	if err := write(batch); err != nil {
		return nil, sent(err)
	}
	return s.shop.TroubleOf(c.Context(), batch)
}

// mayCorrect refuses to correct a trouble to who may only write down: what it closes
// would open.
func (s *server) mayCorrect(r *http.Request, corrects int64) error {
	if corrects == 0 || visitorOf(r).role().May(access.Change) {
		return nil
	}
	return fault.Forbidden("%s may not correct a trouble", s.who(r)).WithHint("write the right one down beside it; a maker or the owner corrects")
}
