package book

import (
	"fmt"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
)

const minute = 60.0 // s

// written returns a quantity as it is written in a file.
func written(v interface{ MarshalText() ([]byte, error) }) string {
	b, err := v.MarshalText()
	if err != nil { // the quantities never fail to print
		panic(fmt.Sprintf("book: %v", err))
	}
	return string(b)
}

func number(v float64) string { return fmt.Sprintf("%g", v) }

// shopFields are the keys of the file's head, [shop] and [room]. The limits are
// wide: they catch a slip of the pen, not a poor shop (common practice, no source).
func shopFields() []Field {
	t := rig.UsualTimes()
	lasts := func(key string, low, high float64, std q.Duration, what string) Field {
		return amount("room.times."+key, Duration, low, high, what).std(written(std))
	}
	rate := func(key string, low, high, std float64, what string) Field {
		return amount("room.times."+key, Number, low, high, what).std(number(std))
	}
	return []Field{
		amount("format", Count, Format, Format, "version of this format"),

		table("shop", Required, "whose book it is and how it speaks"),
		text("shop.name", "name of the shop"),
		text("shop.place", "town or village"),
		word("shop.units", []q.System{q.Metric, q.US}, "units on screens and prints").
			mostly("metric, or us where pounds and Fahrenheit are spoken").
			because("Any unit may be typed anywhere: this is how the program writes."),
		Field{Path: "shop.currency", Kind: Currency, Text: "currency, three letters of ISO 4217"}.
			mostly("GBP, EUR, USD or CAD"),
		word("shop.market", []string{"us", "eu", "uk", "ca"}, "whose rules for labels and weights apply").
			mostly("where the sweets are sold").
			because("The shop answers for its labels, not the program."),
		Field{Path: "shop.time_zone", Kind: Zone, Text: "time zone by its IANA name"}.
			mostly("Europe/London, America/Chicago and the like"),

		table("room", Required, "the boiling room"),
		amount("room.altitude", Length, -450, 5000, "height above the sea").
			usually(0, 500, "").
			because("Sugar boils cooler the higher the room stands, so the reading to lift at is lower than the recipe's figure. A map tells it well enough."),
		amount("room.station_pressure", Pressure, 50e3, 110e3, "what a barometer in the room shows, never the weather report's figure").or("taken from the altitude").
			usually(98500, 103000, "near the sea").
			because("A weather report's figure is reduced to the sea and would count the height twice. Left out, the altitude gives it.").
			rarely(),
		amount("room.air", Temperature, 5, 40, "usual air in the room").std(written(rig.UsualAir)).
			usually(20, 25, "").
			because("With the humidity it gives the dew point: a slab colder than that sweats and wets the batch."),
		amount("room.humidity", Share, 0.05, 1, "usual relative humidity of the room").std(written(rig.UsualHumidity)).
			usually(0.35, 0.5, "").
			because("Above half, sweets grow sticky while they wait to be bagged."),
		amount("room.water_alkalinity", Number, 1, 1000, "alkalinity of the tap's water, in mg of calcium carbonate a litre").or(fmt.Sprintf("not known: %d is taken, nothing to %d", rig.UsualAlkalinity, rig.MostAlkalinity)).
			usually(10, 300, "mg/L in the waters of towns").
			because("It eats acid in the boil: with hard water the same tartar inverts less. The water report says it; 1 mmol/L is 50, 1 °dH of carbonate hardness 17.8.").
			rarely(),
		amount("room.pour_alone", Mass, 0.5, 12, "above this mass in the pan two people pour, or a tilt stand does").std(written(rig.UsualPourAlone)).
			usually(4, 8, "").
			because("The shop decides, with whoever answers for its safety, and it may well be less: the pan weighs too, and what is in it scalds. Above it the plan asks for two people or a tilt stand."),
		amount("room.hold_point", Temperature, 100, float64(rig.UsualHoldPoint), "from here up a boil is watched; a shop may lower it, not raise it").std(written(rig.UsualHoldPoint)).
			usually(105, 115, "").
			because("Below it a dissolved syrup can wait, above it somebody stands by the pan until the pour. The shop decides how much lower it is set; it cannot be raised."),
		amount("room.store_most", Temperature, 5, 60, "the warmest that packed sweets get in the store and on the shelf").or("the usual "+written(rig.UsualStoreMost)).
			usually(20, 30, "").
			because("A boil's verdict on sticking is held against it: below it the sweet has to stay a glass."),
		amount("room.post_most", Temperature, 5, 80, "the warmest that they get on their way by post").or("the usual "+written(rig.UsualPostMost)).
			usually(30, 45, "").
			usually(45, 60, "in a van in the sun").
			because("Few sweets stand up to a summer's post for certain: the verdict says how many of the outcomes do not."),
		word("room.learning", []string{"on", rig.LearningOff}, "whether boils go by what the records of batches teach").or("on").
			mostly("on").
			because("Each record of a boil shifts this room's figures a little, and narrows their ranges. Off, they are what they were without records; the records stay.").
			rarely(),
		date("room.learn_from", "batches made before it teach nothing").or("all do").
			because("After a new stove, a new water or a move the old batches tell of another room. Their records stay.").
			rarely(),

		table("room.times", Optional, "how long the usual jobs take here, for a full boil"),
		lasts("charge", 0.5*minute, 60*minute, t.Charge, "loading the kettle").
			usually(3*minute, 8*minute, ""),
		lasts("pour", 0.5*minute, 15*minute, t.Pour, "lift, carry, pour, scrape").
			usually(1*minute, 3*minute, ""),
		lasts("rinse", 0, 60*minute, t.Rinse, "kettle soaked and rinsed after the pour").
			usually(5*minute, 10*minute, "").
			rarely(),
		lasts("first_turn", 10, 15*minute, t.FirstTurn, "from the end of the pour until the edge lifts clean").
			usually(1*minute, 2*minute, "on cooled steel").
			usually(2*minute, 3*minute, "on marble").
			because("The eye decides: turn when the edge lifts clean. The plan only keeps the time."),
		lasts("turn", 1*minute, 60*minute, t.Turn, "turning, folding, kneading").
			usually(5*minute, 10*minute, ""),
		rate("pull_kg_min", 0.05, 5, t.PullRate, "kilograms pulled a minute by one person").
			usually(0.3, 0.8, ""),
		rate("roll_kg_min", 0.1, 10, t.RollRate, "kilograms rolled a minute, cutting, feeding and carrying sheets included").
			usually(0.6, 1.5, "").
			because("Time a whole boil from the first piece cut to the last sheet carried off: while sugar is in the nip it runs several times as fast. It sets how much one boil may be."),
		lasts("roll_band", 1*minute, 60*minute, t.RollBand, "how long the batch stays in condition on a cold slab").
			usually(2*minute, 4*minute, "").
			because("Past it the rest of the batch cracks in the rolls. It sets how much one boil may be."),
		lasts("roll_band_board", 1*minute, 90*minute, t.RollBandBoard, "the same on a warm feeding board or under a lamp").
			usually(10*minute, 15*minute, ""),
		lasts("wipe", 0.5*minute, 60*minute, t.Wipe, "wiping everything the sugar touches").
			usually(3*minute, 6*minute, ""),
		lasts("wash", 1*minute, 240*minute, t.Wash, "washing it hot").
			usually(10*minute, 20*minute, ""),
		lasts("allergen_clean", 5*minute, 480*minute, t.AllergenClean, "an allergen clean of slab, hook, scrapers, feeding board and machine, taken apart, verified").
			usually(30*minute, 60*minute, "").
			because("The shop decides what the clean is and shows by tests that it works. The program only keeps the time for it."),
		lasts("rolls_wipe", 0.5*minute, 60*minute, t.RollsWipe, "wiping rolls that stay on").
			usually(2*minute, 5*minute, "").
			rarely(),
		lasts("rolls_wash", 1*minute, 240*minute, t.RollsWash, "washing rolls that stay on").
			usually(8*minute, 15*minute, "").
			rarely(),
		lasts("rolls_allergen_clean", 5*minute, 480*minute, t.RollsAllergen, "an allergen clean of rolls that stay on, or that came off with an allergen and go on again").
			usually(20*minute, 40*minute, "").
			because("The shop decides what the clean is and shows by tests that it works. The program only keeps the time for it.").
			rarely(),
		lasts("kettle_allergen_clean", 5*minute, 480*minute, t.KettleClean, "an allergen clean of the kettle and what stands in it, glass and paddle, directly before it is charged, verified").
			usually(15*minute, 30*minute, "").
			because("The shop decides what the clean is and shows by tests that it works. The program only keeps the time for it.").
			rarely(),
		lasts("weigh_base", 0, 60*minute, t.WeighBase, "weighing in: getting out, checking, recording").
			usually(3*minute, 8*minute, "").
			rarely(),
		lasts("weigh_line", 5, 15*minute, t.WeighLine, "a line of the batch sheet").
			usually(30, 90, "").
			rarely(),
		lasts("cool", 1*minute, 240*minute, t.Cool, "from the last sheet until sheets break").
			usually(8*minute, 20*minute, "in still air").
			usually(4*minute, 10*minute, "before a fan").
			from(source.ModelHeat),
		rate("sieve_kg_min", 0.05, 20, t.SieveRate, "kilograms broken and sieved a minute by one hand").
			usually(1, 2, "").
			rarely(),
		rate("finish_kg_min", 0.05, 20, t.FinishRate, "kilograms dusted or sanded a minute by one hand").
			usually(0.8, 1.5, "").
			rarely(),
		lasts("pack_bag", 5, 15*minute, t.PackBag, "a bag filled, weighed, sealed, labelled").
			usually(30, 60, "").
			because("Bags are most of the afternoon: a stopwatch over ten bags pays."),
		lasts("closing", 0, 240*minute, t.Closing, "clean-down at the end of the day").
			usually(20*minute, 45*minute, "").
			rarely(),
	}
}
