package batch

import (
	"time"

	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

const ppm = 1e-6

// room is a room at the sea with a barometer, for the checks of this package.
func room() rig.Room {
	return rig.Room{Altitude: 12, StationPressure: 101_100, Air: 20, Humidity: 0.5, PourAlone: 6, HoldPoint: 115,
		Times: rig.Times{RollRate: 1, RollBand: q.Duration(4 * time.Minute), RollBandBoard: q.Duration(14 * time.Minute)}}
}

func kettle() *rig.Kettle {
	return &rig.Kettle{ID: "pan", Name: "pan", Volume: 20, FoamRoom: 0.4, LeastCharge: 3, UsualCharge: 9,
		Burner: 15000, Efficiency: 0.45, EfficiencyLow: 0.38, EfficiencyHigh: 0.53, Mass: 5, Smear: 0.1, Material: rig.Stainless, Tested: rig.Test{By: "a laboratory", On: "2026-01-20"}}
}

func glass() *rig.Glass {
	return &rig.Glass{ID: "glass", Name: "glass", Offset: 0.8, Class: 1.5, Division: 1, CheckedAt: 150}
}

func rolls() *rig.Rolls {
	return &rig.Rolls{ID: "leaf", Name: "leaf", Piece: 0.0024, Material: rig.Stainless, Tested: rig.Test{By: "a laboratory", On: "2026-01-20"}}
}

func scales() []rig.Scale {
	return []rig.Scale{{ID: "floor", Name: "floor", Capacity: 30, Resolution: 0.001},
		{ID: "fine", Name: "fine", Capacity: 0.6, Resolution: 0.00001}}
}

func ingredients() []ingredient.Ingredient {
	return []ingredient.Ingredient{
		{ID: "sugar", Name: "sugar", Kind: ingredient.Sugar, Solids: 0.9998},
		{ID: "syrup", Name: "syrup", Kind: ingredient.Syrup, Solids: 0.803, DE: 42},
		{ID: "water", Name: "water", Kind: ingredient.Water},
		{ID: "citric", Name: "citric acid", Kind: ingredient.Acid, Solids: 1},
		{ID: "essence", Name: "essence", Kind: ingredient.Essence, Solids: 0.2, Spirit: 0.6},
		{ID: "oil", Name: "oil", Kind: ingredient.Oil, Solids: 1},
		{ID: "colour", Name: "colour", Kind: ingredient.Colour, Solids: 0.15},
	}
}

// sweet is a fruit drop of two portions, one of them pulled.
func sweet() recipe.Recipe {
	return recipe.Recipe{
		ID: "fruit", Name: "fruit drops", BoilTo: 150,
		Boil: []recipe.Part{{Ingredient: "sugar", Mass: 3}, {Ingredient: "syrup", Mass: 1.4}, {Ingredient: "water", Mass: 1}},
		Additions: []recipe.Addition{
			{Ingredient: "colour", Stage: recipe.AtPour, Dose: 900 * ppm, Portion: "clear"},
			{Ingredient: "citric", Stage: recipe.AtFold, Dose: 0.008},
			{Ingredient: "essence", Stage: recipe.AtFold, Dose: 1000 * ppm},
		},
		Portions: []recipe.Portion{
			{ID: "clear", Share: 0.7, Work: recipe.Clear},
			{ID: "pulled", Share: 0.3, Work: recipe.Pulled},
		},
		Finish: recipe.Dusted, FinishGain: 0.01, Rolls: "leaf",
	}
}

func inputs() Inputs {
	return Inputs{Recipe: sweet(), Ingredients: ingredients(), Room: room(), Kettle: kettle(), Glass: glass(),
		Rolls: rolls(), Scales: scales(), Board: &rig.Board{ID: "board", Most: 12}, Charge: 8,
		Ensemble: numeric.NewEnsemble(numeric.Draws, 1)}
}
