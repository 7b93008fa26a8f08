package book

import (
	"slabside/internal/source"
	"slabside/internal/supply"
)

// supplyFields are the keys of supplies. Limits: common practice, no source. The heat of
// a gas may be anything from a town gas to hydrogen.
func supplyFields() []Field {
	return []Field{
		list("supply", Optional, "something the shop buys and no sweet is made of, in the order of the walk along the shelves"),
		ident("supply[].id", "short name"),
		text("supply[].name", "name as it stands on the box"),
		word("supply[].kind", supply.Kinds(), "what it is for").
			mostly("packaging for bags, labels, jars and boxes; gas for cylinders; consumable for gloves, hair nets, wipes, oil that is wiped on the slab"),
		word("supply[].unit", supply.Units(), "what it is counted in").or("piece").
			mostly("piece; mass for gas by weighing its cylinders").
			rarely(),
		text("supply[].supplier", "who delivers it").or("not stated"),
		amount("supply[].lead_days", Count, 1, 365, "days from the order to the shelf").or("not known").
			usually(2, 7, "from near by").
			usually(14, 42, "printed bags and labels").
			because("The stores say when to order by it: before what is on hand may be gone sooner than a delivery comes."),
		amount("supply[].least_pieces", Count, 1, 1e6, "order more when so many pieces are left").or("by how long it lasts").
			usually(50, 500, "bags and labels").
			usually(1, 2, "cylinders"),
		amount("supply[].least_mass", Mass, 1e-3, 2000, "order more when so much is left, of what goes by mass").or("by how long it lasts").
			usually(5, 20, "gas").
			rarely(),
		flag("supply[].touches_food", "it touches the sweets").or("false").
			mostly("true for bags, jars, liners and gloves; false for outer boxes and for labels on the outside").
			because("What touches food has to be fit for it, and its supplier says so in writing. A delivery without that waits in quarantine until somebody has looked. Which paper the law asks for depends on the market and the material: ask your food authority."),
		date("supply[].declared_on", "date of the supplier's declaration that it may touch food, on file").or("none is on file").
			mostly("the date on the paper; a new delivery may bring a newer one").
			from(source.Reg19352004, source.Practice),
		list("supply[].goes_with", Optional, "what is packed with it: one line for a bag's pack, one for a label's product").or("nothing: it goes by its own counts"),
		of("supply[].goes_with[].pack", "pack", "each bag of this pack").or("not by the pack").
			because("At the packing station a press of bags takes them off the lot that is open."),
		of("supply[].goes_with[].product", "product", "each bag of this product").or("not by the product"),
		amount("supply[].goes_with[].pieces", Count, 1, 100, "pieces with each bag").or("1").
			usually(1, 2, "").
			rarely(),
		amount("supply[].holds", Mass, 0.1, 200, "gas in a full cylinder").or("not stated").
			usually(11, 47, "").
			because("With its heat it says how many boils a cylinder gives."),
		amount("supply[].heat_mj_per_kg", Number, 10, 125, "heat content of a gas, net, in megajoules a kilogram").or("not stated: gas goes by its own counts").
			usually(45.5, 46.5, "propane and butane").
			because("The net calorific value, by the supplier's sheet. By it the boils say how long the gas lasts."),
		text("supply[].note", "anything to remember").or("none"),
	}
}
