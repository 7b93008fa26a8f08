package web

import (
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// What changes without a text of their own take and answer.
type (
	// APIAct is a change that its address says: of the book that was seen, and why.
	APIAct struct {
		Head store.Head `json:"head"`
		Why  string     `json:"why,omitempty"`
	}
	// APIHead is the state of the book after a change.
	APIHead struct {
		Head store.Head `json:"head"`
	}
	// APILast is the last change; null if there is none to undo.
	APILast struct {
		Head store.Head      `json:"head"`
		Last *app.LastChange `json:"last"`
	}
)

// changes are the acts that are no text to keep: taking a thing out, keeping a
// trial, undoing.
func (s *server) changes() []endpoint {
	return []endpoint{
		{path: "/kept-trial", put: &operation{summary: "Keeps a trial of a making day, as /plan is asked for it, and answers with the day as it is kept then. What holds for a date alone is not kept.",
			answer: "head", body: "act", do: s.putTrial, params: append([]param{
				{name: "date", help: "The day; default today.", example: "2026-11-28"},
			}, trialParams()...)}},
		{path: "/retired/{kind}/{id}", put: &operation{summary: "Takes a thing out of the book; what was made with it keeps it.", answer: "head", body: "act", do: s.putRetired}},
		{path: "/last-change",
			get: &operation{summary: "The last change, which can be undone.", answer: "last", do: s.getLast},
			put: &operation{summary: "Undoes the last change.", answer: "head", body: "act", do: s.putUndo}},
	}
}

func (s *server) putTrial(c *call) (any, error) {
	var in APIAct
	if err := c.read(&in); err != nil {
		return nil, err
	}
	a := c.query()
	if err := a.err(); err != nil {
		return nil, err
	}
	req := app.PlanRequest{Date: a.text("date")}
	var err error
	if req.If, err = app.ReadChanges(func(kind string) []string { return a.values[kind] }); err != nil {
		return nil, err
	}
	head, err := s.shop.KeepTrial(c.Context(), req, in.Head, s.who(c.Request), strings.TrimSpace(in.Why))
	return APIHead{head}, err
}

func (s *server) putRetired(c *call) (any, error) {
	var in APIAct
	if err := c.read(&in); err != nil {
		return nil, err
	}
	b, head, err := s.askedBook(c)
	if err != nil {
		return nil, err
	}
	kind, id := c.PathValue("kind"), c.PathValue("id")
	if err := s.ownersOnly(c.Request, kind); err != nil {
		return nil, err
	}
	if _, err := thingOf(&b, head, kind, id); err != nil {
		return nil, err
	}
	if err := s.shop.Retire(c.Context(), kind, id, in.Head, s.who(c.Request), strings.TrimSpace(in.Why)); err != nil {
		return nil, err
	}
	_, head, err = s.shop.Book(c.Context())
	return APIHead{head}, err
}

func (s *server) getLast(c *call) (any, error) {
	_, head, err := s.askedBook(c)
	if err != nil {
		return nil, err
	}
	last, err := s.shop.Last(c.Context())
	return APILast{head, last}, err
}

func (s *server) putUndo(c *call) (any, error) {
	var in APIAct
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if in.Why != "" {
		return nil, fault.Invalid("an undoing says why by itself").At("why").WithHint("leave it out")
	}
	if err := s.mayUndo(c.Request); err != nil {
		return nil, err
	}
	if err := s.shop.Undo(c.Context(), in.Head, s.who(c.Request)); err != nil {
		return nil, err
	}
	_, head, err := s.shop.Book(c.Context())
	return APIHead{head}, err
}
