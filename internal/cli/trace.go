package cli

import (
	"cmp"
	"strings"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type traceCmd struct {
	ID string `arg:"" help:"Number of a lot, a batch, bags or a jar."`
}

// Run follows a thing both ways; status 1 if nothing of it may leave the house.
func (c *traceCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Trace(s.ctx, c.ID)
		if err != nil {
			return flagged(err, "")
		}
		if err := s.print(r, func(p *printer) { printTrace(p, r) }); err != nil || len(r.Stopped) == 0 {
			return err
		}
		return errNo
	})
}

func printTrace(p *printer, r *app.TraceResult) {
	u := r.Units
	p.line("%s  %s %s", r.ID, r.Name, r.On)
	for _, h := range r.Stopped {
		p.line("STOPPED: %s is %s%s", h.ID, h.As, colon(h.Why))
	}
	steps := func(head string, list []app.TraceStep) {
		p.line("")
		if len(list) == 0 {
			p.line("%s: nothing that is written", head)
			return
		}
		p.line("%s:", head)
		for _, x := range list {
			frozen := ""
			if x.Frozen {
				frozen = "  FROZEN"
			}
			mass := ""
			if x.MassMg > 0 {
				mass = "  " + u.Mass(q.Kilograms(float64(x.MassMg)/1e6))
			}
			p.line("%s%s  %s%s  %s%s", strings.Repeat("  ", x.Deep), x.ID, x.Name, mass, x.Says, frozen)
		}
	}
	steps("In it", r.Up)
	steps("It is in", r.Down)
	if b := r.Bags; b != nil {
		p.line("")
		p.line("Bags: %d packed, %d here, %d by order or parcel, %d kept as samples, opened or thrown away, %d over the counter and the like, %d unaccounted; %s accounted for, %s can be reached",
			b.Packed, b.OnHand, b.ByName, b.Kept, b.Counter, b.Unaccounted, u.Percent(q.Fraction(b.Accounted), 0), u.Percent(q.Fraction(b.Reachable), 0))
	}
	if c := r.Allergy; c != nil {
		p.line("")
		p.line("%s", c.Wording)
		p.line("Made with: %s", orUnstated(app.Listed(c.Contains)))
		if len(c.May) > 0 {
			p.line("May contain: %s", app.Listed(c.May))
		}
		if len(c.Unstated) > 0 {
			p.line("Nobody has stated: %s", app.Listed(c.Unstated))
		}
		if len(c.NotWeighed) > 0 {
			p.line("Not every lot is written of %s: what is missing goes by the recipe", app.Listed(c.NotWeighed))
		}
		for _, h := range c.Here {
			last := "no batch with it is written in the days before"
			if h.Last != "" {
				last = "last in " + h.Last + "; cleaned and verified since: " + cmp.Or(strings.Join(h.Cleans, "; "), "nothing")
			}
			p.line("Also handled here: %s, in %s; both touch %s; %s", h.Allergen, app.Listed(h.In), orUnstated(app.Listed(h.Shared)), last)
		}
		p.cautions(c.Cautions)
	}
	p.cautions(r.Cautions)
}

func colon(why string) string {
	if why == "" {
		return ""
	}
	return ": " + why
}

func orUnstated(text string) string {
	if text == "" {
		return "none is named by what is on file"
	}
	return text
}

type heldCmd struct{}

// Run lists what is stopped and what is frozen with it; status 1 if anything is.
func (c *heldCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.OnHold(s.ctx)
		if err != nil {
			return err
		}
		err = s.print(r, func(p *printer) {
			if len(r.Stopped) == 0 {
				p.line("Nothing is on hold.")
			}
			for _, x := range r.Stopped {
				p.line("%s  %s: %s%s", x.ID, x.Name, x.As, colon(x.Why))
				for _, f := range x.Frozen {
					p.line("  %s  %s  %s", f.ID, f.Name, f.Says)
				}
			}
		})
		if err != nil || len(r.Stopped) == 0 {
			return err
		}
		return errNo
	})
}
