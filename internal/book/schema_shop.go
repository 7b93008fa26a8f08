package book

import (
	"fmt"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
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
		word("shop.units", []q.System{q.Metric, q.US}, "units on screens and prints"),
		{Path: "shop.currency", Kind: Currency, Text: "currency, three letters of ISO 4217"},
		word("shop.market", []string{"us", "eu", "uk", "ca"}, "whose rules for labels and weights apply"),
		{Path: "shop.time_zone", Kind: Zone, Text: "time zone by its IANA name"},

		table("room", Required, "the boiling room"),
		amount("room.altitude", Length, -450, 5000, "height above the sea; water and sugar boil cooler high up"),
		amount("room.station_pressure", Pressure, 50e3, 110e3, "what a barometer in the room shows, never the weather report's figure").or("taken from the altitude"),
		amount("room.air", Temperature, 5, 40, "usual air in the room").std(written(rig.UsualAir)),
		amount("room.humidity", Share, 0.05, 1, "usual relative humidity of the room").std(written(rig.UsualHumidity)),
		amount("room.water_alkalinity", Number, 1, 1000, "alkalinity of the tap's water as mg of calcium carbonate a litre, from the water report (50 for each mmol/L, 17.8 for each °dH of carbonate hardness); it eats acid in the boil").or(fmt.Sprintf("not known: %d is taken, nothing to %d", rig.UsualAlkalinity, rig.MostAlkalinity)),
		amount("room.pour_alone", Mass, 0.5, 12, "above this mass in the pan two people pour, or a tilt stand does").std(written(rig.UsualPourAlone)),
		amount("room.hold_point", Temperature, 100, float64(rig.UsualHoldPoint), "from here up a boil is watched; a shop may lower it, not raise it").std(written(rig.UsualHoldPoint)),

		table("room.times", Optional, "how long the usual jobs take here, for a full boil"),
		lasts("charge", 0.5*minute, 60*minute, t.Charge, "loading the kettle"),
		lasts("pour", 0.5*minute, 15*minute, t.Pour, "lift, carry, pour, scrape"),
		lasts("rinse", 0, 60*minute, t.Rinse, "kettle soaked and rinsed after the pour"),
		lasts("first_turn", 10, 15*minute, t.FirstTurn, "from the end of the pour until the edge lifts clean"),
		lasts("turn", 1*minute, 60*minute, t.Turn, "turning, folding, kneading"),
		rate("pull_kg_min", 0.05, 5, t.PullRate, "kilograms pulled a minute by one person"),
		rate("roll_kg_min", 0.1, 10, t.RollRate, "kilograms rolled a minute, cutting, feeding and carrying sheets included"),
		lasts("roll_band", 1*minute, 60*minute, t.RollBand, "how long the batch stays in condition on a cold slab"),
		lasts("roll_band_board", 1*minute, 90*minute, t.RollBandBoard, "the same on a warm feeding board or under a lamp"),
		lasts("wipe", 0.5*minute, 60*minute, t.Wipe, "wiping everything the sugar touches"),
		lasts("wash", 1*minute, 240*minute, t.Wash, "washing it hot"),
		lasts("allergen_clean", 5*minute, 480*minute, t.AllergenClean, "an allergen clean of slab, hook, scrapers, feeding board and machine, taken apart, verified"),
		lasts("rolls_wipe", 0.5*minute, 60*minute, t.RollsWipe, "wiping rolls that stay on"),
		lasts("rolls_wash", 1*minute, 240*minute, t.RollsWash, "washing rolls that stay on"),
		lasts("rolls_allergen_clean", 5*minute, 480*minute, t.RollsAllergen, "an allergen clean of rolls that stay on, or that came off with an allergen and go on again"),
		lasts("kettle_allergen_clean", 5*minute, 480*minute, t.KettleClean, "an allergen clean of the kettle and what stands in it, glass and paddle, directly before it is charged, verified"),
		lasts("weigh_base", 0, 60*minute, t.WeighBase, "weighing in: getting out, checking, recording"),
		lasts("weigh_line", 5, 15*minute, t.WeighLine, "a line of the batch sheet"),
		lasts("cool", 1*minute, 240*minute, t.Cool, "from the last sheet until sheets break"),
		rate("sieve_kg_min", 0.05, 20, t.SieveRate, "kilograms broken and sieved a minute by one hand"),
		rate("finish_kg_min", 0.05, 20, t.FinishRate, "kilograms dusted or sanded a minute by one hand"),
		lasts("pack_bag", 5, 15*minute, t.PackBag, "a bag filled, weighed, sealed, labelled"),
		lasts("closing", 0, 240*minute, t.Closing, "clean-down at the end of the day"),
	}
}
