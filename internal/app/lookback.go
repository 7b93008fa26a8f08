package app

import (
	"cmp"
	"context"
	"fmt"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/store"
)

// LookBack is what a check of a glass says of the batches that were read on it.
type LookBack struct {
	Glass    string       `json:"glass"`
	Name     string       `json:"name"`
	Check    *CheckSaid   `json:"check"`     // the last that found the glass off; null: none did
	LastGood string       `json:"last_good"` // date of the last good check before it; empty: none
	Batches  []LookedBack `json:"batches"`   // since then, the newest first
	Store    q.Number     `json:"store_c"`   // the warmest that packed sweets get
	Units    q.Reader     `json:"units"`
	Cautions []Caution    `json:"cautions"`
	Sources  []string     `json:"sources"`
}

// CheckSaid is a check and what it found.
type CheckSaid struct {
	On       string   `json:"on"`
	Against  string   `json:"against"`
	OffK     q.Number `json:"off_k"`     // read too high by, beyond what was held of it
	AllowedK q.Number `json:"allowed_k"` // ± that class and earlier checks allow
}

// LookedBack is a batch that was read on the glass while it may have been off.
type LookedBack struct {
	Batch   string      `json:"batch"`
	On      string      `json:"on"`
	Recipe  string      `json:"recipe"`
	Name    string      `json:"name"`
	Was     MadeFigures `json:"was"` // as it was held to be
	Is      MadeFigures `json:"is"`  // as the check has it
	Advice  string      `json:"advice"`
	Why     string      `json:"why"`
	Assumed bool        `json:"assumed"` // no reading is written down: it is taken as lifted at its mark
}

// What is advised of a batch.
const (
	AdviceHold  = "hold"
	AdviceSell  = "sell first"
	AdviceKeeps = "keeps"
	AdviceNone  = "not known"
)

// lookedBack is how many batches are looked back at, at most.
const lookedBack = 500

// LookBack looks back from the last check of a glass that found it off: at every batch
// since the last good one. NotFound if there is no such glass.
func (a *App) LookBack(ctx context.Context, glass string) (*LookBack, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	g, ok := byID(b.Glasses, glass, func(g rig.Glass) string { return g.ID })
	if !ok {
		return nil, fault.NotFound("no glass %q in the shop book", fault.Clip(glass, fault.Echo)).At("glass")
	}
	warmest := cmp.Or(b.Room.StoreMost, rig.UsualStoreMost)
	out := &LookBack{Glass: g.ID, Name: g.Name, Batches: []LookedBack{}, Store: q.Number(warmest), Units: b.Shop.Units, Cautions: []Caution{}, Sources: source.Strings(source.ModelSugar, source.Practice)}
	out.find(g, b.Room)
	if out.Check == nil {
		return out, nil
	}
	return out, a.lookBack(ctx, &b, g, float64(warmest), out)
}

// find finds the last check that found the glass off, and the good one before it.
func (l *LookBack) find(g rig.Glass, room rig.Room) {
	good := ""
	for i, c := range g.Checks {
		found, err := boil.FoundBy(g, i, room)
		switch {
		case err != nil:
			why, _ := fault.Said(err)
			l.Cautions = append(l.Cautions, Caution{Code: "check-unread", Text: fmt.Sprintf("the check of %s is left out: %s", c.On, why)})
		case found.Good():
			good = c.On
		default:
			l.Check = &CheckSaid{On: c.On, Against: string(c.Against), OffK: q.Number(found.Off), AllowedK: q.Number(found.Allowed)}
			l.LastGood = good
		}
	}
}

func (a *App) lookBack(ctx context.Context, b *book.Book, g rig.Glass, storeC float64, out *LookBack) error {
	list, err := a.keeper.Records(ctx, store.Find{Glass: g.ID, From: out.LastGood, To: out.Check.On, Limit: lookedBack})
	if err != nil {
		return err
	}
	l, err := a.lessons(ctx, b)
	if err != nil {
		return err
	}
	a.made.mu.Lock()
	defer a.made.mu.Unlock()
	for _, r := range list {
		begun := r.Begun()
		line := LookedBack{Batch: r.ID, On: begun.On, Recipe: begun.Recipe, Name: entry.NameOf(b, store.KindRecipe, begun.Recipe), Advice: AdviceNone}
		then, _, err := a.remake(ctx, r, nil)
		if err == nil {
			if then.Lifted == nil || then.Lifted.ReadC == 0 {
				lifted := record.Lifted{}
				if then.Lifted != nil {
					lifted = *then.Lifted
				}
				lifted.ReadC, line.Assumed = then.Lift.ReadC, true
				then.Lifted = &lifted
			}
			now, _, err2 := a.remake(ctx, r, &g)
			now.Lifted, err = then.Lifted, err2
			was, ok1 := l.Became(then)
			is, ok2 := l.Became(now)
			if err == nil && ok1 && ok2 {
				line.Was, line.Is = MadeFigures{WaterFrac: &was.WaterFrac, StandsC: was.StandsC}, MadeFigures{WaterFrac: &is.WaterFrac, StandsC: is.StandsC}
				line.Advice, line.Why = advise(is.StandsC, storeC, b.Shop.Units)
			}
		}
		if err != nil {
			line.Why, _ = fault.Said(err)
		}
		out.Batches = append(out.Batches, line)
	}
	if len(list) == lookedBack {
		out.Cautions = append(out.Cautions, Caution{Code: "looked-back-short", Text: fmt.Sprintf("the newest %d batches alone are looked at; there are more", lookedBack)})
	}
	return nil
}

// advise holds what a sweet stands up to against the warmest of the store.
func advise(stands *q.Estimate, storeC float64, u q.Reader) (advice, why string) {
	store := u.Temperature(q.Celsius(storeC), 0)
	switch {
	case stands == nil:
		return AdviceNone, "what it stands up to is outside the range of its model"
	case stands.High < storeC:
		return AdviceHold, "it sticks in the store, which gets " + store + " warm: look at it before any more is sold"
	case stands.Low < storeC:
		return AdviceSell, "it may stick in the store, which gets " + store + " warm: sell it first, and do not post it"
	}
	return AdviceKeeps, "it stands up to the store's " + store
}
