package web

import (
	"net/http"
	"net/url"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// recordsView lists the records of batches and begins new ones.
type recordsView struct {
	Base     base
	First    *firstStep
	Rows     []recordRow
	Recipes  []entry.Choice
	From, To string
	Searched bool
	Older    string // address of those before; empty: there are none
	Begin    beginForm
	Faults   []faultLine
}

type recordRow struct {
	ID, Href, On, Name, Charge, Seen string
	Marked                           bool
	Place                            string // what may be done with it, where it is not simply good
}

// beginForm begins a record.
type beginForm struct {
	Recipes, Kettles, Glasses []entry.Choice
	On, Charge                string
	Open                      bool
}

// recordsAtOnce is how many records a page shows.
const recordsAtOnce = 50

func (s *server) records(w http.ResponseWriter, r *http.Request) error {
	v, err := s.recordsOf(r, nil)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "records", v)
}

func (s *server) recordsOf(r *http.Request, typed url.Values) (recordsView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return recordsView{Base: frame("Batch records", "/records"), First: noBook()}, nil
	}
	if err != nil {
		return recordsView{}, err
	}
	a := r.URL.Query()
	query := app.RecordQuery{Recipe: a.Get("recipe"), From: a.Get("from"), To: a.Get("to"), Before: a.Get("before"), Limit: recordsAtOnce}
	list, err := s.shop.Records(r.Context(), query)
	if err != nil {
		return recordsView{}, err
	}
	v := recordsView{Base: s.base(r, "Batch records", "/records"), From: query.From, To: query.To, Searched: query.Recipe+query.From+query.To+query.Before != ""}
	u := b.Shop.Units
	for _, x := range list.Records {
		v.Rows = append(v.Rows, recordRow{x.Batch, recordHref(x.Batch), longDate(x.On), x.Name, u.Mass(q.Kilograms(x.ChargeKg)), or(app.KindNames(x.Seen), "nothing yet"), x.Marked, placeTag(x.Place)})
	}
	v.Recipes = recipeChoices(&b, query.Recipe)
	if list.Next != "" {
		a.Set("before", list.Next)
		v.Older = "/records?" + a.Encode()
	}
	v.Begin = beginOf(&b, s.shop.Today(b), typed)
	return v, nil
}

func recipeChoices(b *book.Book, chosen string) []entry.Choice {
	var out []entry.Choice
	for _, x := range b.Recipes {
		out = append(out, entry.Choice{Value: x.ID, Label: x.Name, Chosen: x.ID == chosen})
	}
	return out
}

// beginOf is the form that begins a record, with what was typed in it.
func beginOf(b *book.Book, today string, typed url.Values) beginForm {
	f := beginForm{Recipes: recipeChoices(b, typed.Get("recipe")), On: or(typed.Get("on"), today), Charge: typed.Get("charge"), Open: typed != nil}
	for _, k := range b.Kettles {
		f.Kettles = append(f.Kettles, entry.Choice{Value: k.ID, Label: k.Name, Chosen: k.ID == typed.Get("kettle")})
	}
	for _, g := range b.Glasses {
		f.Glasses = append(f.Glasses, entry.Choice{Value: g.ID, Label: g.Name, Chosen: g.ID == typed.Get("glass")})
	}
	return f
}

// postBegin begins a record and leads to it.
func (s *server) postBegin(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	n := &noteReader{form: r.PostForm, u: b.Shop.Units}
	kg := "kg"
	if n.u.US() {
		kg = "lb"
	}
	req := app.BeginRequest{Batch: r.PostForm.Get("batch"), On: r.PostForm.Get("on"), Recipe: r.PostForm.Get("recipe"), Charge: of(n, "charge", kg, q.ParseMass),
		Kettle: r.PostForm.Get("kettle"), Glass: r.PostForm.Get("glass")}
	to := recordHref
	if r.PostForm.Get("then") == "weigh-in" {
		to = weighInHref
	}
	wrong := n.wrong
	if len(wrong) == 0 {
		id, err := s.shop.Begin(r.Context(), req, s.who(r), "")
		switch {
		case err == nil:
			http.Redirect(w, r, to(id), http.StatusSeeOther)
			return nil
		case fault.KindOf(err) == fault.KindConflict && req.Batch != "": // somebody was quicker
			http.Redirect(w, r, to(req.Batch), http.StatusSeeOther)
			return nil
		case fault.KindOf(err) == fault.KindInternal:
			return err
		}
		wrong = public(err)
	}
	v, err := s.recordsOf(r, r.PostForm)
	if err != nil {
		return err
	}
	v.Faults = faultLines(wrong)
	return s.render(w, http.StatusUnprocessableEntity, "records", v)
}
