package cli

import (
	"slices"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// printVerdicts says whether the sweet will stick, grain or brown.
func printVerdicts(p *printer, r *app.BoilResult) {
	p.line("")
	for _, v := range r.Verdicts.List {
		p.line("%-26s %s: %s", string(v.Question)+"?", v.Answer, v.Text)
		if moves := v.Line(); moves != "" {
			p.line("%-26s %s", "  what would help", moves)
		}
		for _, d := range v.Decides {
			p.line("%-26s %s", "", d)
		}
	}
	if len(r.Verdicts.List) > 0 {
		p.line("%-26s %s", "open to the room", r.Verdicts.Open.Text)
	}
	if k := r.Keeps; k != nil {
		p.line("%-26s %s: %s", "in its pack", k.Pack, k.Text)
	}
	if a := r.Verdicts.Air; a != nil {
		p.line("%-26s %s", "at the slab", a.Text)
	}
}

// printSmall says what a small boil can and cannot tell of a whole one.
func printSmall(p *printer, r *app.BoilResult) {
	if r.Small == nil {
		return
	}
	p.line("")
	p.line("A small boil: a whole one takes %s; by the middle figures of both", r.Units.Mass(q.Kilograms(r.Small.WholeKg)))
	for _, t := range r.Small.Tells {
		p.line("  it tells %s", t)
	}
	for _, t := range r.Small.TellsNot {
		p.line("  it cannot tell %s", t)
	}
}

// withVerdicts lists the sources of a boil's figures, then those of its additions and
// of what they mean for the sweet, each once.
func withVerdicts(r *app.BoilResult) []string {
	out := slices.Clone(r.Sources)
	for _, a := range r.Additions {
		out = append(out, a.Sources...)
	}
	for _, v := range r.Verdicts.List {
		out = append(out, v.Sources...)
	}
	if a := r.Verdicts.Air; a != nil {
		out = append(out, a.Sources...)
	}
	if r.Keeps != nil {
		out = append(out, r.Keeps.Sources...)
	}
	return app.Once(append(out, r.Verdicts.Open.Sources...))
}
