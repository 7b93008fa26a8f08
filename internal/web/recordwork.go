package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// noteCard is one kind of entry on the page: what stands of it, and the forms.
type noteCard struct {
	Kind, Title string
	Stop        string // what must be said before all else, in danger's colour
	Good        string // or that all is well
	Forms       []noteForm
}

// askRow is a check that is answered by one press.
type askRow struct {
	Name, Label, Why string
	Answers          []entry.Choice
}

// balanceRow is a line of where the sugar went.
type balanceRow struct {
	What  string
	Mass  figure
	Total bool
}

// ruleRow is an item of a record rule.
type ruleRow struct {
	Rule, Asks, State, Source string
	Not                       bool // not covered
}

// signView is the end of the record.
type signView struct {
	Says    string // who has signed, empty if nobody
	Later   int    // entries since
	Written string
	Open    string
	Marks   bool // a check is answered no or a thing was found
	Form    *noteForm
}

// cardTitles are the heads of the kinds.
var cardTitles = map[record.Kind]string{
	record.CookingBack: "Cook-back used", record.Checking: "Before the flame", record.Lifting: "The lift", record.Working: "On the slab and at the rolls",
	record.Making: "What came of it", record.Finding: "Metal, glass, anything found", record.Ending: "After the last sheet", record.Cleaning: "Cleaning",
	record.Moist: "A measured moisture", record.Tasting: "Tasting and looks",
}

// cardsOf lays the kinds out in the order of the work.
func cardsOf(b *book.Book, res *app.RecordResult, who string, typed url.Values) []noteCard {
	r := res.Record()
	old := map[record.Kind]noteForm{}
	for _, f := range noteForms(b, r, typed) {
		f.ID = "n"
		old[record.Kind(f.Kind)] = f
	}
	var out []noteCard
	for _, kind := range record.Kinds()[1:] {
		if cardTitles[kind] == "" {
			continue // it is written on a page of its own
		}
		c := noteCard{Kind: string(kind), Title: cardTitles[kind]}
		switch f, ok := old[kind]; {
		case ok:
			c.Forms = []noteForm{f}
		case kind.Single():
			k, _ := r.Stands(kind)
			c.Forms = []noteForm{workForm(b, res, kind, k, who, typed)}
		default:
			for _, k := range r.All(kind) {
				c.Forms = append(c.Forms, workForm(b, res, kind, k, who, typed))
			}
			blank := workForm(b, res, kind, record.Kept{}, who, typed)
			blank.Again = true
			c.Forms = append(c.Forms, blank)
		}
		if before := res.Before; kind == record.Checking && before != nil {
			switch {
			case before.Ready:
				c.Good = "All looked at"
			case len(before.OutOfUse) > 0:
				c.Stop = caution.Text(caution.OutOfUse) + " " + capital(strings.Join(before.OutOfUse, "; ")) + "."
			case len(r.Checked().Refused()) > 0:
				c.Stop = caution.Text(caution.NotBeforeFlame)
			default:
				c.Stop = "Not before the flame: not all is looked at."
			}
		}
		for i := range c.Forms {
			c.Forms[i].name(res.Batch, c.Title)
		}
		out = append(out, c)
	}
	return out
}

// name says of which batch a form is, and gives its fields ids of their own.
func (f *noteForm) name(batch, title string) {
	f.Batch, f.Title = batch, title
	for _, list := range [][]noteField{f.Fields, f.More} {
		for i := range list {
			list[i].ID = f.ID + "-" + list[i].Name
		}
	}
}

// workForm is the form of a kind of entry, with what is kept or was typed in it.
func workForm(b *book.Book, res *app.RecordResult, kind record.Kind, k record.Kept, who string, typed url.Values) noteForm {
	f := noteForm{Kind: string(kind), ID: "n-" + string(kind), Act: k.Act}
	if k.Act != 0 {
		f.ID += "-" + strconv.FormatInt(k.Act, 10)
		f.Says = capital(saysEntry(b, k.Entry))
	}
	if typed != nil && typed.Get("kind") == f.Kind && or(typed.Get("corrects"), "0") == strconv.FormatInt(k.Act, 10) {
		f.Open = true
	} else {
		typed = nil
	}
	v := valuesOf(b.Shop.Units, k.Entry)
	if typed != nil {
		v = typed
	}
	f.fill(b, res, v, who)
	return f
}

// unitsOf are the units beside the fields.
func unitsOf(u q.Reader) (deg, kg string) {
	if u.US() {
		return "°F", "lb"
	}
	return "°C", "kg"
}

// massText prints a mass as it is typed; empty for none.
func massText(u q.Reader, mg int64) string {
	if mg == 0 {
		return ""
	}
	kg := float64(mg) / 1e6
	if u.US() {
		return u.Number(kg/q.KilogramsPerPound, 3) + " lb"
	}
	return u.Number(kg, 3) + " kg"
}

// valuesOf are the fields of an entry as they would be typed.
func valuesOf(u q.Reader, e record.Entry) url.Values {
	v := url.Values{}
	set := func(name, text string) {
		if text != "" {
			v.Set(name, text)
		}
	}
	number := func(name string, n int64) {
		if n != 0 {
			v.Set(name, strconv.FormatInt(n, 10))
		}
	}
	switch {
	case e.CookedBack != nil:
		set("mass", massText(u, e.CookedBack.MassMg))
		set("from", e.CookedBack.From)
	case e.Checked != nil:
		for _, x := range e.Checked.Checks {
			set(askName(x.Item), string(x.Says))
			set("by", x.By)
		}
	case e.Made != nil:
		m := e.Made
		set("poured", m.PouredAt)
		set("edge", m.EdgeAt)
		set("rolled_from", m.RolledFrom)
		set("rolled_to", m.RolledTo)
		for name, n := range map[string]int64{"turns": m.Turns, "sheets": m.Sheets, "pieces": m.Pieces, "sample": m.SampleN} {
			number(name, n)
		}
		for name, mg := range map[string]int64{"sample_mass": m.SampleMg, "sound": m.SoundMg, "ends": m.EndsMg, "web": m.WebMg, "siftings": m.SiftingsMg, "left": m.LeftMg, "waste": m.WasteMg, "kept": m.CookBackMg} {
			set(name, massText(u, mg))
		}
		set("scale", m.Scale)
	case e.Found != nil:
		set("of", string(e.Found.Of))
		set("what", e.Found.What)
		set("where", e.Found.Where)
		set("done", e.Found.Done)
	case e.After != nil:
		set("rolls", string(e.After.Rolls))
		set("glass", string(e.After.Glass))
	case e.Cleaned != nil:
		set("surface", string(e.Cleaned.Surface))
		set("how", string(e.Cleaned.Kind))
		set("by", e.Cleaned.By)
		set("verified", e.Cleaned.Verified)
	case e.Tasted != nil:
		for _, w := range e.Tasted.Words {
			v.Add("words", string(w))
		}
		set("note", e.Tasted.Note)
	case e.Signed != nil:
		set("note", e.Signed.Note)
	}
	return v
}

func askName(x record.Item) string { return "c-" + strings.ReplaceAll(string(x), " ", "-") }

// choicesOf are the words of a list, one of them chosen.
func choicesOf[T ~string](all []T, chosen ...string) []entry.Choice {
	out := make([]entry.Choice, len(all))
	for i, w := range all {
		out[i] = entry.Choice{Value: string(w), Label: string(w), Chosen: slices.Contains(chosen, string(w))}
	}
	return out
}

// fill puts the fields of its kind into a form.
func (f *noteForm) fill(b *book.Book, res *app.RecordResult, v url.Values, who string) {
	_, kg := unitsOf(b.Shop.Units)
	text := func(name, label, help string) noteField {
		return noteField{Name: name, Label: label, Value: v.Get(name), Help: help}
	}
	mass := func(name, label, help string) noteField {
		return noteField{Name: name, Label: label, Unit: kg, Value: v.Get(name), Help: help}
	}
	count := func(name, label string) noteField {
		return noteField{Name: name, Label: label, Value: v.Get(name), Count: true}
	}
	clock := func(name, label string) noteField {
		return noteField{Name: name, Label: label, Value: v.Get(name), Type: "time"}
	}
	switch record.Kind(f.Kind) {
	case record.CookingBack:
		f.Help = "Dissolved in the water of the boil, never melted dry."
		f.Fields = []noteField{mass("mass", "Scraps that went in", ""), text("from", "Of which batch", "Its number, as "+res.Batch+"; empty if it has no record")}
	case record.Checking:
		f.Help = "Look at each, then press."
		f.Asks, f.Fields = checkRows(res, v)
	case record.Making:
		f.Help = "Weigh each apart; what was not looked at stays empty."
		f.Fields = []noteField{mass("sound", "Sound pieces", "finish included"), mass("ends", "Ends", "of the bars, cold remnants"), mass("web", "Web and spoiled sheets", ""),
			mass("siftings", "Chips and dust", ""), mass("kept", "Of these kept to cook back", ""), count("pieces", "Pieces, counted")}
		f.More = []noteField{count("sample", "Or so many pieces"), mass("sample_mass", "weigh together", ""), mass("left", "Left on the slab", ""), mass("waste", "Waste", "thrown away and in none of the others, as what fell on the floor"),
			clock("poured", "Poured at"), clock("edge", "Edge lifted at"), clock("rolled_from", "First sheet at"), clock("rolled_to", "Last sheet at"), count("turns", "Turns and folds"), count("sheets", "Sheets")}
		f.Scales = scalesOf(b, v.Get("scale"))
	case record.Finding:
		f.Help = "Hold the batch and keep the piece."
		f.Asks = []askRow{{"of", "It is of", "", choicesOf(record.Stuffs(), v.Get("of"))}}
		f.Fields = []noteField{text("what", "What it is", ""), text("where", "Where it was", ""), text("done", "What was done about it", "")}
	case record.Ending:
		f.Help = "A chip or a missing edge puts the batch on hold."
		f.Asks = []askRow{{"rolls", "Rolls whole", "", choicesOf(record.Answers(), v.Get("rolls"))}, {"glass", "Glass and brittle plastic whole", "", choicesOf(record.Answers(), v.Get("glass"))}}
	case record.Cleaning:
		f.Help = "Only an allergen clean that a second person has verified counts."
		f.Asks = []askRow{{"surface", "What", "", choicesOf(record.Surfaces(), v.Get("surface"))}, {"how", "How", "", choicesOf(record.Cleans(), v.Get("how"))}}
		by := text("by", "Cleaned by", "")
		by.Value = or(by.Value, who)
		f.Fields = []noteField{by, text("verified", "Verified by a second person", "empty if nobody has")}
	case record.Tasting:
		f.Help = "Press what fits; the rest in words of your own."
		f.Words = choicesOf(record.Words(), v["words"]...)
		f.Fields = []noteField{text("note", "In your own words", "")}
	case record.Signing:
		f.Fields = []noteField{text("note", "A note", "empty if there is none")}
	}
	for _, x := range f.More {
		f.MoreOpen = f.MoreOpen || x.Value != ""
	}
}

// checkRows are the checks that are asked, and those that were answered all the same.
func checkRows(res *app.RecordResult, v url.Values) ([]askRow, []noteField) {
	var out []askRow
	var fields []noteField
	asked, no := map[record.Item]string{}, map[record.Item]string{}
	if res.Before != nil {
		for _, x := range res.Before.Asked {
			asked[x.Item], no[x.Item] = or(x.Why, " "), x.No
		}
	}
	for _, x := range record.Items() {
		why, ok := asked[x]
		if !ok && v.Get(askName(x)) == "" {
			continue
		}
		row := askRow{Name: askName(x), Label: capital(app.CheckName(x)), Why: strings.TrimSpace(why), Answers: choicesOf(record.Answers(), v.Get(askName(x)))}
		if no[x] != "" { // what is out of use is not answered yes by habit
			row.Why = "OUT OF USE: " + no[x]
			row.Answers = slices.DeleteFunc(row.Answers, func(c entry.Choice) bool { return c.Value == string(record.Yes) && !c.Chosen })
		}
		out = append(out, row)
		if x == record.AllergenClean {
			fields = append(fields, noteField{Name: "by", Label: "Allergen clean verified by", Value: v.Get("by")})
		}
	}
	return out, fields
}

// count reads a whole number; 0 where nothing is typed.
func (n *noteReader) count(name string) int64 {
	s := strings.TrimSpace(n.form.Get(name))
	if s == "" {
		return 0
	}
	v, err := strconv.ParseInt(s, 10, 64)
	if err != nil || v < 1 {
		n.fail(name, fault.Invalid("%q is no count", fault.Clip(s, fault.Echo)).WithHint("write a whole number above zero"))
		return 0
	}
	return v
}

// readWork reads an entry of the work around a boil as it was typed; false if the form
// is of another kind.
func readWork(n *noteReader, e *record.Entry) bool {
	_, unit := unitsOf(n.u)
	mg := func(name string) int64 { return of(n, name, unit, q.ParseMass).Milligrams() }
	text := func(name string) string { return strings.TrimSpace(n.form.Get(name)) }
	switch record.Kind(n.form.Get("kind")) {
	case record.CookingBack:
		e.CookedBack = &record.CookedBack{MassMg: mg("mass"), From: text("from")}
	case record.Checking:
		e.Checked = &record.Checked{}
		for _, x := range record.Items() {
			says := n.form.Get(askName(x))
			if says == "" {
				continue
			}
			c := record.Check{Item: x, Says: record.Says(says)}
			if x == record.AllergenClean {
				c.By = text("by")
			}
			e.Checked.Checks = append(e.Checked.Checks, c)
		}
	case record.Making:
		e.Made = &record.Made{PouredAt: text("poured"), EdgeAt: text("edge"), RolledFrom: text("rolled_from"), RolledTo: text("rolled_to"), Turns: n.count("turns"), Sheets: n.count("sheets"),
			Pieces: n.count("pieces"), SampleN: n.count("sample"), SampleMg: mg("sample_mass"), SoundMg: mg("sound"), EndsMg: mg("ends"), WebMg: mg("web"), SiftingsMg: mg("siftings"),
			LeftMg: mg("left"), WasteMg: mg("waste"), CookBackMg: mg("kept")}
		if len(e.Made.MassesMg()) > 0 {
			e.Made.Scale = n.form.Get("scale")
		}
	case record.Finding:
		e.Found = &record.Found{Of: record.Stuff(n.form.Get("of")), What: text("what"), Where: text("where"), Done: text("done")}
	case record.Ending:
		e.After = &record.After{Rolls: record.Says(n.form.Get("rolls")), Glass: record.Says(n.form.Get("glass"))}
	case record.Cleaning:
		e.Cleaned = &record.Cleaned{Surface: record.Surface(n.form.Get("surface")), Kind: record.Clean(n.form.Get("how")), By: text("by"), Verified: text("verified")}
	case record.Tasting:
		e.Tasted = &record.Tasted{Words: []record.Word{}, Note: text("note")}
		for _, w := range n.form["words"] {
			e.Tasted.Words = append(e.Tasted.Words, record.Word(w))
		}
	case record.Signing:
		through, err := strconv.ParseInt(n.form.Get("through"), 10, 64)
		if err != nil {
			n.wrong = append(n.wrong, fault.Invalid("the form is not whole").WithHint("open the page again"))
		}
		e.Signed = &record.Signed{Through: through, Note: text("note")}
	default:
		return false
	}
	return true
}

// workNames leads from the fields of an entry to those of its form.
var workNames = map[string]string{
	"cooked_back.mass_mg": "mass", "cooked_back.from": "from", "checked.allergen clean": "by",
	"lifted.lit_at": "lit_at", "lifted.lifted_at": "lifted_at",
	"made.poured_at": "poured", "made.edge_at": "edge", "made.rolled_from": "rolled_from", "made.rolled_to": "rolled_to", "made.turns": "turns", "made.sheets": "sheets", "made.pieces": "pieces",
	"made.sample_n": "sample", "made.sample_mg": "sample_mass", "made.sound_mg": "sound", "made.ends_mg": "ends", "made.web_mg": "web", "made.siftings_mg": "siftings",
	"made.left_mg": "left", "made.waste_mg": "waste", "made.cook_back_mg": "kept",
	"found.what": "what", "found.where": "where", "found.done": "done", "cleaned.by": "by", "cleaned.verified_by": "verified", "tasted.note": "note", "tasted.words": "note", "signed.note": "note",
}

// mayWrite refuses to sign, to decide what becomes of a batch, and to take either or a
// trouble back, to who may only write down.
func (s *server) mayWrite(r *http.Request, e record.Entry, corrects int64) error {
	if visitorOf(r).role().May(access.Change) {
		return nil
	}
	signs, decides := e.Signed != nil, e.Placed != nil
	if e.Kind() == record.Taking {
		res, err := s.shop.Record(r.Context(), e.Batch)
		if err != nil {
			return err
		}
		of := func(is func(x app.EntryLine) bool) bool {
			return slices.ContainsFunc(res.Entries, func(x app.EntryLine) bool { return x.Act == corrects && is(x) })
		}
		signs = of(func(x app.EntryLine) bool { return x.Signed != nil })
		decides = of(func(x app.EntryLine) bool { return x.Placed != nil || x.Troubled != nil })
	}
	if decides {
		return fault.Forbidden("%s may not decide what becomes of a batch", s.who(r)).WithHint("a maker or the owner looks at it and decides")
	}
	if signs {
		return fault.Forbidden("%s may not sign off", s.who(r)).WithHint("a maker or the owner reads the record and signs it")
	}
	return nil
}

// signOf is the end of the record: what stands, and the form that signs it.
func signOf(b *book.Book, res *app.RecordResult, typed url.Values) *signView {
	r := res.Record()
	v := &signView{Open: app.KindNames(res.Open), Marks: r.Marked()}
	var written []record.Kind
	for _, kind := range record.Kinds()[1:] {
		if _, ok := r.Stands(kind); ok && kind != record.Signing {
			written = append(written, kind)
		}
	}
	v.Written = app.KindNames(written)
	k, _ := r.Signed()
	if s := res.Signed; s != nil {
		v.Later, v.Says = s.Later, "Signed off by "+s.By+", "+stamp(s.At, b)
		if s.Note != "" {
			v.Says += ": " + s.Note
		}
	}
	f := workForm(b, res, record.Signing, k, "", typed)
	f.Through = r.Through()
	f.name(res.Batch, "Sign off")
	v.Form = &f
	return v
}

// balanceRows lay out where the sugar went.
func balanceRows(u q.Reader, x *app.Balance) []balanceRow {
	if x == nil {
		return nil
	}
	lift := "in the kettle at the lift, as planned"
	if x.Weighed {
		lift = "in the kettle at the lift, weighed"
	}
	out := []balanceRow{{What: lift, Mass: figureOf(u.SayMass(x.LiftKg))}, {What: "added after it, by the recipe", Mass: figureOf(u.SayMass(x.AddedKg))}}
	for _, l := range x.Written {
		out = append(out, balanceRow{What: "less " + app.MadeName(l.What), Mass: figureOf(u.Mass(q.Kilograms(l.Kg)))})
	}
	return append(out, balanceRow{What: "unaccounted", Mass: figureOf(u.SayMass(x.UnaccountedKg)), Total: true},
		balanceRow{What: "of it the kettle keeps, by the book", Mass: figureOf(u.SayMass(x.KettleKeepsKg))})
}

// madeFacts put what was made beside what was planned.
func madeFacts(u q.Reader, res *app.RecordResult) []recordFact {
	var out []recordFact
	for _, l := range res.Made {
		f := recordFact{Name: app.MadeName(l.What), Planned: figureOf(app.SayMade(u, l.Unit, l.Planned)), Off: l.Off, Else: "not written yet"}
		if l.Made != nil {
			f.Became, f.Known = figureOf(app.SayMade(u, l.Unit, q.ExactOf(float64(*l.Made)))), true
		}
		out = append(out, f)
	}
	return out
}

func ruleRows(list []app.RuleLine) []ruleRow {
	var out []ruleRow
	for _, x := range list {
		row := ruleRow{Rule: x.Rule, Asks: x.Asks, State: x.State, Source: x.Source, Not: x.Field == ""}
		if x.Else != "" {
			row.State += ": " + x.Else
		}
		out = append(out, row)
	}
	return out
}
