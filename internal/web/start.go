package web

import (
	"errors"
	"net/http"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
)

// startView is the guided start of an empty shop book.
type startView struct {
	Base   base
	First  *firstStep
	Groups []startGroup
	Wrong  int
	Faults []faultLine
}

type startGroup struct {
	Name, Help string
	Nodes      []entry.Node
}

// start asks what a first plan needs; a shop that has a book is told so.
func (s *server) start(w http.ResponseWriter, r *http.Request) error {
	_, _, err := s.shop.Book(r.Context())
	switch {
	case err == nil:
		v := startView{Base: s.base(r, "Begin a shop book", "/book"), First: &firstStep{Text: "There is a shop book already.", Href: "/book", Do: "Open the shop book"}}
		return s.render(w, http.StatusOK, "start", v)
	case fault.KindOf(err) != fault.KindNotFound:
		return err
	}
	text := map[string]string{}
	for _, g := range app.StartQuestions() {
		for _, q := range g.Questions {
			text[q.Name] = q.Usual
		}
	}
	return s.render(w, http.StatusOK, "start", startOf(text, nil))
}

func (s *server) postStart(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	text := map[string]string{}
	for _, g := range app.StartQuestions() {
		for _, q := range g.Questions {
			text[q.Name] = strings.TrimSpace(r.PostForm.Get("f." + q.Name))
		}
	}
	err := s.shop.Start(r.Context(), text, s.who(r))
	var wrong app.Problems
	switch {
	case err == nil:
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	case errors.As(err, &wrong):
		return s.render(w, http.StatusUnprocessableEntity, "start", startOf(text, wrong))
	}
	return err
}

// startOf lays out the questions with what is typed and what is wrong.
func startOf(text map[string]string, wrong app.Problems) startView {
	v := startView{Base: frame("Begin a shop book", "/book")}
	at := map[string]*entry.Fault{}
	for _, e := range wrong {
		if e.Field == "" {
			v.Faults = append(v.Faults, faultLine{Text: sentence(e.Text), Hint: sentence(e.Hint)})
			continue
		}
		at[e.Field] = &entry.Fault{Name: e.Field, Text: sentence(e.Text), Hint: sentence(e.Hint)}
		v.Wrong++
	}
	for _, g := range app.StartQuestions() {
		sg := startGroup{Name: g.Name, Help: g.Help}
		for _, q := range g.Questions {
			n := entry.Node{Name: q.Name, Helped: q.Name, Label: q.Ask, Help: q.Help, Kind: q.Kind, Must: q.Usual == "", Value: text[q.Name], Fault: at[q.Name]}
			for _, c := range q.Choice {
				n.Choice = append(n.Choice, entry.Choice{Value: c, Label: c, Chosen: c == n.Value})
			}
			if n.Kind == "" {
				n.Kind = book.Mass // any text, in the width of an amount
			}
			sg.Nodes = append(sg.Nodes, n)
		}
		v.Groups = append(v.Groups, sg)
	}
	return v
}
