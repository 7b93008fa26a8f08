package caution

// The codes, in the order of the work.
const (
	// Fire and heat.
	Presence    Code = "presence"
	HoldPoint   Code = "hold-point"
	HotSugar    Code = "hot-sugar"
	Burns       Code = "burns"
	Visitors    Code = "visitors"
	Thermometer Code = "thermometer"
	NotLive     Code = "not-live"
	Prediction  Code = "prediction"

	// What goes into hot sugar.
	LiquidsErupt Code = "liquids-erupt"
	SpiritFlash  Code = "spirit-flash"
	Bicarbonate  Code = "bicarbonate"
	AcidDust     Code = "acid-dust"
	Oils         Code = "oils"
	LookAlikes   Code = "look-alikes"
	AcidBoil     Code = "acid-in-boil"
	WrongAcid    Code = "wrong-acid"
	TartarHold   Code = "tartar-hold"
	SpiritOnFire Code = "spirit-on-flame"
	OilInBoil    Code = "oil-in-boil"

	// Before the flame.
	NotBeforeFlame Code = "not-before-flame"
	MachineLoose   Code = "machine-loose"
	GuardOff       Code = "guard-off"
	StopDead       Code = "stop-dead"
	NoWater        Code = "no-water"

	// What is boiled again.
	CookBack          Code = "cook-back"
	CookBackAllergens Code = "cook-back-allergens"

	// Gas and air.
	Gas  Code = "gas"
	Hood Code = "hood"

	// Machines and lifting.
	Nips       Code = "nips"
	RollsClean Code = "rolls-clean-stopped"
	Guards     Code = "guards"
	StopReach  Code = "stop-in-reach"
	OutOfUse   Code = "out-of-use"
	WhoRepairs Code = "who-repairs"
	AfterWork  Code = "after-repair"
	FoodOil    Code = "food-oil"
	TwoToPour  Code = "two-to-pour"
	WetFloor   Code = "wet-floor"

	// Metal, rolls and glass.
	OldMetal     Code = "old-metal"
	AcidOnCopper Code = "acid-on-copper"
	Lead         Code = "lead"
	RepairMetal  Code = "repair-metal"
	RollsIntact  Code = "rolls-intact"
	GlassBrittle Code = "glass-brittle"
	BrassMagnet  Code = "brass-magnet"
	ForeignBody  Code = "foreign-body"

	// Allergens.
	AllergenClean    Code = "allergen-clean"
	AllergenUnknown  Code = "allergen-unknown"
	AllergenCarriers Code = "allergen-carriers"
	AllergenBeyond   Code = "allergen-beyond-line"
	AllergenPublic   Code = "allergen-public"

	// Hands, glasses and scales.
	Children   Code = "children"
	Competence Code = "competence"
	HighCheck  Code = "high-check"
	TradeScale Code = "trade-scale"

	// Room air.
	StationPressure Code = "station-pressure"
	DampRoom        Code = "damp-room"

	// Law and keeping.
	NotLegal      Code = "not-legal-advice"
	FlavourSurvey Code = "flavour-survey"
	Medicinal     Code = "medicinal"
	KeepingModel  Code = "keeping-model"
	KeepingRefuse Code = "keeping-refused"
	Choking       Code = "choking"
	OtherCurrency Code = "other-currency"
	GrainRisk     Code = "grain-risk"
)

// texts is the fixed wording. Facts: the pack's food-safety table (Food Code
// 4-101.13 and 4-101.14 for copper, brass and lead; FDA guidance of 2006 for
// lead in sweets; ICSC 0855 for citric acid dust) and common practice.
var texts = []Caution{
	{Presence, "A lit boil has a named adult in the room until the flame is off."},
	{HoldPoint, "From the hold point up the adult at the boil does only what can be dropped at once, such as weighing or packing; no pour, no pull, no rolling."},
	{HotSugar, "Hot sugar sticks and burns: no bare skin at any stage, sleeves down, heat gloves on, the path clear, nobody between kettle and slab."},
	{Burns, "Burn: cool running water at once, do not peel the sugar off, get medical help; follow local guidance."},
	{Visitors, "Keep a barrier between visitors and hot sugar."},
	{Thermometer, "The thermometer decides: a predicted temperature or a time to lift never overrules what is read."},
	{NotLive, "NOT LIVE: the last reading is old; read the glass itself."},
	{Prediction, "Computed, not measured; the range says how far it can be out."},

	{LiquidsErupt, "Liquids erupt in hot sugar: flame off, small additions, eyes covered, ventilated."},
	{SpiritFlash, "Alcohol extracts and oils flash: flame off and out before they come near, eyes covered, ventilated."},
	{Bicarbonate, "Bicarbonate foams: into cold, dilute syrup in a large vessel only."},
	{AcidDust, "Acid dust irritates eyes and lungs: mask and goggles, no draught across the scale."},
	{Oils, "Essential oils irritate and some sensitise: gloves, eyes covered, weigh them cold."},
	{LookAlikes, "White powders look alike: store acid, tartar, salt, bicarbonate and sugar apart, read the label at each weighing."},
	{AcidBoil, "Acid in the boil inverts the sugar: it belongs on the slab, folded in once the mass has cooled to about 110 °C."},
	{WrongAcid, "Cream of tartar and tartaric acid are two things: tartaric acid in the boil ruins it. Stop, do not pour, check the pot."},
	{TartarHold, "A boil with cream of tartar goes on inverting while it waits: no hold; add the tartar after a wait."},
	{SpiritOnFire, "A spirit extract in the boil flashes over the flame and is lost: add it with the flame off."},
	{OilInBoil, "An oil in the boil flashes and boils away: add it off the flame, at about 100 to 110 °C on the slab."},

	{NotBeforeFlame, "NOT BEFORE THE FLAME: a check is answered no. Put it right and look again, or do not light."},
	{MachineLoose, "The machine is not seated and locked: nobody turns or feeds it until it is."},
	{GuardOff, "A guard is off: nobody feeds the rolls until it is back and a named adult has looked."},
	{StopDead, "The stop does not work or cannot be reached: nobody feeds the rolls until it does."},
	{NoWater, "No water through the slab: it cools less than the day's figures have it; pour less or wait."},

	{CookBack, "Cook-back is dissolved in the water of the boil, never melted dry; a grained batch above all, for grain is catching. What fell on the floor is waste."},
	{CookBackAllergens, "Cook-back goes only into a sweet that declares the same allergens or more, of the same flavour family and no lighter in colour; log its lots both ways."},

	{Gas, "Smell of gas or a yellow flame: stop, shut the gas, air the room, call the gas fitter; local code applies."},
	{Hood, "Burner lit: hood on, make-up air open, carbon monoxide alarm working."},

	{Nips, "Rolls draw hands in: guards on, stop within reach, feed with a paddle, never hurry the rolls."},
	{RollsClean, "Oil, wipe and clear the rolls only when they are stopped and isolated."},
	{Guards, "A figure for an opening is not a guard: a qualified person decides."},
	{StopReach, "No stop within reach is recorded for this machine: have one fitted before hands feed it."},
	{OutOfUse, "OUT OF USE: nobody uses it until what is wrong is put right and written down."},
	{WhoRepairs, "Only who knows the machine and is named for it repairs it; guards, stops, gas and wiring are for a fitter, by its maker's instructions and local code."},
	{AfterWork, "After any repair: look for tools, screws and filings, wash what touches sugar, try guard and stop before hands feed it."},
	{FoodOil, "Oil and grease only where the label allows it near food, as little as does the work, wiped off before sugar runs."},
	{TwoToPour, "Two people or a tilt stand for this pour."},
	{WetFloor, "Dry the floor between kettle and slab before the lift."},

	{OldMetal, "Material untested: lead may be in old rolls, solder and plating. Have it tested and record by whom and when; ask the inspector."},
	{AcidOnCopper, "Acid sugar on bare copper, brass or bronze: food below pH 6 should not touch it; ask the inspector."},
	{Lead, "Lead is limited in sweets that children eat often; a laboratory test of the sweets and of the metal decides."},
	{RepairMetal, "Solder, braze and plating bring metals in: no lead near sugar, no bare copper or brass under acid; have the repair tested and recorded, ask the inspector."},
	{RollsIntact, "Rolls whole before and after each batch? A chip or a missing edge puts the batch on hold."},
	{GlassBrittle, "Glass and brittle plastic whole before and after? If broken, stop, clear, put the batch on hold."},
	{BrassMagnet, "A magnet does not find brass or bronze; look."},
	{ForeignBody, "A thing was found that does not belong there: hold the batch, keep the piece, look for where it came from; a named person decides what becomes of the batch."},

	{AllergenClean, "Only an allergen clean that is done and verified by a named person counts; a hygiene clean may not be one."},
	{AllergenUnknown, "No allergen statement from the supplier on file: unknown is not none, and claims stay blocked until it is there."},
	{AllergenCarriers, "Slab oil, release spray, dusting, gloves, hook and cook-back carry allergens too."},
	{AllergenBeyond, "The timed allergen cleans are of line, rolls and kettle: clean and verify what this sweet is weighed with, its bench and its sieve too before it touches them."},
	{AllergenPublic, "Made with the allergens named, others are handled here; ask us."},

	{Children, "Children are visitors, not helpers."},
	{Competence, "Only a named adult who may do it lights, watches, pours, pulls or rolls."},
	{HighCheck, "Boiling water cannot vouch for 150 °C: check this glass high, against a reference or by a crack test."},
	{TradeScale, "Weights to sell by need a trade-approved, recently verified scale."},

	{StationPressure, "The pressure looks reduced to sea level: enter what a barometer in the room shows, not the weather report's figure."},
	{DampRoom, "Damp air: sweets take up water and stick; dry the room before pulling, cooling or packing."},

	{NotLegal, "Not legal advice; the authority decides."},
	{FlavourSurvey, "Flavour survey levels are what others use, not limits."},
	{Medicinal, "Words such as cough or sore throat are medicinal claims: ask the authority before using them."},
	{KeepingModel, "Keeping time is a model, to be confirmed by a keeping test; no date is printed until a person enters its basis."},
	{KeepingRefuse, "No keeping time for sweets with butter, nuts or fillings: the model does not cover them."},
	{OtherCurrency, "The price is in another currency than the shop's: no sum of the shop's has it in until it is written in its own."},
	{Choking, "Small, hard, round sweets can choke young children; no size is ever a pass."},
	{GrainRisk, "Little glucose syrup and no other doctor: the batch may grain."},
}
