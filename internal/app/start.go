package app

import (
	"context"
	"maps"
	"strconv"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/store"
)

// Question is one question of the guided start of a book.
type Question struct {
	Name   string   // "kettle.volume"
	Ask    string   // what is asked
	Help   string   // what makers usually answer
	Usual  string   // what stands there before anything is typed
	Choice []string // the answers there are; nil: any
	Kind   book.Kind
}

// QuestionGroup is a part of the guided start.
type QuestionGroup struct {
	Name      string
	Help      string
	Questions []Question
}

// strengths are how much a flavour leaves on the line and minds of others: levels
// of carry-over and taint limit (common practice, no source).
var strengths = map[string][2]string{"mild": {"1", "2"}, "middling": {"3", "2"}, "strong": {"5", "4"}}

// StartQuestions returns what a shop is asked before its first plan. The usual
// answers are common practice, no source; all can be changed later.
func StartQuestions() []QuestionGroup {
	metals := []string{string(rig.Stainless), string(rig.TinnedSteel), string(rig.TinnedCopper), string(rig.Copper), string(rig.Steel), string(rig.Aluminium)}
	return []QuestionGroup{
		{"The shop", "", []Question{
			{Name: "shop.name", Ask: "Name of the shop"},
			{Name: "shop.place", Ask: "Town or village"},
			{Name: "shop.units", Ask: "Units on screens and paper", Help: "any unit may be typed anywhere", Usual: string(q.Metric), Choice: []string{string(q.Metric), string(q.US)}},
			{Name: "shop.currency", Ask: "Currency", Help: "three letters, such as GBP, EUR, USD", Usual: "GBP"},
			{Name: "shop.market", Ask: "Whose rules for labels", Usual: "uk", Choice: []string{"uk", "eu", "us", "ca"}},
			{Name: "shop.time_zone", Ask: "Time zone", Help: "such as Europe/London or America/Chicago", Usual: "Europe/London"},
			{Name: "room.altitude", Ask: "Height above the sea", Help: "sugar boils about 1 °C cooler for every 300 m", Usual: "50 m"},
			{Name: "day.opens", Ask: "The room opens", Usual: "08:00", Kind: book.Clock},
			{Name: "day.ends", Ask: "All is clean by", Usual: "17:00", Kind: book.Clock},
		}},
		{"The boiling room", "One of each is enough to begin; more go in later.", []Question{
			{Name: "kettle.volume", Ask: "Kettle, to the brim", Help: "a boil foams up to twice its height", Usual: "24 L"},
			{Name: "kettle.usual_charge", Ask: "A whole boil, water included", Usual: "12 kg"},
			{Name: "kettle.material", Ask: "The kettle is of", Help: "what the sugar touches", Usual: string(rig.Stainless), Choice: metals},
			{Name: "kettle.burner", Ask: "Heat of the burner", Help: "a candy stove has 15 to 25 kW", Usual: "18 kW"},
			{Name: "slab.length", Ask: "Slab, length", Usual: "1.5 m"},
			{Name: "slab.width", Ask: "Slab, width", Usual: "0.75 m"},
			{Name: "rolls.name", Ask: "Name of the pair of rolls", Usual: "Drops"},
			{Name: "rolls.piece", Ask: "Mass of one drop", Help: "weigh a hundred and divide; 2 to 4 g is common", Usual: "3 g"},
			{Name: "rolls.material", Ask: "The rolls are of", Help: "old brass and bronze want a test for lead", Usual: string(rig.Brass), Choice: []string{string(rig.Brass), string(rig.Bronze), string(rig.Stainless), string(rig.Steel)}},
			{Name: "board.have", Ask: "A warm feeding board or lamp at the rolls", Help: "without one a batch is in condition for minutes only, so boils are small", Usual: "yes", Choice: []string{"yes", "no"}},
			{Name: "machine.stop", Ask: "A stop within reach of who feeds the rolls", Usual: "yes", Choice: []string{"yes", "no"}},
			{Name: "hand.0", Ask: "First adult who boils, pours and rolls"},
			{Name: "hand.1", Ask: "Second adult who does", Help: "rolling takes two"},
		}},
		{"The first sweet", "Amounts as in your recipe; only their proportions count.", []Question{
			{Name: "recipe.name", Ask: "Name of the sweet"},
			{Name: "recipe.sugar", Ask: "Sugar", Usual: "6 kg"},
			{Name: "recipe.syrup", Ask: "Glucose syrup, 42 DE", Help: "a third to a half of the sugar keeps it from graining", Usual: "3 kg"},
			{Name: "recipe.water", Ask: "Water", Help: "about a third of the sugar", Usual: "2 kg"},
			{Name: "recipe.boil_to", Ask: "Boil to", Help: "true temperature at sea level; 146 to 155 °C is common", Usual: "152 °C"},
			{Name: "recipe.acid", Ask: "Citric acid, share of the finished sweet", Help: "0.5 to 1.5 %, folded in; empty for none", Usual: "0.8 %"},
			{Name: "recipe.flavour", Ask: "Flavour", Help: "its name: lemon, mint, aniseed"},
			{Name: "recipe.dose", Ask: "Flavour, share of the finished sweet", Help: "what its maker says; 0.05 to 0.2 % is common", Usual: "0.1 %"},
			{Name: "recipe.strength", Ask: "It stays on slab and rolls like", Help: "mint, clove and aniseed are strong", Usual: "middling", Choice: []string{"mild", "middling", "strong"}},
			{Name: "recipe.colour", Ask: "Colour in words", Usual: "clear yellow"},
			{Name: "recipe.paint", Ask: "Drawn in", Usual: "#e3c443", Kind: book.Paint},
			{Name: "recipe.colour_dose", Ask: "Colouring, share of the finished sweet", Help: "empty for none", Usual: "0.05 %"},
		}},
		{"The first bags", "", []Question{
			{Name: "product.net", Ask: "Net weight of a bag", Usual: "113 g"},
			{Name: "product.bags", Ask: "Bags to make", Usual: "10", Kind: book.Count},
		}},
	}
}

// answer is a text of a form and the question it answers.
type answer struct{ text, question string }

// starter puts a book together from answers.
type starter struct {
	text     map[string]string
	b        book.Book
	problems Problems
	wrong    map[string]bool
}

func (s *starter) ask(name string) answer { return answer{s.text[name], name} }

func usually(text string) answer { return answer{text: text} }

func (s *starter) fail(question, text, hint string) {
	if !s.wrong[question] {
		s.wrong[question] = true
		s.problems = append(s.problems, fault.Invalid("%s", text).At(question).WithHint("%s", hint))
	}
}

// put adds a thing; its faults go to the questions its fields answer, and those of
// no question to about.
func (s *starter) put(kind, id, about string, fields map[string]answer, rows map[string]int) {
	f := entry.Form{Kind: kind, Text: map[string]string{}, Rows: rows}
	if f.Rows == nil {
		f.Rows = map[string]int{}
	}
	for name, a := range fields {
		f.Text[name] = a.text
	}
	if id != "" {
		f.Text["id"] = id
	}
	out, _, faults := entry.Put(s.b, f)
	for _, x := range faults {
		question := fields[x.Name].question
		if question == "" {
			question = about
		}
		s.fail(question, x.Text, x.Hint)
	}
	s.b = out
}

// Begin puts a first book together from the answers to StartQuestions, with the
// usual figures for all that is not asked, and the bags to make. Problems name the
// questions whose answers cannot be meant.
func Begin(text map[string]string) (book.Book, []demand.Line, error) {
	s := &starter{text: text, wrong: map[string]bool{}}
	s.put("shop", "", "shop.name", map[string]answer{"name": s.ask("shop.name"), "place": s.ask("shop.place"), "units": s.ask("shop.units"),
		"currency": s.ask("shop.currency"), "market": s.ask("shop.market"), "time_zone": s.ask("shop.time_zone")}, nil)
	s.put("room", "", "room.altitude", map[string]answer{"altitude": s.ask("room.altitude")}, nil)
	s.room()
	s.put("day", "", "day.opens", map[string]answer{"opens": s.ask("day.opens"), "ends": s.ask("day.ends"), "mounted": usually(s.rolls())}, nil)
	s.sweet()
	bags, err := strconv.Atoi(text["product.bags"])
	if err != nil || bags < 1 || bags > demand.MostBags {
		s.fail("product.bags", strconv.Quote(text["product.bags"])+" is not a number of bags", "write a whole number, such as 10")
	}
	if len(s.problems) > 0 {
		return book.Book{}, nil, s.problems
	}
	lines := []demand.Line{{Product: s.b.Products[0].ID, Bags: bags, For: "shelf"}}
	if errs := book.Errors(book.Validate(&s.b)); len(errs) > 0 {
		return book.Book{}, nil, fault.Invalid("%s", errs[0].Text).WithHint("%s", errs[0].Hint)
	}
	return s.b, lines, nil
}

func (s *starter) room() {
	least := ""
	if whole, err := q.ParseMass(s.text["kettle.usual_charge"]); err == nil && whole > 0 {
		text, _ := (whole / 4).MarshalText()
		least = string(text)
	}
	s.put("kettle", "kettle", "kettle.volume", map[string]answer{"name": usually("Kettle"), "volume": s.ask("kettle.volume"), "foam_room": usually("50 %"),
		"least_charge": {least, "kettle.usual_charge"}, "usual_charge": s.ask("kettle.usual_charge"), "burner": s.ask("kettle.burner"),
		"efficiency": usually("40 %"), "efficiency_low": usually("28 %"), "efficiency_high": usually("55 %"),
		"mass": usually("6 kg"), "smear": usually("100 g"), "material": s.ask("kettle.material")}, nil)
	s.put("slab", "slab", "slab.length", map[string]answer{"name": usually("Slab"), "length": s.ask("slab.length"), "width": s.ask("slab.width"), "material": usually(string(rig.Steel))}, nil)
	s.put("machine", "drop-machine", "machine.stop", map[string]answer{"name": usually("Drop machine"), "stop_in_reach": s.ask("machine.stop")}, nil)
	s.put("rolls", "", "rolls.name", map[string]answer{"name": s.ask("rolls.name"), "piece": s.ask("rolls.piece"), "material": s.ask("rolls.material"), "change": usually("10 min")}, nil)
	switch s.text["board.have"] {
	case "yes":
		s.put("board", "board", "board.have", map[string]answer{"name": usually("Feeding board"), "lamp": usually(entry.Yes), "most": usually("15 kg")}, nil)
	case "no":
	default:
		s.fail("board.have", "is neither yes nor no", "choose one")
	}
	s.put("bench", "bench", "slab.length", map[string]answer{"name": usually("Bench"), "most": usually("40 kg")}, nil)
	s.put("scale", "scale", "slab.length", map[string]answer{"name": usually("Scale"), "capacity": usually("30 kg"), "resolution": usually("1 g")}, nil)
	s.put("glass", "glass", "slab.length", map[string]answer{"name": usually("Thermometer"), "class": usually("2 K"), "division": usually("1 K")}, nil)
	all := ""
	for i, t := range rig.Tasks() {
		if i > 0 {
			all += ", "
		}
		all += string(t)
	}
	for _, h := range []string{"hand.0", "hand.1"} {
		s.put("hand", "", h, map[string]answer{"name": s.ask(h), "adult": usually(entry.Yes), "may": usually(all)}, nil)
	}
}

// sweet adds the first recipe with what it is made of, and a bag of it.
func (s *starter) sweet() {
	stock := func(id, name, kind, solids string, more map[string]answer) {
		fields := map[string]answer{"name": usually(name), "kind": usually(kind), "solids": usually(solids)}
		maps.Copy(fields, more)
		s.put("ingredient", id, "recipe.sugar", fields, nil)
	}
	stock("sugar", "Sugar", "sugar", "99.95 %", nil)
	stock("syrup", "Glucose syrup", "syrup", "80.3 %", map[string]answer{"de": usually("42")})
	stock("water", "Water", "water", "0 %", map[string]answer{"statement": usually("stated")})
	fields := map[string]answer{"name": s.ask("recipe.name"), "boil_to": s.ask("recipe.boil_to"), "rolls": usually(s.rolls()), "finish": usually("plain"),
		"boil.0.ingredient": usually("sugar"), "boil.0.mass": s.ask("recipe.sugar"),
		"boil.1.ingredient": usually("syrup"), "boil.1.mass": s.ask("recipe.syrup"),
		"boil.2.ingredient": usually("water"), "boil.2.mass": s.ask("recipe.water"),
		"portion.0.id": usually("whole"), "portion.0.share": usually("100 %"), "portion.0.work": usually("clear"),
		"portion.0.colour": s.ask("recipe.colour"), "portion.0.paint": s.ask("recipe.paint"),
	}
	n := 0
	add := func(ingredient, stage, dose string) {
		at := "addition." + strconv.Itoa(n) + "."
		fields[at+"ingredient"], fields[at+"stage"], fields[at+"dose"] = usually(ingredient), usually(stage), s.ask(dose)
		n++
	}
	flavour := entry.Slug(s.text["recipe.flavour"])
	if flavour == "" {
		s.fail("recipe.flavour", "is missing: the flavour's name", "write it in words, such as lemon")
		flavour = "plain"
	}
	stock(flavour+"-flavour", s.text["recipe.flavour"]+" flavour", "essence", "100 %", nil)
	add(flavour+"-flavour", "fold", "recipe.dose")
	if s.text["recipe.acid"] != "" {
		stock("citric-acid", "Citric acid", "acid", "100 %", nil)
		add("citric-acid", "fold", "recipe.acid")
	}
	if s.text["recipe.colour_dose"] != "" {
		stock("colouring", "Colouring", "colour", "10 %", nil)
		add("colouring", "pour", "recipe.colour_dose")
	}
	level, ok := strengths[s.text["recipe.strength"]]
	if !ok {
		s.fail("recipe.strength", "is not one of the answers", "choose mild, middling or strong")
	}
	fields["flavour.family"], fields["flavour.carry_over"], fields["flavour.taint_limit"] = usually(flavour), usually(level[0]), usually(level[1])
	s.put("recipe", "", "recipe.name", fields, map[string]int{"boil": 3, "addition": n, "portion": 1})
	made := ""
	if len(s.b.Recipes) > 0 {
		made = s.b.Recipes[0].ID
	}
	s.put("product", "", "product.net", map[string]answer{"name": s.ask("recipe.name"), "net": s.ask("product.net"), "by": usually("piece"),
		"part.0.recipe": usually(made), "part.0.share": usually("1")}, map[string]int{"part": 1})
}

func (s *starter) rolls() string {
	if len(s.b.Rolls) == 0 {
		return ""
	}
	return s.b.Rolls[0].ID
}

// Start begins a book with the answers to StartQuestions, in two acts: the book,
// and the bags to make. Conflict if there is a book already.
func (a *App) Start(ctx context.Context, text map[string]string, who string) error {
	b, lines, err := Begin(text)
	if err != nil {
		return err
	}
	meta := store.Meta{Person: who, At: a.now(), Reason: "the book begins"}
	head, _, err := a.keeper.Import(ctx, b, 0, meta)
	if err != nil {
		return err
	}
	meta.Reason = "the first bags"
	_, err = a.keeper.SetToMake(ctx, lines, head, meta)
	return err
}
