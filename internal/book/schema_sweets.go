package book

import (
	"slabside/internal/bag"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
)

// sweetFields are the keys of ingredients, recipes and products. Limits: common
// practice, no source, but 20 to 64 DE is the range of the syrup figures (key
// model-sugar).
func sweetFields() []Field {
	return []Field{
		list("ingredient", Optional, "a raw material as this shop buys it"),
		ident("ingredient[].id", "short name"),
		text("ingredient[].name", "name as it stands on the pot"),
		word("ingredient[].kind", ingredient.Kinds(), "what it does in a boil"),
		amount("ingredient[].solids", Share, 0, 1, "dry matter, everything that is not water or spirit"),
		amount("ingredient[].de", Number, 20, 64, "dextrose equivalent; a syrup must state it").or("not a syrup"),
		word("ingredient[].acid", ingredient.Acids(), "which acid a doctor or an acid is, or a salt is of").or("cream of tartar for a doctor, citric for an acid"),
		amount("ingredient[].neutralised", Share, 0.01, 1, "how far alkali has neutralised the acid: a buffered one as its sheet says, a salt 100 %; cream of tartar as it is needs none").or("none"),
		amount("ingredient[].spirit", Share, 0.001, 0.96, "alcohol that flashes off").or("none"),
		word("ingredient[].statement", []string{"stated", "unknown"}, "\"stated\" when the supplier's allergen statement is on file and complete").or("unknown, which is not none"),
		date("ingredient[].statement_on", "date of that statement").or("not recorded"),
		words("ingredient[].contains", ingredient.Allergens(), "allergens it contains").or("none listed"),
		words("ingredient[].may_contain", ingredient.Allergens(), "allergens it may contain").or("none listed"),
		list("ingredient[].lot", Optional, "a delivery on the shelf"),
		text("ingredient[].lot[].lot", "the supplier's lot mark"),
		text("ingredient[].lot[].supplier", "who delivered it"),
		date("ingredient[].lot[].received", "date of delivery").or("not recorded"),
		date("ingredient[].lot[].best_before", "best before").or("not recorded"),
		amount("ingredient[].lot[].quantity", Mass, 1e-6, 2000, "on hand").or("not recorded"),
		text("ingredient[].note", "anything to remember").or("none"),

		list("recipe", Optional, "one sweet; amounts are parts by mass and scale to any charge"),
		ident("recipe[].id", "short name"),
		text("recipe[].name", "name on screens and labels"),
		list("recipe[].boil", Required, "what goes into the kettle at the start"),
		of("recipe[].boil[].ingredient", "ingredient", "which ingredient"),
		amount("recipe[].boil[].mass", Mass, 1e-6, 1000, "how much, in the recipe as written; only proportions count"),
		amount("recipe[].boil_to", Temperature, 100, 175, "true temperature at the end of the boil at 1013.25 hPa; this or water_left").or("from water_left"),
		amount("recipe[].water_left", Share, 0.005, 0.15, "water left at the end of the boil; this or boil_to").or("from boil_to"),
		list("recipe[].addition", Optional, "something added after the start of the boil"),
		of("recipe[].addition[].ingredient", "ingredient", "which ingredient"),
		word("recipe[].addition[].stage", recipe.Stages(), "when: in the boil, at its end with the flame off, on the slab as it is poured, folded in"),
		amount("recipe[].addition[].dose", Share, 1e-6, 0.2, "share of the finished mass of its portion, or of the whole boil"),
		Field{Path: "recipe[].addition[].portion", Kind: Ref, Refs: "portion", Text: "which portion of this recipe"}.or("the whole boil"),
		list("recipe[].portion", Required, "a part of the batch with its own colour and working"),
		ident("recipe[].portion[].id", "short name"),
		amount("recipe[].portion[].share", Share, 0.001, 1, "share of the batch; a recipe's shares sum to 100 %"),
		text("recipe[].portion[].colour", "colour in words"),
		{Path: "recipe[].portion[].paint", Kind: Paint, Text: "colour to draw it in, \"#rrggbb\""},
		word("recipe[].portion[].work", []recipe.Work{recipe.Clear, recipe.Pulled}, "folded clear or pulled"),
		amount("recipe[].portion[].air", Share, 0.005, 0.3, "air kept by a pulled portion, share of its volume").or("8.5 % if pulled"),
		table("recipe[].flavour", Required, "what it leaves behind and what it cannot stand"),
		ident("recipe[].flavour.family", "flavour family, the channel it leaves on slab, hook and rolls"),
		amount("recipe[].flavour.carry_over", Count, 0, recipe.MostLevel, "level it leaves: 0 none, 6 very strong; a wipe takes 2"),
		amount("recipe[].flavour.taint_limit", Count, 0, recipe.MostLevel, "level of another family it tolerates: 0 easily tainted, 6 nothing shows"),
		{Path: "recipe[].flavour.tolerates", Kind: Levels, Need: Optional, Default: "none", Low: 0, High: recipe.MostLevel, Text: "families it tolerates more of, each with its level"},
		table("recipe[].stain", Optional, "colour it leaves behind").or("it neither stains nor minds"),
		amount("recipe[].stain.carry_over", Count, 0, recipe.MostLevel, "level of colour it leaves"),
		amount("recipe[].stain.limit", Count, 0, recipe.MostLevel, "level of colour it tolerates"),
		of("recipe[].rolls", "rolls", "pair of rolls it runs through"),
		word("recipe[].finish", []recipe.Finish{recipe.Plain, recipe.Dusted, recipe.Sanded}, "what is done to the sieved pieces").std(string(recipe.Plain)),
		amount("recipe[].finish_gain", Share, 0.0005, 0.15, "dusting or sanding kept, share of the mass of the pieces").or("none"),
		of("recipe[].finish_with", "ingredient", "what it is dusted or sanded with").or("nothing"),
		of("recipe[].kettle", "kettle", "kettle it wants").or("the day's kettle"),
		text("recipe[].note", "anything to remember").or("none"),

		list("product", Optional, "something sold: a bag or jar of one sweet or of a mixture"),
		ident("product[].id", "short name"),
		text("product[].name", "name on screens and labels"),
		amount("product[].net", Mass, 1e-3, 25, "net weight on the label"),
		word("product[].by", []bag.Share{bag.ByPiece, bag.ByMass}, "whether parts share it by pieces or by mass").or("piece"),
		list("product[].part", Required, "one sweet in it"),
		of("product[].part[].recipe", "recipe", "which sweet"),
		Field{Path: "product[].part[].portion", Kind: Ref, Refs: "portion", Text: "which portion of that recipe"}.or("the portions as made"),
		amount("product[].part[].share", Number, 1e-3, 1e4, "its part of the mixture; only proportions count"),
		amount("product[].part[].least", Count, 1, 1e4, "pieces a bag must hold at least").or("no least"),
		word("product[].pack", []string{"bag", "jar"}, "what it is packed in").or("bag"),
		Field{Path: "product[].price", Kind: Money, Text: "what one is sold for over the counter, tax as the shop shows it"}.or("not set"),
	}
}
