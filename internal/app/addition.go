package app

import (
	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// AdditionLine is what one addition brings to the sweet, loses and does. Shares are of
// the finished mass of its portion, or of the whole boil.
type AdditionLine struct {
	Ingredient string `json:"ingredient"`
	Name       string `json:"name"`
	Spirit     bool   `json:"spirit"` // it holds spirit, which counts with its water
	Form       string `json:"form"`   // liquid, paste, powder, oil, solid
	Stage      string `json:"stage"`
	Portion    string `json:"portion,omitempty"`

	DoseFrac    q.Estimate  `json:"dose_frac"`
	AtC         *q.Estimate `json:"at_c"`         // of the sugar it goes into; null in the boil itself
	BroughtFrac q.Estimate  `json:"brought_frac"` // water and spirit it brings
	FlashedFrac q.Estimate  `json:"flashed_frac"` // of that, what leaves
	LeftFrac    q.Estimate  `json:"left_frac"`    // of that, what stays
	SoftensK    *q.Estimate `json:"softens_k"`    // by so much less the sweet stands up to
	StirS       *q.Estimate `json:"stir_s"`
	StaysFrac   *q.Estimate `json:"stays_frac"`    // of an oil: its share that stays
	InSweetFrac *q.Estimate `json:"in_sweet_frac"` // of an oil: its share of the sweet
	DoseTimes   *q.Estimate `json:"dose_times"`    // what is wanted in the sweet times this is weighed

	InWindow bool     `json:"in_window"`
	When     string   `json:"when"`   // when it goes in by practice, in a few words; empty: when you like
	Window   string   `json:"window"` // the same with what it is for
	Says     []Said   `json:"says"`   // the figures, for people
	Does     []string `json:"does"`   // what else there is to say
	Sources  []string `json:"sources"`
}

// Said is a figure as it is printed.
type Said struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// additionLines turns additions into lines for people.
func additionLines(list []boil.Addition, u q.Reader) []AdditionLine {
	out := []AdditionLine{}
	for _, a := range list {
		l := AdditionLine{Ingredient: a.Ingredient, Name: a.Name, Spirit: a.Spirit, Form: string(a.Form), Stage: string(a.Stage), Portion: a.Portion,
			DoseFrac: a.DoseFrac, AtC: a.AtC, BroughtFrac: a.BroughtFrac, FlashedFrac: a.FlashedFrac, LeftFrac: a.LeftFrac,
			SoftensK: a.SoftensK, StirS: a.StirS, StaysFrac: a.StaysFrac, InSweetFrac: a.InSweetFrac, DoseTimes: a.DoseTimes,
			InWindow: a.InWindow, When: a.When, Window: a.Window, Does: append([]string{}, a.Does...), Sources: source.Strings(a.Sources...)}
		l.Says = l.say(u)
		out = append(out, l)
	}
	return out
}

// leastWater is the water, as a share of the sweet, below which nothing is said of it: half
// of the last place that is printed.
const leastWater = 5e-5

// say prints the figures of a line.
func (l AdditionLine) say(u q.Reader) []Said {
	out := []Said{}
	add := func(name, text string) { out = append(out, Said{name, text}) }
	if l.AtC != nil {
		add("goes in at", u.SayTemperature(*l.AtC, 0))
	}
	if l.When != "" {
		add("practice has it", l.When)
	}
	if l.StirS != nil {
		add("stirred in for", u.SaySeconds(*l.StirS))
	}
	if l.BroughtFrac.Value >= leastWater {
		wet := "water"
		if l.Spirit {
			wet += " and spirit"
		}
		add(wet+" it brings", u.SayPoints(l.BroughtFrac, 2))
		add("of it flashes off", u.SayPoints(l.FlashedFrac, 2))
		add("of it stays", u.SayPoints(l.LeftFrac, 2))
		if l.SoftensK != nil && l.AtC != nil {
			add("for it stands up to less by", u.SayDifference(*l.SoftensK, 1))
		}
	}
	if l.StaysFrac != nil {
		add("of the oil stays", u.SayPercent(*l.StaysFrac, 0))
		add("in the sweet", u.SayPPM(*l.InSweetFrac))
		add("to weigh, of what shall stay", u.SayTimes(*l.DoseTimes, 2))
	}
	return out
}

// CookedBack is what a long row of boils does that take a share of their sugar from the
// boil before.
type CookedBack struct {
	ShareFrac q.Number    `json:"share_frac"`
	Reboils   q.Number    `json:"reboils"` // how often the sugar has been boiled again, on average
	Times     *q.Estimate `json:"times"`   // so many times as much is inverted as in a boil of fresh sugar
	AcidKg    q.Number    `json:"acid_kg"` // acid that comes back into the boil

	BicarbonateKg q.Number `json:"bicarbonate_kg"` // would neutralise it
}

func cookedBack(c *boil.CookedBack) *CookedBack {
	if c == nil {
		return nil
	}
	return &CookedBack{ShareFrac: q.Number(c.Share), Reboils: q.Number(c.Reboils), Times: c.Times, AcidKg: q.Number(c.AcidKg), BicarbonateKg: q.Number(c.BicarbonateKg)}
}
