package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// packingView is the packing station: which product, and then the scale.
type packingView struct {
	Base     base
	First    *firstStep
	On       string
	Lines    []packLineView
	Others   []entry.Choice // products that no line asks for
	Station  *stationView
	Lots     []bagView
	Jars     []jarView
	Batches  []looseView
	Notes    []tapNoteView
	Cautions []cautionView
	Faults   []faultLine
	Saved    string
	JarForm  jarForm
	Unit     string
	Who      string // packs
}

// tapNoteView is what was tapped in vain.
type tapNoteView struct {
	Ledger        string
	Act           int64
	When, By, Why string
	Tried         string
}

type packLineView struct {
	Href, Name, Net string
	Left            int
	Says            string // what is asked for and what there is
	Here            bool
}

// stationView is what stands before whoever packs.
type stationView struct {
	Product, Name, Net string
	Accept             string // what the scale may show
	With               string // with the bag, or the scale set to nothing with it on
	Basis              string
	Rule               []pair
	Sources            []sourceView
	Cautions           []cautionView
	Left               int
	Asked              string
	Lot                string // that bags are added to; empty: a new one
	LotHref            string
	InLot              string
	New                bool // a lot of its own is asked for
	Batches            []packBatch
	Opened             []openChoice // packaging that goes with it
	NoBatch            []string     // sweets of which no batch can be packed
	Fills              int
	Tare, Scale, Best  string
	Scales             []entry.Choice
	Ready              bool
	Why                bool   // more goes in than is known to be left: say why
	Bags               string // that were meant then
}

type packBatch struct {
	ID, Name, Left string
	Chosen         bool
}

type bagView struct {
	ID, Href, Name, What string
	Badges               []badge
	Held                 bool
}

type jarView struct {
	ID, Href, What string
	Badges         []badge
}

type looseView struct {
	ID, Href, Name, Left, Sum string
	Badges                    []badge
}

type jarForm struct {
	Jar, Batch, Mass string
	Batches          []entry.Choice
	Open             bool
}

func packedHref(id string) string { return "/packing/" + url.PathEscape(id) }

func (s *server) packing(w http.ResponseWriter, r *http.Request) error {
	v, err := s.packingOf(r, r.URL.Query(), nil)
	if err != nil {
		return err
	}
	if n := r.URL.Query().Get("saved"); len(n) > 0 && len(n) < 80 {
		v.Saved = n
	}
	return s.render(w, http.StatusOK, "packing", v)
}

// packingOf gathers the page. Values are those of the address, or of the form that was
// refused.
func (s *server) packingOf(r *http.Request, values url.Values, wrong app.Problems) (packingView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return packingView{Base: frame("Packing", "/packing"), First: noBook()}, nil
	}
	if err != nil {
		return packingView{}, err
	}
	res, err := s.shop.PackingDay(r.Context())
	if err != nil {
		return packingView{}, err
	}
	u := b.Shop.Units
	v := packingView{Base: s.base(r, "Packing", "/packing"), On: longDate(res.On), Unit: kgOf(u), Who: s.who(r)}
	for _, x := range res.Notes {
		v.Notes = append(v.Notes, tapNoteView{x.Ledger, x.Act, stamp(x.At, &b), x.Person, x.Why, x.Tried})
	}
	product := values.Get("product")
	for _, x := range res.Lines {
		v.Lines = append(v.Lines, packLineView{Href: "/packing?product=" + url.QueryEscape(x.Product), Name: x.Name, Net: netBeside(u, x.Name, x.NetMg), Left: x.Left, Says: saysLine(x) + fmt.Sprintf("; loose sweets fill %d", x.Fills), Here: x.Product == product})
	}
	for _, p := range b.Products {
		if !slices.ContainsFunc(res.Lines, func(x app.PackLine) bool { return x.Product == p.ID }) {
			v.Others = append(v.Others, entry.Choice{Value: p.ID, Label: p.Name, Chosen: p.ID == product})
		}
	}
	for _, x := range res.Lots {
		v.Lots = append(v.Lots, bagOf(u, x))
	}
	for _, x := range res.Jars {
		v.Jars = append(v.Jars, jarOf(u, x))
	}
	for _, x := range res.Batches {
		v.Batches = append(v.Batches, looseOf(u, x))
		if x.Packs {
			v.JarForm.Batches = append(v.JarForm.Batches, entry.Choice{Value: x.Batch, Label: x.Batch + " " + x.Name, Chosen: x.Batch == values.Get("jar_batch")})
		}
	}
	for _, c := range res.Cautions {
		v.Cautions = append(v.Cautions, cautionView{Text: sentence(c.Text) + "."})
	}
	if v.JarForm.Open = values.Get("act") == "fill"; v.JarForm.Open {
		v.JarForm.Jar, v.JarForm.Mass = values.Get("jar"), values.Get("mass")
	}
	v.Faults = faultLines(wrong)
	if product != "" {
		v.Station, err = s.stationOf(r, &b, res, product, values)
		if err != nil {
			return v, err
		}
		v.Station.Why = slices.ContainsFunc(v.Faults, func(f faultLine) bool { return f.Field == "packed.why" })
	}
	return v, nil
}

// netBeside is the net weight of a product, unless its name says it.
func netBeside(u q.Reader, name string, mg int64) string {
	if net := u.Mass(kilogramsOf(mg)); !strings.Contains(name, net) {
		return net
	}
	return ""
}

func kilogramsOf(mg int64) q.Kilograms { return q.Kilograms(float64(mg) / 1e6) }

// saysLine says what is asked for of a product and what there is.
func saysLine(x app.PackLine) string {
	out := []string{fmt.Sprintf("%d asked for", x.Asked)}
	if x.Must > 0 && x.Must < x.Asked {
		out[0] += fmt.Sprintf(", %d by orders", x.Must)
	}
	if x.Stock > 0 {
		out = append(out, fmt.Sprintf("%d there", x.Stock))
	}
	if x.Today > 0 {
		out = append(out, fmt.Sprintf("%d packed today", x.Today))
	}
	return strings.Join(out, "; ")
}

// stationOf is the station for a product: the batches that are chosen, else the oldest
// that can be packed; the lot that bags are added to, else the last of today of the same
// batches; the bag that was weighed last.
func (s *server) stationOf(r *http.Request, b *book.Book, res *app.PackingResult, product string, values url.Values) (*stationView, error) {
	line, err := s.shop.PackedFor(r.Context(), product)
	if err != nil {
		return nil, err
	}
	u := b.Shop.Units
	st := &stationView{Product: product, Name: line.Name, Net: netBeside(u, line.Name, line.NetMg), Left: line.Left, Asked: saysLine(*line), Fills: line.Fills,
		Tare: values.Get("tare"), Scale: values.Get("scale"), Best: values.Get("best"), Bags: values.Get("bags")}
	p, _ := b.Product(product)
	chosen := values["batch"]
	if len(chosen) == 0 {
		chosen = line.Batches
	}
	for _, part := range p.Parts {
		found := false
		for _, x := range res.Batches {
			if x.Recipe != part.Recipe || !x.Packs {
				continue
			}
			found = true
			if !slices.ContainsFunc(st.Batches, func(y packBatch) bool { return y.ID == x.Batch }) {
				st.Batches = append(st.Batches, packBatch{ID: x.Batch, Name: x.Name, Left: leftOf(u, x), Chosen: slices.Contains(chosen, x.Batch)})
			}
		}
		if name := entry.NameOf(b, "recipe", part.Recipe); !found && !slices.Contains(st.NoBatch, name) {
			st.NoBatch = append(st.NoBatch, name)
		}
	}
	st.Ready = len(st.NoBatch) == 0
	st.goOn(res, values, chosen)
	tare, err := tareOf(u, st.Tare)
	if err != nil {
		return nil, err
	}
	win, err := s.shop.PackWindow(r.Context(), product, tare, st.Scale)
	if err != nil {
		return nil, err
	}
	if st.Opened, err = s.openedOf(r, b, product, values); err != nil {
		return nil, err
	}
	st.window(b, win)
	return st, nil
}

// goOn finds the lot that bags are added to and, where nothing is said of it, the bag
// that was used last.
func (st *stationView) goOn(res *app.PackingResult, values url.Values, chosen []string) {
	if st.New = values.Has("new"); !st.New {
		st.Lot = values.Get("lot")
	}
	last := -1
	for i, x := range res.Lots {
		if x.Product == st.Product && (last < 0 || x.Lot == st.Lot) {
			last = i
		}
	}
	if last < 0 {
		return
	}
	x := res.Lots[last]
	if !values.Has("tare") && x.TareMg > 0 {
		st.Tare = res.Units.Number(float64(x.TareMg)/1e3, 3)
	}
	same := x.On == res.On && x.Status == packing.Usable && !slices.ContainsFunc(x.Of, func(y packing.Share) bool { return !slices.Contains(chosen, y.Batch) })
	if st.Lot == x.Lot || st.Lot == "" && same && !st.New {
		st.Lot, st.LotHref, st.InLot = x.Lot, packedHref(x.Lot), count(int(x.Balance.Packed), "bag", "bags")
		st.Best = or(st.Best, x.BestBefore)
	}
}

// tareOf reads what an empty bag weighs: grams if no unit is said.
func tareOf(u q.Reader, text string) (q.Kilograms, error) {
	if strings.TrimSpace(text) == "" {
		return 0, nil
	}
	n := &noteReader{form: url.Values{"tare": {text}}, u: u}
	m := of(n, "tare", "g", q.ParseMass)
	if len(n.wrong) > 0 {
		return 0, n.wrong
	}
	return m, nil
}

// window fills in what the scale may show.
func (st *stationView) window(b *book.Book, win *app.PackWindow) {
	u := b.Shop.Units
	st.Accept = scaleRange(u, win.FromMg, win.ToMg, win.StepMg)
	st.With = "with the bag"
	if win.TareMg == 0 {
		st.With = "scale set to 0 with the empty bag on it"
	}
	st.Basis = win.Basis
	st.Sources = sourcesOf(win.Sources)
	if win.LeastMg > 0 {
		st.Rule = append(st.Rule, pair{"no bag below", scaleFigure(u, win.LeastMg, 100)})
	}
	if win.FewMg > 0 {
		st.Rule = append(st.Rule, pair{"one in forty at most below", scaleFigure(u, win.FewMg, 100)})
	}
	st.Cautions = append(st.Cautions, sentencesOf(win.Cautions)...)
	st.Scales = scaleChoices(b.Scales, win.Scale)
	st.Scale = win.Scale
}

func scaleChoices(list []rig.Scale, chosen string) []entry.Choice {
	var out []entry.Choice
	for _, x := range list {
		out = append(out, entry.Choice{Value: x.ID, Label: or(x.Name, x.ID), Chosen: x.ID == chosen})
	}
	return out
}

// scaleFigure prints what a scale shows, in grams to its step: every scale of the trade
// that is fine enough for bags reads them.
func scaleFigure(u q.Reader, mg, step int64) string { return gramsOn(u, mg, step) + " g" }

func gramsOn(u q.Reader, mg, step int64) string {
	dec := 0
	for s := int64(1000); s > 1 && step%s != 0; s /= 10 {
		dec++
	}
	return u.Fixed(float64(mg)/1e3, dec)
}

func scaleRange(u q.Reader, from, to, step int64) string {
	return gramsOn(u, from, step) + "–" + gramsOn(u, to, step) + " g"
}

func leftOf(u q.Reader, x app.LooseLine) string {
	if !x.Weighed {
		return "not weighed: nobody knows what is left"
	}
	return u.Mass(kilogramsOf(x.LeftMg)) + " left"
}

func bagOf(u q.Reader, x app.BagLine) bagView {
	v := bagView{ID: x.Lot, Href: packedHref(x.Lot), Name: x.Name, Held: x.Status == packing.Hold, Badges: bagBadges(x)}
	v.What = fmt.Sprintf("%d of %s", x.OnHand, count(int(x.Balance.Packed), "bag", "bags"))
	return v
}

// bagBadges says in words what is to be known of a bag lot.
func bagBadges(x app.BagLine) []badge {
	out := placeBadges(x.Status)
	if len(x.Aside) > 0 {
		out = append(out, badge{"a batch of it is on hold", true})
	}
	if x.Unaccounted > 0 {
		out = append(out, badge{count(int(x.Unaccounted), "bag", "bags") + " unaccounted", true})
	}
	if x.Unaccounted < 0 {
		out = append(out, badge{fmt.Sprintf("%d more than was known", -x.Unaccounted), true})
	}
	if x.BestBefore != "" {
		out = append(out, badge{"best before " + shortDate(x.BestBefore), false})
	}
	if x.OnHand == 0 {
		out = append(out, badge{"all out", false})
	}
	return out
}

func placeBadges(as packing.Status) []badge {
	switch as {
	case packing.Hold:
		return []badge{{"ON HOLD", true}}
	case packing.Condemned:
		return []badge{{"condemned", true}}
	}
	return nil
}

func jarOf(u q.Reader, x app.JarLine) jarView {
	v := jarView{ID: x.Jar, Href: packedHref(x.Jar), Badges: placeBadges(x.Status)}
	switch {
	case x.Washed:
		v.What = "empty, washed"
	case x.Emptied:
		v.What = "empty, not washed"
	default:
		v.What = "filled with " + u.Mass(kilogramsOf(x.OnHandMg))
	}
	if x.Blend {
		v.Badges = append(v.Badges, badge{"a blend of " + count(len(x.Of), "batch", "batches"), true})
	}
	return v
}

func looseOf(u q.Reader, x app.LooseLine) looseView {
	v := looseView{ID: x.Batch, Href: packedHref(packing.LooseID(x.Batch)), Name: x.Name, Left: leftOf(u, x)}
	if x.Weighed {
		v.Sum = fmt.Sprintf("%s made, %s packed", u.Mass(kilogramsOf(x.MadeMg)), u.Mass(kilogramsOf(x.PackedMg)))
	}
	if !x.Place.Packs() {
		v.Badges = append(v.Badges, badge{strings.ToUpper(string(x.Place)), true})
	}
	if x.UnaccountedMg != 0 && x.Weighed {
		v.Badges = append(v.Badges, badge{massMg(u, x.UnaccountedMg) + " unaccounted", true})
	}
	return v
}

// postPacking writes down bags, or what went into a jar, and leads back to the scale.
func (s *server) postPacking(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	to, wrong, err := s.packNow(r, &b)
	switch {
	case err == nil && len(wrong) == 0:
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	case err != nil && fault.KindOf(err) == fault.KindInternal:
		return err
	case err != nil:
		wrong = public(err)
	}
	form := r.PostForm
	if fine(&b, form) != nil { // nothing to show the station with
		form.Del("product")
	}
	v, err := s.packingOf(r, form, wrong)
	if err != nil {
		return err
	}
	return s.render(w, status(wrong[0]), "packing", v)
}

// fine refuses the settings of a station that cannot be shown.
func fine(b *book.Book, form url.Values) error {
	if _, ok := b.Product(form.Get("product")); !ok {
		return fault.NotFound("no such product")
	}
	if id := form.Get("scale"); id != "" && !slices.ContainsFunc(b.Scales, func(x rig.Scale) bool { return x.ID == id }) {
		return fault.NotFound("no such scale")
	}
	_, err := tareOf(b.Shop.Units, form.Get("tare"))
	return err
}

// packNow does what the form of the station asks for, and says where to go on.
func (s *server) packNow(r *http.Request, b *book.Book) (string, app.Problems, error) {
	form, who := r.PostForm, s.who(r)
	if form.Get("act") == "read" {
		corrects, err := correctsOf(form)
		if err != nil {
			return "", nil, err
		}
		return "/packing", nil, s.shop.WritePacking(r.Context(), packing.Entry{Ledger: form.Get("ledger")}, corrects, who, strings.TrimSpace(form.Get("why")))
	}
	pack, fill, wrong, err := readStation(b, form)
	switch {
	case err != nil || len(wrong) > 0:
		return "", wrong, err
	case fill != nil:
		return packedHref(fill.Jar) + "?saved", nil, s.shop.FillJar(r.Context(), *fill, who, "")
	}
	pack.New = false // a number of its own is taken where none is named
	lot, err := s.shop.Pack(r.Context(), *pack, who, "")
	if err != nil {
		return "", nil, err
	}
	back := stationValues(form)
	back.Set("lot", lot)
	back.Set("saved", fmt.Sprintf("%s in lot %s", count(int(pack.Bags), "bag", "bags"), lot))
	return "/packing?" + back.Encode() + "#station", nil, nil
}

// stationValues is how the station is set that a form was sent from.
func stationValues(form url.Values) url.Values {
	out := url.Values{"batch": form["batch"], "opened": openedIn(form)}
	for _, name := range []string{"product", "tare", "scale", "best"} {
		out.Set(name, strings.TrimSpace(form.Get(name)))
	}
	return out
}

// readStation reads what a form of the station asks for. New is set of bags that are to
// be a lot of their own.
func readStation(b *book.Book, form url.Values) (*app.PackRequest, *app.FillRequest, app.Problems, error) {
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	n := &noteReader{form: form, u: b.Shop.Units}
	switch form.Get("act") {
	case "pack":
		req := &app.PackRequest{Lot: text("lot"), New: form.Has("new"), Product: text("product"), Batches: form["batch"], Bags: n.count("bags"), Tare: of(n, "tare", "g", q.ParseMass),
			Scale: text("scale"), BestBefore: text("best"), Why: text("why"), Packaging: openedIn(form)}
		if m := text("weighed"); m != "" {
			req.Weighed = []q.Kilograms{of(n, "weighed", "g", q.ParseMass)}
		}
		return req, nil, n.wrong, nil
	case "fill":
		return nil, &app.FillRequest{Jar: jarName(text("jar")), Batch: text("jar_batch"), Mass: of(n, "mass", kgOf(n.u), q.ParseMass), Why: text("why")}, n.wrong, nil
	}
	return nil, nil, nil, fault.Invalid("the form does not say what is written down").WithHint("press one of the page's buttons")
}

// jarName makes the id of a jar out of what it is called.
func jarName(text string) string {
	if packing.IsJar(text) {
		return text
	}
	words := strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return (c < 'a' || c > 'z') && (c < '0' || c > '9') })
	if len(words) > 0 && words[0] == "jar" && len(words) > 1 {
		words = words[1:]
	}
	return "j-" + strings.Join(words, "-")
}

// whenView answers when somebody can have bags.
type whenView struct {
	Base     base
	First    *firstStep
	Products []entry.Choice
	Bags     string
	Says     string
	Name     string
	Asked    int
	NotToday string
	Steps    []whenStep
	Promised int
	Cautions []cautionView
	Faults   []faultLine
}

type whenStep struct{ At, Bags, Text string }

func (s *server) packingWhen(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "packingwhen", whenView{Base: frame("When can you have it?", "/packing"), First: noBook()})
	}
	if err != nil {
		return err
	}
	ask := r.URL.Query()
	v := whenView{Base: s.base(r, "When can you have it?", "/packing"), Bags: or(ask.Get("bags"), "40")}
	for _, p := range b.Products {
		v.Products = append(v.Products, entry.Choice{Value: p.ID, Label: p.Name, Chosen: p.ID == ask.Get("product")})
	}
	if !ask.Has("product") {
		return s.render(w, http.StatusOK, "packingwhen", v)
	}
	n := &noteReader{form: ask, u: b.Shop.Units}
	bags := n.count("bags")
	if len(n.wrong) == 0 {
		res, err := s.shop.When(r.Context(), ask.Get("product"), int(bags))
		switch kind := fault.KindOf(err); {
		case err == nil:
			v.fill(&b, res)
			return s.render(w, http.StatusOK, "packingwhen", v)
		case kind != fault.KindInvalid && kind != fault.KindNotFound:
			return err
		}
		n.wrong = public(err)
	}
	v.Faults = faultLines(n.wrong)
	return s.render(w, http.StatusUnprocessableEntity, "packingwhen", v)
}

func (v *whenView) fill(b *book.Book, res *app.WhenResult) {
	v.Says, v.Name, v.Asked, v.NotToday, v.Promised = sentence(res.Says)+".", res.Name, res.Bags, res.NotToday, res.Promised
	if res.At != nil && res.Today {
		v.NotToday = ""
	}
	for _, x := range res.Steps {
		e := x.Bags
		bags := b.Shop.Units.Number(e.Value, 0)
		if e.Low != e.High {
			bags += fmt.Sprintf(" (%s–%s), %s", b.Shop.Units.Number(e.Low, 0), b.Shop.Units.Number(e.High, 0), e.Basis)
		}
		v.Steps = append(v.Steps, whenStep{At: stamp(x.At, b), Bags: bags, Text: sentence(x.Text)})
	}
	for _, c := range res.Cautions {
		v.Cautions = append(v.Cautions, cautionView{Text: sentence(c.Text) + "."})
	}
}
