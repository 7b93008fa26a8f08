package web

import (
	"context"
	"encoding"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/store"
)

// benchView is the workbench of a recipe: figures to type otherwise, what they come
// to, and beside it what the recipe as it is, another one or a version of it does.
type benchView struct {
	ID      string
	Parts   []benchField // masses into the kettle
	Ends    []benchField // where the boil ends
	Doses   []benchField
	Stands  benchField    // solve for: what it shall stand up to
	Doctor  *benchField   // solve for: the invert its doctor shall make; nil without a doctor
	Oil     *benchField   // solve for: what of its oil shall stay in the sweet; nil without one
	Cook    benchField    // the share of its sugar that is cooked back
	Sours   []productView // acids its own can be changed for, as sour
	Sour    *faultLine    // why it cannot
	Scale   string
	Of      []productView
	Beside  []productView
	Pans    []productView // none where there is one alone
	Most    []productView // of which it can be asked how much may go in at most
	Changed []conflictRow // what was typed otherwise

	Switched *app.Switched // if its doctor was changed
	Soured   []app.Soured  // if its acids were changed
	Other    string        // address of the same with the other doctor; empty: there is none

	Faults []faultLine
	Back   string // address without what was typed
	Keep   string // address of the recipe's form with what was typed in it
}

// benchField is a figure that can be typed otherwise.
type benchField struct {
	Name, Label, Value string
	Book               string // what the book has, as it would be typed
	Of                 string // what it is of or a share of it
	Kept               string // as the book has it, where it was typed otherwise
	Fault              *faultLine
}

// switchDoctor is how the address asks for the recipe with its doctor changed.
const switchDoctor = "switch"

// besideVersion is how the address names a version of the recipe to lay beside.
const besideVersion = "version-"

// bench works out what is typed on a recipe's page. What is typed stands in its
// address: it can be reloaded, sent and printed, and nothing of it is kept.
type bench struct {
	view    benchView
	book    book.Book       // as it would be
	asked   app.BoilAsked   // of it
	result  *app.BoilResult // nil with the reason in err
	err     error
	name    string // of what is beside; empty: nothing is
	against *app.BoilResult
}

func (s *server) benchOf(r *http.Request, b *book.Book, rc recipe.Recipe) (*bench, error) {
	v := r.URL.Query()
	kept := b // what is held against, whichever doctor is looked at
	w := &bench{view: benchView{ID: rc.ID, Scale: strings.TrimSpace(v.Get("scale")), Back: "/recipes/" + url.PathEscape(rc.ID)}}
	w.view.Stands = benchField{Name: "stands", Label: "or so that it stands up to", Value: strings.TrimSpace(v.Get("stands"))}
	w.view.Cook = benchField{Name: "cook", Label: "cooked back of it", Value: strings.TrimSpace(v.Get("cook")), Of: "sweets of the boil before, boil after boil"}
	switch {
	case v.Get("doctor") == switchDoctor:
		other, sw, err := app.SwitchDoctor(*b, rc.ID)
		if err != nil {
			return nil, err
		}
		b, w.view.Switched = &other, &sw
		rc, _ = other.Recipe(rc.ID)
	case app.Switches(b, rc):
		w.view.Other = w.view.Back + "?doctor=" + switchDoctor
	}
	form, err := entry.Print(b, store.KindRecipe, rc.ID)
	if err != nil {
		return nil, err
	}
	typed := map[string]string{}
	for name := range v {
		if field, ok := strings.CutPrefix(name, "f."); ok {
			typed[field] = fault.Clip(v.Get(name), 80)
		}
	}
	var diff []entry.Difference
	wrong := map[string]*faultLine{}
	try := func() error {
		w.book, diff, w.err = app.TryRecipe(*b, rc.ID, typed)
		if w.err != nil && !w.takes(w.err, wrong) {
			return w.err
		}
		return nil
	}
	if err := try(); err != nil {
		return nil, err
	}
	if w.err == nil {
		w.asked, w.err = w.scaled(rc.ID, v.Get("of"))
		w.asked.Kettle = w.pan(rc, v.Get("pan"))
	}
	asked := w.asked
	if w.offerDoctor(rc, strings.TrimSpace(v.Get("invert"))) && w.err == nil && w.dose(rc.ID, asked, typed) {
		if err := try(); err != nil {
			return nil, err
		}
	}
	if w.offerOil(rc, strings.TrimSpace(v.Get("oil"))) && w.err == nil && w.doseOil(rc.ID, typed) {
		if err := try(); err != nil {
			return nil, err
		}
	}
	w.fields(b, rc, form, typed, wrong)
	w.choices(b, rc, v.Get("of"))
	// What is typed is the dose of the acid it has; the other one's follows from it.
	if w.offerSour(rc, v.Get("sour")) && w.err == nil && w.sour(rc.ID, v.Get("sour"), typed) {
		if err := try(); err != nil {
			return nil, err
		}
	}
	w.askable(rc, v.Get("most"))
	otherwise := w.view.Switched != nil || len(diff) > 0
	if w.err == nil {
		w.result, w.err = s.boilAsked(r.Context(), &w.book, asked, otherwise)
	}
	if w.err != nil && fault.KindOf(w.err) == fault.KindInternal {
		return nil, w.err
	}
	w.keepHref(rc, diff)
	return w, s.beside(r.Context(), w, kept, rc, v.Get("beside"), otherwise || asked.StandsUp != nil || asked.CookBack != nil || asked.Kettle != "")
}

// pan offers the pans there are, where there are several, and returns the one that is
// asked for instead of the recipe's own.
func (w *bench) pan(rc recipe.Recipe, chosen string) string {
	own, _ := w.book.KettleFor(rc)
	if len(w.book.Kettles) < 2 {
		return ""
	}
	asked := ""
	for _, k := range w.book.Kettles {
		if k.ID == own.ID {
			continue
		}
		w.view.Pans = append(w.view.Pans, productView{k.ID, k.Name, k.ID == chosen})
		if k.ID == chosen {
			asked = chosen
		}
	}
	return asked
}

// offerDoctor offers to dose the recipe's doctor for a share of invert, and reports
// whether that is asked for.
func (w *bench) offerDoctor(rc recipe.Recipe, text string) bool {
	if !app.HasDoctor(&w.book, rc) {
		return false
	}
	w.view.Doctor = &benchField{Name: "invert", Label: "dose the tartar for invert of", Value: text}
	return text != ""
}

// dose finds the dose of the doctor for the boil as it is tried, and types it; false
// with the reason at its field if there is none.
func (w *bench) dose(id string, asked app.BoilAsked, typed map[string]string) bool {
	u := w.book.Shop.Units
	share, err := readAs[q.Fraction](u, w.view.Doctor.Value)
	var req app.BoilRequest
	if err == nil {
		req, err = asked.Request("")
	}
	if err == nil {
		rec, _ := w.book.Recipe(id)
		var at int
		if rec, at, err = app.DoctorFor(&w.book, rec, req, share); err == nil {
			typed["boil."+strconv.Itoa(at)+".mass"] = u.Digits(rec.Boil[at].Mass.Grams(), 4) + " g"
			return true
		}
	}
	w.view.Doctor.Fault = wrongAt(err)
	return false
}

// offerOil offers to dose the recipe's oil for what stays of it, and reports whether that
// is asked for.
func (w *bench) offerOil(rc recipe.Recipe, text string) bool {
	if !app.HasOil(&w.book, rc) {
		return false
	}
	w.view.Oil = &benchField{Name: "oil", Label: "dose the oil so that there stay", Value: text, Of: "in the sweet, such as 900 ppm"}
	return text != ""
}

// doseOil finds the dose of the oil, and types it; false with the reason at its field.
func (w *bench) doseOil(id string, typed map[string]string) bool {
	u := w.book.Shop.Units
	wanted, err := readAs[q.Fraction](u, w.view.Oil.Value)
	if err == nil && wanted <= 0 {
		err = fault.Invalid("none of the oil is no dose").WithHint("write an amount such as 900 ppm")
	}
	if err == nil {
		rec, _ := w.book.Recipe(id)
		var at int
		if rec, at, err = app.OilFor(&w.book, rec, wanted); err == nil {
			typed[doseField(at)] = u.Digits(rec.Additions[at].Dose.PPM(), 4) + " ppm"
			return true
		}
	}
	w.view.Oil.Fault = wrongAt(err)
	return false
}

// doseField is the name of the dose of an addition in the form of a recipe.
func doseField(at int) string { return "addition." + strconv.Itoa(at) + ".dose" }

// offerSour offers the acids that the recipe's own can be changed for, and reports whether
// that is asked for.
func (w *bench) offerSour(rc recipe.Recipe, chosen string) bool {
	if !app.Sours(&w.book, rc) {
		return false
	}
	for _, a := range ingredient.Acids() {
		if a != ingredient.CreamOfTartar {
			w.view.Sours = append(w.view.Sours, productView{string(a), string(a) + " acid", string(a) == chosen})
		}
	}
	return chosen != ""
}

// sour changes the acids for one that is as sour, and types that; false with the reason
// at its field.
func (w *bench) sour(id, acid string, typed map[string]string) bool {
	rec, _ := w.book.Recipe(id)
	other, done, err := app.SourAs(&w.book, rec, ingredient.Sour(acid))
	if err != nil {
		w.view.Sour = wrongAt(err)
		return false
	}
	for i, a := range other.Additions {
		if a != rec.Additions[i] {
			typed["addition."+strconv.Itoa(i)+".ingredient"] = a.Ingredient
			typed[doseField(i)] = w.book.Shop.Units.Percent(a.Dose, 4)
		}
	}
	w.view.Soured = done
	return true
}

// wrongAt is what is wrong with one field, said at it.
func wrongAt(err error) *faultLine {
	text, hint := fault.Said(err)
	return &faultLine{Text: sentence(text), Hint: sentence(hint)}
}

// readAs reads an amount as its reader types one.
func readAs[T any, P interface {
	*T
	encoding.TextUnmarshaler
}](u q.Reader, text string) (v T, err error) {
	plain, err := u.Decimal().Plain(text)
	if err == nil {
		err = P(&v).UnmarshalText([]byte(plain))
	}
	return v, err
}

// takes puts the faults of a typed recipe to their fields; it reports whether they
// are the person's.
func (w *bench) takes(err error, wrong map[string]*faultLine) bool {
	var p app.Problems
	if !errors.As(err, &p) {
		return fault.KindOf(err) != fault.KindInternal
	}
	for _, e := range p {
		wrong[e.Field] = wrongAt(e)
	}
	return true
}

// fields lays out what can be typed otherwise.
func (w *bench) fields(b *book.Book, rc recipe.Recipe, kept entry.Form, typed map[string]string, wrong map[string]*faultLine) {
	field := func(name, label, of string) benchField {
		f := benchField{Name: "f." + name, Label: label, Value: kept.Text[name], Book: kept.Text[name], Of: of, Fault: wrong[name]}
		if s, ok := typed[name]; ok && strings.TrimSpace(s) != f.Value {
			f.Kept, f.Value = or(f.Value, "nothing"), s
		}
		delete(wrong, name)
		return f
	}
	all := q.Kilograms(0)
	now := rc
	if t, ok := w.book.Recipe(rc.ID); ok {
		now = t
	}
	for _, p := range now.Boil {
		all += p.Mass
	}
	for i, p := range now.Boil {
		share := ""
		if all > 0 {
			share = shareText(b.Shop.Units, q.Fraction(p.Mass/all))
		}
		w.view.Parts = append(w.view.Parts, field("boil."+strconv.Itoa(i)+".mass", ingredientName(b, p.Ingredient), share))
	}
	w.view.Ends = []benchField{field("boil_to", "boil to", "as at sea level"), field("water_left", "or to water left of", "")}
	for i := range w.view.Ends { // one end takes the place of the other
		e, other := &w.view.Ends[i], w.view.Ends[1-i]
		if e.Kept == "" && e.Value != "" && other.Kept != "" && other.Value != "" && other.Fault == nil {
			e.Of = "not used, the other end is"
		}
	}
	for i, a := range rc.Additions {
		of := "the whole boil"
		if a.Portion != "" {
			of = portionColour(rc, a.Portion)
		}
		w.view.Doses = append(w.view.Doses, field(doseField(i), ingredientName(b, a.Ingredient), stageNames[string(a.Stage)]+", of "+of))
	}
	for _, f := range wrong { // of fields that are not on the page
		w.view.Faults = append(w.view.Faults, *f)
	}
	for _, f := range slices.Concat(w.view.Parts, w.view.Ends, w.view.Doses) {
		if f.Kept != "" {
			w.view.Changed = append(w.view.Changed, conflictRow{strings.TrimPrefix(f.Label, "or to "), f.Kept, or(f.Value, "nothing")})
		}
	}
	if s := w.view.Cook.Value; s != "" {
		w.view.Changed = append(w.view.Changed, conflictRow{Name: "cooked back, boil after boil", Typed: s})
	}
	if s := w.view.Stands.Value; s != "" {
		w.view.Changed = append(w.view.Changed, conflictRow{Name: "boiled so that it stands up to", Typed: s})
	}
}

// shareText prints a share so that a little of something is not nothing.
func shareText(u q.Reader, f q.Fraction) string {
	if f < 0.001 {
		return u.Percent(f, 3)
	}
	return u.Percent(f, 1)
}

// ofIngredient is how the address says that the scale is a mass of an ingredient.
const ofIngredient = "ingredient-"

// choices lists what the boil can be scaled to.
func (w *bench) choices(b *book.Book, rc recipe.Recipe, chosen string) {
	for _, p := range b.Products {
		if slices.ContainsFunc(p.Parts, func(x bag.Part) bool { return x.Recipe == rc.ID }) {
			w.view.Of = append(w.view.Of, productView{p.ID, "bags of " + p.Name, p.ID == chosen})
		}
	}
	for _, p := range rc.Boil {
		id := ofIngredient + p.Ingredient
		w.view.Of = append(w.view.Of, productView{id, "so much " + strings.ToLower(ingredientName(b, p.Ingredient)), id == chosen})
	}
}

// scaled reads what the boil is scaled to and, if that is solved for, its end.
func (w *bench) scaled(id, of string) (app.BoilAsked, error) {
	asked, u := app.BoilAsked{Recipe: id}, w.book.Shop.Units
	if text := w.view.Stands.Value; text != "" {
		t, err := readAs[q.Celsius](u, text)
		if err != nil {
			w.view.Stands.Fault = wrongAt(err)
			return asked, err
		}
		asked.StandsUp = &t
	}
	if text := w.view.Cook.Value; text != "" {
		share, err := readAs[q.Fraction](u, text)
		if asked.CookBack = &share; err == nil {
			_, err = asked.Request("")
		}
		if err != nil {
			w.view.Cook.Fault = wrongAt(err)
			return asked, err
		}
	}
	scale := w.view.Scale
	n, err := strconv.Atoi(scale)
	ingredient, byIngredient := strings.CutPrefix(of, ofIngredient)
	switch {
	case scale == "":
		return asked, nil
	case of != "" && !byIngredient && err != nil:
		return asked, fault.Invalid("%q is no number of bags", fault.Clip(scale, fault.Echo)).WithHint("write a whole number, or scale it to a charge or to pieces")
	case of != "" && !byIngredient:
		asked.Bags, asked.Product = &n, of
		return asked, nil
	case err == nil && !byIngredient:
		asked.Pieces = &n
		return asked, nil
	}
	mass, err := readAs[q.Kilograms](u, scale)
	if err != nil {
		return asked, err
	}
	if byIngredient {
		all, own := q.Kilograms(0), q.Kilograms(0)
		now, _ := w.book.Recipe(id)
		for _, p := range now.Boil {
			all += p.Mass
			if p.Ingredient == ingredient {
				own += p.Mass
			}
		}
		if own == 0 {
			return asked, fault.NotFound("there is no %q in it", fault.Clip(ingredient, fault.Echo)).WithHint("choose one of its ingredients")
		}
		mass *= all / own
	}
	if mass <= 0 {
		return asked, fault.Invalid("%q is no charge", fault.Clip(scale, fault.Echo)).WithHint("write a mass such as 7 kg, or a number of pieces")
	}
	asked.Charge = &mass
	return asked, nil
}

// boilAsked works out a boil: of the kept book by the shop, else of the book as it
// would be.
func (s *server) boilAsked(ctx context.Context, b *book.Book, asked app.BoilAsked, otherwise bool) (*app.BoilResult, error) {
	req, err := asked.Request("")
	switch {
	case err != nil:
		return nil, err
	case otherwise:
		return s.shop.BoilIn(ctx, b, req)
	}
	return s.shop.Boil(ctx, req)
}

// keepHref leads to the recipe's form with what was typed, and what was solved for.
func (w *bench) keepHref(rc recipe.Recipe, diff []entry.Difference) {
	v := url.Values{}
	for _, d := range diff {
		v.Set("f."+d.Name, d.To)
	}
	if w.view.Stands.Value != "" && w.result != nil && w.result.EndWater > 0 {
		v.Set("f.boil_to", "")
		v.Set("f.water_left", w.result.Units.Percent(w.result.EndWater, 3))
	}
	switch {
	case w.err != nil:
	case w.view.Switched != nil: // the recipe stays; this is another
		v.Set("like", rc.ID)
		v.Set("doctor", switchDoctor)
		w.view.Keep = newHref(store.KindRecipe) + "?" + v.Encode()
	case len(v) > 0:
		w.view.Keep = thingHref(store.KindRecipe, rc.ID) + "?" + v.Encode()
	}
}

// beside works out what the figures are held against: the recipe as it is kept if
// something was typed, another recipe, or a version of this one.
func (s *server) beside(ctx context.Context, w *bench, b *book.Book, rc recipe.Recipe, chosen string, otherwise bool) error {
	add := func(id, name string) {
		w.view.Beside = append(w.view.Beside, productView{id, name, id == chosen})
		if id == chosen {
			w.name = name
		}
	}
	const most = 8 // versions offered
	if list, err := s.shop.History(ctx, store.KindRecipe, rc.ID, 0, most); err == nil && len(list) > 1 {
		for i, x := range list[1:] { // until the newer one, which stands before it
			add(besideVersion+strconv.Itoa(x.N), "version "+strconv.Itoa(x.N)+", until "+stamp(list[i].At, b))
		}
	}
	for _, other := range b.Recipes {
		if other.ID != rc.ID {
			add(other.ID, other.Name)
		}
	}
	against, id, then := *b, rc.ID, false
	switch n, isVersion := strings.CutPrefix(chosen, besideVersion); {
	case w.name == "" && !otherwise:
		return nil
	case w.name == "":
		w.name = "the recipe as kept"
	case isVersion:
		version, err := strconv.Atoi(n)
		if err != nil {
			return fault.NotFound("there is no version %q", fault.Clip(n, fault.Echo))
		}
		if against, err = s.shop.AsOf(ctx, rc.ID, version); err != nil {
			return err
		}
		then = true
	default:
		id = chosen
	}
	// The same charge in the kettle tells the recipes apart and not the scale.
	asked := app.BoilAsked{Recipe: id}
	if w.result != nil && w.view.Scale != "" {
		charge := q.Kilograms(w.result.ChargeKg)
		asked.Charge = &charge
	}
	res, err := s.boilAsked(ctx, &against, asked, then)
	if err != nil { // it is only beside
		w.name += ": " + strings.TrimSuffix(err.Error(), ".")
		return nil
	}
	w.against = res
	return nil
}
