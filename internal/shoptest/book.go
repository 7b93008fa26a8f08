package shoptest

import (
	"time"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/supply"
)

const (
	lb  = q.KilogramsPerPound
	ppm = 1e-6
)

func minutes(n int) q.Duration { return q.Duration(time.Duration(n) * time.Minute) }

// Book returns the sample shop: an inland room in US units with one kettle, one
// slab, three pairs of rolls, three recipes (a mild clear one, a strong one with
// a pulled portion, one with a tree nut), three products and lines to make that
// need a few boils. It has no errors.
func Book() book.Book {
	room := rig.UsualRoom(410)
	room.Air = 19
	return book.Book{
		Format: book.Format,
		Shop: book.Shop{
			Name: "Tarn Row Sweets", Place: "Windle", Units: q.US.With(q.Point), Currency: "USD", Market: "us", TimeZone: Zone,
		},
		Room: room,
		Kettles: []rig.Kettle{{
			ID: "tall-pan", Name: "Tall pan", Volume: 24, FoamRoom: 0.4, LeastCharge: 4, UsualCharge: 10,
			Burner: 15000, Efficiency: 0.42, Mass: 6, Smear: 0.09, Material: rig.Stainless,
		}},
		Slabs:    []rig.Slab{{ID: "granite", Name: "Granite slab", Length: 1.4, Width: 0.7, Material: rig.Granite}},
		Hooks:    []rig.Hook{{ID: "wall-hook", Name: "Wall hook", MostOne: 4}},
		Machines: []rig.Machine{{ID: "drop-machine", Name: "Drop machine", Guard: "tunnel guard, judged by the fitter", Stop: true}},
		Rolls: []rig.Rolls{
			{ID: "barrel", Name: "Barrel", Piece: 0.0038, Material: rig.Bronze, Tested: tested(), Change: minutes(9)},
			{ID: "bead", Name: "Bead", PerPound: 500, Material: rig.Bronze, Tested: tested(), Change: minutes(9)},
			{ID: "leaf", Name: "Leaf", Piece: 0.0024, PieceSD: 0.04, Material: rig.Stainless, Change: minutes(7)},
		},
		Boards:  []rig.Board{{ID: "board", Name: "Feeding board", Lamp: true, Most: 12}},
		Benches: []rig.Bench{{ID: "bench", Name: "Sheet bench", Most: 18}},
		Sieves:  []rig.Sieve{{ID: "coarse", Name: "5 mm sieve", Aperture: 0.005}, {ID: "fine", Name: "3 mm sieve", Aperture: 0.003}},
		Scales: []rig.Scale{
			{ID: "floor", Name: "Floor scale", Capacity: 30, Resolution: 0.001},
			{ID: "counter", Name: "Counter scale", Capacity: 3, Resolution: 0.0005, Approved: true},
		},
		Glasses: []rig.Glass{{ID: "glass", Name: "Confectioner's glass", Offset: -0.5, Class: 2, Division: 1, CheckedOn: "2026-02-02", CheckedAt: 150}},
		Hands: []rig.Hand{
			{ID: "ada", Name: "Ada", Adult: true, May: rig.Tasks()},
			{ID: "bela", Name: "Bela", Adult: true, May: rig.Tasks()},
			{ID: "cleo", Name: "Cleo", Adult: true, May: []rig.Task{rig.MayWeigh, rig.MayPack, rig.MayClean}, From: "10:00", To: "15:30"},
		},
		Ingredients: ingredients(),
		Recipes:     []recipe.Recipe{pearBarrels(), aniseedBeads(), hazelLeaves()},
		Packs: []bag.Pack{
			{ID: "clear-bag", Name: "Clear bag", Closure: bag.Sealed, Layers: []bag.Layer{{Film: bag.OrientedPP, Thickness: 30e-6}}, Width: 0.13, Height: 0.2},
			{ID: "jar", Name: "Jar", Closure: bag.Lid, Leak: 2.5},
			{ID: "ribbon-bag", Name: "Bag with a ribbon", Closure: bag.Tied, Layers: []bag.Layer{{Film: bag.OrientedPP}}},
		},
		Products: []bag.Product{
			{ID: "pear-bag", Name: "Pear barrels", Net: 8 * q.KilogramsPerOunce, Price: "6.50 USD", In: "clear-bag", Parts: []bag.Part{{Recipe: "pear-barrels", Share: 1}}},
			{ID: "aniseed-jar", Name: "Aniseed beads", Net: 1 * lb, Pack: "jar", In: "jar", Parts: []bag.Part{{Recipe: "aniseed-beads", Share: 1}}},
			{ID: "row-mix", Name: "Row mix", Net: 8 * q.KilogramsPerOunce, By: bag.ByPiece, In: "clear-bag", Parts: []bag.Part{
				{Recipe: "pear-barrels", Share: 2, Least: 10},
				{Recipe: "aniseed-beads", Portion: "white", Share: 3},
				{Recipe: "hazel-leaves", Share: 1, Least: 3},
			}},
		},
		Supplies: []supply.Supply{
			{ID: "clear-bags", Name: "Clear bags", Kind: supply.Packaging, Supplier: "Mill Lane Stores", LeadDays: 10, Pieces: 50, Touches: true, DeclaredOn: "2026-01-12", GoesWith: []supply.Goes{{Pack: "clear-bag"}}},
			{ID: "wipes", Name: "Wipes", Kind: supply.Consumable, LeadDays: 5},
		},
		Day: book.Day{
			Opens: "08:00", Ends: "16:30", Kettle: "tall-pan", Glass: "glass", Mounted: "leaf",
			Residue: []book.Residue{{Family: "aniseed", Level: 2}},
			Breaks:  []book.Break{{Name: "lunch", From: "11:45", To: "13:15", Duration: minutes(30)}},
			Pours:   []book.Pour{{Name: "late morning", At: "11:00", Early: minutes(10), Late: minutes(20)}},
			Rules:   []book.Rule{{Kind: "not_next", Recipe: "pear-barrels", After: "aniseed-beads", Why: "pear shows aniseed at once"}},
		},
		Stock: []demand.Stock{
			{Product: "pear-bag", Bags: 6},
			{Recipe: "aniseed-beads", Portion: "white", Loose: 1.2, Lot: "260316-2"},
		},
		ToMake: []demand.Line{
			{Product: "pear-bag", Bags: 30, Must: true, For: "shelf"},
			{Product: "row-mix", Bags: 40, Due: Date, For: "market stall"},
			{Product: "aniseed-jar", Bags: 8, For: "shelf"},
		},
	}
}

// Small returns the least shop that can plan a day: a metric room at the sea
// with one recipe, one product and one line to make. It has no errors.
func Small() book.Book {
	return book.Book{
		Format: book.Format,
		Shop: book.Shop{
			Name: "Quay Street Sweets", Place: "Hollin", Units: q.Metric.With(q.Point), Currency: "GBP", Market: "uk", TimeZone: Zone,
		},
		Room: rig.UsualRoom(4),
		Kettles: []rig.Kettle{{
			ID: "pan", Name: "Pan", Volume: 16, FoamRoom: 0.4, LeastCharge: 2, UsualCharge: 6,
			Burner: 12000, Efficiency: 0.45, Mass: 4, Smear: 0.08, Material: rig.Stainless,
		}},
		Slabs:       []rig.Slab{{ID: "slab", Name: "Slab", Length: 1.2, Width: 0.6, Material: rig.Marble}},
		Machines:    []rig.Machine{{ID: "machine", Name: "Drop machine", Stop: true}},
		Rolls:       []rig.Rolls{{ID: "leaf", Name: "Leaf", Piece: 0.0024, Material: rig.Stainless, Change: minutes(8)}},
		Benches:     []rig.Bench{{ID: "bench", Name: "Bench", Most: 12}},
		Scales:      []rig.Scale{{ID: "scale", Name: "Scale", Capacity: 15, Resolution: 0.001}},
		Glasses:     []rig.Glass{{ID: "glass", Name: "Glass", Class: 2, Division: 1, CheckedOn: "2026-01-12", CheckedAt: 150}},
		Hands:       []rig.Hand{{ID: "ada", Name: "Ada", Adult: true, May: rig.Tasks()}, {ID: "bela", Name: "Bela", Adult: true, May: rig.Tasks()}},
		Ingredients: ingredients()[:3],
		Recipes: []recipe.Recipe{{
			ID: "plain-leaves", Name: "Plain leaves", Boil: charge(), BoilTo: 150,
			Portions: []recipe.Portion{{ID: "clear", Share: 1, Colour: "clear straw", Paint: "#e8d48a", Work: recipe.Clear}},
			Flavour:  recipe.Flavour{Family: "plain", TaintLimit: 1},
			Rolls:    "leaf", Finish: recipe.Plain,
		}},
		Products: []bag.Product{{ID: "plain-bag", Name: "Plain leaves", Net: 0.113, Parts: []bag.Part{{Recipe: "plain-leaves", Share: 1}}}},
		Day:      book.Day{Opens: "08:00", Ends: "16:00"},
		ToMake:   []demand.Line{{Product: "plain-bag", Bags: 30, Must: true}},
	}
}

func tested() rig.Test { return rig.Test{By: "county laboratory", On: "2026-01-20"} }

// charge is sugar, syrup and water of a boil in the proportions of the trade:
// syrup 27 % of the solids, water a third of the sugar.
func charge() []recipe.Part {
	return []recipe.Part{{Ingredient: "sugar", Mass: 3}, {Ingredient: "syrup-42", Mass: 1.4}, {Ingredient: "water", Mass: 1}}
}

func pearBarrels() recipe.Recipe {
	return recipe.Recipe{
		ID: "pear-barrels", Name: "Pear barrels", Boil: charge(), BoilTo: 152,
		Additions: []recipe.Addition{
			{Ingredient: "green", Stage: recipe.AtEnd, Dose: 800 * ppm},
			{Ingredient: "citric", Stage: recipe.AtFold, Dose: 0.006},
			{Ingredient: "pear-flavour", Stage: recipe.AtFold, Dose: 900 * ppm},
		},
		Portions: []recipe.Portion{{ID: "clear", Share: 1, Colour: "clear green", Paint: "#9dbb4e", Work: recipe.Clear}},
		Flavour:  recipe.Flavour{Family: "pear", CarryOver: 2, TaintLimit: 1},
		Stain:    &recipe.Stain{CarryOver: 1, Limit: 2},
		Rolls:    "barrel", Finish: recipe.Dusted, FinishGain: 0.01, FinishWith: "icing-sugar",
	}
}

func aniseedBeads() recipe.Recipe {
	return recipe.Recipe{
		ID: "aniseed-beads", Name: "Aniseed beads", Boil: charge(), WaterLeft: 0.026,
		Additions: []recipe.Addition{
			{Ingredient: "red", Stage: recipe.AtPour, Dose: 900 * ppm, Portion: "red"},
			{Ingredient: "aniseed-oil", Stage: recipe.AtFold, Dose: 340 * ppm},
		},
		Portions: []recipe.Portion{
			{ID: "red", Share: 0.6, Colour: "clear red", Paint: "#a4262c", Work: recipe.Clear},
			{ID: "white", Share: 0.4, Colour: "pulled white", Paint: "#f6f1e4", Work: recipe.Pulled, Air: 0.09},
		},
		Flavour: recipe.Flavour{Family: "aniseed", CarryOver: 5, TaintLimit: 4},
		Stain:   &recipe.Stain{CarryOver: 3, Limit: 3},
		Rolls:   "bead", Finish: recipe.Plain,
	}
}

func hazelLeaves() recipe.Recipe {
	return recipe.Recipe{
		ID: "hazel-leaves", Name: "Hazel leaves", Boil: charge(), BoilTo: 149,
		Additions: []recipe.Addition{
			{Ingredient: "hazelnut", Stage: recipe.AtFold, Dose: 0.06},
			{Ingredient: "salt", Stage: recipe.AtFold, Dose: 0.003},
		},
		Portions: []recipe.Portion{{ID: "nut", Share: 1, Colour: "amber", Paint: "#c98b3c", Work: recipe.Clear}},
		Flavour:  recipe.Flavour{Family: "nut", CarryOver: 3, TaintLimit: 2, Tolerates: map[string]int{"pear": 3}},
		Rolls:    "leaf", Finish: recipe.Sanded, FinishGain: 0.03, FinishWith: "sugar",
	}
}

func ingredients() []ingredient.Ingredient {
	lot := func(mark string) []ingredient.Lot {
		return []ingredient.Lot{{Lot: mark, Supplier: "Mill Lane Stores", Received: "2026-03-02", BestBefore: "2027-03-01", Quantity: 25}}
	}
	return []ingredient.Ingredient{
		{ID: "sugar", Name: "Granulated sugar", Kind: ingredient.Sugar, Solids: 0.9998, Statement: "stated", Lots: lot("S-118")},
		{ID: "syrup-42", Name: "Glucose syrup", Kind: ingredient.Syrup, Solids: 0.803, DE: 42, Statement: "stated", Lots: lot("G-77")},
		{ID: "water", Name: "Water", Kind: ingredient.Water, Statement: "stated"},
		{ID: "citric", Name: "Citric acid, anhydrous", Kind: ingredient.Acid, Solids: 1, Statement: "stated", Lots: lot("C-9")},
		{ID: "pear-flavour", Name: "Pear flavouring", Kind: ingredient.Essence, Solids: 0.2, Spirit: 0.6, Statement: "stated", Lots: lot("P-31")},
		{ID: "aniseed-oil", Name: "Aniseed oil", Kind: ingredient.Oil, Solids: 1, Volatile: ingredient.Spice, Statement: "stated", Lots: lot("A-5")},
		{ID: "green", Name: "Green colour, liquid", Kind: ingredient.Colour, Solids: 0.15, Statement: "stated", Lots: lot("K-2")},
		{ID: "red", Name: "Red colour, liquid", Kind: ingredient.Colour, Solids: 0.12, Statement: "stated", Lots: lot("K-3")},
		{ID: "hazelnut", Name: "Hazelnut, chopped", Kind: ingredient.Nut, Solids: 0.95, Statement: "stated", Contains: []string{"tree nut"}, MayContain: []string{"peanut"}, Lots: lot("H-14")},
		{ID: "salt", Name: "Salt", Kind: ingredient.Salt, Solids: 0.998, Statement: "stated", Lots: lot("N-1")},
		{ID: "icing-sugar", Name: "Icing sugar", Kind: ingredient.Dust, Solids: 0.9977, Statement: "stated", Lots: lot("I-6")},
	}
}
