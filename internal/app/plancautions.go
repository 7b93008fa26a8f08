package app

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/boil"
	"slabside/internal/caution"
	"slabside/internal/day"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
)

// step says at which step of a batch sheet a caution belongs; what is not listed
// belongs to the kettle.
func step(c caution.Code) string {
	switch c {
	case caution.AllergenBeyond, caution.AcidDust, caution.Oils, caution.LookAlikes, caution.Bicarbonate, caution.AllergenUnknown, boil.CodeVolatile, "scale-unknown":
		return "weigh"
	case caution.HoldPoint, caution.TartarHold:
		return "hold"
	case caution.LiquidsErupt, caution.SpiritFlash, caution.SpiritOnFire, caution.OilInBoil, boil.CodeWindow, caution.Thermometer, caution.HighCheck, caution.GlassBrittle:
		return "end"
	case caution.HotSugar, caution.Burns, caution.TwoToPour, caution.WetFloor, caution.Visitors:
		return "pour"
	case caution.DampRoom:
		return "slab"
	case caution.Nips, caution.RollsClean, caution.Guards, caution.StopReach, caution.RollsIntact, caution.BrassMagnet, "roll-time":
		return "rolls"
	case caution.AllergenPublic, caution.AllergenClean, caution.AllergenCarriers, caution.Choking, caution.TradeScale, caution.Medicinal:
		return "pack"
	}
	return "flame"
}

// batchCautions are a boil's own, each with its step: those of the chain, and
// those of the book's proof, of its hands, its additions and its allergens.
func (m *making) batchCautions(l lot, b day.Boil, made day.Placed) []Caution {
	list := []caution.Caution{caution.Of(caution.Presence), caution.Of(caution.HoldPoint)}
	if made.Act == day.AllergenClean || made.KettleClean {
		// First at the weighing: it must be read before the kettle is loaded.
		list = append([]caution.Caution{caution.Of(caution.AllergenBeyond)}, list...)
	}
	list = append(list, l.pred.Cautions...)
	list = append(list, m.foundFor(l.rec.ID)...)
	list = append(list, caution.Of(caution.Burns))
	if b.PourHands > 1 && !slices.ContainsFunc(list, func(c caution.Caution) bool { return c.Code == caution.TwoToPour }) {
		list = append(list, caution.Of(caution.TwoToPour))
	}
	powders := 0
	for _, a := range l.rec.Additions {
		in, ok := m.b.Ingredient(a.Ingredient)
		if !ok {
			continue
		}
		switch in.Kind {
		case ingredient.Acid, ingredient.Salt, ingredient.Doctor:
			powders++
		case ingredient.Oil:
			list = append(list, caution.Of(caution.Oils))
		}
		if in.Kind == ingredient.Acid {
			list = append(list, caution.Of(caution.AcidDust))
		}
	}
	if powders > 0 {
		list = append(list, caution.Of(caution.LookAlikes))
	}
	contains, unstated := m.allergensOf(l.rec.Ingredients())
	if len(contains) > 0 {
		list = append(list, caution.Of(caution.AllergenCarriers))
	}
	for _, u := range unstated {
		name := u
		if in, ok := m.b.Ingredient(u); ok {
			name = in.Name
		}
		list = append(list, caution.About(caution.AllergenUnknown, name))
	}
	out := []Caution{}
	for _, c := range caution.Merge(list) {
		out = append(out, Caution{Code: string(c.Code), Text: c.Text, At: step(c.Code)})
	}
	return out
}

// dayCautions are those of the whole day: fire, sugar, gas, the announced public,
// what the book's proof found, and the planner's own.
func (m *making) dayCautions(d *DayPlan) {
	add := func(c Caution) {
		if !slices.Contains(d.Cautions, c) {
			d.Cautions = append(d.Cautions, c)
		}
	}
	fixed := []caution.Code{caution.Prediction, caution.Thermometer}
	if len(d.Batches) > 0 {
		fixed = append(fixed, caution.Presence, caution.HoldPoint, caution.HotSugar, caution.Burns, caution.Gas, caution.Hood, caution.Nips, caution.RollsClean)
	}
	if len(d.Pours) > 0 {
		fixed = append(fixed, caution.Visitors)
	}
	for _, c := range d.Changeovers {
		if slices.ContainsFunc(c.SetUps, func(x SetUp) bool { return x.Verify }) {
			fixed = append(fixed, caution.AllergenClean, caution.AllergenBeyond)
			break
		}
	}
	fixed = append(fixed, caution.Choking)
	for _, c := range fixed {
		add(Caution{Code: string(c), Text: caution.Text(c), At: "day"})
	}
	if names := m.kettleNames(); len(names) > 1 {
		add(Caution{Code: "one-flame", At: "day", Text: Listed(names) + " are used today: the plan lights one at a time, as if they stood on one flame, and counts what one carries over as carried by all."})
	}
	for _, c := range append(stoppedCautions(m.b, m.req.Stopped, "day"), m.cautions...) {
		add(c)
	}
	for _, g := range m.grained {
		add(g.caution())
	}
	for _, pr := range m.found {
		// What concerns one recipe stands on its batch sheets.
		if !strings.HasPrefix(pr.Field, "recipe[") {
			add(Caution{Code: pr.Code, Text: pr.Text, At: "day"})
		}
	}
}

// foundFor returns what the proof of the book found about one recipe. On its own
// sheet the recipe need not be named again.
func (m *making) foundFor(id string) []caution.Caution {
	at := slices.IndexFunc(m.b.Recipes, func(r recipe.Recipe) bool { return r.ID == id })
	var out []caution.Caution
	for _, pr := range m.found {
		if strings.HasPrefix(pr.Field, fmt.Sprintf("recipe[%d]", at)) {
			text := strings.TrimPrefix(pr.Text, fmt.Sprintf("recipe %q, ", id))
			out = append(out, caution.Caution{Code: caution.Code(pr.Code), Text: text})
		}
	}
	return out
}
