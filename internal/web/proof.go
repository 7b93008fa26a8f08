package web

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/app"
	"slabside/internal/source"
)

func proofOf(p *app.DayPlan) string {
	switch {
	case p.ProvedBest:
		return fmt.Sprintf("Proved: no order of these boils does better, level by level from the top. %s looked at.", count(p.States, "state was", "states were"))
	case p.StoppedBy == app.ByClock:
		return fmt.Sprintf("Not proved: the search took too long and was stopped after %s. The true best lies between the bound and this plan; ask again, and it may go further.", count(p.States, "state", "states"))
	case p.StoppedEarly:
		return fmt.Sprintf("Not proved: the search ended at %s, as many as it may look at. The true best lies between the bound and this plan.", count(p.States, "state", "states"))
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
