package web

import (
	"errors"
	"net/http"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
)

// makeForm makes a stock solution, or packets, out of a lot.
type makeForm struct {
	Unit     string // of a bare number
	Carriers []string
}

func makeOf(u q.Reader) makeForm { return makeForm{Unit: gramsOf(u), Carriers: app.StockCarriers()} }

// gramsOf is the unit of what is weighed in small.
func gramsOf(u q.Reader) string {
	if u.US() {
		return "oz"
	}
	return "g"
}

// madeText says what a lot was made of.
func madeText(u q.Reader, m lot.Made) string {
	var of []string
	for _, p := range m.Of {
		of = append(of, exactMass(u, p.MassMg)+" of "+p.Lot)
	}
	if m.CarrierMg > 0 {
		of = append(of, exactMass(u, m.CarrierMg)+" of "+m.Carrier)
	}
	text := app.Listed(of)
	if m.LostMg > 0 {
		text += "; " + exactMass(u, m.LostMg) + " lost"
	}
	return text
}

// makeStock reads the form of a stock solution, makes it, and returns its number.
func (s *server) makeStock(r *http.Request, b *book.Book, id string) (string, app.Problems, error) {
	n := &noteReader{form: r.PostForm, u: b.Shop.Units}
	text := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	mass := func(name string) q.Kilograms { return of(n, name, gramsOf(n.u), q.ParseMass) }
	req := app.MakeRequest{Carrier: text("carrier"), CarrierMass: mass("carrier_mass"), Mass: mass("out"), Strength: of(n, "strength", "%", q.ParseFraction), Packets: int(n.count("packets")),
		BestBefore: text("best_before"), Note: text("note"), Of: []lot.Part{{Lot: id, MassMg: mass("mass").Milligrams()}}}
	if text("mass") == "" {
		n.fail("mass", fault.Invalid("it is not said how much was taken of this lot").WithHint("write what the scale said"))
	}
	if also := text("also"); also != "" {
		req.Of = append(req.Of, lot.Part{Lot: also, MassMg: mass("also_mass").Milligrams()})
	}
	if l, err := s.shop.Lot(r.Context(), id); err == nil {
		req.Ingredient = l.Ingredient
	}
	if len(n.wrong) > 0 {
		return id, n.wrong, nil
	}
	made, err := s.shop.Make(r.Context(), req, s.who(r), "")
	if f := (*fault.Error)(nil); errors.As(err, &f) {
		err = f.At("") // the page says it above its forms
	}
	if fault.KindOf(err) == fault.KindNotFound { // another lot that is not there is for the form to say
		return id, public(err), nil
	}
	if err != nil {
		return id, nil, err
	}
	return made, nil, nil
}
