package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

func pourOf(p *app.DayPlan, a app.PourKept) pourView {
	v := pourView{Name: a.Name, At: clock(a.At), Why: sentence(a.Why), Missed: a.Batch == "",
		Window: clock(a.At.Add(-minutes(float64(a.Early)))) + "–" + clock(a.At.Add(minutes(float64(a.Late))))}
	for _, b := range p.Batches {
		if b.ID == a.Batch {
			v.Kept = fmt.Sprintf("boil %d, %s, poured %s", b.N, b.Name, clock(b.Pour))
		}
	}
	return v
}

func bagsOf(m app.BagsMade) bagsView {
	v := bagsView{Name: m.Name, For: m.For, Due: m.Due, Asked: strconv.Itoa(m.Asked), Made: figureOf(q.SayCount(m.Made, "")),
		Must: m.Must, Planned: m.Planned}
	v.Made.Value = strings.TrimSpace(v.Made.Value)
	if m.FromStock > 0 {
		v.FromStock = strconv.Itoa(m.FromStock)
	}
	v.Chance = chanceWord(float64(m.Chance))
	for _, x := range m.Mix {
		t := fmt.Sprintf("%s: %s a bag, %d to %d in nine of ten", x.Name, q.PrintNumber(float64(x.Mean), 1), x.P05, x.P95)
		if x.Least > 0 {
			t += fmt.Sprintf("; at least %d in %s", x.Least, chanceWord(float64(x.PLeast)))
		}
		v.Mix = append(v.Mix, t)
	}
	return v
}

// chanceWord prints a chance in per cent, and never claims a certainty it has not.
func chanceWord(c float64) string {
	switch {
	case c >= 1:
		return "100 %"
	case c > 0.99:
		return "over 99 %"
	case c > 0 && c < 0.01:
		return "under 1 %"
	}
	return strconv.Itoa(int(math.Round(c*100))) + " %"
}
