package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/supply"
)

// storesView is what is in the stores, shelf by shelf.
type storesView struct {
	Base     base
	First    *firstStep
	On       string
	Tomorrow string // its date; empty: it is shown
	Shelves  []shelfView
	Empty    []string // ingredients of which nothing is on hand
	Short    []shortView
	Reorder  []app.Reorder
	Cautions []cautionView
	Receive  receiveForm
	Faults   []faultLine
	Supplies suppliesView
	Listed   string // lots that only the shop book lists; empty: none
	Saved    bool
}

type shelfView struct {
	ID, Name, OnHand   string
	Free               string // empty: all of it may be used
	Needed             string // empty: nothing
	Covers             *figure
	UsedBy             string
	Unaccounted        string // empty: nothing
	Lots               []lotView
	Short, UnderReview bool
}

type shortView struct {
	Name, Short, Needed, Free, Stopped string
	Instead                            []string
}

// lotView is a lot on a list.
type lotView struct {
	ID, Href, Mark, Supplier string
	OnHand                   string
	Badges                   []badge
	Held                     bool
	First                    bool // the one to take
}

// badge is a word about a lot.
type badge struct {
	Text string
	Bad  bool
}

// receiveForm takes in a delivery, or puts one right.
type receiveForm struct {
	Ingredients                           []entry.Choice
	MayContain                            []entry.Choice
	On, Supplier, SupplierLot, BestBefore string
	Mass, Unit, StatementOn, Certificate  string
	Note, Waits                           string
	Open                                  bool
	Act                                   int64 // of the delivery that is put right; 0: a new one
	Faults                                map[string]faultLine
}

func lotHref(id string) string { return "/stores/" + url.PathEscape(id) }

func (s *server) stores(w http.ResponseWriter, r *http.Request) error {
	v, err := s.storesOf(r, nil, nil)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "stores", v)
}

func (s *server) storesOf(r *http.Request, typed url.Values, wrong app.Problems) (storesView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return storesView{Base: frame("Stores", "/stores"), First: noBook()}, nil
	}
	if err != nil {
		return storesView{}, err
	}
	res, err := s.shop.Stores(r.Context(), r.URL.Query().Get("date"))
	if err != nil {
		return storesView{}, err
	}
	u := b.Shop.Units
	v := storesView{Base: s.base(r, "Stores", "/stores"), On: longDate(res.On), Reorder: res.Reorder, Receive: receiveOf(&b, s.shop.Today(b), typed)}
	if next, err := time.Parse(time.DateOnly, s.shop.Today(b)); err == nil && res.On <= s.shop.Today(b) {
		v.Tomorrow = next.AddDate(0, 0, 1).Format(time.DateOnly)
	}
	if res.Listed > 0 {
		v.Listed = count(res.Listed, "lot", "lots")
	}
	v.Saved = r.URL.Query().Has("saved")
	for _, x := range res.Shelves {
		if len(x.Lots) == 0 {
			v.Empty = append(v.Empty, x.Name)
			continue
		}
		v.Shelves = append(v.Shelves, shelfOf(u, x))
	}
	for _, x := range res.Short {
		short := shortView{Name: x.Name, Short: massMg(u, x.ShortMg), Needed: massMg(u, x.NeededMg), Free: massMg(u, x.FreeMg)}
		if x.StoppedMg > 0 {
			short.Stopped = massMg(u, x.StoppedMg)
		}
		for _, i := range x.Instead {
			short.Instead = append(short.Instead, i.Name+", "+massMg(u, i.FreeMg)+" there: "+strings.Join(append([]string{"another name on the label"}, i.Changes...), "; "))
		}
		v.Short = append(v.Short, short)
	}
	for _, c := range res.Cautions {
		v.Cautions = append(v.Cautions, cautionView{Text: sentence(c.Text) + "."})
	}
	v.Faults = v.Receive.refuse(wrong)
	if v.Supplies, err = s.suppliesOf(r, &b, nil); err != nil {
		return v, err
	}
	v.Reorder, v.Cautions = append(v.Reorder, v.Supplies.Reorder...), append(v.Cautions, v.Supplies.Cautions...)
	return v, nil
}

// massMg prints a mass of the ledger: exact to the gram where it is large, else as a
// scale would show it.
func massMg(u q.Reader, mg int64) string {
	if mg < 0 {
		return "−" + massMg(u, -mg)
	}
	return u.Mass(q.Kilograms(float64(mg) / 1e6))
}

func shelfOf(u q.Reader, x app.Shelf) shelfView {
	v := shelfView{ID: x.Ingredient, Name: x.Name, OnHand: massMg(u, x.OnHandMg), Short: x.NeededMg > x.FreeMg}
	if x.FreeMg != x.OnHandMg {
		v.Free = massMg(u, x.FreeMg)
	}
	if x.NeededMg > 0 {
		v.Needed = massMg(u, x.NeededMg)
	}
	if x.UnaccountedMg != 0 {
		v.Unaccounted = massMg(u, x.UnaccountedMg)
	}
	if x.CoverDays != nil {
		f := daysFigure(u, *x.CoverDays)
		v.Covers = &f
		by := "what was taken of the lots"
		if x.UsedBy == "batches" {
			by = "the batches begun"
		}
		v.UsedBy = fmt.Sprintf("by %s in %s", by, count(x.UsedDays, "day", "days"))
	}
	first := true
	for _, l := range x.Lots {
		w := lotOf(u, l)
		w.First = first && len(x.Lots) > 1 && l.Status == lot.Usable && l.Made == nil && (l.DaysLeft == nil || *l.DaysLeft >= 0)
		first = first && !w.First
		v.Lots = append(v.Lots, w)
	}
	return v
}

// daysFigure prints how long something lasts.
func daysFigure(u q.Reader, e q.Estimate) figure {
	dec := 0
	if e.Value < 10 {
		dec = 1
	}
	f := figure{Value: u.Number(e.Value, dec) + " days"}
	if e.Basis != q.Exact {
		f.Range, f.Basis = u.Number(e.Low, dec)+"–"+u.Number(e.High, dec), string(e.Basis)
	}
	return f
}

func lotOf(u q.Reader, l app.LotLine) lotView {
	return lotView{ID: l.Lot, Href: lotHref(l.Lot), Mark: l.SupplierLot, Supplier: l.Supplier, OnHand: massMg(u, l.OnHandMg), Badges: badgesOf(u, l), Held: l.Status == lot.Hold}
}

// badgesOf says in words what is to be known of a lot.
func badgesOf(u q.Reader, l app.LotLine) []badge {
	var out []badge
	switch l.Status {
	case lot.Hold:
		out = append(out, badge{"ON HOLD", true})
	case lot.Quarantine:
		out = append(out, badge{"waits in quarantine", true})
	case lot.Condemned:
		out = append(out, badge{"condemned", true})
	}
	switch d := l.DaysLeft; {
	case d == nil:
		out = append(out, badge{"no date", false})
	case *d < 0:
		out = append(out, badge{"best before passed " + shortDate(l.BestBefore), true})
	case l.Soon:
		out = append(out, badge{fmt.Sprintf("best before %s, in %s", shortDate(l.BestBefore), count(*d, "day", "days")), true})
	default:
		out = append(out, badge{"best before " + shortDate(l.BestBefore), false})
	}
	if m := l.Made; m != nil {
		text := "made here"
		if m.Strength < 1 {
			text = u.Percent(q.Fraction(m.Strength), 2) + " in " + m.Carrier
		}
		if m.Packets > 0 {
			text += ", " + count(m.Packets, "packet", "packets")
		}
		out = append(out, badge{text, false})
	}
	if l.UnaccountedMg != 0 {
		out = append(out, badge{massMg(u, l.UnaccountedMg) + " unaccounted", true})
	}
	if !l.Left {
		out = append(out, badge{"used up", false})
	}
	return out
}

// shortDate prints an ISO date as "28 Nov 2026".
func shortDate(iso string) string {
	parts := strings.Fields(longDate(iso))
	if len(parts) != 4 {
		return iso
	}
	return parts[1] + "\u00a0" + parts[2][:3] + "\u00a0" + parts[3]
}

// receiveOf is the form of a delivery, with what was typed in it.
func receiveOf(b *book.Book, today string, typed url.Values) receiveForm {
	f := receiveForm{On: today, Unit: "kg", Open: typed != nil}
	if b.Shop.Units.US() {
		f.Unit = "lb"
	}
	if typed != nil {
		f.On, f.Supplier, f.SupplierLot, f.BestBefore = typed.Get("on"), typed.Get("supplier"), typed.Get("supplier_lot"), typed.Get("best_before")
		f.Mass, f.StatementOn, f.Certificate, f.Note, f.Waits = typed.Get("mass"), typed.Get("statement_on"), typed.Get("certificate"), typed.Get("note"), typed.Get("waits")
	}
	f.choose(b, typed.Get("ingredient"), typed["may_contain"])
	return f
}

func (f *receiveForm) choose(b *book.Book, id string, may []string) {
	f.Ingredients, f.MayContain = nil, nil
	for _, in := range b.Ingredients {
		if in.Kind != ingredient.Water || in.ID == id {
			f.Ingredients = append(f.Ingredients, entry.Choice{Value: in.ID, Label: in.Name, Chosen: in.ID == id})
		}
	}
	for _, w := range ingredient.Allergens() {
		f.MayContain = append(f.MayContain, entry.Choice{Value: w, Label: w, Chosen: contains(may, w)})
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// At returns what is wrong with a field, nil if nothing is.
func (f receiveForm) At(name string) *faultLine {
	if line, ok := f.Faults[name]; ok {
		return &line
	}
	return nil
}

// refuse puts what is wrong at the fields of the form, and returns the rest.
func (f *receiveForm) refuse(wrong app.Problems) []faultLine {
	var rest []faultLine
	f.Faults = map[string]faultLine{}
	for _, line := range faultLines(wrong) {
		name := strings.TrimPrefix(line.Field, "received.")
		if name == "mass_mg" {
			name = "mass"
		}
		switch name {
		case "on", "ingredient", "supplier", "best_before", "mass", "statement_on":
			f.Faults[name] = line
		default:
			rest = append(rest, line)
		}
	}
	return rest
}

// readReceive reads a delivery as it was typed.
func readReceive(b *book.Book, form url.Values) (app.ReceiveRequest, app.Problems) {
	n := &noteReader{form: form, u: b.Shop.Units}
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	req := app.ReceiveRequest{On: text("on"), Ingredient: text("ingredient"), Supplier: text("supplier"), SupplierLot: text("supplier_lot"), BestBefore: text("best_before"),
		Mass: of(n, "mass", kgOf(n.u), q.ParseMass), StatementOn: text("statement_on"), MayContain: form["may_contain"], Certificate: text("certificate"), Note: text("note"), Waits: text("waits")}
	return req, n.wrong
}

func kgOf(u q.Reader) string {
	if u.US() {
		return "lb"
	}
	return "kg"
}

// postStores takes in a delivery and leads to its lot.
func (s *server) postStores(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	if r.PostForm.Get("act") == "listed" {
		if _, err := s.shop.ReceiveListed(r.Context(), s.who(r)); err != nil {
			return err
		}
		http.Redirect(w, r, "/stores?saved", http.StatusSeeOther)
		return nil
	}
	if r.PostForm.Get("act") == "supply" {
		return s.postSupply(w, r, &b)
	}
	req, wrong := readReceive(&b, r.PostForm)
	if len(wrong) == 0 {
		id, err := s.shop.Receive(r.Context(), req, s.who(r), "")
		if err == nil {
			http.Redirect(w, r, lotHref(id)+"?saved", http.StatusSeeOther)
			return nil
		}
		if fault.KindOf(err) == fault.KindInternal {
			return err
		}
		wrong = public(err)
	}
	v, err := s.storesOf(r, r.PostForm, wrong)
	if err != nil {
		return err
	}
	return s.render(w, status(wrong[0]), "stores", v)
}

// countView is the sheet that a count is made by: every lot in the order of the walk.
type countView struct {
	Base    base
	On      string
	Unit    string
	Shelves []countShelf
	Faults  []faultLine
	Saved   string
	Sure    string
}

type countShelf struct {
	Name string
	Unit string
	Lots []countRow
}

type countRow struct {
	lotView
	Name  string // of the field
	Typed string
	Fault *faultLine
}

func (s *server) countSheet(w http.ResponseWriter, r *http.Request) error {
	v, err := s.countOf(r, nil, nil)
	if err != nil {
		return err
	}
	if n := r.URL.Query().Get("saved"); len(n) > 0 && len(n) < 4 {
		v.Saved = n
	}
	return s.render(w, http.StatusOK, "storecount", v)
}

func (s *server) countOf(r *http.Request, typed url.Values, wrong app.Problems) (countView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return countView{}, err
	}
	res, err := s.shop.Stores(r.Context(), "")
	if err != nil {
		return countView{}, err
	}
	at := map[string]faultLine{}
	v := countView{Base: s.base(r, "Count sheet", "/stores"), On: longDate(res.On), Unit: kgOf(b.Shop.Units), Sure: typed.Get("sure")}
	for _, line := range faultLines(wrong) {
		if at[line.Field] = line; !strings.HasPrefix(line.Field, "found-") {
			v.Faults = append(v.Faults, line)
		}
	}
	for _, x := range res.Shelves {
		shelf := countShelf{Name: x.Name, Unit: v.Unit}
		for _, l := range x.Lots {
			l.UnaccountedMg = 0 // whoever counts is told nothing that leads the eye
			row := countRow{lotView: lotOf(b.Shop.Units, l), Name: "found-" + l.Lot, Typed: typed.Get("found-" + l.Lot)}
			if line, ok := at[row.Name]; ok {
				row.Fault = &line
			}
			shelf.Lots = append(shelf.Lots, row)
		}
		if len(shelf.Lots) > 0 {
			v.Shelves = append(v.Shelves, shelf)
		}
	}
	more, err := s.countSupplies(r, &b, typed, at)
	v.Shelves = append(v.Shelves, more...)
	return v, err
}

// postCount writes down what a count found; what is left empty was not counted.
func (s *server) postCount(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	n := &noteReader{form: r.PostForm, u: b.Shop.Units}
	sure := of(n, "sure", kgOf(n.u), q.ParseMass).Milligrams()
	var list []lot.Entry
	var supplies []supply.Entry
	for name := range r.PostForm {
		id, ok := strings.CutPrefix(name, "found-")
		if !ok || n.text(name, "kg") == "" {
			continue
		}
		if supply.IsLot(id) {
			e, err := s.readSupplyCount(r, n, name, id)
			if err != nil {
				return err
			}
			supplies = append(supplies, e)
			continue
		}
		e := lot.Entry{Lot: id, Counted: &lot.Counted{FoundMg: of(n, name, kgOf(n.u), q.ParseMass).Milligrams(), SureMg: sure}}
		if err := e.Check(); err != nil {
			n.fail(name, err)
		}
		list = append(list, e)
	}
	if len(list)+len(supplies) == 0 && len(n.wrong) == 0 {
		n.fail("", fault.Invalid("nothing was counted").WithHint("write what is there beside its lot, and leave the rest empty"))
	}
	if len(n.wrong) > 0 {
		v, err := s.countOf(r, r.PostForm, n.wrong)
		if err != nil {
			return err
		}
		return s.render(w, http.StatusUnprocessableEntity, "storecount", v)
	}
	for _, e := range list {
		if err := s.shop.WriteLot(r.Context(), e, 0, s.who(r), ""); err != nil {
			return err
		}
	}
	for _, e := range supplies {
		if err := s.shop.WriteSupply(r.Context(), e, 0, s.who(r), ""); err != nil {
			return err
		}
	}
	http.Redirect(w, r, fmt.Sprintf("/stores/count?saved=%d", len(list)+len(supplies)), http.StatusSeeOther)
	return nil
}
