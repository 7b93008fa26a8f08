package book

import (
	"slices"

	"slabside/internal/recipe"
)

// The kinds of rule and the acts a rule may demand, as a file writes them.
var (
	ruleKinds = []string{"first", "last", "next", "not_next", "later", "at_least"}
	ruleActs  = []string{"wipe", "wash", "allergen clean"}
)

// RuleActs returns the acts that a rule may demand before a boil, the lightest first.
func RuleActs() []string { return slices.Clone(ruleActs) }

// dayFields are the keys of the day, the stock and what is to be made. Limits:
// common practice, no source.
func dayFields() []Field {
	return []Field{
		table("day", Required, "how a making day runs here"),
		clock("day.opens", "the room opens").
			mostly("when the first of the hands comes"),
		clock("day.ends", "everything is done and clean").
			mostly("when the clean-down is done"),
		of("day.kettle", "kettle", "kettle the plan uses").or("the first one not for trials"),
		of("day.glass", "glass", "thermometer that is read").or("the first"),
		of("day.mounted", "rolls", "rolls on the machine at opening").or("none"),
		flag("day.strong_any_time", "strong flavours need not wait for the mild ones they would taint").or("false").
			mostly("not ticked").
			because("Strong flavours come last unless this is ticked; then only wipes and washes keep them from the next sweet.").
			rarely(),
		list("day.residue", Optional, "what the line carries from the day before").or("clean").
			rarely(),
		text("day.residue[].family", "a flavour family, \"stain\", or an allergen").
			mostly("the family of the last sweet, if the line was not washed").
			because("The shop decides what is still on its line. An allergen that is left out here is taken to have been cleaned away."),
		amount("day.residue[].level", Count, 0, recipe.MostLevel, "its level").
			usually(1, 4, ""),
		list("day.break", Optional, "stops the room"),
		text("day.break[].name", "name on screens").
			mostly("lunch, tea"),
		clock("day.break[].from", "earliest start"),
		clock("day.break[].to", "latest start"),
		amount("day.break[].duration", Duration, 1*minute, 240*minute, "how long").
			usually(15*minute, 60*minute, "").
			because("No hot sugar is left alone for it: the plan puts it where the pan is off."),
		list("day.announced_pour", Optional, "a pour that visitors are told of").
			rarely(),
		text("day.announced_pour[].name", "name on screens").
			mostly("as the board at the door says it"),
		clock("day.announced_pour[].at", "announced time"),
		amount("day.announced_pour[].early", Duration, 0, 120*minute, "so much early is kept").
			usually(0, 5*minute, ""),
		amount("day.announced_pour[].late", Duration, 0, 120*minute, "so much late is kept").
			usually(5*minute, 15*minute, ""),
		of("day.announced_pour[].recipe", "recipe", "which sweet").or("any"),
		list("day.rule", Optional, "pins or forbids a neighbour, or demands an act").
			rarely(),
		word("day.rule[].kind", ruleKinds, "first or last of the day; next or not_next after another; later than every boil of another; at_least an act before it").
			mostly("last for what stains or smells most"),
		of("day.rule[].recipe", "recipe", "the sweet it is about"),
		of("day.rule[].after", "recipe", "the sweet before it, for next, not_next, later and at_least").or("any other, for at_least"),
		word("day.rule[].act", ruleActs, "the act, for at_least").or("none").
			mostly("wash; allergen clean where the shop wants one whatever the levels say"),
		text("day.rule[].why", "why").or("none"),

		list("stock", Optional, "what is already there: packed bags of a product, or loose sweets of a recipe"),
		of("stock[].product", "product", "packed bags of it").or("loose sweets"),
		amount("stock[].bags", Count, 1, 1e5, "how many").or("loose sweets").
			usually(1, 100, ""),
		of("stock[].recipe", "recipe", "loose sweets of it").or("packed bags"),
		Field{Path: "stock[].portion", Kind: Ref, Refs: "portion", Text: "which portion"}.or("the portions as made"),
		amount("stock[].loose", Mass, 1e-3, 1000, "how much").or("packed bags").
			usually(0.5, 10, ""),
		text("stock[].lot", "lot mark").or("none"),

		list("to_make", Optional, "bags asked for"),
		of("to_make[].product", "product", "which product"),
		amount("to_make[].bags", Count, 1, 1e5, "how many bags").
			usually(5, 100, ""),
		flag("to_make[].must", "an order that must go, not a wish of the shelf").std("false").
			mostly("ticked for an order, not for the shelf"),
		date("to_make[].due", "due date").or("today"),
		text("to_make[].for", "\"shelf\", or whose order").or("not said").
			mostly("shelf, or the customer's name"),
	}
}
