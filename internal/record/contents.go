package record

import (
	"slices"

	"slabside/internal/source"
)

// Rule is one thing that a record rule asks for.
type Rule struct {
	Law    string     // the rule and its place
	Asks   string     // what is to be written
	Source source.Key // where the rule is read
	Field  string     // where a record keeps it, as in its JSON; empty: nowhere
	Else   string     // why nowhere, and where it belongs

	there func(r Record) bool
}

// Covers reports whether a record has a place for what the rule asks.
func (x Rule) Covers() bool { return x.Field != "" }

// Written reports whether it is written in a record.
func (x Rule) Written(r Record) bool { return x.there != nil && x.there(r) }

func anyOf(kinds ...Kind) func(Record) bool {
	return func(r Record) bool {
		for _, k := range kinds {
			if _, ok := r.Stands(k); ok {
				return true
			}
		}
		return false
	}
}

// every reports whether something holds of all entries of a record that has some.
func every(holds func(k Kept) bool) func(Record) bool {
	return func(r Record) bool {
		return len(r.Entries) > 0 && !slices.ContainsFunc(r.Entries, func(k Kept) bool { return !holds(k) })
	}
}

func begun(holds func(b Begun) bool) func(Record) bool {
	return func(r Record) bool { b := r.Begun(); return b != nil && holds(*b) }
}

const (
	usRecords = "US 21 CFR 117.305"
	usMaking  = "US 21 CFR 117 subpart B"
	usTrace   = "US 21 CFR 1.337, 1.345"
	euTrace   = "EU 178/2002 art. 18"
)

// Rules lists what the record rules of the markets ask of what is written while sweets
// are made, item by item. What a batch's record has no place for is in it too, with
// the reason. The texts are recalled and to be confirmed; the authority decides.
func Rules() []Rule {
	return []Rule{
		{usRecords, "the values and observations themselves", source.CFR117, "lifted, worked, made, moisture, tasted", "", anyOf(Lifting, Working, Making, Moist, Tasting)},
		{usRecords, "written when the work is done", source.CFR117, "at, received", "", every(func(k Kept) bool { return !k.At.IsZero() && !k.Received.IsZero() })},
		{usRecords, "the date, and the time where it matters", source.CFR117, "at", "", every(func(k Kept) bool { return !k.At.IsZero() })},
		{usRecords, "signature or initials of the one who did it", source.CFR117, "person", "", every(func(k Kept) bool { return k.Person != "" })},
		{usRecords, "the product", source.CFR117, "begun.recipe", "", begun(func(b Begun) bool { return b.Recipe != "" })},
		{usRecords, "the lot code", source.CFR117, "batch", "", begun(func(Begun) bool { return true })},
		{usRecords, "the plant, by name and place", source.CFR117, "begun.book", "", begun(func(b Begun) bool { return b.Book > 0 })},
		{usRecords, "accurate, and not to be wiped out", source.CFR117, "act, corrects_act", "", every(func(k Kept) bool { return k.Act > 0 })},
		{"US 21 CFR 117.315", "kept for 2 years", source.CFR117, "act", "", every(func(k Kept) bool { return k.Act > 0 })},
		{usMaking, "rolls and sieve looked at, so that no metal gets in", source.CFR117, "checked.rolls, after.rolls", "", func(r Record) bool {
			return r.Checked().Of(RollsWhole).Says != "" && r.After() != nil && r.After().Rolls != ""
		}},
		{usMaking, "glass and brittle plastic looked at", source.CFR117, "checked.glass, after.glass", "", func(r Record) bool {
			return r.Checked().Of(GlassWhole).Says != "" && r.After() != nil && r.After().Glass != ""
		}},
		{usMaking, "surfaces cleaned, by whom", source.CFR117, "cleaned.surface, cleaned.by", "", func(r Record) bool {
			return slices.ContainsFunc(r.All(Cleaning), func(k Kept) bool { return k.Cleaned.By != "" })
		}},
		{usMaking, "no allergen carried over: clean done and verified", source.CFR117, "checked.allergen clean, cleaned.verified_by", "", func(r Record) bool {
			says := r.Checked().Of(AllergenClean).Says
			return says == Yes || says == NotHere || slices.ContainsFunc(r.All(Cleaning), func(k Kept) bool { return k.Cleaned.Kind == AllergenCleaned && k.Cleaned.Counts() })
		}},
		{usMaking, "rework: what was cooked back, and out of which batch", source.CFR117, "cooked_back.mass_mg, cooked_back.from", "", func(r Record) bool {
			list := r.All(CookingBack)
			return len(list) > 0 && !slices.ContainsFunc(list, func(k Kept) bool { return k.CookedBack.From == "" })
		}},
		{usMaking, "read and signed by somebody who answers for it", source.CFR117, "signed", "", anyOf(Signing)},
		{"US FDA CPG 555.425", "hard or sharp things found, and what was done", source.CPG555425, "found", "", anyOf(Finding)},
		{usTrace, "lot or code of each ingredient that went in", source.CFR1J, "weighed.lot", "", func(r Record) bool {
			return slices.ContainsFunc(r.All(Weighing), func(k Kept) bool { return k.Weighed.Lot != "" })
		}},
		{usTrace, "supplier's name, address and telephone", source.CFR1J, "", "the stores keep the name, the mark and the day with each lot; address and telephone belong to what is bought", nil},
		{usTrace, "to whom it was released, how packed, by which carrier", source.CFR1J, "", "the packing keeps the number of the order or parcel with each lot of bags; name and carrier belong to what is shipped", nil},
		{euTrace, "who supplied what went in: one step back", source.Reg1782002, "", "the stores keep it with each lot; the trace of the batch leads there", nil},
		{euTrace, "which business got it: one step forward", source.Reg1782002, "", "the packing keeps the number of the order with each lot of bags; the trace of the batch leads there", nil},
		{"UK SI 2006/659 reg. 9", "weight checks of what is packed", source.SI2006659, "", "the packing keeps what the scale showed of bags that were weighed once more", nil},
		{"CA SOR/2018-108 ss. 84, 90 to 92", "trace documents, and a recall rehearsed each year", source.SOR2018108, "", "belongs to what is packed and shipped", nil},
	}
}
