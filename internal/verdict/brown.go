package verdict

import (
	"fmt"
	"math"
	"strings"

	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// brownsAt is the temperature of the sugar up to which it stays clear; ten degrees on
// it is brown (source key stage-table).
const brownsAt = 160 // °C

// browns is a caution by the end of the boil alone: how fast sugar browns nobody has
// put in figures that hold for a kettle.
func (in Inputs) browns() Verdict {
	u, e := in.Units, in.Boil.BoilC
	v := Verdict{Question: Browns, Answer: over(e, brownsAt), FigureC: &e, Decides: []string{}, Moves: []string{}, Sources: source.Strings(source.StageTable)}
	v.Limits = []Limit{{Name: "stays clear to", C: number(brownsAt), Answer: v.Answer, Source: source.StageTable}}
	v.Text = fmt.Sprintf("ends at %s; sugar stays clear to %s", u.SayTemperature(e, 0), u.Temperature(brownsAt, 0))
	if list := in.Boil.Browns; len(list) > 0 && v.Answer == No {
		v.Answer = NotKnown
		v.Text = fmt.Sprintf("sooner than sugar does: %s; no figure says when", strings.Join(list, "; "))
	}
	if v.Answer == Borderline || v.Answer == Likely {
		v.Moves = append(v.Moves, fmt.Sprintf("end it %s cooler", u.Difference(q.Kelvins(math.Ceil(e.High-brownsAt)), 0)))
	}
	v.Decides = append(v.Decides, "by the end of the boil alone: a slow fire at the end, a thin layer in a wide pan and acid brown it sooner, and the edge of the pan before the rest")
	if late := in.Boil.LateK; late != nil {
		v.Decides = append(v.Decides, "ten seconds late add "+u.SayDifference(*late, 1))
	}
	return v
}
