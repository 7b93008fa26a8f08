package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/supply"
)

// lotPage is one lot: what it is, where it is, what became of it, and the forms to write
// more.
type lotPage struct {
	Base    base
	Lot     lotView
	Name    string
	Line    string // received when, from whom
	Why     string // it is where it is
	Facts   []pair
	Balance []pair
	Status  lot.Status
	Gone    bool // its delivery was taken back
	NoWhy   bool // on hold without a reason yet
	Log     []lotLog
	Receive *receiveForm // to put the delivery right; nil: there is none, or it was made here
	MadeAct int64        // act that made it here, while nothing else is written of it; 0: none
	Frozen  bool         // by what it is made of: it is not released here
	Make    makeForm
	Unit    string
	Kind    string // of the form that was refused
	Typed   map[string]string
	Faults  []faultLine
	Saved   bool

	Attached attachedView
}

// lotLog is one entry of the ledger.
type lotLog struct {
	Act               int64
	When, Who, What   string
	Reason            string
	Corrects          bool
	Corrected         bool
	Left              string // after it; empty where it does not count
	Unaccounted       string
	Kind              string // of a movement that may be corrected; empty: it may not
	Mass, Batch, Text string // as they stand
}

func (s *server) storeLot(w http.ResponseWriter, r *http.Request) error {
	if supply.IsLot(r.PathValue("lot")) {
		return s.supplyLot(w, r)
	}
	v, err := s.lotPageOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "storelot", v)
}

func (s *server) lotPageOf(r *http.Request, typed url.Values, wrong app.Problems) (lotPage, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return lotPage{}, err
	}
	res, err := s.shop.Lot(r.Context(), r.PathValue("lot"))
	if err != nil {
		return lotPage{}, err
	}
	u := b.Shop.Units
	v := lotPage{Base: s.base(r, "Lot "+res.LotLine.Lot, "/stores"), Lot: lotOf(u, res.LotLine), Name: res.Name, Why: res.Why, Status: res.Status, Gone: res.Ingredient == "", Unit: kgOf(u), Kind: typed.Get("kind"), Typed: map[string]string{}}
	v.Frozen, v.Make = res.Frozen != "", makeOf(u)
	v.NoWhy = res.Status == lot.Hold && res.Why == ""
	for name := range typed {
		v.Typed[name] = typed.Get(name)
	}
	for _, e := range res.Entries {
		v.Log = append(v.Log, lotLogOf(&b, e))
	}
	if v.Attached, err = s.attachedTo(r, &b, res.LotLine.Lot, lotHref(res.LotLine.Lot), v.Base.May.Note); err != nil {
		return v, err
	}
	if !v.Gone {
		v.Line = fmt.Sprintf("received %s from %s", shortDate(res.On), res.Supplier)
		v.Facts, v.Balance = lotFacts(res), lotBalance(u, res)
		if res.Made == nil {
			v.Receive = s.correctionOf(&b, res)
		} else if v.Line = "made here " + shortDate(res.On); len(res.Entries) == 1 {
			v.MadeAct = res.Entries[0].Act
		}
	}
	v.Faults = faultLines(wrong)
	if v.Receive != nil && v.Kind == string(lot.Receiving) {
		f := receiveOf(&b, "", typed)
		f.Act = v.Receive.Act
		v.Receive, v.Faults = &f, f.refuse(wrong)
	}
	return v, nil
}

func lotFacts(res *app.LotResult) []pair {
	var out []pair
	add := func(name, text string) {
		if text != "" {
			out = append(out, pair{name, text})
		}
	}
	if m := res.Made; m != nil {
		add("made of", madeText(res.Units, *m))
		if m.Strength < 1 {
			add("strength", res.Units.Percent(q.Fraction(m.Strength), 2)+" in "+m.Carrier+", by mass")
			add("of it on hand", exactMass(res.Units, res.DoseMg)+" of "+res.Name)
		}
		if m.Packets > 0 {
			add("packets", fmt.Sprintf("%d of %s", m.Packets, massMg(res.Units, res.ReceivedMg/int64(m.Packets))))
		}
	}
	add("supplier's mark", res.SupplierLot)
	if add("best before", shortDate(res.BestBefore)); res.BestBefore == "" {
		add("best before", "none is stated")
	}
	switch {
	case res.Made != nil && res.StatementOn == "" && len(res.MayContain) > 0:
		add("may contain", app.Listed(res.MayContain)+", and what nobody has stated of a lot that is in it")
	case res.StatementOn == "":
		add("may contain", "not stated: no statement came with it, which is not none")
	case len(res.MayContain) == 0:
		add("may contain", "nothing listed, supplier's statement of "+shortDate(res.StatementOn))
	default:
		add("may contain", app.Listed(res.MayContain)+", supplier's statement of "+shortDate(res.StatementOn))
	}
	add("certificate", res.Certificate)
	add("note", res.Note)
	return out
}

// lotBalance says the sum of the ledger line by line, what nobody wrote down too.
func lotBalance(u q.Reader, res *app.LotResult) []pair {
	out := []pair{{"received", exactMass(u, res.ReceivedMg)}, {"used", "− " + exactMass(u, res.UsedMg)}, {"wasted", "− " + exactMass(u, res.WastedMg)}}
	open := "− " + exactMass(u, res.UnaccountedMg)
	if res.UnaccountedMg < 0 {
		open = "+ " + exactMass(u, -res.UnaccountedMg) + " more than was known"
	}
	if res.SureMg > 0 {
		open += fmt.Sprintf(" (counted to ± %s)", exactMass(u, res.SureMg))
	}
	return append(out, pair{"unaccounted", open}, pair{"on hand", exactMass(u, res.OnHandMg)})
}

// exactMass prints a mass of the ledger with all its milligrams.
func exactMass(u q.Reader, mg int64) string {
	kg := float64(mg) / 1e6
	switch {
	case u.US():
		return u.Number(kg/q.KilogramsPerPound, 5) + " lb"
	case mg != 0 && kg < 1:
		return u.Number(kg*1000, 3) + " g"
	}
	return u.Number(kg, 6) + " kg"
}

func lotLogOf(b *book.Book, e app.LotEntry) lotLog {
	u := b.Shop.Units
	x := lotLog{Act: e.Act, When: stamp(e.At, b), Who: e.Person, Reason: e.Reason, Corrects: e.Corrects != 0, Corrected: e.Corrected}
	x.What = saysLot(u, e.Entry)
	if !e.Moved {
		return x
	}
	x.Left = exactMass(u, e.OnHandMg)
	switch {
	case e.UnaccountedMg > 0:
		x.Unaccounted = exactMass(u, e.UnaccountedMg) + " missing"
	case e.UnaccountedMg < 0:
		x.Unaccounted = exactMass(u, -e.UnaccountedMg) + " more than was known"
	}
	switch {
	case e.Used != nil && e.Used.Into != "": // it is corrected where that was made
	case e.Used != nil:
		x.Kind, x.Mass, x.Batch, x.Text = string(lot.Using), exactMass(u, e.Used.MassMg), e.Used.Batch, e.Used.For
	case e.Wasted != nil:
		x.Kind, x.Mass, x.Text = string(lot.Wasting), exactMass(u, e.Wasted.MassMg), e.Wasted.Why
	case e.Counted != nil:
		x.Kind, x.Mass = string(lot.Counting), exactMass(u, e.Counted.FoundMg)
	}
	return x
}

// saysLot says an entry in one line.
func saysLot(u q.Reader, e lot.Entry) string {
	with := func(text, more string) string {
		if more == "" {
			return text
		}
		return text + ", " + more
	}
	switch {
	case e.Received != nil:
		r := e.Received
		text := with("received "+exactMass(u, r.MassMg)+" from "+r.Supplier, r.SupplierLot)
		if r.Made != nil {
			text = "made " + exactMass(u, r.MassMg) + " of " + madeText(u, *r.Made)
		}
		if r.Waits != "" {
			text += "; waits in quarantine: " + r.Waits
		}
		return text
	case e.Placed != nil:
		word := map[lot.Status]string{lot.Usable: "released", lot.Quarantine: "put in quarantine", lot.Hold: "put on HOLD", lot.Condemned: "condemned"}[e.Placed.As]
		if e.Placed.Why != "" {
			return word + ": " + e.Placed.Why
		}
		return word
	case e.Used != nil:
		text := "used " + exactMass(u, e.Used.MassMg)
		if e.Used.Batch != "" {
			text += " in batch " + e.Used.Batch
		}
		if e.Used.Into != "" {
			text += " in lot " + e.Used.Into
		}
		return with(text, e.Used.For)
	case e.Wasted != nil:
		return "thrown away or sent back " + exactMass(u, e.Wasted.MassMg) + ": " + e.Wasted.Why
	case e.Counted != nil:
		text := "counted " + exactMass(u, e.Counted.FoundMg)
		if e.Counted.SureMg > 0 {
			text += " ± " + exactMass(u, e.Counted.SureMg)
		}
		return text
	}
	return "taken back"
}

// correctionOf is the form of the delivery as it stands, nil where there is none.
func (s *server) correctionOf(b *book.Book, res *app.LotResult) *receiveForm {
	for _, e := range res.Entries {
		r := e.Received
		if r == nil || !e.Moved {
			continue
		}
		f := receiveOf(b, "", nil)
		f.Act, f.On, f.Supplier, f.SupplierLot, f.BestBefore = e.Act, r.On, r.Supplier, r.SupplierLot, r.BestBefore
		f.StatementOn, f.Certificate, f.Note = r.StatementOn, r.Certificate, r.Note
		f.Mass = exactMass(b.Shop.Units, r.MassMg)
		f.choose(b, r.Ingredient, r.MayContain)
		return &f
	}
	return nil
}

// postLot writes to the ledger of a lot. To hold is one tap; its reason may come after.
func (s *server) postLot(w http.ResponseWriter, r *http.Request) error {
	if supply.IsLot(r.PathValue("lot")) {
		return s.postSupplyLot(w, r)
	}
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
	to := id
	var wrong app.Problems
	if r.PostForm.Get("kind") == "made" {
		to, wrong, err = s.makeStock(r, &b, id)
	} else {
		wrong, err = s.writeLot(r, &b, id, corrects)
	}
	return s.tried(w, r, lotHref(to)+"?saved", wrong, err, "storelot", func(wrong app.Problems) (any, error) { return s.lotPageOf(r, r.PostForm, wrong) })
}

// writeLot does what the form of a lot asks for.
func (s *server) writeLot(r *http.Request, b *book.Book, id string, corrects int64) (app.Problems, error) {
	form, who := r.PostForm, s.who(r)
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	n := &noteReader{form: form, u: b.Shop.Units}
	mg := func(name string) int64 { return of(n, name, kgOf(n.u), q.ParseMass).Milligrams() }
	e := lot.Entry{Lot: id}
	switch kind := form.Get("kind"); kind {
	case "hold":
		return nil, s.shop.HoldLot(r.Context(), id, text("why"), who)
	case "usable", "condemned":
		if !visitorOf(r).role().May(access.Change) {
			return nil, fault.Forbidden("you may not release a lot or condemn it").WithHint("somebody who may change the shop book does")
		}
		e.Placed = &lot.Placed{As: lot.Status(kind), Why: text("why")}
	case "quarantine":
		e.Placed = &lot.Placed{As: lot.Quarantine, Why: text("why")}
	case string(lot.Using):
		e.Used = &lot.Used{MassMg: mg("mass"), Batch: text("batch"), For: text("for")}
	case string(lot.Wasting):
		e.Wasted = &lot.Wasted{MassMg: mg("mass"), Why: text("why")}
	case string(lot.Counting):
		if text("mass") == "" {
			n.fail("mass", fault.Invalid("it is not said what was found").WithHint("write 0 if nothing is left"))
		}
		e.Counted = &lot.Counted{FoundMg: mg("mass"), SureMg: mg("sure")}
	case string(lot.Receiving):
		req, wrong := readReceive(b, form)
		if len(wrong) > 0 {
			return wrong, nil
		}
		req.Lot, req.Corrects, req.Whole = id, corrects, true
		_, err := s.shop.Receive(r.Context(), req, who, text("reason"))
		return nil, err
	case "back":
	default:
		return nil, fault.Invalid("the form does not say what is written down").WithHint("press one of the page's buttons")
	}
	if len(n.wrong) > 0 {
		return n.wrong, nil
	}
	return nil, s.shop.WriteLot(r.Context(), e, corrects, who, text("reason"))
}
