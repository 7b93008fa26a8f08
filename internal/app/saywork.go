package app

import (
	"fmt"
	"strings"

	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// KindName names a kind of entry as a maker does.
func KindName(k record.Kind) string {
	switch k {
	case record.Weighing:
		return "weighed in"
	case record.CookingBack:
		return "cook-back used"
	case record.Checking:
		return "checks before the flame"
	case record.Timing:
		return "at the slab"
	case record.Lifting:
		return "the lift"
	case record.Working:
		return "slab and rolls"
	case record.Troubling:
		return "trouble"
	case record.Placing:
		return "what becomes of it"
	case record.Making:
		return "what came of it"
	case record.Finding:
		return "a find"
	case record.Ending:
		return "rolls and glass after"
	case record.Cleaning:
		return "cleaning"
	case record.Moist:
		return "a moisture"
	case record.Tasting:
		return "tasting"
	case record.Noting:
		return "a tap that could not be written"
	case record.Signing:
		return "signed off"
	}
	return string(k)
}

// KindNames names kinds of entries, one after the other.
func KindNames[K ~string](kinds []K) string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = KindName(record.Kind(k))
	}
	return strings.Join(out, ", ")
}

// CheckName names a check before the flame in the words that a yes answers.
func CheckName(x record.Item) string {
	switch x {
	case record.MachineSeated:
		return "machine seated and locked"
	case record.GuardsOn:
		return "guards on"
	case record.StopWorks:
		return "stop in reach and tried"
	case record.RollsWhole:
		return "rolls whole"
	case record.GlassWhole:
		return "glass and brittle plastic whole"
	case record.HoodOn:
		return "hood on and make-up air open"
	case record.AlarmWorks:
		return "carbon monoxide alarm tried"
	case record.WaterOn:
		return "water on"
	case record.AllergenClean:
		return "allergen clean done and verified"
	}
	return string(x)
}

// MadeName names a line of what was made, or of its balance.
func MadeName(what string) string {
	switch what {
	case "sound":
		return "sound pieces"
	case "ends":
		return "ends"
	case "web":
		return "web and spoiled sheets"
	case "siftings":
		return "chips and dust"
	case "left":
		return "left on the slab"
	case "scraps":
		return "scraps: ends, web, chips and dust"
	}
	return what
}

// SayMade prints a figure of what was made in its unit.
func SayMade(u q.Reader, unit string, e q.Estimate) string {
	if unit == "kg" {
		return u.SayMass(e)
	}
	return u.SayCount(e, unit)
}

// SayWork says what an entry writes down of the work around a boil, part by part; nil of
// the other kinds.
func SayWork(u q.Reader, e record.Entry) []string {
	switch {
	case e.Weighed != nil:
		return sayWeighed(u, *e.Weighed)
	case e.CookedBack != nil:
		out := mass(u, e.CookedBack.MassMg) + " cooked back"
		if e.CookedBack.From != "" {
			out += " of batch " + e.CookedBack.From
		}
		return []string{out}
	case e.Checked != nil:
		return sayChecked(*e.Checked)
	case e.Made != nil:
		return sayMade(u, *e.Made)
	case e.Found != nil:
		f := e.Found
		return []string{fmt.Sprintf("found, %s: %s", f.Of, f.What), "where: " + f.Where, "done: " + f.Done}
	case e.After != nil:
		var out []string
		if e.After.Rolls != "" {
			out = append(out, "rolls whole after: "+string(e.After.Rolls))
		}
		if e.After.Glass != "" {
			out = append(out, "glass whole after: "+string(e.After.Glass))
		}
		return out
	case e.Cleaned != nil:
		c := e.Cleaned
		out := fmt.Sprintf("%s: %s by %s", c.Surface, c.Kind, c.By)
		switch {
		case c.Verified != "":
			return []string{out, "verified by " + c.Verified}
		case !c.Counts():
			return []string{out, "verified by nobody: it does not count"}
		}
		return []string{out}
	case e.Tasted != nil:
		var out []string
		for _, w := range e.Tasted.Words {
			out = append(out, string(w))
		}
		if e.Tasted.Note != "" {
			out = append(out, e.Tasted.Note)
		}
		return out
	case e.Moment != nil:
		return []string{sayMoment(*e.Moment, u)}
	case e.Noted != nil:
		return []string{"tapped while nobody heard, and not written: " + e.Noted.Why, "to be read by somebody, who writes what is true"}
	case e.Troubled != nil:
		out := []string{"TROUBLE: " + string(e.Troubled.What)}
		if e.Troubled.When != "" {
			out = append(out, "at "+e.Troubled.When)
		}
		if e.Troubled.Note != "" {
			out = append(out, e.Troubled.Note)
		}
		return out
	case e.Placed != nil:
		out := []string{SayPlace(e.Placed.As)}
		if e.Placed.Why != "" {
			out = append(out, e.Placed.Why)
		}
		return out
	case e.Signed != nil:
		out := []string{fmt.Sprintf("signed off up to act %d", e.Signed.Through)}
		if e.Signed.Note != "" {
			out = append(out, e.Signed.Note)
		}
		return out
	}
	return nil
}

// SayPlace says what may be done with a batch.
func SayPlace(p record.Place) string {
	switch p {
	case record.Free:
		return "may be used"
	case record.OnHold:
		return "ON HOLD"
	case record.Reboiled:
		return "boiled again"
	case record.Relabel:
		return "sold under another label"
	case record.Diverted:
		return "sold as something else"
	case record.Binned:
		return "thrown away"
	}
	return string(p)
}

func mass(u q.Reader, mg int64) string { return u.Mass(q.Kilograms(kg(mg))) }

func sayWeighed(u q.Reader, w record.Weighed) []string {
	out := []string{mass(u, w.MassMg) + " of " + w.Ingredient + intoSaid(w.Stage, w.Portion)}
	if w.Lot != "" {
		out[0] += " out of " + w.Lot
	}
	if w.Strength != 0 {
		out[0] += ", a solution of " + u.Percent(q.Fraction(w.Strength), 2) + ": " + mass(u, w.DoseMg()) + " of it"
	}
	if w.Scanned {
		out[0] += ", scanned"
	}
	if w.Instead != "" {
		out = append(out, "in the place of "+w.Instead)
	}
	if w.Second != "" {
		out = append(out, w.Second+" looked too")
	}
	if w.Why != "" {
		out = append(out, w.Why)
	}
	return out
}

// sayChecked says the answers that are no first, by themselves.
func sayChecked(c record.Checked) []string {
	said := map[record.Says][]string{}
	for _, x := range c.Checks {
		name := CheckName(x.Item)
		if x.By != "" {
			name += " by " + x.By
		}
		said[x.Says] = append(said[x.Says], name)
	}
	var out []string
	for _, says := range []record.Says{record.No, record.Yes, record.NotHere} {
		if list := said[says]; len(list) > 0 {
			out = append(out, strings.ToUpper(string(says))+": "+strings.Join(list, ", "))
		}
	}
	return out
}

func sayMade(u q.Reader, m record.Made) []string {
	var out []string
	say := func(there bool, format string, a ...any) {
		if there {
			out = append(out, fmt.Sprintf(format, a...))
		}
	}
	say(m.PouredAt != "", "poured at %s", m.PouredAt)
	say(m.EdgeAt != "", "edge lifted at %s", m.EdgeAt)
	say(m.RolledFrom != "", "first sheet at %s", m.RolledFrom)
	say(m.RolledTo != "", "last sheet at %s", m.RolledTo)
	say(m.Turns > 0, "%d turns", m.Turns)
	say(m.Sheets > 0, "%d sheets", m.Sheets)
	say(m.Pieces > 0, "%s pieces counted", u.Number(float64(m.Pieces), 0))
	say(m.SampleN > 0, "%d pieces weigh %s", m.SampleN, mass(u, m.SampleMg))
	for _, x := range []struct {
		what string
		mg   int64
	}{{"sound", m.SoundMg}, {"ends", m.EndsMg}, {"web", m.WebMg}, {"siftings", m.SiftingsMg}, {"left", m.LeftMg}, {"waste", m.WasteMg}} {
		say(x.mg > 0, "%s %s", MadeName(x.what), mass(u, x.mg))
	}
	say(m.CookBackMg > 0, "of the scraps %s kept to be cooked back", mass(u, m.CookBackMg))
	return out
}

// MomentName says what happened, as a maker does.
func MomentName(h record.Happening) string {
	switch h {
	case record.Lit:
		return "flame lit"
	case record.Boils:
		return "dissolved, and boils"
	case record.WashedDown:
		return "sides washed down"
	case record.GlassIn:
		return "glass hung in"
	case record.FlameOff:
		return "flame off"
	case record.EdgeUp:
		return "edge lifts clean"
	case record.AcidIn:
		return "acid folded in"
	case record.Kneaded:
		return "folded, kneading"
	case record.FirstSheet:
		return "first good sheet"
	case record.LastSheet:
		return "last good sheet"
	case record.Cracked:
		return "cracked: gone short"
	case record.Sticks:
		return "sticks: too soft"
	case record.Looked:
		return "read"
	}
	return string(h)
}

// sayMoment is a moment in words, its reading with it.
func sayMoment(m record.Moment, u q.Reader) string {
	if m.What != record.Looked {
		return MomentName(m.What)
	}
	out := fmt.Sprintf("read %s in the %s", u.Temperature(q.Celsius(m.ReadC), 1), m.At)
	if m.At == record.AtSlab {
		out = fmt.Sprintf("read %s on the slab", u.Temperature(q.Celsius(m.ReadC), 1))
	}
	if m.Glass != "" {
		out += ", glass " + m.Glass
	}
	return out
}
