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
		clock("day.opens", "the room opens"),
		clock("day.ends", "everything is done and clean"),
		of("day.kettle", "kettle", "kettle the plan uses").or("the first one not for trials"),
		of("day.glass", "glass", "thermometer that is read").or("the first"),
		of("day.mounted", "rolls", "rolls on the machine at opening").or("none"),
		flag("day.strong_any_time", "strong flavours need not wait for the mild ones they would taint").or("false"),
		list("day.residue", Optional, "what the line carries from the day before").or("clean"),
		text("day.residue[].family", "a flavour family, \"stain\", or an allergen"),
		amount("day.residue[].level", Count, 0, recipe.MostLevel, "its level"),
		list("day.break", Optional, "stops the room"),
		text("day.break[].name", "name on screens"),
		clock("day.break[].from", "earliest start"),
		clock("day.break[].to", "latest start"),
		amount("day.break[].duration", Duration, 1*minute, 240*minute, "how long"),
		list("day.announced_pour", Optional, "a pour that visitors are told of"),
		text("day.announced_pour[].name", "name on screens"),
		clock("day.announced_pour[].at", "announced time"),
		amount("day.announced_pour[].early", Duration, 0, 120*minute, "so much early is kept"),
		amount("day.announced_pour[].late", Duration, 0, 120*minute, "so much late is kept"),
		of("day.announced_pour[].recipe", "recipe", "which sweet").or("any"),
		list("day.rule", Optional, "pins or forbids a neighbour, or demands an act"),
		word("day.rule[].kind", ruleKinds, "first or last of the day; next or not_next after another; later than every boil of another; at_least an act before it"),
		of("day.rule[].recipe", "recipe", "the sweet it is about"),
		of("day.rule[].after", "recipe", "the sweet before it, for next, not_next, later and at_least").or("any other, for at_least"),
		word("day.rule[].act", ruleActs, "the act, for at_least").or("none"),
		text("day.rule[].why", "why").or("none"),

		list("stock", Optional, "what is already there: packed bags of a product, or loose sweets of a recipe"),
		of("stock[].product", "product", "packed bags of it").or("loose sweets"),
		amount("stock[].bags", Count, 1, 1e5, "how many").or("loose sweets"),
		of("stock[].recipe", "recipe", "loose sweets of it").or("packed bags"),
		Field{Path: "stock[].portion", Kind: Ref, Refs: "portion", Text: "which portion"}.or("the portions as made"),
		amount("stock[].loose", Mass, 1e-3, 1000, "how much").or("packed bags"),
		text("stock[].lot", "lot mark").or("none"),

		list("to_make", Optional, "bags asked for"),
		of("to_make[].product", "product", "which product"),
		amount("to_make[].bags", Count, 1, 1e5, "how many bags"),
		flag("to_make[].must", "an order that must go, not a wish of the shelf").std("false"),
		date("to_make[].due", "due date").or("today"),
		text("to_make[].for", "\"shelf\", or whose order").or("not said"),
	}
}
