package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/journal"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
)

// packedView is one ledger of the packing: a bag lot, a jar, or the loose sweets of a
// batch; what it is, what became of it, and the forms to write more.
type packedView struct {
	Base           base
	Who            string // writes
	Kind           string // bags, jar, loose
	ID, Href, Name string
	Line           string
	Badges         []badge
	Status         packing.Status
	Why            string
	NoWhy          bool   // on hold without a reason yet
	Frozen         string // what stops it that is in it; empty: nothing does
	Gone           bool   // what opened it was taken back
	Empty, Washed  bool   // of a jar
	Balance        []pair
	Facts          []pair
	Of             []shareView
	In             []shareView // of loose sweets: where the batch is
	Outs           []entry.Choice
	Log            []packedLog
	Unit           string
	Cautions       []cautionView
	Sources        []sourceView
	Act            string // of the form that was refused
	Typed          map[string]string
	Faults         []faultLine
	Saved          bool
}

type shareView struct{ ID, Href, What string }

// packedLog is one entry of the ledger.
type packedLog struct {
	Act                     int64
	When, Who, What, Reason string
	Corrects, Corrected     bool
	Left, Open              string
	Kind                    string // of an entry that may be corrected; empty: it may not
	Bags, Mass, To, For     string // as they stand
}

func (s *server) packed(w http.ResponseWriter, r *http.Request) error {
	v, err := s.packedOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "packed", v)
}

func (s *server) packedOf(r *http.Request, typed url.Values, wrong app.Problems) (packedView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return packedView{}, err
	}
	id := r.PathValue("lot")
	v := packedView{Base: s.base(r, id, "/packing"), Who: s.who(r), ID: id, Href: packedHref(id), Unit: kgOf(b.Shop.Units), Act: typed.Get("act"), Typed: map[string]string{}, Faults: faultLines(wrong)}
	for name := range typed {
		v.Typed[name] = typed.Get(name)
	}
	outs, cautions := packing.LooseOuts(), []app.Caution(nil)
	switch {
	case packing.IsJar(id):
		v.Kind = "jar"
		cautions, err = s.fillJar(r, &b, &v)
	case packing.IsLoose(id):
		v.Kind = "loose"
		cautions, err = s.fillLoose(r, &b, &v)
	default:
		v.Kind, outs = "bags", slices.DeleteFunc(packing.BagOuts(), func(x packing.Out) bool { return x == packing.ToJar })
		cautions, err = s.fillBags(r, &b, &v)
	}
	if err != nil {
		return v, err
	}
	for _, x := range outs {
		v.Outs = append(v.Outs, entry.Choice{Value: string(x), Label: string(x), Chosen: string(x) == typed.Get("to")})
	}
	v.Cautions = append(v.Cautions, sentencesOf(cautions)...)
	v.NoWhy = v.Status == packing.Hold && v.Why == ""
	return v, nil
}

func (s *server) fillBags(r *http.Request, b *book.Book, v *packedView) ([]app.Caution, error) {
	l, err := s.shop.BagLot(r.Context(), v.ID)
	if err != nil {
		return nil, err
	}
	u := b.Shop.Units
	v.Frozen = l.Frozen
	v.Name, v.Status, v.Why, v.Badges, v.Gone, v.Sources = l.Name, l.Status, l.Why, bagBadges(l.BagLine), l.Product == "", sourcesOf(l.Sources)
	for _, e := range l.Entries {
		v.Log = append(v.Log, packedLogOf(b, e))
	}
	if v.Gone {
		return l.Cautions, nil
	}
	v.Line = "packed " + shortDate(l.On)
	v.Balance = []pair{{"packed", count(int(l.Balance.Packed), "bag", "bags")}}
	for _, x := range packing.BagOuts() {
		if n := l.Out.Of(x); n > 0 {
			v.Balance = append(v.Balance, pair{string(x), fmt.Sprintf("− %d", n)})
		}
	}
	v.Balance = append(v.Balance, pair{"unaccounted", unaccountedOf(l.Unaccounted)}, pair{"on hand", count(int(l.OnHand), "bag", "bags")})
	v.Facts = []pair{{"label", u.Mass(kilogramsOf(l.LabelMg))}, {"scale had to show", scaleRange(u, l.FromMg, l.ToMg, 100)}}
	if l.TareMg > 0 {
		v.Facts = append(v.Facts, pair{"with a bag of", scaleFigure(u, l.TareMg, 100)})
	}
	if l.Scale != "" {
		v.Facts = append(v.Facts, pair{"on", entry.NameOf(b, "scale", l.Scale)})
	}
	for _, o := range l.Opened {
		v.Facts = append(v.Facts, pair{"packed in", fmt.Sprintf("%s of %s, lot %s", count(int(o.Pieces), "piece", "pieces"), entry.NameOf(b, "supply", o.Supply), o.Lot)})
	}
	v.Facts = append(v.Facts, pair{"best before", shortDate(or(l.BestBefore, "no date on the label"))})
	if c := l.Check; c != nil {
		v.Facts = append(v.Facts, pair{"weighed once more", fmt.Sprintf("%s: %s on the average (%s), %d below the label", count(c.Bags, "bag", "bags"), scaleFigure(u, c.MeanMg, 100), scaleRange(u, c.LeastMg, c.MostMg, 100), c.Short)})
		if l.Rule != "" {
			v.Facts = append(v.Facts, pair{"by " + l.Rule, fmt.Sprintf("%d below what one in forty may be, %d below what none may be", c.Few, c.Never)})
		}
	}
	v.Of = sharesOf(u, l.Of)
	return l.Cautions, nil
}

// unaccountedOf says what nobody wrote down.
func unaccountedOf(n int64) string {
	if n < 0 {
		return fmt.Sprintf("+ %d more than was known", -n)
	}
	return fmt.Sprintf("− %d", n)
}

func sharesOf(u q.Reader, of []packing.Share) []shareView {
	var out []shareView
	for _, x := range of {
		out = append(out, shareView{ID: x.Batch, Href: "/records/" + url.PathEscape(x.Batch), What: massMg(u, x.MassMg)})
	}
	return out
}

func (s *server) fillJar(r *http.Request, b *book.Book, v *packedView) ([]app.Caution, error) {
	j, err := s.shop.Jar(r.Context(), v.ID)
	if err != nil {
		return nil, err
	}
	u := b.Shop.Units
	v.Frozen = j.Frozen
	line := jarOf(u, j.JarLine)
	v.Name, v.Line, v.Status, v.Why, v.Badges, v.Empty, v.Washed = "jar", line.What, j.Status, j.Why, line.Badges, j.Emptied, j.Washed
	v.Balance = []pair{{"filled", massMg(u, j.FilledMg)}}
	v.Balance = append(append(v.Balance, outsOf(u, j.OutMg)...), pair{"unaccounted", openMass(u, j.UnaccountedMg)}, pair{"on hand", massMg(u, j.OnHandMg)})
	v.Of = sharesOf(u, j.Of)
	for _, e := range j.Entries {
		v.Log = append(v.Log, packedLogOf(b, e))
	}
	return j.Cautions, nil
}

func outsOf(u q.Reader, outs packing.Outs) []pair {
	var out []pair
	for _, x := range packing.LooseOuts() {
		if n := outs.Of(x); n > 0 {
			out = append(out, pair{string(x), "− " + massMg(u, n)})
		}
	}
	return out
}

func openMass(u q.Reader, mg int64) string {
	if mg < 0 {
		return "+ " + massMg(u, -mg) + " more than was known"
	}
	return "− " + massMg(u, mg)
}

func (s *server) fillLoose(r *http.Request, b *book.Book, v *packedView) ([]app.Caution, error) {
	x, err := s.shop.BatchLeft(r.Context(), strings.TrimPrefix(v.ID, "l"))
	if err != nil {
		return nil, err
	}
	u := b.Shop.Units
	v.ID, v.Name, v.Line, v.Badges = x.Batch, x.Name, "loose: "+leftOf(u, x.LooseLine), looseOf(u, x.LooseLine).Badges
	made := "not weighed"
	if x.Weighed {
		made = massMg(u, x.MadeMg)
	}
	v.Balance = []pair{{"sound pieces made", made}, {"packed", "− " + massMg(u, x.PackedMg)}, {"into jars", "− " + massMg(u, x.JarsMg)}}
	v.Balance = append(append(v.Balance, outsOf(u, x.OutMg)...), pair{"unaccounted", openMass(u, x.UnaccountedMg)}, pair{"left", massMg(u, x.LeftMg)})
	for _, id := range x.In {
		what := "bags"
		if packing.IsJar(id) {
			what = "jar"
		}
		v.In = append(v.In, shareView{ID: id, Href: packedHref(id), What: what})
	}
	v.Of = []shareView{{ID: x.Batch, Href: "/records/" + url.PathEscape(x.Batch), What: "its record"}}
	for _, e := range x.Entries {
		v.Log = append(v.Log, packedLogOf(b, e))
	}
	return x.Cautions, nil
}

func packedLogOf(b *book.Book, k app.BagEntry) packedLog {
	u, e := b.Shop.Units, k.Entry
	x := packedLog{Act: k.Act, When: stamp(k.At, b), Who: k.Person, Reason: k.Reason, Corrects: k.Corrects != 0, Corrected: k.Corrected, What: saysPacked(u, e)}
	if !k.Stands {
		return x
	}
	bags := packing.IsBags(e.Ledger)
	switch {
	case bags:
		x.Left = strconv.FormatInt(k.OnHand, 10)
	case packing.IsJar(e.Ledger):
		x.Left = massMg(u, k.OnHand)
	}
	amount := func(n int64) string {
		if bags {
			return count(int(n), "bag", "bags")
		}
		return massMg(u, n)
	}
	switch {
	case k.Unaccounted > 0:
		x.Open = amount(k.Unaccounted) + " missing"
	case k.Unaccounted < 0:
		x.Open = amount(-k.Unaccounted) + " more than was known"
	}
	mass := func(mg int64) string { return u.Number(float64(mg)/1e3, 3) + " g" }
	switch x.Kind = e.Kind(); {
	case e.Packed != nil:
		x.Bags = strconv.FormatInt(e.Packed.Bags, 10)
	case e.Moved != nil && e.Moved.To != packing.ToJar:
		x.Bags, x.To, x.For = strconv.FormatInt(e.Moved.Bags, 10), string(e.Moved.To), e.Moved.For
	case e.Counted != nil:
		x.Bags = strconv.FormatInt(e.Counted.Bags, 10)
	case e.Taken != nil:
		x.Mass, x.To, x.For = mass(e.Taken.MassMg), string(e.Taken.To), e.Taken.For
	case e.Left != nil:
		x.Mass = mass(e.Left.FoundMg)
	case e.Placed != nil, e.Kind() == journal.Taking:
		x.Kind = ""
	}
	return x
}

// saysPacked says an entry in one line.
func saysPacked(u q.Reader, e packing.Entry) string {
	with := func(text, more string) string {
		if more == "" {
			return text
		}
		return text + ", " + more
	}
	of := func(list []packing.Share) string {
		var out []string
		for _, x := range list {
			out = append(out, massMg(u, x.MassMg)+" of batch "+x.Batch)
		}
		return app.Listed(out)
	}
	switch {
	case e.Packed != nil:
		return with("packed "+count(int(e.Packed.Bags), "bag", "bags")+": "+of(e.Packed.Of), e.Packed.Why)
	case e.Moved != nil && e.Moved.To == packing.ToJar:
		return count(int(e.Moved.Bags), "bag", "bags") + " opened into " + e.Moved.Jar
	case e.Moved != nil:
		return with(count(int(e.Moved.Bags), "bag", "bags")+" out: "+string(e.Moved.To), e.Moved.For)
	case e.Counted != nil:
		return "counted " + count(int(e.Counted.Bags), "bag", "bags")
	case e.Placed != nil:
		word := map[packing.Status]string{packing.Usable: "released", packing.Hold: "put on HOLD", packing.Condemned: "condemned"}[e.Placed.As]
		if e.Placed.Why != "" {
			return word + ": " + e.Placed.Why
		}
		return word
	case e.Filled != nil && e.Filled.Lot != "":
		return fmt.Sprintf("%s of lot %s opened into it: %s", count(int(e.Filled.Bags), "bag", "bags"), e.Filled.Lot, of(e.Filled.Of))
	case e.Filled != nil:
		return with("filled with "+of(e.Filled.Of), e.Filled.Why)
	case e.Taken != nil:
		return with("taken "+massMg(u, e.Taken.MassMg)+": "+string(e.Taken.To), e.Taken.For)
	case e.Left != nil:
		return "weighed: " + massMg(u, e.Left.FoundMg) + " left"
	case e.Emptied != nil:
		return "emptied: what was left was sold over the counter"
	case e.Washed != nil:
		return "washed"
	}
	return "taken back"
}

// postPacked writes to a ledger of the packing. To hold is one press; its reason may come
// after.
func (s *server) postPacked(w http.ResponseWriter, r *http.Request) error {
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
	wrong, err := s.writePacked(r, &b, id, corrects)
	return s.tried(w, r, packedHref(id)+"?saved", wrong, err, "packed", func(wrong app.Problems) (any, error) { return s.packedOf(r, r.PostForm, wrong) })
}

// writePacked does what the form of a ledger asks for.
func (s *server) writePacked(r *http.Request, b *book.Book, id string, corrects int64) (app.Problems, error) {
	form, who := r.PostForm, s.who(r)
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	n := &noteReader{form: form, u: b.Shop.Units}
	switch act := form.Get("act"); act {
	case "hold":
		return nil, s.shop.HoldPacked(r.Context(), id, text("why"), who)
	case packing.Packing:
		bags := n.count("bags")
		if len(n.wrong) > 0 {
			return n.wrong, nil
		}
		if corrects == 0 {
			return nil, fault.Invalid("bags are packed on the page Packing").WithHint("go there")
		}
		_, err := s.shop.Pack(r.Context(), app.PackRequest{Lot: id, Bags: bags, Corrects: corrects}, who, text("reason"))
		return nil, err
	case "open":
		bags := n.count("bags")
		if len(n.wrong) > 0 {
			return n.wrong, nil
		}
		return nil, s.shop.OpenBags(r.Context(), id, bags, jarName(text("jar")), who, "")
	}
	e, wrong, err := readPacked(r, b, id, form, s.shop.Today(*b), corrects)
	if err != nil || len(wrong) > 0 {
		return wrong, err
	}
	return nil, s.shop.WritePacking(r.Context(), e, corrects, who, text("reason"))
}

// readPacked reads what a form writes to a ledger of the packing on a day, corrects or
// takes back.
func readPacked(r *http.Request, b *book.Book, id string, form url.Values, on string, corrects int64) (packing.Entry, app.Problems, error) {
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	n := &noteReader{form: form, u: b.Shop.Units}
	if corrects != 0 {
		on = "" // as it was written
	}
	grams := func(name string) int64 { return of(n, name, kgOf(n.u), q.ParseMass).Milligrams() }
	e := packing.Entry{Ledger: id}
	switch act := form.Get("act"); act {
	case "hold":
		e.Placed = &packing.Placed{As: packing.Hold, Why: text("why")}
	case "usable", "condemned":
		if !visitorOf(r).role().May(access.Change) {
			return e, nil, fault.Forbidden("you may not release bags or condemn them").WithHint("somebody who may change the shop book does")
		}
		e.Placed = &packing.Placed{As: packing.Status(act), Why: text("why")}
	case packing.Moving:
		e.Moved = &packing.Moved{On: on, Bags: n.count("bags"), To: packing.Out(form.Get("to")), For: text("for")}
	case packing.Counting:
		found, err := strconv.ParseInt(text("bags"), 10, 64)
		if err != nil {
			n.fail("bags", fault.Invalid("it is not said how many were found").WithHint("write 0 if none are left"))
		}
		e.Counted = &packing.Counted{Bags: found}
	case packing.Taking:
		e.Taken = &packing.Taken{On: on, MassMg: grams("mass"), To: packing.Out(form.Get("to")), For: text("for")}
	case packing.Leaving:
		if text("mass") == "" {
			n.fail("mass", fault.Invalid("it is not said what was found").WithHint("write 0 if nothing is left"))
		}
		e.Left = &packing.Left{FoundMg: grams("mass"), SureMg: grams("sure")}
	case packing.Emptying:
		e.Emptied = &packing.Emptied{On: on}
	case packing.Washing:
		e.Washed = &packing.Washed{On: on}
	case "back":
	default:
		return e, nil, fault.Invalid("the form does not say what is written down").WithHint("press one of the page's buttons")
	}
	return e, n.wrong, nil
}
