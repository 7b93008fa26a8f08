package app

import (
	"strings"
	"time"

	"slabside/internal/day"
	q "slabside/internal/quantity"
)

// goalWords says the levels of the objective in plain words.
var goalWords = map[string]string{
	day.ObjMust:    "orders that must go, left out",
	day.ObjAppoint: "announced pours missed",
	day.ObjShould:  "other lines left out",
	day.ObjEnd:     "the last bag is packed at",
	day.ObjClean:   "cleaning",
}

// Goal says a level of the objective for people: what is counted, what this plan
// comes to, and what no plan can do better than.
func (d *DayPlan) Goal(o Objective) (name, value, bound string) {
	say := func(n q.Number) string { return d.Units.Number(float64(n), 0) }
	switch o.Name {
	case day.ObjEnd:
		if len(d.Batches) == 0 {
			return goalWords[o.Name], "–", "–"
		}
		say = func(n q.Number) string { return d.Opens.Add(time.Duration(n) * time.Minute).Format("15:04") }
	case day.ObjClean:
		say = func(n q.Number) string { return duration(int(n)) }
	}
	name, ok := goalWords[o.Name]
	if !ok {
		name = strings.ReplaceAll(o.Name, "_", " ")
	}
	return name, say(o.Value), say(o.Bound)
}
