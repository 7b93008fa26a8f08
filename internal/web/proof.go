package web

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/app"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// goalNames says the levels of the objective in plain words.
var goalNames = map[string]string{
	"must_lines_not_made":   "orders that must go, not made",
	"appointments_missed":   "announced pours missed",
	"should_lines_not_made": "other lines not made",
	"end_min":               "end of the work, minutes after opening",
	"cleaning_min":          "minutes of cleaning and changing",
}

func goalOf(o app.Objective) goalView {
	name, ok := goalNames[o.Name]
	if !ok {
		name = strings.ReplaceAll(o.Name, "_", " ")
	}
	return goalView{name, q.PrintNumber(float64(o.Value), 2), q.PrintNumber(float64(o.Bound), 2)}
}

func proofOf(p *app.DayPlan) string {
	switch {
	case p.ProvedBest:
		return fmt.Sprintf("Proved: no order of these boils does better, level by level from the top. %s looked at.", count(p.States, "state was", "states were"))
	case p.StoppedEarly:
		return fmt.Sprintf("Not proved: the search was stopped after %s. The true best lies between the bound and this plan.", count(p.States, "state", "states"))
	}
	return "Not proved: the true best lies between the bound and this plan."
}

// sourcesOf writes bibliography keys out.
func sourcesOf(keys []string) []sourceView {
	var out []sourceView
	for _, k := range keys {
		e, ok := source.Lookup(source.Key(k))
		if !ok {
			out = append(out, sourceView{Key: k})
			continue
		}
		parts := slices.DeleteFunc([]string{e.Author, e.Title, e.Year, e.Where}, func(s string) bool { return s == "" })
		out = append(out, sourceView{Key: k, Text: strings.Join(parts, ", ") + " – " + string(e.Evidence)})
	}
	return out
}
