package trouble

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/source"
)

// Finding is one thing that speaks for a cause, or against it.
type Finding struct {
	Weight int // see the weights
	Says   string
}

// The weights of findings. A cause's score is their sum.
const (
	Tells   = 3  // the record says it outright, or a figure is out of its range
	Hints   = 1  // a figure is on the edge of its band
	Against = -2 // what is written speaks against it
)

// Cause is a possible cause and what speaks of it.
type Cause struct {
	Trouble  record.Trouble
	What     string
	Look     string // what to look at
	Findings []Finding
	Score    int
	Key      source.Key
}

// Silent reports whether nothing written down tells of it, for or against.
func (c Cause) Silent() bool { return len(c.Findings) == 0 }

// Causes ranks the possible causes of a trouble by what is written: the higher score
// first; with equal scores the one in which the single strongest finding is stronger;
// then the order in which the trade looks, which is that of the table (common practice,
// no source). So causes of which nothing is written stand below those with evidence and
// above those that the record speaks against.
func Causes(t record.Trouble, e Evidence) []Cause {
	var out []Cause
	for _, c := range causes[t] {
		x := Cause{Trouble: t, What: c.what, Look: c.look, Findings: c.find(e), Key: cmp.Or(c.key, source.Practice)}
		for _, f := range x.Findings {
			x.Score += f.Weight
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(a, b Cause) int {
		return cmp.Or(cmp.Compare(b.Score, a.Score), cmp.Compare(b.strongest(), a.strongest()))
	})
	return out
}

func (c Cause) strongest() int {
	most := 0
	for _, f := range c.Findings {
		most = max(most, f.Weight)
	}
	return most
}

// cause is a row of the table.
type cause struct {
	what, look string
	find       func(e Evidence) []Finding
	key        source.Key
}

// nothing is written of some causes anywhere.
func nothing(Evidence) []Finding { return nil }

// causes is the table, in the order in which the trade looks.
var causes = map[record.Trouble][]cause{
	record.DidGrain: {
		{"seed: grained scraps cooked back, or not dissolved", "scraps dissolved in water to a clear syrup, or left out", Evidence.seeded, ""},
		{"grain left of an earlier batch", "hot wet wash of slab, scraper, hook, rolls and kettle rim", Evidence.unwashed, ""},
		{"too little doctor", "syrup or tartar weighed, and the sheet's share of it", Evidence.lean, source.TradeTexts},
		{"the kettle's sides not washed down", "lid on for a while, or a wet brush, until the boil is clear", nothing, ""},
		{"stirred or moved late", "no spoon once it boils; pour without scraping", Evidence.moved, ""},
		{"held or worked long", "pour at once; fold less, roll sooner", Evidence.slow, ""},
		{"lifted too wet", "the glass, checked high", Evidence.wet, ""},
	},
	record.DidScorch: {
		{"pan too large for the charge: a thin layer", "a fuller pan, or a smaller one", Evidence.thin, ""},
		{"long with the flame high", "flame down from the hold point up", Evidence.longFlame, ""},
		{"tartaric acid in the place of cream of tartar", "the pots of the two, and the label on each", Evidence.wrongAcid, ""},
		{"lifted too hot", "the glass, and who watched it", Evidence.hot, ""},
		{"something in it browns early", "milk, honey, invert sugar: a gentler flame, added late", Evidence.browning, ""},
		{"the glass reads too low", "a check against steam and a high one", Evidence.glassLow, ""},
		{"sugar on the sides of the pan", "wash the sides down; flame under the pan, not round it", nothing, ""},
	},
	record.TooSoft: {
		{"lifted too early", "what was read, and what the sheet says", Evidence.early, ""},
		{"wetter than the glass says", "the kettle on the scale at each lift", Evidence.wet, ""},
		{"the glass reads too high", "a check against steam and a high one", Evidence.glassHigh, ""},
		{"water with colours and flavours", "paste or powder, or earlier with the flame on", Evidence.watery, source.Practice},
		{"much invert sugar", "less tartar, a shorter boil, no wait", Evidence.inverted, source.TradeTexts},
		{"damp room", "a drier room, bags closed sooner", Evidence.damp, source.Practice},
		{"cook-back: it inverts once more", "less of it", Evidence.muchBack, ""},
	},
	record.WrongStuff: {
		{"weighed in the place of something else", "the pot, its label, its place on the shelf", Evidence.swapped, ""},
		{"white powders side by side", "apart on the shelf; the lot read off the pot", Evidence.lookAlike, ""},
		{"poured from a pot that was filled up or relabelled", "the pot's label, and what stands in it", nothing, ""},
	},
	record.Foreign: {
		{"a chip off the rolls", "each edge of the rolls, and the scraper", Evidence.rolls, source.CPG555425},
		{"a glass thermometer, a lamp, a jar", "all glass in the room, piece by piece", Evidence.glass, source.CPG555425},
		{"sieve, wire, screw, blade", "mesh and frame of the sieve; each screw; a magnet misses brass", Evidence.other, source.CPG555425},
		{"it came with an ingredient", "sack, lot and sieve of what was weighed", nothing, source.CPG555425},
		{"nobody looked, so it is not known since when", "the last batch whose rolls and glass were looked at", Evidence.unlooked, ""},
	},
	record.Dropped: {
		{"too heavy for one", "two people or a tilt stand", Evidence.heavy, ""},
		{"a wet or oily floor, a path in the way", "floor, path, shoes, gloves", nothing, ""},
	},
	record.Stopped: {
		{"machine, guard or stop", "what a check answered with no", Evidence.machine, ""},
		{"gas or power", "meter, fuse, cylinder; a fitter where the code asks for one", nothing, ""},
		{"a hand was missing", "who was where", nothing, ""},
	},
}

// say makes a finding.
func say(weight int, format string, a ...any) Finding {
	return Finding{weight, fmt.Sprintf(format, a...)}
}

// one returns a list of one finding.
func one(weight int, format string, a ...any) []Finding {
	return []Finding{say(weight, format, a...)}
}

func (e Evidence) temp(c float64) string { return e.Units.Temperature(q.Celsius(c), 0) }

// readingOff returns by how much the reading lay over what the sheet says [K], and both in
// words; false if one of them is not known.
func (e Evidence) readingOff() (over float64, says string, ok bool) {
	if e.Read == nil || e.Sheet == nil {
		return 0, "", false
	}
	return float64(*e.Read) - e.Sheet.Value, fmt.Sprintf("the glass was read at %s, the sheet says %s", e.temp(float64(*e.Read)), e.temp(e.Sheet.Value)), true
}

// beyond weighs a figure that speaks for a cause from one limit on, and outright from another.
func beyond(v, hint, tells float64, says string) []Finding {
	switch {
	case v >= tells:
		return one(Tells, "%s", says)
	case v >= hint:
		return one(Hints, "%s", says)
	}
	return nil
}

func (e Evidence) early() []Finding {
	over, says, ok := e.readingOff()
	switch {
	case !ok:
		return nil
	case over > -GlassHint:
		return one(Against, "%s", says)
	}
	return beyond(-over, GlassHint, GlassTells, says)
}

func (e Evidence) hot() []Finding {
	over, says, ok := e.readingOff()
	switch {
	case !ok:
		return nil
	case over < GlassHint:
		return one(Against, "%s", says)
	}
	return beyond(over, GlassHint, GlassTells, says)
}

// glassOff weighs the last check of the glass; sign is 1 for too high, −1 for too low.
func (e Evidence) glassOff(sign float64) []Finding {
	if e.GlassOff == nil {
		return nil
	}
	off, sure := sign*float64(*e.GlassOff), float64(e.GlassSure)
	way := map[bool]string{true: "too high", false: "too low"}[float64(*e.GlassOff) > 0]
	says := fmt.Sprintf("at its last check %s read %s %s", e.Glass, e.Units.Difference(q.Kelvins(math.Abs(float64(*e.GlassOff))), 1), way)
	switch {
	case off > sure:
		return one(Tells, "%s", says)
	case off > GlassHint:
		return one(Hints, "%s", says)
	case math.Abs(off) <= sure:
		return one(Against, "at its last check %s read as it should, within %s", e.Glass, e.Units.Difference(e.GlassSure, 1))
	}
	return one(Against, "%s", says)
}

func (e Evidence) glassHigh() []Finding { return e.glassOff(1) }
func (e Evidence) glassLow() []Finding  { return e.glassOff(-1) }

// wet holds the water that was seen against what was planned.
func (e Evidence) wet() []Finding {
	if e.Water == nil || e.Planned == nil {
		return nil
	}
	says := fmt.Sprintf("by what was seen it held %s of water, planned was %s", e.Units.SayPercent(*e.Water, 1), e.Units.SayPercent(*e.Planned, 1))
	switch {
	case e.Water.Low > e.Planned.Value && e.Water.Value > e.Planned.High:
		return one(Tells, "%s", says)
	case e.Water.Value > e.Planned.High:
		return one(Hints, "%s", says)
	}
	return one(Against, "%s", says)
}

func (e Evidence) watery() []Finding {
	if e.Coloured == nil {
		return nil
	}
	w := float64(*e.Coloured)
	if w < WetHint {
		return one(Against, "by the sheet colours and flavours bring %s of water", e.Units.Percent(*e.Coloured, 2))
	}
	return beyond(w, WetHint, WetTells, fmt.Sprintf("by the sheet colours and flavours bring %s of water; from %s on it softens", e.Units.Percent(*e.Coloured, 2), e.Units.Percent(WetHint, 1)))
}

func (e Evidence) inverted() []Finding {
	if e.Invert == nil || e.Sticky == 0 {
		return nil
	}
	says := fmt.Sprintf("invert sugar in the sweet %s; from %s on it draws damp", e.Units.SayPercent(*e.Invert, 0), e.Units.Percent(e.Sticky, 0))
	switch sticky := float64(e.Sticky); {
	case e.Invert.Value > sticky:
		return one(Tells, "%s", says)
	case e.Invert.High > sticky:
		return one(Hints, "%s", says)
	}
	return one(Against, "%s", says)
}

func (e Evidence) damp() []Finding {
	if e.Humidity == 0 {
		return nil
	}
	says := fmt.Sprintf("the room has %s of humidity by the book; %s is the most to work in", e.Units.Percent(e.Humidity, 0), e.Units.Percent(DampHint, 0))
	if float64(e.Humidity) <= DampHint {
		return one(Against, "%s", says)
	}
	return beyond(float64(e.Humidity), DampHint, DampTells, says)
}

// backMass is all that was cooked back.
func (e Evidence) backMass() (sum q.Kilograms) {
	for _, b := range e.Back {
		sum += b.Mass
	}
	return sum
}

func (e Evidence) muchBack() []Finding {
	m := e.backMass()
	if m == 0 || e.Charge <= 0 {
		return nil
	}
	share := float64(m / e.Charge)
	return beyond(share, BackHint, BackTells, fmt.Sprintf("%s was cooked back, %s of the charge", e.Units.Mass(m), e.Units.Percent(q.Fraction(share), 0)))
}

func (e Evidence) seeded() []Finding {
	var out []Finding
	for _, b := range e.Back {
		switch {
		case b.Grained:
			out = append(out, say(Tells, "%s of batch %s went in, and that batch grained", e.Units.Mass(b.Mass), b.From))
		case b.From != "":
			out = append(out, say(Hints, "%s of batch %s went in", e.Units.Mass(b.Mass), b.From))
		default:
			out = append(out, say(Hints, "%s of scraps went in, of no batch that is written", e.Units.Mass(b.Mass)))
		}
	}
	return out
}

func (e Evidence) unwashed() []Finding {
	if len(e.Unwashed) == 0 {
		return nil
	}
	return one(Tells, "batch %s grained before it, and no wash is written of all it touched", strings.Join(e.Unwashed, ", "))
}

func (e Evidence) lean() []Finding {
	switch e.Grain {
	case RiskHigh:
		return one(Tells, "%s", e.Says)
	case RiskNear:
		return one(Hints, "%s", e.Says)
	case RiskNone:
		return one(Against, "%s", e.Says)
	}
	return nil
}

func (e Evidence) moved() []Finding {
	if e.Waited == nil || e.Waited.Minutes() < WaitHint {
		return nil
	}
	return one(Hints, "%.0f min from the lift to the pour", e.Waited.Minutes())
}

func (e Evidence) slow() []Finding {
	var out []Finding
	if e.Slab != nil && e.Slab.Minutes() > SlabHint {
		out = append(out, say(Hints, "%.0f min from the pour to the first sheet", e.Slab.Minutes()))
	}
	return append(out, e.longFlame()...)
}

func (e Evidence) longFlame() []Finding {
	if e.Flame == nil || e.Lit == nil || e.Lit.Value <= 0 {
		return nil
	}
	s := e.Flame.Std().Seconds()
	says := fmt.Sprintf("the flame burned %s min, planned was %s", e.Units.Number(s/60, 0), e.Units.SayTime(*e.Lit))
	switch {
	case s > e.Lit.High && s >= FlameTells*e.Lit.Value:
		return one(Tells, "%s", says)
	case s > e.Lit.High:
		return one(Hints, "%s", says)
	}
	return one(Against, "%s", says)
}

func (e Evidence) thin() []Finding {
	if e.Charge <= 0 || e.Whole <= 0 {
		return nil
	}
	says := fmt.Sprintf("%s in a kettle for %s", e.Units.Mass(e.Charge), e.Units.Mass(e.Whole))
	switch {
	case e.Least > 0 && e.Charge < e.Least:
		return one(Tells, "%s, and %s is the least it is used for", says, e.Units.Mass(e.Least))
	case e.Charge <= SmallHint*e.Whole:
		return one(Hints, "%s", says)
	case e.Charge >= FullEnough*e.Whole:
		return one(Against, "%s", says)
	}
	return nil
}

func (e Evidence) wrongAcid() []Finding {
	var out []Finding
	for _, a := range e.Acids {
		out = append(out, say(Tells, "%s was weighed into the charge, and the sheet has none there", a))
	}
	return out
}

func (e Evidence) browning() []Finding {
	if len(e.Browns) == 0 {
		return nil
	}
	return one(Hints, "%s in it", strings.Join(e.Browns, ", "))
}

func (e Evidence) swapped() []Finding {
	var out []Finding
	for _, p := range e.Put {
		switch {
		case p.Instead != "":
			out = append(out, say(Tells, "%s was weighed in the place of %s: %s", p.Name, p.Instead, p.Why))
		default:
			out = append(out, say(Tells, "%s was weighed, and the sheet has none", p.Name))
		}
	}
	return out
}

func (e Evidence) lookAlike() []Finding {
	if len(e.Picked) == 0 {
		return nil
	}
	return one(Hints, "the lot of %s was picked from a list, not read off the pot", strings.Join(e.Picked, ", "))
}

// all is a finding of each of a list.
func all(weight int, list []string) []Finding {
	var out []Finding
	for _, x := range list {
		out = append(out, Finding{weight, x})
	}
	return out
}

func (e Evidence) rolls() []Finding {
	return append(all(Tells, e.RollsBad), all(Hints, e.Metal)...)
}

func (e Evidence) other() []Finding {
	return append(all(Hints, e.Metal), all(Hints, e.OtherBad)...)
}

func (e Evidence) glass() []Finding    { return all(Tells, e.GlassBad) }
func (e Evidence) unlooked() []Finding { return all(Hints, e.Unlooked) }
func (e Evidence) machine() []Finding  { return all(Tells, e.StopBad) }

func (e Evidence) heavy() []Finding {
	if e.Heavy <= 0 || e.PourAlone <= 0 || e.TiltStand {
		return nil
	}
	says := fmt.Sprintf("%s in the kettle at the lift; above %s two people pour", e.Units.Mass(e.Heavy), e.Units.Mass(e.PourAlone))
	if e.Heavy > e.PourAlone {
		return one(Hints, "%s", says)
	}
	return one(Against, "%s", says)
}
