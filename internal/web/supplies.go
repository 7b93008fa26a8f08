package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/supply"
)

// suppliesView are the sections of what no sweet is made of on the page of the stores.
type suppliesView struct {
	Groups   []supplyGroup
	Reorder  []app.Reorder
	Cautions []cautionView
	Receive  supplyForm
	Any      bool // the shop book has any
}

type supplyGroup struct {
	ID, Name string
	Shelves  []supplyShelf
	Empty    []string // of which nothing is on hand
}

type supplyShelf struct {
	ID, Name, OnHand string
	Free             string // empty: all of it may be used
	Least            string // at which more is ordered; empty: not stated
	Covers           *figure
	UsedBy           string
	Unaccounted      string // empty: nothing
	Lots             []lotView
}

// supplyForm takes in a delivery, or puts one right.
type supplyForm struct {
	Supplies                                        []entry.Choice
	Amount, On, Supplier, SupplierLot, BestBefore   string
	DeclaredOn, Certificate, Note, Waits, Of, MassU string
	Unit                                            string // of the lot that is put right
	Act                                             int64  // of the delivery that is put right; 0: a new one
	Open                                            bool
	Faults                                          map[string]faultLine
}

// At returns what is wrong with a field, nil if nothing is.
func (f supplyForm) At(name string) *faultLine {
	if line, ok := f.Faults[name]; ok {
		return &line
	}
	return nil
}

var supplyGroups = []struct {
	kind supply.Kind
	name string
}{{supply.Packaging, "Packaging"}, {supply.Gas, "Gas"}, {supply.Consumable, "Consumables"}}

func (s *server) suppliesOf(r *http.Request, b *book.Book, typed url.Values) (suppliesView, error) {
	res, err := s.shop.Supplies(r.Context(), r.URL.Query().Get("date"))
	if err != nil {
		return suppliesView{}, err
	}
	v := suppliesView{Any: len(res.Shelves) > 0, Receive: supplyFormOf(b, s.shop.Today(*b), typed)}
	for _, g := range supplyGroups {
		group := supplyGroup{ID: string(g.kind), Name: g.name}
		for _, x := range res.Shelves {
			switch {
			case x.Kind != g.kind:
			case len(x.Lots) == 0:
				group.Empty = append(group.Empty, x.Name)
			default:
				group.Shelves = append(group.Shelves, supplyShelfOf(b.Shop.Units, x))
			}
		}
		if len(group.Shelves)+len(group.Empty) > 0 {
			v.Groups = append(v.Groups, group)
		}
	}
	for _, x := range res.Reorder {
		why := x.Why
		if x.Supplier != "" {
			why += "; from " + x.Supplier
		}
		v.Reorder = append(v.Reorder, app.Reorder{Name: x.Name, Why: why})
	}
	v.Cautions = sentencesOf(res.Cautions)
	return v, nil
}

func supplyShelfOf(u q.Reader, x app.SupplyShelf) supplyShelf {
	say := func(n int64) string { return app.SayAmount(u, x.Unit, n) }
	v := supplyShelf{ID: x.Supply, Name: x.Name, OnHand: say(x.OnHand)}
	if x.Free != x.OnHand {
		v.Free = say(x.Free)
	}
	if x.Least > 0 {
		v.Least = say(x.Least)
	}
	if x.Unaccounted != 0 {
		v.Unaccounted = say(x.Unaccounted)
	}
	if x.CoverDays != nil {
		f := daysFigure(u, *x.CoverDays)
		v.Covers = &f
		v.UsedBy = map[string]string{"lots": "by what was packed and taken in ", "counts": "by what counts found gone in ", "boils": "by the heat of the boils in ", "plan": "in days like the one planned"}[x.UsedBy]
		if x.UsedBy != "plan" {
			v.UsedBy += count(x.UsedDays, "day", "days")
		}
	}
	first := true
	for _, l := range x.Lots {
		w := supplyLotOf(u, l)
		w.First = first && len(x.Lots) > 1 && l.Status == lot.Usable && (l.DaysLeft == nil || *l.DaysLeft >= 0)
		first = first && !w.First
		v.Lots = append(v.Lots, w)
	}
	return v
}

func supplyLotOf(u q.Reader, l app.SupplyLine) lotView {
	return lotView{ID: l.Lot, Href: lotHref(l.Lot), Mark: l.SupplierLot, Supplier: l.Supplier, OnHand: app.SayAmount(u, l.Unit, l.OnHand), Badges: supplyBadges(u, l), Held: l.Status == lot.Hold}
}

// supplyBadges says in words what is to be known of a lot.
func supplyBadges(u q.Reader, l app.SupplyLine) []badge {
	out := badgesOf(u, app.LotLine{Status: l.Status, DaysLeft: l.DaysLeft, BestBefore: l.BestBefore, Soon: l.Soon, Left: l.OnHand > 0})
	if l.BestBefore == "" { // of a box of gloves nobody asks
		var rest []badge
		for _, x := range out {
			if x.Text != "no date" {
				rest = append(rest, x)
			}
		}
		out = rest
	}
	if l.Unaccounted != 0 {
		out = append(out, badge{app.SayAmount(u, l.Unit, l.Unaccounted) + " unaccounted", true})
	}
	return out
}

// supplyFormOf is the form of a delivery, with what was typed in it.
func supplyFormOf(b *book.Book, today string, typed url.Values) supplyForm {
	f := supplyForm{On: today, MassU: kgOf(b.Shop.Units), Of: typed.Get("supply"), Open: typed.Get("act") == "supply"}
	if f.Open {
		f.read(typed)
	}
	for _, x := range b.Supplies {
		label := x.Name
		if x.In() == supply.ByMass {
			label += " (" + f.MassU + ")"
		}
		f.Supplies = append(f.Supplies, entry.Choice{Value: x.ID, Label: label, Chosen: x.ID == f.Of})
	}
	return f
}

func (f *supplyForm) read(typed url.Values) {
	f.Amount, f.On, f.Supplier, f.SupplierLot, f.BestBefore = typed.Get("amount"), typed.Get("on"), typed.Get("supplier"), typed.Get("supplier_lot"), typed.Get("best_before")
	f.DeclaredOn, f.Certificate, f.Note, f.Waits = typed.Get("declared_on"), typed.Get("certificate"), typed.Get("note"), typed.Get("waits")
}

// refuse puts what is wrong at the fields of the form, and returns the rest.
func (f *supplyForm) refuse(wrong app.Problems) []faultLine {
	var rest []faultLine
	f.Faults = map[string]faultLine{}
	for _, line := range faultLines(wrong) {
		switch name := strings.TrimPrefix(line.Field, "received."); name {
		case "on", "supply", "amount", "supplier", "best_before", "declared_on":
			f.Faults[name] = line
		default:
			rest = append(rest, line)
		}
	}
	return rest
}

// amountOf reads an amount in the unit of a supply.
func amountOf(n *noteReader, name string, unit supply.Unit) int64 {
	if unit == supply.ByMass {
		return of(n, name, kgOf(n.u), q.ParseMass).Milligrams()
	}
	text := strings.TrimSpace(n.form.Get(name))
	if text == "" {
		return 0
	}
	v, err := strconv.ParseInt(text, 10, 64)
	if err != nil || v < 0 {
		n.fail(name, fault.Invalid("%q is no number of pieces", fault.Clip(text, fault.Echo)).WithHint("write a whole number"))
	}
	return v
}

// readSupply reads a delivery as it was typed.
func readSupply(b *book.Book, form url.Values, unit supply.Unit) (app.SupplyReceipt, app.Problems) {
	n := &noteReader{form: form, u: b.Shop.Units}
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	if unit == "" {
		x, _ := b.Supply(text("supply"))
		unit = x.In()
	}
	return app.SupplyReceipt{On: text("on"), Supply: text("supply"), Amount: amountOf(n, "amount", unit), Supplier: text("supplier"), SupplierLot: text("supplier_lot"), BestBefore: text("best_before"),
		DeclaredOn: text("declared_on"), Certificate: text("certificate"), Note: text("note"), Waits: text("waits")}, n.wrong
}

// postSupply takes in a delivery of packaging, gas or consumables and leads to its lot.
func (s *server) postSupply(w http.ResponseWriter, r *http.Request, b *book.Book) error {
	req, wrong := readSupply(b, r.PostForm, "")
	if len(wrong) == 0 {
		id, err := s.shop.ReceiveSupply(r.Context(), req, s.who(r), "")
		if err == nil {
			http.Redirect(w, r, lotHref(id)+"?saved", http.StatusSeeOther)
			return nil
		}
		if fault.KindOf(err) == fault.KindInternal {
			return err
		}
		wrong = public(err)
	}
	v, err := s.storesOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Supplies.Receive = supplyFormOf(b, s.shop.Today(*b), r.PostForm)
	v.Faults = v.Supplies.Receive.refuse(wrong)
	return s.render(w, status(wrong[0]), "stores", v)
}

// supplyPage is one lot of packaging, gas or consumables.
type supplyPage struct {
	Base       base
	Lot        lotView
	Name, Line string
	Kind       string
	Why        string
	Facts      []pair
	Balance    []pair
	Bags       []supplyBagsRow
	Frozen     string // lots of bags that are frozen with it; empty: none
	Status     lot.Status
	Gone       bool // its delivery was taken back
	Touches    bool
	Log        []supplyLog
	Receive    *supplyForm
	Unit       string
	Form       string // that was refused
	Typed      map[string]string
	Faults     []faultLine
	Saved      bool
	Attached   attachedView
}

type supplyBagsRow struct{ ID, Href, Name, Says string }

type supplyLog struct {
	Act                                   int64
	When, Who, What, Reason               string
	Into                                  string // address of the bags; empty: an entry of its own
	Corrects, Corrected                   bool
	Left, Open, Kind, Amount, Text, Found string
}

func (s *server) supplyLot(w http.ResponseWriter, r *http.Request) error {
	v, err := s.supplyPageOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "supplylot", v)
}

func (s *server) supplyPageOf(r *http.Request, typed url.Values, wrong app.Problems) (supplyPage, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return supplyPage{}, err
	}
	res, err := s.shop.SupplyLot(r.Context(), r.PathValue("lot"))
	if err != nil {
		return supplyPage{}, err
	}
	u := b.Shop.Units
	v := supplyPage{Base: s.base(r, "Lot "+res.SupplyLine.Lot, "/stores"), Lot: supplyLotOf(u, res.SupplyLine), Name: res.Name, Kind: string(res.Kind), Why: res.Why, Status: res.Status, Gone: res.Supply == "",
		Unit: "pieces", Form: typed.Get("kind"), Typed: map[string]string{}, Faults: faultLines(wrong)}
	if res.Unit == supply.ByMass {
		v.Unit = kgOf(u)
	}
	for name := range typed {
		v.Typed[name] = typed.Get(name)
	}
	for _, e := range res.Entries {
		v.Log = append(v.Log, supplyLogOf(&b, res.Unit, e))
	}
	for _, x := range res.Bags {
		v.Bags = append(v.Bags, supplyBagsRow{x.Lot, packedHref(x.Lot), x.Name, fmt.Sprintf("%s, %d here; %s", count(int(x.Bags), "bag", "bags"), x.OnHand, app.SayAmount(u, res.Unit, x.Pieces))})
	}
	if res.Frozen > 0 {
		v.Frozen = count(res.Frozen, "lot of bags", "lots of bags")
	}
	if v.Attached, err = s.attachedTo(r, &b, res.SupplyLine.Lot, lotHref(res.SupplyLine.Lot), v.Base.May.Note); err != nil {
		return v, err
	}
	if v.Gone {
		return v, nil
	}
	x, _ := b.Supply(res.Supply)
	v.Touches = x.Touches
	v.Line = fmt.Sprintf("received %s from %s", shortDate(res.On), res.Supplier)
	v.Facts, v.Balance = supplyFacts(res, x.Touches), supplyBalance(u, res)
	v.Receive = supplyCorrection(&b, res)
	if v.Receive != nil && v.Form == supply.Receiving {
		v.Receive.read(typed)
		v.Receive.Open = true
		v.Faults = v.Receive.refuse(wrong)
	}
	return v, nil
}

func supplyFacts(res *app.SupplyResult, touches bool) []pair {
	var out []pair
	add := func(name, text string) {
		if text != "" {
			out = append(out, pair{name, text})
		}
	}
	add("what it is", string(res.Kind))
	add("supplier's mark", res.SupplierLot)
	add("best before", or(shortDate(res.BestBefore), "none is stated"))
	switch {
	case touches && res.DeclaredOn != "":
		add("may touch food", "by the supplier's declaration of "+shortDate(res.DeclaredOn))
	case touches:
		add("may touch food", "no declaration is on file")
	}
	add("certificate", res.Certificate)
	add("note", res.Note)
	return out
}

// supplyBalance says the sum of the ledger line by line, what nobody wrote down too.
func supplyBalance(u q.Reader, res *app.SupplyResult) []pair {
	say := func(n int64) string { return app.SayAmount(u, res.Unit, n) }
	open := "− " + say(res.Unaccounted)
	if res.Unaccounted < 0 {
		open = "+ " + say(-res.Unaccounted) + " more than was known"
	}
	if res.Sure > 0 {
		open += fmt.Sprintf(" (counted to ± %s)", say(res.Sure))
	}
	return []pair{{"received", say(res.Received)}, {"packed with bags", "− " + say(res.Packed)}, {"used", "− " + say(res.Used)}, {"wasted", "− " + say(res.Wasted)}, {"unaccounted", open}, {"on hand", say(res.OnHand)}}
}

func supplyLogOf(b *book.Book, unit supply.Unit, e app.SupplyEntry) supplyLog {
	u := b.Shop.Units
	say := func(n int64) string { return app.SayAmount(u, unit, n) }
	plain := func(n int64) string {
		if unit == supply.ByMass {
			return exactMass(u, n)
		}
		return strconv.FormatInt(n, 10)
	}
	x := supplyLog{Act: e.Act, When: stamp(e.At, b), Who: e.Person, Reason: e.Reason, Corrects: e.Corrects != 0, Corrected: e.Corrected, What: app.SaySupply(u, unit, e)}
	if e.Stands {
		x.Left = say(e.OnHand)
		switch {
		case e.Unaccounted > 0:
			x.Open = say(e.Unaccounted) + " missing"
		case e.Unaccounted < 0:
			x.Open = say(-e.Unaccounted) + " more than was known"
		}
	}
	switch {
	case e.Into != "":
		x.Into = packedHref(e.Into)
	case !e.Stands:
	case e.Entry.Used != nil:
		x.Kind, x.Amount, x.Text = supply.Using, plain(e.Entry.Used.Amount), e.Entry.Used.For
	case e.Entry.Wasted != nil:
		x.Kind, x.Amount, x.Text = supply.Wasting, plain(e.Entry.Wasted.Amount), e.Entry.Wasted.Why
	case e.Entry.Counted != nil:
		x.Kind, x.Amount = supply.Counting, plain(e.Entry.Counted.Found)
	}
	return x
}

// supplyCorrection is the form of the delivery as it stands, nil where there is none.
func supplyCorrection(b *book.Book, res *app.SupplyResult) *supplyForm {
	for _, e := range res.Entries {
		r := e.Entry.Received
		if r == nil || !e.Stands {
			continue
		}
		f := &supplyForm{Act: e.Act, On: r.On, Of: r.Supply, Supplier: r.Supplier, SupplierLot: r.SupplierLot, BestBefore: r.BestBefore, DeclaredOn: r.DeclaredOn, Certificate: r.Certificate, Note: r.Note, Unit: "pieces", Amount: strconv.FormatInt(r.Amount, 10)}
		if r.Unit == supply.ByMass {
			f.Unit, f.Amount = kgOf(b.Shop.Units), exactMass(b.Shop.Units, r.Amount)
		}
		return f
	}
	return nil
}

// postSupplyLot writes to the ledger of a lot. To hold is one tap; its reason may come
// after.
func (s *server) postSupplyLot(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	id := r.PathValue("lot")
	corrects, err := correctsOf(r.PostForm)
	if err != nil {
		return err
	}
	wrong, err := s.writeSupply(r, &b, id, corrects)
	return s.tried(w, r, lotHref(id)+"?saved", wrong, err, "supplylot", func(wrong app.Problems) (any, error) { return s.supplyPageOf(r, r.PostForm, wrong) })
}

// writeSupply does what the form of a lot asks for.
func (s *server) writeSupply(r *http.Request, b *book.Book, id string, corrects int64) (app.Problems, error) {
	form, who := r.PostForm, s.who(r)
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	n := &noteReader{form: form, u: b.Shop.Units}
	l, err := s.shop.SupplyLot(r.Context(), id)
	if err != nil {
		return nil, err
	}
	e := supply.Entry{Lot: id}
	switch kind := form.Get("kind"); kind {
	case "hold":
		return nil, s.shop.HoldSupply(r.Context(), id, text("why"), who)
	case "usable", "condemned":
		if !visitorOf(r).role().May(access.Change) {
			return nil, fault.Forbidden("you may not release a lot or condemn it").WithHint("somebody who may change the shop book does")
		}
		e.Placed = &supply.Placed{As: lot.Status(kind), Why: text("why")}
	case "quarantine":
		e.Placed = &supply.Placed{As: lot.Quarantine, Why: text("why")}
	case supply.Using:
		e.Used = &supply.Used{Amount: amountOf(n, "amount", l.Unit), For: text("for")}
	case supply.Wasting:
		e.Wasted = &supply.Wasted{Amount: amountOf(n, "amount", l.Unit), Why: text("why")}
	case supply.Counting:
		if text("amount") == "" {
			n.fail("amount", fault.Invalid("it is not said what was found").WithHint("write 0 if nothing is left"))
		}
		e.Counted = &supply.Counted{Found: amountOf(n, "amount", l.Unit), Sure: amountOf(n, "sure", l.Unit)}
	case supply.Receiving:
		req, wrong := readSupply(b, form, l.Unit)
		if len(wrong) > 0 {
			return wrong, nil
		}
		req.Lot, req.Corrects, req.Whole = id, corrects, true
		_, err := s.shop.ReceiveSupply(r.Context(), req, who, text("reason"))
		return nil, err
	case "back":
	default:
		return nil, fault.Invalid("the form does not say what is written down").WithHint("press one of the page's buttons")
	}
	if len(n.wrong) > 0 {
		return n.wrong, nil
	}
	return nil, s.shop.WriteSupply(r.Context(), e, corrects, who, text("reason"))
}

// attachSupply attaches a file to a lot of a supply.
func (s *server) attachSupply(w http.ResponseWriter, r *http.Request, id string) error {
	wrong, err := s.attach(r, id)
	if err != nil || len(wrong) == 0 {
		return seeAttached(w, r, lotHref(id), err)
	}
	v, err := s.supplyPageOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Faults, v.Attached.Note = attachFaults(wrong), r.PostFormValue("note")
	return s.render(w, status(wrong[0]), "supplylot", v)
}

// countSupplies are the shelves of supplies on the count sheet, in the order of the walk.
func (s *server) countSupplies(r *http.Request, b *book.Book, typed url.Values, at map[string]faultLine) ([]countShelf, error) {
	res, err := s.shop.Supplies(r.Context(), "")
	if err != nil {
		return nil, err
	}
	var out []countShelf
	for _, x := range res.Shelves {
		shelf := countShelf{Name: x.Name, Unit: "pieces"}
		if x.Unit == supply.ByMass {
			shelf.Unit = kgOf(b.Shop.Units)
		}
		for _, l := range x.Lots {
			l.Unaccounted = 0 // whoever counts is told nothing that leads the eye
			row := countRow{lotView: supplyLotOf(b.Shop.Units, l), Name: "found-" + l.Lot, Typed: typed.Get("found-" + l.Lot)}
			if line, ok := at[row.Name]; ok {
				row.Fault = &line
			}
			shelf.Lots = append(shelf.Lots, row)
		}
		if len(shelf.Lots) > 0 {
			out = append(out, shelf)
		}
	}
	return out, nil
}

// readSupplyCount reads what a count found of a lot of a supply.
func (s *server) readSupplyCount(r *http.Request, n *noteReader, name, id string) (supply.Entry, error) {
	l, err := s.shop.SupplyLot(r.Context(), id)
	if err != nil {
		return supply.Entry{}, err
	}
	e := supply.Entry{Lot: id, Counted: &supply.Counted{Found: amountOf(n, name, l.Unit)}}
	if err := e.Check(); err != nil && len(n.wrong) == 0 {
		n.fail(name, err)
	}
	return e, nil
}

// openChoice is a lot of packaging that is open at the station, and the others.
type openChoice struct {
	Supply, Name string
	Lots         []entry.Choice
	Says         string // of the one that is chosen
	None         bool   // there is none that may be used
}

// openedOf are the lots of packaging of the station: those that the form names, else the
// ones to take.
func (s *server) openedOf(r *http.Request, b *book.Book, product string, values url.Values) ([]openChoice, error) {
	list, err := s.shop.OpenFor(r.Context(), product)
	if err != nil {
		return nil, err
	}
	var out []openChoice
	for _, x := range list {
		c := openChoice{Supply: x.Supply, Name: x.Name, None: len(x.Lots) == 0}
		chosen := ""
		for _, l := range x.Lots {
			if contains(values["opened"], l.Lot) {
				chosen = l.Lot
			}
		}
		for i, l := range x.Lots {
			is := l.Lot == chosen || chosen == "" && i == 0
			label := l.Lot + ", " + app.SayAmount(b.Shop.Units, l.Unit, l.OnHand)
			if l.SupplierLot != "" {
				label = l.SupplierLot + " (" + label + ")"
			}
			if c.Lots = append(c.Lots, entry.Choice{Value: l.Lot, Label: label, Chosen: is}); is {
				c.Says = label
			}
		}
		out = append(out, c)
	}
	return out, nil
}

// opened are the lots that a form of the station names.
func openedIn(form url.Values) []string {
	var out []string
	for _, id := range form["opened"] {
		if id != "" {
			out = append(out, id)
		}
	}
	return out
}
