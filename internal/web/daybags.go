package web

import (
	"fmt"
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

func bagsOf(u q.Reader, m app.BagsMade) bagsView {
	v := bagsView{Name: m.Name, For: m.For, Due: m.Due, Asked: strconv.Itoa(m.Asked), Made: figureOf(u.SayCount(m.Made, "")),
		Must: m.Must, Planned: m.Planned}
	v.Made.Value = strings.TrimSpace(v.Made.Value)
	if m.FromStock > 0 {
		v.FromStock = strconv.Itoa(m.FromStock)
	}
	v.Chance = u.SayChance(q.Fraction(m.Chance), 0)
	for _, x := range m.Mix {
		t := fmt.Sprintf("%s: %s a bag, %d to %d in nine of ten", x.Name, u.Number(float64(x.Mean), 1), x.P05, x.P95)
		if x.Least > 0 {
			t += fmt.Sprintf("; at least %d in %s", x.Least, u.SayChance(q.Fraction(x.PLeast), 0))
		}
		v.Mix = append(v.Mix, t)
	}
	return v
}
