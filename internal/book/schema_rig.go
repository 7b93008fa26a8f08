package book

import (
	"slabside/internal/rig"
	"slabside/internal/source"
)

// rigFields are the keys of what stands in the room. Limits: common practice, no source.
func rigFields() []Field {
	materials := rig.Materials()
	tested := func(at string) []Field {
		return []Field{
			table(at+".tested", Optional, "who tested the metal for lead and copper, and when").or("untested"),
			text(at+".tested.by", "laboratory or person").or("untested"),
			date(at+".tested.on", "date of the test").or("untested"),
		}
	}
	var all []Field
	add := func(f ...Field) { all = append(all, f...) }

	add(list("kettle", Optional, "a boiling pan with its fire"),
		ident("kettle[].id", "short name that other parts of the book use"),
		text("kettle[].name", "name on screens"),
		amount("kettle[].volume", Volume, 1, 200, "volume to the brim").
			usually(17, 55, "").
			from(source.Guide1896),
		amount("kettle[].foam_room", Share, 0.05, 0.8, "share of the volume kept free for foam").
			usually(0.4, 0.6, "").
			because("A boil foams up to twice its height. The largest charge is what the rest of the pan holds."),
		amount("kettle[].usual_charge", Mass, 0.2, 150, "charge of a whole boil, water included").
			usually(8, 13, "").
			from(source.Guide1896, source.Practice).
			because("Whole, half and third boils are reckoned from it: makers know those clocks."),
		amount("kettle[].least_charge", Mass, 0.2, 150, "least charge that boils well").
			usually(3, 5, "in a pan for whole boils").
			because("Below it the glass no longer stands in the sugar and the edge burns. The plan makes no smaller boil."),
		amount("kettle[].burner", Power, 500, 100e3, "heat of the burner").
			usually(15000, 25000, "in a candy stove").
			usually(6000, 10000, "on a range top"),
		amount("kettle[].efficiency", Share, 0.05, 0.95, "share of it that reaches the sugar").
			usually(0.35, 0.55, "sunk in the ring of a candy stove").
			usually(0.25, 0.4, "on a range top").
			because("It sets the minutes of a boil, and with them how much sugar inverts and colours. Timed boils show it: a boil slower than planned means less."),
		amount("kettle[].efficiency_low", Share, 0.05, 0.95, "low end of the efficiency, 5 % point").or("10 points below").
			mostly("left out, until boils have been timed").
			rarely(),
		amount("kettle[].efficiency_high", Share, 0.05, 0.95, "high end of the efficiency, 95 % point").or("10 points above").
			mostly("left out, until boils have been timed").
			rarely(),
		amount("kettle[].mass", Mass, 0.2, 100, "mass of the empty pan").
			usually(2, 9, ""),
		amount("kettle[].smear", Mass, 0, 2, "sugar left in it after scraping").
			usually(0.05, 0.15, "").
			because("It is missing at the slab and never reaches a bag. Weigh the pan after scraping."),
		word("kettle[].material", materials, "what it is made of").
			mostly("copper, tinned copper or stainless steel").
			because("What the sugar touches. Acid and bare copper or brass bring a caution; the inspector decides."),
		word("kettle[].lining", materials, "what lines it").or("no lining").
			mostly("left out by most; tin in an old copper pan").
			rarely())
	add(tested("kettle[]")...)
	add(flag("kettle[].tilt_stand", "pours from a tilt stand").or("false").
		mostly("not ticked").
		because("With one, one person may pour what would else take two."),
		flag("kettle[].trials_only", "kept out of the day's plan").or("false").
			mostly("not ticked").
			rarely(),

		list("slab", Optional, "a cooling table"),
		ident("slab[].id", "short name"),
		text("slab[].name", "name on screens"),
		amount("slab[].length", Length, 0.2, 6, "length").
			usually(0.9, 1.8, "").
			from(source.Guide1896, source.Practice),
		amount("slab[].width", Length, 0.2, 3, "width").
			usually(0.5, 0.9, "").
			from(source.Guide1896, source.Practice).
			because("How thin a boil lies, and so how fast it cools."),
		word("slab[].material", materials, "what it is made of").
			mostly("marble, or steel over water"),
		word("slab[].cooling", []string{rig.Channels, rig.Tank}, "how it is cooled").or("not cooled").
			mostly("left out for marble; channels or a tank under steel"),
		amount("slab[].thickness", Length, 0.002, 0.2, "of the plate").or("10 mm of metal, 50 mm of stone").
			usually(0.006, 0.012, "of steel").
			usually(0.03, 0.06, "of marble").
			from(source.Guide1896, source.Practice).
			because("A thick stone takes up the heat of a boil; a thin plate hands it on to the water."),
		amount("slab[].water", Temperature, 1, 60, "temperature of the cooling water as it comes").or("18 °C").
			usually(8, 20, "").
			from(source.Practice).
			because("Colder water cools faster, and a slab colder than the dew point sweats and wets the batch."),
		flag("slab[].trials_only", "kept out of the day's plan").or("false").
			mostly("not ticked").
			rarely(),

		list("hook", Optional, "a pulling hook or machine"),
		ident("hook[].id", "short name"),
		text("hook[].name", "name on screens"),
		amount("hook[].most", Mass, 0.2, 25, "largest pull at once").
			usually(2, 5, "by hand").
			usually(5, 7, "by a strong puller"),

		list("machine", Optional, "a drop machine that takes pairs of rolls"),
		ident("machine[].id", "short name"),
		text("machine[].name", "name on screens"),
		amount("machine[].roll_kg_min", Number, 0.1, 10, "kilograms rolled a minute").or("the room's rate").
			usually(0.6, 1.5, "").
			because("Only where this machine differs from the room's rate, cutting and carrying included.").
			rarely(),
		amount("machine[].hands", Count, 1, 3, "people who work at it while it rolls").or("2, one who feeds and turns and one who takes the sheets off").
			usually(2, 2, "").
			rarely(),
		text("machine[].guard", "what guards the nip, and who judged it").or("none recorded").
			mostly("what the fitter or the maker of the machine found").
			because("Rolls draw fingers in. Whoever answers for the machine decides whether its guard is enough; the program only keeps what was found."),
		flag("machine[].stop_in_reach", "a stop within reach of who feeds it").
			mostly("ticked").
			because("It is what saves a hand. Whoever answers for the machine decides whether it may run without."),

		list("rolls", Optional, "a pair of engraved rolls"),
		ident("rolls[].id", "short name"),
		text("rolls[].name", "name on screens"),
		amount("rolls[].piece", Mass, 0.1e-3, 50e-3, "mass of one clear piece; this or pieces_per_lb").or("from pieces_per_lb").
			usually(0.0009, 0.0009, "acid drops").
			usually(0.002, 0.0045, "other drops").
			from(source.Guide1896, source.Practice).
			because("Weigh a hundred and divide. It sets how many pieces a bag holds."),
		amount("rolls[].pieces_per_lb", Number, 9, 4540, "clear pieces to the pound; this or piece").or("from piece").
			usually(500, 500, "acid drops").
			usually(200, 200, "shells and berries").
			usually(120, 120, "cough drops").
			from(source.Guide1896).
			rarely(),
		amount("rolls[].piece_sd", Share, 0.001, 0.25, "spread of the mean piece from day to day, by setting and sheet").or("3 %").
			usually(0.02, 0.05, "").
			because("It widens the range of the pieces that a boil gives.").
			rarely(),
		word("rolls[].material", materials, "what they are made of").
			mostly("brass; stainless steel where new"))
	add(tested("rolls[]")...)
	add(amount("rolls[].change", Duration, 0.5*minute, 120*minute, "to change to this pair").
		usually(5*minute, 10*minute, ""),
		amount("rolls[].mass", Mass, 0.3, 60, "of the pair itself").or("4.5 kg").
			usually(3, 8, "").
			from(source.Practice).
			because("Light rolls are hot sooner: late sheets wrap and lose their print.").
			rarely(),

		list("board", Optional, "a feeding board beside the rolls"),
		ident("board[].id", "short name"),
		text("board[].name", "name on screens"),
		flag("board[].lamp", "warmed by a lamp").or("false").
			mostly("ticked where there is a lamp"),
		amount("board[].most", Mass, 0.5, 60, "sugar it holds").
			usually(8, 15, "").
			because("What waits here stays soft several times as long as on a cold slab, so a boil may be larger."),

		list("bench", Optional, "where sheets cool and are broken"),
		ident("bench[].id", "short name"),
		text("bench[].name", "name on screens"),
		amount("bench[].most", Mass, 0.5, 200, "sheets it holds").
			usually(20, 40, ""),

		list("sieve", Optional, "takes out chips and dust"),
		ident("sieve[].id", "short name"),
		text("sieve[].name", "name on screens"),
		amount("sieve[].aperture", Length, 0.5e-3, 20e-3, "width of the holes").
			usually(0.003, 0.003, "for beads and acid drops").
			usually(0.005, 0.006, "for larger drops"),

		list("scale", Optional, "a scale"),
		ident("scale[].id", "short name"),
		text("scale[].name", "name on screens"),
		amount("scale[].capacity", Mass, 0.05, 500, "most it weighs").
			usually(15, 60, "for sugar and boils").
			usually(0.3, 2, "for acids and flavours"),
		amount("scale[].resolution", Mass, 1e-6, 0.1, "smallest step it shows").
			usually(0.001, 0.005, "for sugar and boils").
			usually(1e-05, 0.0001, "for acids and flavours").
			because("An amount too small for a scale's step is weighed on another."),
		flag("scale[].trade_approved", "approved and verified for trade").or("false").
			mostly("ticked for the scale that weighs what is sold").
			because("The weights office of the place decides, by its seal."),

		list("glass", Optional, "a thermometer"),
		ident("glass[].id", "short name"),
		text("glass[].name", "name on screens"),
		amount("glass[].offset", Difference, -15, 15, "how much too high it reads at the end of the boil, below zero if too low").
			usually(-2, 2, "").
			because("The reading to lift at is the true temperature and this. Boiling water shows it at its own temperature only: a check near the end of the boil tells more."),
		amount("glass[].class", Difference, 0.1, 10, "± tolerance at 150 °C").
			usually(0.5, 1, "a platinum probe").
			usually(1.5, 2.5, "a thermocouple or a confectioner's glass").
			because("How far it may be off even when new. It widens the range of the water left in a batch."),
		amount("glass[].division", Difference, 0.01, 5, "smallest step that can be read").
			usually(0.1, 0.1, "a digital probe").
			usually(1, 2, "a confectioner's glass"),
		date("glass[].checked_on", "date of the last check").or("never").
			rarely(),
		amount("glass[].checked_at", Temperature, 0, 250, "highest temperature it was checked at").or("never").
			usually(145, 155, "against a reference probe").
			usually(98, 100, "in boiling water").
			rarely(),
		list("glass[].check", Optional, "a check; what the checks find is laid over the offset and the class"),
		date("glass[].check[].on", "date"),
		word("glass[].check[].against", rig.Knowns(), "checked in what").
			mostly("boiling water each season, a reference probe once a year"),
		amount("glass[].check[].read", Temperature, -20, 250, "what the glass read").
			usually(98, 102, "in boiling water").
			usually(145, 155, "beside a reference"),
		amount("glass[].check[].true", Temperature, 0, 250, "what the reference read").or("melting ice, boiling water and the crack are known").
			usually(145, 155, "beside a reference"),
		amount("glass[].check[].sure", Difference, 0.01, 5, "± the reference is good to").or("0.45 K, a probe of the best class").
			usually(0.3, 0.5, "").
			rarely(),
		amount("glass[].check[].pressure", Pressure, 54e3, 110e3, "pressure of the air in the room at a check in boiling water or syrup").or("that of the height").
			usually(98500, 103000, "near the sea").
			rarely(),

		list("hand", Optional, "a person who works in the room"),
		ident("hand[].id", "short name"),
		text("hand[].name", "name on screens"),
		flag("hand[].adult", "an adult").
			mostly("ticked for those of age").
			because("The law of the place decides who is of age for hot work. Nobody else is given a boil, the slab or the rolls."),
		words("hand[].may", rig.Tasks(), "what the person may do").
			mostly("weigh, pack and clean to begin with; boil, slab and roll once shown").
			because("The shop decides who has been shown what. The plan gives nobody a task that is not ticked."),
		clock("hand[].from", "comes").or("the day's opening").
			mostly("left out by who is there all day"),
		clock("hand[].to", "leaves").or("the day's end").
			mostly("left out by who is there all day"),
	)
	return all
}
