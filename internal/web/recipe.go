package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// recipeView is one recipe, read only, with what a whole boil of it comes to.
type recipeView struct {
	Base      base
	Name      string
	Change    string // address of its form
	Bench     *benchView
	Beside    string // what the figures are held against; empty: nothing
	Whole     bool   // it is a whole boil
	Weigh     []app.WeighLine
	Added     []addedView
	Note      string
	End       string
	Kettle    string
	Charge    string
	Portions  []recipePortion
	Flavour   []pair
	Rolls     string
	Piece     string
	Finish    string
	Facts     []factView
	Verdicts  []verdictView
	Limits    *limitsView // nil where the boil could not be computed
	Fault     *faultLine  // why the whole boil could not be computed
	Cautions  []cautionView
	Stock     []app.StockSolution
	Small     *smallView // of a boil that is no whole one
	Steps     []stepRow  // the boil's own steps; none without a fire
	Curves    []curve
	Allergens []pair // name, what the supplier says
}

type recipePortion struct {
	Paint, Colour, Work, Share, Air string
}

// levels puts words to carry-over and taint limits, 0 to recipe.MostLevel.
var (
	carryWords = [recipe.MostLevel + 1]string{"nothing", "hardly anything", "a little", "noticeable", "strong", "strong and lasting", "very strong"}
	limitWords = [recipe.MostLevel + 1]string{"easily tainted", "easily tainted", "minds a little", "minds what is strong", "hardly minds", "hardly minds", "nothing shows"}
)

func levelWord(words [recipe.MostLevel + 1]string, n int) string {
	if n < 0 || n > recipe.MostLevel {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d of %d, %s", n, recipe.MostLevel, words[n])
}

func (s *server) recipe(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	i := slices.IndexFunc(b.Recipes, func(x recipe.Recipe) bool { return x.ID == id })
	if i < 0 {
		return fault.NotFound("there is no recipe of that name in the shop book").WithHint("choose one from the list of recipes")
	}
	bench, err := s.benchOf(r, &b, b.Recipes[i])
	if err != nil {
		return err
	}
	v := recipeOf(&bench.book, b.Recipes[i])
	v.Base = s.base(r, v.Name, "/recipes")
	v.Bench, v.Whole = &bench.view, bench.view.Scale == ""
	if bench.err != nil { // the recipe can be read all the same
		v.Fault = &faultLines(public(bench.err))[0]
		return s.render(w, http.StatusOK, "recipe", v)
	}
	v.addBoil(&bench.book, bench.result)
	v.addBeside(&b, bench)
	v.Limits = s.limitsIn(r.Context(), bench, r.URL.Query().Get("most"))
	return s.render(w, http.StatusOK, "recipe", v)
}

// addBeside sets what is held against them beside the figures.
func (v *recipeView) addBeside(b *book.Book, w *bench) {
	v.Beside = w.name
	if w.against == nil {
		return
	}
	was := recipeView{}
	was.addBoil(b, w.against)
	for i, f := range v.Facts {
		at := slices.IndexFunc(was.Facts, func(o factView) bool { return o.Name == f.Name })
		switch {
		case at < 0:
			v.Facts[i].Was = "none"
		default:
			v.Facts[i].Was, v.Facts[i].Same = was.Facts[at].Value, was.Facts[at].Value == f.Value
		}
	}
}

// recipeOf says what the book holds of a recipe.
func recipeOf(b *book.Book, rc recipe.Recipe) recipeView {
	u := b.Shop.Units
	v := recipeView{Name: rc.Name, Change: thingHref("recipe", rc.ID), Note: rc.Note, End: boilEnd(u, rc), Rolls: rollsName(b, rc.Rolls), Finish: finishText(b, rc), Kettle: kettleName(b, rc.Kettle)}
	for _, p := range rc.Portions {
		rp := recipePortion{Paint: paintOf(p.Paint), Colour: p.Colour, Work: workWord(string(p.Work)), Share: u.Percent(p.Share, 0)}
		if p.Air > 0 {
			rp.Air = u.Percent(p.Air, 1) + " air kept"
		}
		v.Portions = append(v.Portions, rp)
	}
	v.Flavour = flavourOf(rc)
	for _, x := range b.Rolls {
		if x.ID == rc.Rolls {
			v.Piece = u.Mass(x.PieceMass())
		}
	}
	v.Allergens = allergensOf(b, rc)
	return v
}

func flavourOf(rc recipe.Recipe) []pair {
	out := []pair{
		{"family", rc.Flavour.Family},
		{"leaves behind", levelWord(carryWords, rc.Flavour.CarryOver)},
		{"stands of others", levelWord(limitWords, rc.Flavour.TaintLimit)},
	}
	kin := make([]string, 0, len(rc.Flavour.Tolerates))
	for f := range rc.Flavour.Tolerates {
		kin = append(kin, f)
	}
	slices.Sort(kin)
	for _, f := range kin {
		out = append(out, pair{"stands of " + f, levelWord(limitWords, rc.Flavour.Tolerates[f])})
	}
	if rc.Stain != nil {
		out = append(out, pair{"stains", levelWord(carryWords, rc.Stain.CarryOver)}, pair{"stands of stain", levelWord(limitWords, rc.Stain.Limit)})
	}
	return out
}

// allergensOf says what each supplier states; a missing statement is not "none".
func allergensOf(b *book.Book, rc recipe.Recipe) []pair {
	var out []pair
	for _, id := range rc.Ingredients() {
		for _, in := range b.Ingredients {
			if in.ID != id {
				continue
			}
			switch {
			case !in.Stated():
				out = append(out, pair{in.Name, "the supplier has not said"})
			case len(in.Contains) > 0 || len(in.MayContain) > 0:
				t := ""
				if len(in.Contains) > 0 {
					t = "contains " + app.Listed(in.Contains)
				}
				if len(in.MayContain) > 0 {
					if t != "" {
						t += "; "
					}
					t += "may contain " + app.Listed(in.MayContain)
				}
				out = append(out, pair{in.Name, t})
			}
		}
	}
	return out
}

// addBoil says what a whole boil comes to, each figure with its slip.
func (v *recipeView) addBoil(b *book.Book, res *app.BoilResult) {
	u := b.Shop.Units
	v.Charge = u.Mass(q.Kilograms(res.ChargeKg))
	v.Cautions, v.Stock, v.Weigh = cautionsOf(res.Cautions), res.Stock, slices.Clone(res.Weigh)
	for i, l := range v.Weigh {
		v.Weigh[i].Stage = stageNames[l.Stage]
	}
	v.Added, v.Small = addedOf(res.Additions), smallOf(res.Small)
	sources := sourcesOf(res.Sources)
	inputs := []pair{{"into the kettle", v.Charge}, {"pressure of the air here", u.Pressure(q.Pascals(res.PressurePa))}, {"end of the boil", v.End}}
	add := func(name string, e *q.Estimate, say func(q.Estimate) string, sl slip) {
		if e == nil {
			return
		}
		if sl.Inputs == nil {
			sl.Inputs = inputs
		}
		if e.Basis != q.Exact {
			sl.Sources = sources
		}
		v.Facts = append(v.Facts, factView{Name: name, figure: figureOf(say(*e)), Slip: &sl})
	}
	degrees := func(dec int) func(q.Estimate) string {
		return func(e q.Estimate) string { return u.SayTemperature(e, dec) }
	}
	if res.BoilC != nil && res.DialC != nil {
		if sl := dialSlip(u, *res.BoilC, *res.DialC, readGlass(b), q.Pascals(res.PressurePa)); sl != nil {
			add("read on the glass", res.DialC, degrees(0), *sl)
			v.Facts[len(v.Facts)-1].figure = readFigure(u, res.Read, *res.DialC)
		}
	}
	if res.LiftC != nil {
		add("flame off at", res.LiftC, degrees(0), slip{Text: "The sugar goes on rising on the heat of the pan: the wall stands hotter than the sugar by the heat it passes over how well it passes it, which nobody has measured in an open pan. Reading the glass a minute after the lift makes it surer.",
			Formula: "rise = wall's heat × (heat passed ÷ film and wetted wall) ÷ sugar's heat, less what the room takes"})
		v.Facts[len(v.Facts)-1].figure = readFigure(u, res.Lift, *res.LiftC)
		add("then it rides up by", res.AfterHeatK, func(e q.Estimate) string { return u.SayDifference(e, 1) }, slip{Text: "Once the flame is off, until the sugar loses as much to the room as the wall still gives."})
		add("ten seconds late", res.LateK, func(e q.Estimate) string { return u.SayDifference(e, 1) }, slip{Text: "So much hotter, by the fire and what sugar and pan take up at the end; and so much drier: " + u.SayPercent(*res.LateWater, 2) + " of water."})
	}
	v.addCourse(u, res.Course)
	v.Verdicts = verdictsOf(u, res)
	add("boils here at, true", res.BoilC, degrees(1), slip{Text: "The temperature at which the dryness of the recipe boils under the air of this room."})
	add("water left", res.WaterFrac, func(e q.Estimate) string { return u.SayPercent(e, 1) }, slip{Text: "The share of water in the kettle at the lift. Weighing the kettle at the lift makes it surer."})
	add("in the kettle at the lift", res.MassKg, u.SayMass, slip{Text: "All that is in the kettle when it is lifted, before what stays on its wall."})
	add("water boiled off", res.WaterOffKg, u.SayMass, slip{Text: "The water that has left the kettle by the lift."})
	add("sound pieces", res.Pieces, func(e q.Estimate) string { return u.SayCount(e, "pieces") }, slip{Text: "What the slab gives, less the ends of the bars, web, chips and dust, over the mean piece of these rolls; pulled pieces are lighter by their air."})
	add("stands up to", res.GlassC, degrees(0), slip{Text: "The glass transition: above it a piece softens and sticks. It is not a reading of the thermometer."})
	v.addKeeps(u, res)
	add("invert sugar", res.InvertFrac, func(e q.Estimate) string { return u.SayPercent(e, 1) }, invertSlip(b, res))
	if c := res.CookedBack; c != nil {
		of := []pair{{"cooked back", u.Percent(q.Fraction(c.ShareFrac), 1)}}
		if c.AcidKg > 0 {
			of = append(of, pair{"acid that comes back with it", u.Mass(q.Kilograms(c.AcidKg))})
		}
		add("inverted, against fresh sugar", c.Times, func(e q.Estimate) string { return u.SayTimes(e, 2) }, slip{
			Text:    "What is cooked back has been inverted before, " + u.Number(float64(c.Reboils), 2) + " times more on average than fresh sugar. All figures are those of a boil late in a long row of boils alike.",
			Formula: "times = 1 ÷ (1 − share × (1 − inverted in one boil)), near 1 ÷ (1 − share) where little inverts and no acid comes back; boiled again = share ÷ (1 − share)",
			Inputs:  of})
	}
	add("time on the flame", res.BoilTimeS, u.SayMinutes, slip{Text: "From flame up to the lift, by the burner and how much of its heat the kettle takes."})
	add("heat", res.EnergyKWh, func(e q.Estimate) string { return sayNumber(u, e, 1, "kWh") }, slip{Text: "What the burner gives in that time."})
}

// addedView is one addition: what it brings, loses and does, and when it goes in.
type addedView struct {
	Name  string
	When  string
	Out   bool // of its window
	Facts []app.Said
	Slip  slip
}

func addedOf(list []app.AdditionLine) []addedView {
	var out []addedView
	for _, a := range list {
		x := addedView{Name: strings.TrimSuffix(a.Name+", "+a.Portion, ", "), When: stageNames[a.Stage], Out: !a.InWindow, Facts: a.Says}
		var says []string
		for _, s := range a.Does {
			says = append(says, sentence(s)+".")
		}
		if a.Window != "" {
			says = append(says, sentence(a.Window)+".")
		}
		x.Slip = slip{Text: strings.Join(says, " "), Sources: sourcesOf(a.Sources)}
		out = append(out, x)
	}
	return out
}

// invertSlip says what the invert sugar is made of.
func invertSlip(b *book.Book, res *app.BoilResult) slip {
	u := b.Shop.Units
	sl := slip{Text: "Glucose and fructose in equal parts, what came in and what sucrose fell into in the kettle and in the first minutes on the slab, as a share of the sweet. Acid and time make more, lime in the water less; acid that is folded in on the slab is not counted. Above 115 °C nobody has measured how fast it goes. The alkalinity off the water report makes it surer, and so do the minutes that the boil really takes.",
		Formula: "share of the sucrose = 1 − exp(−∫ k dt), k = 10^(" + u.Number(16.91, 2) + " − " + u.Number(5670, 0) + " ÷ (" + u.Number(273.15, 2) + " + °C) − pH) × kg of water in a litre ÷ 60 a second"}
	acid := false
	for _, l := range res.Weigh {
		in, ok := b.Ingredient(l.Ingredient)
		if !ok || !in.Kind.Sours() || (l.Stage != "kettle" && l.Stage != string(recipe.AtBoil)) {
			continue
		}
		acid = true
		sl.Inputs = append(sl.Inputs, pair{l.Name + " in the boil", l.Show})
	}
	if acid {
		sl.Inputs = append(sl.Inputs, pair{"alkalinity of the water", alkalinityText(u, b.Room.WaterAlkalinity)})
	} else {
		sl.Inputs = append(sl.Inputs, pair{"acid in the boil", "none: pH 5, " + u.Number(4.5, 1) + " to " + u.Number(5.5, 1)})
	}
	if res.BoilTimeS != nil {
		sl.Inputs = append(sl.Inputs, pair{"time on the flame", u.SayMinutes(*res.BoilTimeS)})
	}
	if res.BoilC != nil {
		sl.Inputs = append(sl.Inputs, pair{"end of the boil, true", u.SayTemperature(*res.BoilC, 1)})
	}
	return sl
}

// The names of things of the book, or their ids where the book has no name.

func ingredientName(b *book.Book, id string) string {
	for _, x := range b.Ingredients {
		if x.ID == id {
			return x.Name
		}
	}
	return id
}

func rollsName(b *book.Book, id string) string {
	for _, x := range b.Rolls {
		if x.ID == id {
			return x.Name
		}
	}
	return id
}

func kettleName(b *book.Book, id string) string {
	if id == "" {
		id = b.Day.Kettle
	}
	for _, x := range b.Kettles {
		if x.ID == id {
			return x.Name
		}
	}
	return id
}

func portionColour(rc recipe.Recipe, id string) string {
	for _, p := range rc.Portions {
		if p.ID == id && p.Colour != "" {
			return p.Colour
		}
	}
	return id
}

func finishText(b *book.Book, rc recipe.Recipe) string {
	u := b.Shop.Units
	s := string(rc.Finish)
	if rc.FinishWith != "" {
		s += " with " + ingredientName(b, rc.FinishWith)
	}
	if rc.FinishGain > 0 {
		s += ", " + u.Percent(rc.FinishGain, 1) + " of the pieces' weight kept"
	}
	return s
}

// smallView is what a small boil can and cannot tell of a whole one.
type smallView struct{ Tells, Not []string }

func smallOf(s *app.SmallBoil) *smallView {
	if s == nil {
		return nil
	}
	v := &smallView{}
	for _, t := range s.Tells {
		v.Tells = append(v.Tells, sentence(t))
	}
	for _, t := range s.TellsNot {
		v.Not = append(v.Not, sentence(t))
	}
	return v
}
