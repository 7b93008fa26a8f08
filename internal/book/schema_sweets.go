package book

import (
	"slabside/internal/bag"
	"slabside/internal/ingredient"
	"slabside/internal/limit"
	"slabside/internal/recipe"
	"slabside/internal/source"
)

// sweetFields are the keys of ingredients, recipes and products. Limits: common
// practice, no source, but 20 to 64 DE is the range of the syrup figures (key
// model-sugar).
func sweetFields() []Field {
	return []Field{
		list("ingredient", Optional, "a raw material as this shop buys it"),
		ident("ingredient[].id", "short name"),
		text("ingredient[].name", "name as it stands on the pot"),
		word("ingredient[].kind", ingredient.Kinds(), "what it does in a boil").
			mostly("sugar, syrup or water for the boil; acid, oil, essence or colour for what goes in later").
			because("It says what the ingredient does to the boil: a syrup keeps it from graining, an acid inverts it."),
		amount("ingredient[].solids", Share, 0, 1, "dry matter, everything that is not water or spirit").
			usually(0.998, 1, "sugar, salt, acids and oils").
			usually(0.78, 0.82, "glucose syrup").
			usually(0.05, 0.3, "liquid colours").
			usually(0, 0, "water").
			from(source.USDASR, source.CRA, source.Practice).
			because("The supplier's sheet says it, or 100 % less the water. It is what is left in the pan when the water is gone."),
		amount("ingredient[].de", Number, 20, 64, "dextrose equivalent; a syrup must state it").or("not a syrup").
			usually(38, 47, "glucose syrup").
			from(source.CRA, source.Practice).
			because("The pail or the supplier's sheet says it. A higher one keeps the boil from graining and makes the sweet stickier."),
		word("ingredient[].acid", ingredient.Acids(), "which acid a doctor or an acid is, or a salt is of").or("cream of tartar for a doctor, citric for an acid").
			mostly("cream of tartar in the boil; citric, tartaric or malic on the slab").
			because("What the boil inverts hangs on it.").
			rarely(),
		amount("ingredient[].neutralised", Share, 0.01, 1, "how far alkali has neutralised the acid").or("none").
			usually(0.1, 0.6, "buffered acids").
			usually(1, 1, "a salt").
			because("A buffered acid's sheet says it, and it inverts less than the plain one. Cream of tartar as it is needs none.").
			rarely(),
		amount("ingredient[].spirit", Share, 0.001, 0.96, "alcohol that flashes off").or("none").
			usually(0.5, 0.8, "essences in spirit").
			because("It flashes off and burns: such an essence never goes in near a flame.").
			rarely(),
		word("ingredient[].volatile", ingredient.Volatiles(), "what an oil or a flavour is of").or("not known: how much stays is a wide guess").
			mostly("citrus for lemon, orange and grapefruit; mint; spice for cinnamon, clove and anise").
			because("Hot sugar drives oils off: of citrus about a fifth is lost, of mint less, of spice least. The supplier's sheet says what it is of.").
			rarely(),
		word("ingredient[].statement", []string{"stated", "unknown"}, "\"stated\" when the supplier's allergen statement is on file and complete").or("unknown, which is not none").
			mostly("stated only with the supplier's paper in hand").
			because("The supplier states it and the shop answers for it. The program never decides that something is free of an allergen."),
		date("ingredient[].statement_on", "date of that statement").or("not recorded"),
		words("ingredient[].contains", ingredient.Allergens(), "allergens it contains").or("none listed").
			mostly("just what the supplier's statement lists").
			because("The supplier states it and the shop answers for it. It follows the sweet to its bag and asks for a clean before the next one."),
		words("ingredient[].may_contain", ingredient.Allergens(), "allergens it may contain").or("none listed").
			mostly("just what the supplier's statement lists").
			because("The supplier states it and the shop answers for it."),
		list("ingredient[].hold", Optional, "a colour, an acid or a flavour compound that it holds and a law may limit"),
		Field{Path: "ingredient[].hold[].substance", Kind: Text, Words: limit.Words(), Text: "what it holds: a name, or an E number"}.
			mostly("E 129, pulegone, coumarin; and of an oil what oil it is, 100 %").
			because("A law limits the colour in a powder or the compound in an oil, and not the powder or the oil. What is not named here cannot be judged. An acid needs no line: it is known by its kind."),
		amount("ingredient[].hold[].share", Share, 0, 1, "how much of it, as bought; the least, if it varies").
			usually(0.85, 0.92, "pure dye in a powder").
			usually(0.30, 0.55, "menthol in peppermint oil").
			usually(0.70, 0.88, "cinnamaldehyde in cassia oil").
			from(source.CFR7374, source.PhEurQuoted, source.CassiaSheet).
			because("The supplier's sheet says it. Limits count the dye or the compound in the finished sweet."),
		amount("ingredient[].hold[].most", Share, 1e-6, 1, "the most, if it varies from delivery to delivery").or("it does not vary").
			usually(0.04, 0.04, "pulegone in peppermint oil").
			usually(0.09, 0.09, "menthofuran in peppermint oil").
			usually(0.04, 0.04, "coumarin in cassia oil").
			from(source.PhEurQuoted, source.PhEur1496).
			because("A sweet is within a limit only if it still is with the most that may be in."),
		flag("ingredient[].hold[].natural", "it came with the plant and was not put in as such").or("false").
			mostly("true for what a whole oil holds").
			because("Some compounds are forbidden when put in as such, and not where an oil or a spice brings them."),
		word("ingredient[].hold[].by", ingredient.HoldBys(), "who says so: the supplier's sheet, an analysis of it, or a book of what is usual").or("not recorded").
			mostly("the supplier's sheet").
			because("A usual figure is not that of your delivery, and what is found by it says so.").
			rarely(),
		flag("ingredient[].holds_all", "that is all it holds that has a limit, by its supplier").or("false").
			mostly("true only with the supplier's sheet in hand").
			because("Until it says so, nobody knows what else is in a flavour or a colour, and the page of the recipe says that."),
		list("ingredient[].lot", Optional, "a delivery on the shelf"),
		text("ingredient[].lot[].lot", "the supplier's lot mark"),
		text("ingredient[].lot[].supplier", "who delivered it"),
		date("ingredient[].lot[].received", "date of delivery").or("not recorded"),
		date("ingredient[].lot[].best_before", "best before").or("not recorded"),
		amount("ingredient[].lot[].quantity", Mass, 1e-6, 2000, "on hand").or("not recorded").
			usually(25, 75, "sugar and syrup").
			usually(0.1, 5, "acids, colours and flavours"),
		amount("ingredient[].lead_days", Count, 1, 365, "days from the order to the shelf").or("not known").
			usually(2, 7, "sugar and syrup from near by").
			usually(7, 21, "flavours and colours").
			from(source.Practice).
			because("The stores say when to order by it: before what is on hand may be gone sooner than a delivery comes."),
		text("ingredient[].note", "anything to remember").or("none"),

		list("recipe", Optional, "one sweet; amounts are parts by mass and scale to any charge"),
		ident("recipe[].id", "short name"),
		text("recipe[].name", "name on screens and labels"),
		list("recipe[].boil", Required, "what goes into the kettle at the start"),
		of("recipe[].boil[].ingredient", "ingredient", "which ingredient"),
		amount("recipe[].boil[].mass", Mass, 1e-6, 1000, "how much, in the recipe as written; only proportions count").
			mostly("2 parts of sugar to 1 of glucose syrup; water a third of the sugar").
			because("Syrup keeps a boil from graining: under 12 % of the solids it is at risk, from 25 % on it is easy."),
		amount("recipe[].boil_to", Temperature, 100, 175, "true temperature at the end of the boil, as at sea level; this or water_left").or("from water_left").
			usually(146, 154, "with glucose syrup").
			usually(152, 157, "with cream of tartar").
			from(source.UWWiki, source.Guide1896).
			because("Type the recipe's figure as it stands at the sea, and the true one. The batch sheet takes off what the height of the room takes off and adds what the glass reads too much."),
		amount("recipe[].water_left", Share, 0.005, 0.15, "water left at the end of the boil; this or boil_to").or("from boil_to").
			usually(0.02, 0.03, "").
			because("For a shop that knows the water and not the temperature. More water is softer and stickier, less is harder on the sugar and on the hands.").
			rarely(),
		list("recipe[].addition", Optional, "something added after the start of the boil"),
		of("recipe[].addition[].ingredient", "ingredient", "which ingredient"),
		word("recipe[].addition[].stage", recipe.Stages(), "when: in the boil, at its end with the flame off, on the slab as it is poured, folded in").
			mostly("watery colours at the end, flame off; the rest folded in").
			because("A liquid on hot sugar spits, oils and spirit catch fire over a flame, and acid in a hot boil inverts it."),
		amount("recipe[].addition[].dose", Share, 1e-6, 0.2, "share of the finished mass of its portion, or of the whole boil").
			usually(0.005, 0.015, "acid").
			usually(0.0005, 0.003, "oil or essence").
			usually(0.0001, 0.001, "colour").
			from(source.Hartel2012, source.Practice).
			because("The maker of a flavour or colour says how much is right. The page of the recipe holds it against the law of the market, as far as the shop book says what is in it."),
		Field{Path: "recipe[].addition[].portion", Kind: Ref, Refs: "portion", Text: "which portion of this recipe"}.or("the whole boil"),
		list("recipe[].portion", Required, "a part of the batch with its own colour and working"),
		ident("recipe[].portion[].id", "short name for additions and products to mean it by"),
		amount("recipe[].portion[].share", Share, 0.001, 1, "share of the batch; a recipe's shares sum to 100 %").
			usually(1, 1, "of one colour").
			usually(0.2, 0.8, "of two"),
		text("recipe[].portion[].colour", "colour in words").
			mostly("clear gold, pulled white and the like"),
		Field{Path: "recipe[].portion[].paint", Kind: Paint, Text: "colour to draw it in, \"#rrggbb\""},
		word("recipe[].portion[].work", []recipe.Work{recipe.Clear, recipe.Pulled}, "folded clear or pulled").
			mostly("clear; pulled for white and for a satin look"),
		amount("recipe[].portion[].air", Share, 0.005, 0.3, "air kept by a pulled portion, share of its volume").or("8.5 % if pulled").
			usually(0.05, 0.12, "").
			because("A pulled piece fills the same mould and weighs less, so more go into a bag."),
		table("recipe[].flavour", Required, "what it leaves behind and what it cannot stand"),
		ident("recipe[].flavour.family", "flavour family, the channel it leaves on slab, hook and rolls").
			mostly("one word, such as lemon, mint, butter").
			because("Sweets of one family may follow each other; another family has to bear what the line still tastes of."),
		amount("recipe[].flavour.carry_over", Count, 0, recipe.MostLevel, "level it leaves: 0 none, 6 very strong; a wipe takes 2").
			usually(1, 2, "barley, butter, malt").
			usually(2, 3, "fruit").
			usually(4, 6, "anise, clove, mint").
			because("How much it leaves on slab, hook and rolls for the next sweet. The day runs from mild to strong because of it."),
		amount("recipe[].flavour.taint_limit", Count, 0, recipe.MostLevel, "level of another family it tolerates: 0 easily tainted, 6 nothing shows").
			usually(1, 2, "mild sweets").
			usually(4, 5, "mint, clove and the like").
			because("The next sweet must bear what is left on the line, or a wipe or a wash comes before it. Too low costs washes, too high brings mint into the barley sugar: taste and adjust."),
		Field{Path: "recipe[].flavour.tolerates", Kind: Levels, Need: Optional, Default: "none", Low: 0, High: recipe.MostLevel, Text: "families it tolerates more of, each with its level"}.
			mostly("families that go together: a damson sweet takes rhubarb 3").
			rarely(),
		table("recipe[].stain", Optional, "colour it leaves behind").or("it neither stains nor minds"),
		amount("recipe[].stain.carry_over", Count, 0, recipe.MostLevel, "level of colour it leaves: 0 none, 6 very strong").
			usually(0, 1, "pale").
			usually(2, 3, "deep colours"),
		amount("recipe[].stain.limit", Count, 0, recipe.MostLevel, "level of colour it tolerates: 0 easily stained, 6 nothing shows").
			usually(1, 2, "pale").
			usually(3, 4, "deep colours"),
		of("recipe[].rolls", "rolls", "pair of rolls it runs through"),
		word("recipe[].finish", []recipe.Finish{recipe.Plain, recipe.Dusted, recipe.Sanded}, "what is done to the sieved pieces").std(string(recipe.Plain)).
			mostly("plain; dusted where sweets stick, sanded for sour ones"),
		amount("recipe[].finish_gain", Share, 0.0005, 0.15, "dusting or sanding kept, share of the mass of the pieces").or("none").
			usually(0.005, 0.015, "dusted").
			usually(0.03, 0.08, "sanded").
			because("Weigh the pieces before and after: it adds to what there is to pack.").
			rarely(),
		of("recipe[].finish_with", "ingredient", "what it is dusted or sanded with").or("nothing").
			rarely(),
		of("recipe[].kettle", "kettle", "kettle it wants").or("the day's kettle").
			rarely(),
		text("recipe[].note", "anything to remember").or("none"),

		list("pack", Optional, "a bag, pouch or jar as it is bought, empty"),
		ident("pack[].id", "short name"),
		text("pack[].name", "name on screens"),
		word("pack[].closure", bag.Closures(), "how it is shut; tied is twisted, folded or clipped too").
			mostly("heat-sealed for bags, a lid for jars").
			because("Air goes in and out of a tied bag: it keeps its sweets no longer than an open dish."),
		list("pack[].layer", Optional, "a sheet of its wall, from outside to inside; none of glass or metal").or("not known"),
		word("pack[].layer[].film", bag.Films(), "what it is made of").
			mostly("oriented polypropylene for clear bags that crackle, polyethylene for soft ones").
			because("The supplier's sheet names it. It decides how much water comes in: of the same thickness the best lets in a thousandth of the worst."),
		amount("pack[].layer[].thickness", Length, 5e-6, 1e-3, "thickness").or("as that film is usually sold").
			usually(20e-6, 40e-6, "polypropylene").
			usually(25e-6, 75e-6, "polyethylene").
			because("Twice the thickness lets in half the water. Of coated, metallised and foil sheets the coat counts and the thickness does not."),
		amount("pack[].layer[].wvtr", Number, 1e-3, 5000, "water vapour it passes by the supplier's sheet, g through a square metre in a day, at 38 °C and 90 % of humidity").or("by film and thickness").
			usually(3, 8, "oriented polypropylene").
			usually(10, 30, "polyethylene").
			from(source.Biosystems, source.ASTME96, source.ASTMF1249).
			because("Taken as it stands for the layer as it is. A figure of another temperature or humidity does not belong here.").
			rarely(),
		amount("pack[].width", Length, 0.03, 1, "width, lying flat and empty").or("from the net weight").
			usually(0.08, 0.16, "bags"),
		amount("pack[].height", Length, 0.03, 1, "height up to the seal, lying flat and empty").or("from the net weight").
			usually(0.12, 0.25, "bags"),
		amount("pack[].leak_mg_day", Number, 0.01, 1000, "water that comes past its lid, mg a day").or("taken as 2, from half to 10").
			usually(0.5, 10, "screw lids with a liner").
			from(source.Packaging).
			because("Shut an empty one with dry silica gel in it, weigh it, and weigh it again after two weeks in the room.").
			rarely(),
		list("pack[].weighing", Optional, "what one filled and shut pack had gained by a day; two to four of them").or("what it passes is from a table").rarely(),
		amount("pack[].weighing[].days", Number, 0.5, 400, "days since it was shut").
			usually(7, 42, ""),
		amount("pack[].weighing[].gain", Mass, 1e-6, 1, "what it had gained since then").
			usually(0.0003, 0.003, "").
			because("It takes the place of films and areas: seals and creases are in it."),
		amount("pack[].weighing[].at", Temperature, 0, 60, "where it stood, on the average").
			usually(18, 25, ""),
		amount("pack[].weighing[].humidity", Share, 0.1, 0.9, "relative humidity there, on the average").
			usually(0.4, 0.65, ""),
		amount("pack[].weighed_net", Mass, 1e-3, 25, "sweets in the pack that was weighed").or("the net weight of the product").
			usually(0.1, 0.5, "").
			rarely(),

		list("product", Optional, "something sold: a bag or jar of one sweet or of a mixture"),
		ident("product[].id", "short name"),
		text("product[].name", "name on screens and labels"),
		amount("product[].net", Mass, 1e-3, 25, "net weight on the label").
			usually(0.1, 0.25, "bags").
			usually(0.25, 0.5, "jars").
			because("What the label promises, the sweets alone. The bag or jar is tare."),
		word("product[].by", []bag.Share{bag.ByPiece, bag.ByMass}, "whether parts share it by pieces or by mass").or("piece").
			mostly("piece for mixtures, so that no colour runs short").
			rarely(),
		list("product[].part", Required, "one sweet in it"),
		of("product[].part[].recipe", "recipe", "which sweet"),
		Field{Path: "product[].part[].portion", Kind: Ref, Refs: "portion", Text: "which portion of that recipe"}.or("the portions as made").
			rarely(),
		amount("product[].part[].share", Number, 1e-3, 1e4, "its part of the mixture; only proportions count").
			usually(1, 3, "").
			because("Of a mixture 2, 2 and 1 means two fifths, two fifths and one fifth."),
		amount("product[].part[].least", Count, 1, 1e4, "pieces a bag must hold at least").or("no least").
			usually(4, 20, "").
			because("Chance leaves a colour out of a small bag now and then. With a least count the bag is made up by hand.").
			rarely(),
		word("product[].pack", []string{"bag", "jar"}, "what it is packed in").or("bag").
			mostly("bag").
			rarely(),
		of("product[].packed_in", "pack", "which pack of the book").or("not stated").
			because("It says how long a bag keeps."),
		Field{Path: "product[].price", Kind: Money, Text: "what one is sold for over the counter"}.or("not set").
			because("With tax or without it, as the shop's market has prices shown."),
	}
}
