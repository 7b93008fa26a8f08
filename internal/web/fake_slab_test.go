package web

import (
	"context"
	"slices"
	"time"

	"slabside/internal/app"
	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// slabFake is a batch at the slab made by hand: what is tapped moves it on, what is
// foreseen hangs on when the first step was due.
type slabFake struct {
	plan    []app.SlabStep // of the batch, by the time of which it is asked
	extra   []app.SlabReading
	blocked bool
	lines   int // batches under way beside it
}

// fakeSlabSteps are the steps of a batch whose lift is at a time.
func fakeSlabSteps(lift time.Time) []app.SlabStep {
	at := func(min float64) *time.Time {
		t := lift.Add(time.Duration(min * float64(time.Minute)))
		return &t
	}
	step := func(tap record.Happening, verb, do, look string, min, early, late float64) app.SlabStep {
		return app.SlabStep{Tap: tap, Verb: verb, Do: do, Look: look, Due: at(min), Early: at(min - early), Late: at(min + late), Basis: "estimated"}
	}
	say := func(c ...caution.Code) (out []app.Caution) {
		for _, x := range c {
			out = append(out, app.Caution{Code: string(x), Text: caution.Text(x)})
		}
		return out
	}
	light := step(record.Lit, "light", "flame up, hood on", "a blue flame all round", -24, 0, 0)
	light.Cautions = say(caution.Hood)
	lift1 := step(record.FlameOff, "lift", "flame off, two take the kettle to the slab", "the glass, not the clock", 0, 2, 3)
	lift1.Figure, lift1.Of, lift1.Loud, lift1.Cautions = "154.5 °C on this glass", "152.9 °C true, and the pan goes on giving", true, say(caution.HotSugar, caution.Thermometer)
	pour := step(record.Poured, "pour", "all of it, from low over the slab", "nobody between kettle and slab", 1.5, 0.5, 0.5)
	turn := step(record.EdgeUp, "turn", "the edges in with the scraper", "the edge lifts clean off the slab", 4, 0.6, 0.8)
	turn.Loud = true
	acid := step(record.AcidIn, "acid in", "strew it, fold it in", "no longer bubbling", 6, 1, 1)
	acid.Figure, acid.Of = "108 °C on the probe", "hotter it inverts"
	rolls := step(record.ToRolls, "to the rolls", "half of it under the lamp", "it holds its shape and dents", 10, 1, 1.2)
	rolls.Loud, rolls.Until, rolls.Cautions = true, at(14), say(caution.Nips)
	sheet := step(record.FirstSheet, "first sheet", "tap when a good one comes", "it drops out clean", 11, 1, 1.5)
	last := step(record.LastSheet, "last sheet", "tap when the last is through", "no cracks at the rim", 21, 2, 3)
	return []app.SlabStep{light, lift1, pour, turn, acid, rolls, sheet, last}
}

func (f *fakeShop) AtSlab(_ context.Context, batch string, at time.Time) (app.AtSlab, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.bookErr != nil {
		return app.AtSlab{}, f.bookErr
	}
	if err := record.CheckID(batch); err != nil {
		return app.AtSlab{}, err
	}
	steps := slices.Clone(f.slab.plan)
	if steps == nil {
		steps = fakeSlabSteps(fixtureNow().Add(4*time.Minute + 12*time.Second))
	}
	written := record.Fold(f.slabEntries(batch))
	out := app.AtSlab{Batch: batch, Recipe: "pear", Name: "Pear drops", Paint: "#D9A441", At: at, Act: written.Through(), Ready: !f.slab.blocked, Readings: slices.Clone(f.slab.extra),
		Glasses:  []app.SlabGlass{{ID: "glass", Name: "Long glass", Step: 0.5}, {ID: "probe", Name: "Stick probe", Step: 0.1}},
		Cautions: []app.Caution{{Code: string(caution.Prediction), Text: caution.Text(caution.Prediction)}}}
	if f.slab.blocked {
		out.Open = []string{"hood on", "floor dry"}
	}
	for i := range steps {
		if when, ok := written.When(steps[i].Tap); ok {
			steps[i].DoneAt, out.Next = &when, i+1
		}
	}
	if len(steps) > 0 && out.Next == len(steps) {
		out.Ended = steps[len(steps)-1].DoneAt
	}
	for _, k := range written.Moments() {
		if m := k.Moment; m.What == record.Looked {
			out.Readings = append(out.Readings, app.SlabReading{At: k.At, Where: m.At, Glass: m.Glass, C: q.Number(m.ReadC), TrueC: q.Number(m.ReadC - 1.6)})
		}
	}
	out.Steps = steps
	out.Live = fakeSlabLive(steps, at)
	return out, nil
}

// fakeSlabLive is a hot run with less time than sugar.
func fakeSlabLive(steps []app.SlabStep, at time.Time) *app.SlabLive {
	if len(steps) < 6 {
		return nil
	}
	pour := *steps[2].Due
	opens, closes := pour.Add(8*time.Minute+30*time.Second), pour.Add(19*time.Minute+30*time.Second)
	l := &app.SlabLive{NeedsMin: 14, HasMin: 11, Fits: 0.21, Say: "14 min of sugar, 11 min of time", Advice: "split now", RollFromC: 86, RollToC: 68, Opens: &opens, Closes: &closes, State: "on the fire", Basis: "by the readings of this batch",
		Matters: []string{"the air over the slab", "how thick it lies"}}
	if steps[2].DoneAt != nil {
		now, low, high := q.Number(96), q.Number(91), q.Number(102)
		l.NowC, l.LowC, l.HighC = &now, &low, &high
		switch {
		case at.Before(opens):
			l.State = "too soft"
		case at.Before(closes):
			l.State = "in condition"
		default:
			l.State = "gone short"
		}
	}
	for m := range 23 {
		c := 40 + 108*pow(0.945, m)
		l.Curve = append(l.Curve, app.SlabPoint{At: pour.Add(time.Duration(m) * time.Minute), C: q.Number(c), LowC: q.Number(c - 3 - 0.1*float64(m)), HighC: q.Number(c + 4)})
	}
	return l
}

func pow(x float64, n int) float64 {
	out := 1.0
	for range n {
		out *= x
	}
	return out
}

// slabEntries are what is written of a batch at the slab: its beginning and the taps.
func (f *fakeShop) slabEntries(batch string) []record.Kept {
	out := []record.Kept{{Entry: record.Entry{Batch: batch, Begun: &record.Begun{On: fixtureDay, Book: 3, Recipe: "pear", ChargeMg: 12e6, Kettle: "pan", Glass: "glass"}}, Act: 4, At: fixtureNow().Add(-time.Hour), Person: "Ada"}}
	for i, t := range f.taps {
		if t.Entry.Batch == batch {
			out = append(out, record.Kept{Entry: t.Entry, Act: int64(10 + i), At: t.At.Add(t.Offset), Person: "Ada", Corrects: t.Corrects})
		}
	}
	return out
}

func (f *fakeShop) Written(_ context.Context, batch string) (record.Record, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := record.CheckID(batch); err != nil {
		return record.Record{}, err
	}
	return record.Fold(f.slabEntries(batch)), nil
}

func (f *fakeShop) SlabBatches(_ context.Context, at time.Time) ([]app.SlabLine, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	due := fixtureNow().Add(4*time.Minute + 12*time.Second)
	other := fixtureNow().Add(9*time.Minute + 40*time.Second)
	lift := app.SlabStep{Tap: record.FlameOff, Verb: "lift", Due: &due, Loud: true}
	rolls := app.SlabStep{Tap: record.ToRolls, Verb: "to the rolls", Due: &other, Loud: true}
	list := []app.SlabLine{{Batch: fixtureBatch, Name: "Pear drops", Paint: "#D9A441", Step: &lift}, {Batch: "2026-11-27-3", Name: "Clove barrels", Paint: "#7B2D26", Step: &rolls}, {Batch: "2026-11-27-1", Name: "Pear drops"}}
	return list[:min(len(list), f.slab.lines)], nil
}
