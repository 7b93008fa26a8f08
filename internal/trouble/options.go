package trouble

import (
	"slices"

	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/source"
)

// Between these a dissolved syrup waits (source key practice).
const (
	WaitsFrom q.Celsius = 105
	WaitsTo   q.Celsius = 115
)

// Facts are what the options of a batch hang on beside its troubles.
type Facts struct {
	Units   q.Reader // for whom the texts are printed
	Lifted  bool     // the kettle has left the fire
	Sours   bool     // a doctor in it goes on inverting while it waits
	WentIn  []string // names of what went in that the sheet does not have; none: nothing is written of it
	Brings  []string // allergens of these that the sweet does not have on its label
	Unknown bool     // nobody has stated the allergens of one of these
}

// Option is one thing that may become of a batch.
type Option struct {
	As      record.Place
	Open    bool
	Why     string   // how it is done, or why it is closed
	Reasons []string // what is usually written beside it; none for what is closed
	Key     source.Key
}

// order is that in which the options are offered; what is good again comes last.
var order = []record.Place{record.OnHold, record.Reboiled, record.Relabel, record.Diverted, record.Binned, record.Free}

// rule opens or closes an option in a trouble.
type rule struct {
	open bool
	why  string
}

func yes(why string) rule { return rule{true, why} }
func no(why string) rule  { return rule{false, why} }

// rules is the table: common practice, no source, but for metal and glass, of which hard
// or sharp pieces of 7 to 25 mm are actionable (source key cpg555-425). To hold is
// open in every trouble; what is not here is closed.
var rules = map[record.Trouble]map[record.Place]rule{
	record.DidGrain: {
		record.Reboiled: yes("dissolve all of it in water to a clear syrup and boil that; never melted dry, never as scraps into a sugar batch"),
		record.Relabel:  no("the label is right and the sweet is not: it goes on graining in the bag"),
		record.Diverted: yes("as a grained sweet or as crumb, under a name and label of its own, if the shop has one"),
		record.Binned:   yes("weigh it and write it down as waste"),
		record.Free:     no("it goes on graining; if it did not grain after all, take the trouble back"),
	},
	record.DidScorch: {
		record.Reboiled: no("burnt sugar does not boil out: specks and bitterness stay"),
		record.Relabel:  no("no label makes it good"),
		record.Diverted: no("it is burnt whatever it is sold as"),
		record.Binned:   yes("cold, in one piece; weigh it and write it down as waste"),
		record.Free:     no("it is burnt; if it was not, take the trouble back"),
	},
	record.TooSoft: {
		record.Reboiled: yes("dissolve it in water and boil it up anew; allergens, colour and flavour go with it, and it inverts once more"),
		record.Relabel:  yes("with a nearer best-before, once a person has entered what it rests on"),
		record.Diverted: yes("sold over the counter soon, not posted, not into the store"),
		record.Binned:   yes("weigh it and write it down as waste"),
		record.Free:     yes("if it stands up after all: a piece left in the warmest place of the store keeps its edges"),
	},
	record.WrongStuff: {
		record.Binned: yes("closed up, so that nobody tastes it; weigh it and write it down as waste"),
		record.Free:   no("what went in is not on its label; if nothing wrong went in, take the trouble back"),
	},
	record.Foreign: {
		record.Reboiled: no("never cooked back: metal and glass do not dissolve, and nobody sees them in syrup"),
		record.Relabel:  no("no label makes it fit to eat"),
		record.Diverted: no("never sieved and sold: what passes a sieve is what cuts"),
		record.Binned:   yes("closed up, with the pieces kept apart for whoever looks into it"),
		record.Free:     no("nothing of it is sold; if the piece was found whole before it went in, take the trouble back"),
	},
	record.Dropped: {
		record.Reboiled: no("what touched the floor is waste, boiled or not"),
		record.Relabel:  no("what touched the floor is waste"),
		record.Diverted: no("what touched the floor is waste"),
		record.Binned:   yes("all that touched the floor; weigh it and write it down as waste"),
		record.Free:     yes("for what did not touch the floor, parted from the rest at once"),
	},
	record.Stopped: {
		record.Relabel:  no("its label is right as far as it is made"),
		record.Diverted: yes("what is in sheets, sold as what it is"),
		record.Binned:   yes("what has gone dark or lies cold in the rolls; weigh it and write it down as waste"),
		record.Free:     yes("what was rolled before it stopped, if rolls and glass are whole"),
	},
}

// reasons are what is usually written beside a place, in every trouble.
var reasons = map[record.Place][]string{
	record.OnHold:   {"to be looked at when cold", "to be measured", "the owner decides"},
	record.Reboiled: {"dissolved in water, boiled up clear"},
	record.Relabel:  {"label checked: all it holds is on it"},
	record.Diverted: {"sold as what it is", "sold over the counter first"},
	record.Binned:   {"weighed and thrown away"},
	record.Free:     {"looked at: it is good", "parted from what is not good"},
}

// ruleOf is the rule of an option in a trouble, by the facts where it hangs on them.
func ruleOf(t record.Trouble, as record.Place, f Facts) rule {
	switch {
	case as == record.OnHold:
		return yes("nothing of it is packed, sold or cooked back before somebody has looked")
	case t == record.WrongStuff:
		if r, ok := f.wrong(as); ok {
			return r
		}
	case t == record.Stopped && as == record.Reboiled:
		return f.stopped()
	}
	if r, ok := rules[t][as]; ok {
		return r
	}
	return no("nobody does that in this trouble")
}

// wrong is what may become of a batch into which another thing went.
func (f Facts) wrong(as record.Place) (rule, bool) {
	unknown := "unknown is not none: write down first what went in"
	switch {
	case as != record.Reboiled && as != record.Relabel && as != record.Diverted:
		return rule{}, false
	case len(f.WentIn) == 0:
		return no("it is not written what went in, and " + unknown), true
	case f.Unknown:
		return no("nobody has stated the allergens of what went in, and unknown is not none"), true
	case as == record.Reboiled && len(f.Brings) > 0:
		return no("an allergen that is on no label would go on into the next sweet"), true
	case as == record.Reboiled:
		return yes("dissolved in water, into a sweet that has the same in it and on its label"), true
	case as == record.Diverted:
		return yes("as a sweet of its own, if all in it is allowed in one and stands on its label; the authority decides"), true
	}
	return yes("only if all in it is allowed in a sweet, and ingredients and allergens stand on the label as the law of the market asks; the authority decides"), true
}

// stopped is whether a boil that stopped is boiled on: a dissolved syrup waits between
// [WaitsFrom] and [WaitsTo], a hot one cannot.
func (f Facts) stopped() rule {
	switch {
	case f.Lifted:
		return yes("it has gone stiff: dissolve it in water and boil it up anew; never heat it dry")
	case f.Sours:
		return yes("boil on only if it stood below " + f.Units.Temperature(WaitsTo, 0) + ", and soon: its doctor goes on inverting while it waits; hotter, leave it to go cold, dissolve it in water and boil anew")
	}
	return yes("boil on if it stood at " + f.Units.TemperatureRange(WaitsFrom, WaitsTo, 0) + "; hotter, leave it to go cold, dissolve it in water and boil anew")
}

// Options returns what may become of a batch in its troubles, each open or closed, and why.
// What one trouble closes is closed. Without a trouble there is none.
func Options(troubles []record.Trouble, f Facts) []Option {
	if len(troubles) == 0 {
		return nil
	}
	var out []Option
	for _, as := range order {
		o := Option{As: as, Open: true, Key: source.Practice}
		for _, t := range troubles {
			r := ruleOf(t, as, f)
			if !r.open {
				o.Open, o.Why = false, r.why
				if t == record.Foreign {
					o.Key = source.CPG555425
				}
				break
			}
			if o.Why == "" {
				o.Why = r.why
			}
		}
		if o.Open {
			o.Reasons = slices.Clone(reasons[as])
			if as == record.Binned {
				for _, t := range troubles {
					o.Reasons = append(o.Reasons, string(t))
				}
			}
		}
		out = append(out, o)
	}
	return out
}

// Allowed returns the option of a place; false if the troubles do not know it.
func Allowed(list []Option, as record.Place) (Option, bool) {
	i := slices.IndexFunc(list, func(o Option) bool { return o.As == as })
	if i < 0 {
		return Option{}, false
	}
	return list[i], true
}
