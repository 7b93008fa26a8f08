package book

import "slabside/internal/rig"

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
		amount("kettle[].volume", Volume, 1, 200, "volume to the brim"),
		amount("kettle[].foam_room", Share, 0.05, 0.8, "share of the volume kept free for foam"),
		amount("kettle[].least_charge", Mass, 0.2, 150, "least charge that boils well"),
		amount("kettle[].usual_charge", Mass, 0.2, 150, "charge of a whole boil, water included"),
		amount("kettle[].burner", Power, 500, 100e3, "heat of the burner"),
		amount("kettle[].efficiency", Share, 0.05, 0.95, "share of it that reaches the sugar"),
		amount("kettle[].efficiency_low", Share, 0.05, 0.95, "low end of the efficiency, 5 % point").or("10 points below"),
		amount("kettle[].efficiency_high", Share, 0.05, 0.95, "high end of the efficiency, 95 % point").or("10 points above"),
		amount("kettle[].mass", Mass, 0.2, 100, "mass of the empty pan"),
		amount("kettle[].smear", Mass, 0, 2, "sugar left in it after scraping"),
		word("kettle[].material", materials, "what it is made of"),
		word("kettle[].lining", materials, "what lines it").or("no lining"))
	add(tested("kettle[]")...)
	add(flag("kettle[].tilt_stand", "pours from a tilt stand").or("false"),
		flag("kettle[].trials_only", "kept out of the day's plan").or("false"),

		list("slab", Optional, "a cooling table"),
		ident("slab[].id", "short name"),
		text("slab[].name", "name on screens"),
		amount("slab[].length", Length, 0.2, 6, "length"),
		amount("slab[].width", Length, 0.2, 3, "width"),
		word("slab[].material", materials, "what it is made of"),
		word("slab[].cooling", []string{"channels", "tank"}, "how it is cooled").or("not cooled"),
		flag("slab[].trials_only", "kept out of the day's plan").or("false"),

		list("hook", Optional, "a pulling hook or machine"),
		ident("hook[].id", "short name"),
		text("hook[].name", "name on screens"),
		amount("hook[].most", Mass, 0.2, 25, "largest pull at once"),

		list("machine", Optional, "a drop machine that takes pairs of rolls"),
		ident("machine[].id", "short name"),
		text("machine[].name", "name on screens"),
		amount("machine[].roll_kg_min", Number, 0.1, 10, "kilograms rolled a minute").or("the room's rate"),
		amount("machine[].hands", Count, 1, 3, "people who work at it while it rolls").or("2, one who feeds and turns and one who takes the sheets off"),
		text("machine[].guard", "what guards the nip, and who judged it").or("none recorded"),
		flag("machine[].stop_in_reach", "a stop within reach of who feeds it"),

		list("rolls", Optional, "a pair of engraved rolls"),
		ident("rolls[].id", "short name"),
		text("rolls[].name", "name on screens"),
		amount("rolls[].piece", Mass, 0.1e-3, 50e-3, "mass of one clear piece; this or pieces_per_lb").or("from pieces_per_lb"),
		amount("rolls[].pieces_per_lb", Number, 9, 4540, "clear pieces to the pound; this or piece").or("from piece"),
		amount("rolls[].piece_sd", Share, 0.001, 0.25, "spread of the mean piece from day to day, by setting and sheet").or("3 %"),
		word("rolls[].material", materials, "what they are made of"))
	add(tested("rolls[]")...)
	add(amount("rolls[].change", Duration, 0.5*minute, 120*minute, "to change to this pair"),

		list("board", Optional, "a feeding board beside the rolls"),
		ident("board[].id", "short name"),
		text("board[].name", "name on screens"),
		flag("board[].lamp", "warmed by a lamp").or("false"),
		amount("board[].most", Mass, 0.5, 60, "sugar it holds"),

		list("bench", Optional, "where sheets cool and are broken"),
		ident("bench[].id", "short name"),
		text("bench[].name", "name on screens"),
		amount("bench[].most", Mass, 0.5, 200, "sheets it holds"),

		list("sieve", Optional, "takes out chips and dust"),
		ident("sieve[].id", "short name"),
		text("sieve[].name", "name on screens"),
		amount("sieve[].aperture", Length, 0.5e-3, 20e-3, "width of the holes"),

		list("scale", Optional, "a scale"),
		ident("scale[].id", "short name"),
		text("scale[].name", "name on screens"),
		amount("scale[].capacity", Mass, 0.05, 500, "most it weighs"),
		amount("scale[].resolution", Mass, 1e-6, 0.1, "smallest step it shows"),
		flag("scale[].trade_approved", "approved and verified for trade").or("false"),

		list("glass", Optional, "a thermometer"),
		ident("glass[].id", "short name"),
		text("glass[].name", "name on screens"),
		amount("glass[].offset", Difference, -15, 15, "how much too high it reads at the end of the boil, below zero if too low"),
		amount("glass[].class", Difference, 0.1, 10, "± tolerance at 150 °C"),
		amount("glass[].division", Difference, 0.01, 5, "smallest step that can be read"),
		date("glass[].checked_on", "date of the last check").or("never"),
		amount("glass[].checked_at", Temperature, 0, 250, "highest temperature it was checked at").or("never"),
		list("glass[].check", Optional, "a check; what the checks find is laid over the offset and the class"),
		date("glass[].check[].on", "date"),
		word("glass[].check[].against", rig.Knowns(), "checked in what"),
		amount("glass[].check[].read", Temperature, -20, 250, "what the glass read"),
		amount("glass[].check[].true", Temperature, 0, 250, "what the reference read").or("melting ice and boiling water are known"),
		amount("glass[].check[].sure", Difference, 0.01, 5, "± the reference is good to").or("0.45 K, a probe of the best class"),
		amount("glass[].check[].pressure", Pressure, 54e3, 110e3, "pressure of the air in the room at a boiling-water check").or("that of the height"),

		list("hand", Optional, "a person who works in the room"),
		ident("hand[].id", "short name"),
		text("hand[].name", "name on screens"),
		flag("hand[].adult", "an adult"),
		words("hand[].may", rig.Tasks(), "what the person may do"),
		clock("hand[].from", "comes").or("the day's opening"),
		clock("hand[].to", "leaves").or("the day's end"),
	)
	return all
}
