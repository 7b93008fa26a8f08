package web

import (
	"net/url"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// questions are the questions of the command line, by the same names.
func (s *server) questions() []endpoint {
	return []endpoint{
		{path: "/plan", get: &operation{summary: "A making day: bags to boils, order, timetable.", answer: "plan", do: s.askPlan, params: append([]param{
			{name: "date", help: "The day; default today.", example: "2026-11-28"},
			{name: "start", help: "When the room opens; default as in the shop book.", example: "08:00"},
			{name: "end", help: "When the day ends; default as in the shop book.", example: "17:30"},
		}, trialParams()...)}},
		{path: "/boil", get: &operation{summary: "One boil, of a recipe of the book or of raw amounts.", answer: "boil", do: s.askBoil, params: []param{
			{name: "recipe", help: "A recipe of the shop book, instead of raw amounts.", example: "damson-leaves"},
			{name: "charge", help: "All that goes into the kettle, water included; default a whole boil.", example: "7kg"},
			{name: "pieces", help: "Scale the recipe to so many sound pieces, instead of charge.", example: "2000"},
			{name: "bags", help: "Scale the recipe to so many bags, instead of charge.", example: "40"},
			{name: "product", help: "What the bags are of; default the only product made of the recipe.", example: "damson-bag"},
			{name: "kettle", help: "In this pan instead of the recipe's own, as for a trial.", example: "trial-pan"},
			{name: "sugar", help: "Sugar.", example: "6.35kg"},
			{name: "syrup", help: "Glucose syrup.", example: "1.36kg"},
			{name: "syrup-de", help: "Dextrose equivalent of the syrup; default 42.", example: "42"},
			{name: "syrup-solids", help: "Dry solids of the syrup; default 80.3%.", example: "80.3%25"},
			{name: "water", help: "Water; default a third of the sugar.", example: "2kg"},
			{name: "tartar", help: "Cream of tartar.", example: "10g"},
			{name: "to", help: "Boil to this true temperature, here.", example: "149C"},
			{name: "invert", help: "Dose the recipe's cream of tartar so that so much of the sweet is invert.", example: "14%25"},
			{name: "switch-doctor", help: "Change the recipe's doctor: glucose syrup for cream of tartar, or back; yes or no.", example: "yes"},
			{name: "sour-as", help: "Change the recipe's acid for this one, as sour: citric, tartaric or malic.", example: "malic"},
			{name: "oil-left", help: "Dose the recipe's oil so that so much of it stays in the sweet.", example: "900ppm"},
			{name: "cook-back", help: "The share of the sugar that is sweets of the boil before, in a long row of boils.", example: "10%25"},
			{name: "water-left", help: "Boil to this much water left.", example: "2.5%25"},
			{name: "stands-up-to", help: "Boil to where the finished sweet stands up to this.", example: "43C"},
			{name: "altitude", help: "Height above the sea; default the shop book's, else sea level.", example: "600m"},
			{name: "pressure", help: "Station pressure, not reduced to sea level.", example: "950hPa"},
		}}},
		{path: "/limits", get: &operation{summary: "Colours, acids and flavour compounds of a recipe against the law, as far as it is known.", answer: "limits", do: s.askLimits, params: []param{
			{name: "recipe", help: "A recipe of the shop book.", example: "damson-leaves", must: true},
			{name: "charge", help: "All that goes into the kettle, water included; default a whole boil.", example: "7kg"},
			{name: "market", help: "Whose law: us, eu, uk or ca, several with commas; default the shop's market.", example: "uk,us"},
			{name: "date", help: "The day on which the law holds; default today.", example: "2027-02-01"},
			{name: "most", help: "An ingredient of the recipe: how much of it may go in at most.", example: "purple"},
		}}},
		{path: "/sugar", get: &operation{summary: "Properties of one sugar mixture.", answer: "sugar", do: askSugar, params: []param{
			{name: "solids", help: "Dry solids of the mixture.", example: "97%25", must: true},
			{name: "syrup-share", help: "Glucose syrup's share of the dry solids; default none.", example: "40%25"},
			{name: "syrup-de", help: "Dextrose equivalent of the syrup; default 42.", example: "42"},
			{name: "at", help: "Temperature.", example: "100C", must: true},
			{name: "pressure", help: "Station pressure for the boiling point; default 1013.25hPa.", example: "950hPa"},
		}}},
		{path: "/slab", get: &operation{summary: "A batch from the pour to its last sheet.", answer: "slab", do: s.askSlab, params: []param{
			{name: "mass", help: "Mass on the slab.", example: "10kg", must: true},
			{name: "pour", help: "Temperature of the sugar on the slab.", example: "140C", must: true},
			{name: "depth", help: "How deep it is poured; default 20mm.", example: "20mm"},
			{name: "water-left", help: "Water left in the sugar; default 3%.", example: "3%25"},
			{name: "syrup-share", help: "Glucose syrup's share of the dry solids; default 40%.", example: "40%25"},
			{name: "syrup-de", help: "Dextrose equivalent of the syrup; default 42.", example: "42"},
			{name: "pulled", help: "The share that is pulled; default none.", example: "30%25"},
			{name: "slab", help: "A slab of the shop book; default 10 mm of steel over channels of water.", example: "marble"},
			{name: "rolls", help: "A pair of rolls of the shop book.", example: "leaf"},
		}}},
		{path: "/pieces", get: &operation{summary: "How many pieces a mass makes.", answer: "pieces", do: askPieces, params: []param{
			{name: "mass", help: "Mass that goes through the rolls.", example: "9.5kg", must: true},
			{name: "pieces-per-lb", help: "Pieces to the pound of the pair of rolls; this or piece.", example: "200"},
			{name: "piece", help: "Mass of one piece; this or pieces-per-lb.", example: "2.4g"},
			{name: "loss", help: "Share lost as web, chips and dust; default by piece size.", example: "5%25"},
		}}},
		{path: "/mix", get: &operation{summary: "What a bag from a blended pool holds.", answer: "mix", do: askMix, params: []param{
			{name: "bag", help: "Pieces in a bag.", example: "40", must: true},
			{name: "shares", help: "Shares of the sweets in the pool.", example: "2,2,1", must: true},
			{name: "least", help: "Pieces a bag must hold at least: one number for all, or one a sweet; default 1.", example: "5"},
			{name: "pool", help: "Pieces in the blended pool; default unlimited.", example: "5000"},
		}}},
		{path: "/shelf-life", get: &operation{summary: "How long a product keeps in its pack.", answer: "shelf-life", do: s.askShelfLife, params: []param{
			{name: "product", help: "A product of the shop book.", example: "damson-bag", must: true},
			{name: "rh", help: "Relative humidity of the store; default the room's.", example: "65%25"},
			{name: "at", help: "Temperature of the store; default the warmest of the room's store.", example: "25C"},
			{name: "before", help: "A place it is in before that: days, temperature, humidity; again for the next.", example: "3,35C,60%25", many: true},
		}}},
	}
}

func (s *server) askPlan(c *call) (any, error) {
	a := c.query()
	if err := a.err(); err != nil {
		return nil, err
	}
	req := app.PlanRequest{Date: a.text("date"), Start: a.text("start"), End: a.text("end")}
	var err error
	if req.If, err = app.ReadChanges(func(kind string) []string { return a.values[kind] }); err != nil {
		return nil, err
	}
	return s.plan(c.Context(), req)
}

// trialParams are the changes of a trial day, each as often as it is asked for.
func trialParams() []param {
	var out []param
	for _, k := range app.ChangeKinds() {
		out = append(out, param{name: k.Name, help: k.Help + " Written " + k.Form + ".", example: url.QueryEscape(k.Example), many: true})
	}
	return out
}

func (s *server) askBoil(c *call) (any, error) {
	a := c.query()
	asked := app.BoilAsked{Recipe: a.text("recipe"), Charge: amount[q.Kilograms](a, "charge"),
		Pieces: whole(a, "pieces"), Bags: whole(a, "bags"), Product: a.text("product"), Kettle: a.text("kettle"),
		Sugar: amount[q.Kilograms](a, "sugar"), Syrup: amount[q.Kilograms](a, "syrup"), Water: amount[q.Kilograms](a, "water"), Tartar: amount[q.Kilograms](a, "tartar"),
		SyrupDE: number(a, "syrup-de"), SyrupSolids: amount[q.Fraction](a, "syrup-solids"),
		To: amount[q.Celsius](a, "to"), WaterLeft: amount[q.Fraction](a, "water-left"), StandsUp: amount[q.Celsius](a, "stands-up-to"), Invert: amount[q.Fraction](a, "invert"), Switch: given(one(a, "switch-doctor", parseYes), false),
		SourAs: a.text("sour-as"), OilLeft: amount[q.Fraction](a, "oil-left"), CookBack: amount[q.Fraction](a, "cook-back"),
		Altitude: amount[q.Metres](a, "altitude"), Pressure: amount[q.Pascals](a, "pressure")}
	if err := a.err(); err != nil {
		return nil, err
	}
	req, err := asked.Request("")
	if err != nil {
		return nil, err
	}
	if req.Recipe == "" {
		return app.BoilRaw(req, q.Metric.With(q.Point))
	}
	return s.shop.Boil(c.Context(), req)
}

func (s *server) askShelfLife(c *call) (any, error) {
	a := c.query()
	req := app.ShelfLifeRequest{Product: a.text("product"), At: amount[q.Celsius](a, "at"), Humidity: amount[q.Fraction](a, "rh")}
	var err error
	if req.Before, err = app.ReadSteps(a.values["before"]); err != nil {
		a.fail("before", err)
	}
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.ShelfLife(c.Context(), req)
}

func (s *server) askLimits(c *call) (any, error) {
	a := c.query()
	req := app.LimitsRequest{Boil: app.BoilRequest{Recipe: a.text("recipe")}, Date: a.text("date"), Most: a.text("most"),
		Markets: several(a, "market", func(text string) (string, error) { return text, nil })}
	charge := amount[q.Kilograms](a, "charge")
	if err := a.err(); err != nil {
		return nil, err
	}
	var err error
	if req.Boil, err = (app.BoilAsked{Recipe: req.Boil.Recipe, Charge: charge}).Request(""); err != nil {
		return nil, err
	}
	return s.shop.Limits(c.Context(), req)
}

func askSugar(c *call) (any, error) {
	a := c.query()
	req := app.SugarRequest{Solids: given(amount[q.Fraction](a, "solids"), 0), SyrupShare: given(amount[q.Fraction](a, "syrup-share"), 0),
		SyrupDE: given(number(a, "syrup-de"), 42), At: given(amount[q.Celsius](a, "at"), 0), Pressure: given(amount[q.Pascals](a, "pressure"), 0)}
	if err := a.err(); err != nil {
		return nil, err
	}
	return app.Sugar(req)
}

func (s *server) askSlab(c *call) (any, error) {
	a := c.query()
	mass, pour := amount[q.Kilograms](a, "mass"), amount[q.Celsius](a, "pour")
	if len(a.wrong) == 0 && (mass == nil || pour == nil) {
		a.fail("mass", fault.Invalid("mass and pour have to be given"))
	}
	req := app.SlabRequest{Mass: given(mass, 0), Pour: given(pour, 0), Depth: given(amount[q.Metres](a, "depth"), 0), WaterLeft: given(amount[q.Fraction](a, "water-left"), app.UsualWaterLeft),
		SyrupShare: given(amount[q.Fraction](a, "syrup-share"), app.UsualSyrupShare), SyrupDE: given(number(a, "syrup-de"), 42), Pulled: given(amount[q.Fraction](a, "pulled"), 0), Slab: a.text("slab"), Rolls: a.text("rolls")}
	if err := a.err(); err != nil {
		return nil, err
	}
	if req.Slab == "" && req.Rolls == "" {
		return app.SlabRaw(req, q.Metric.With(q.Point))
	}
	return s.shop.Slab(c.Context(), req)
}

func askPieces(c *call) (any, error) {
	a := c.query()
	mass, perPound, piece := amount[q.Kilograms](a, "mass"), number(a, "pieces-per-lb"), amount[q.Kilograms](a, "piece")
	req := app.PiecesRequest{Mass: given(mass, 0), PerPound: given(perPound, 0), Piece: given(piece, 0), Loss: amount[q.Fraction](a, "loss")}
	if len(a.wrong) == 0 && (perPound == nil) == (piece == nil) {
		a.fail("piece", fault.Invalid("one of piece and pieces-per-lb has to be given, and not both"))
	}
	if err := a.err(); err != nil {
		return nil, err
	}
	return app.Pieces(req)
}

func askMix(c *call) (any, error) {
	a := c.query()
	req := app.MixRequest{Bag: given(whole(a, "bag"), 0), Shares: several(a, "shares", parseNumber), Least: several(a, "least", parseWhole), Pool: given(whole(a, "pool"), 0)}
	if err := a.err(); err != nil {
		return nil, err
	}
	return app.Mix(req)
}
