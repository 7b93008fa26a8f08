package web

import (
	"context"
	"time"

	"slabside/internal/app"
	"slabside/internal/care"
	"slabside/internal/caution"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// fixtureRolls is a pair of rolls with a ledger in the fake shop.
var fixtureRolls = care.Thing{Kind: care.Rolls, ID: "leaf"}

func fakeFaults() []app.CareFault {
	return []app.CareFault{
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 40, Person: "Ada", NeededBy: []string{"Pear leaves", "Hazel leaves"},
			Found: care.Found{On: "2026-11-27", Kind: care.Cracked, What: "a hair crack", Where: "third groove", Stops: true, Batch: fixtureBatch}},
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 41, Person: "Ben", NeededBy: []string{}, Found: care.Found{On: "2026-11-20", Kind: care.Worn, What: "worn", Where: "the edge"}},
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 12, Person: "Ada", NeededBy: []string{}, Found: care.Found{On: "2026-03-02", Kind: care.Loose, What: "a bolt"}, SettledOn: "2026-03-03", SettledBy: "tightened, Ben"},
	}
}

func fakeDues() []app.CareDue {
	n := func(i int) *int { return &i }
	return []app.CareDue{
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 20, What: "oil the bearings", EveryDays: 30, EveryBatches: 40, DoneOn: "2026-10-20", On: "2026-11-19", DaysLeft: n(-9), BatchesLeft: n(4), Urgency: app.Overdue},
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 21, What: "look through", EveryBatches: 10, DoneOn: "2026-11-20", BatchesLeft: n(0), Urgency: app.DueNow},
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 22, What: "test for lead", On: "2026-12-04", DaysLeft: n(6), Urgency: app.Soon},
		{Thing: fixtureRolls, Name: "Leaf rolls", Act: 23, What: "polish", EveryDays: 365, On: "2027-06-01", DaysLeft: n(185), Urgency: app.Later},
	}
}

func fakeOffers() []app.CareOffer {
	return []app.CareOffer{{Thing: care.Thing{Kind: care.Machine, ID: "drop"}, Name: "Drop machine", Batch: fixtureBatch, On: "2026-11-27", Kind: care.Stop, What: "the stop did not work before the flame"}}
}

func fakeCautions(codes ...caution.Code) []app.Caution {
	out := []app.Caution{}
	for _, c := range codes {
		out = append(out, app.Caution{Code: string(c), Text: caution.Text(c)})
	}
	return out
}

func (f *fakeShop) Care(context.Context, string) (*app.CareResult, error) {
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	return &app.CareResult{On: fixtureDay, Faults: fakeFaults()[:2], Due: fakeDues(), Offered: fakeOffers(), Units: q.Metric.With(q.Point), Cautions: fakeCautions(caution.RollsClean, caution.WhoRepairs)}, nil
}

func (f *fakeShop) CareOf(_ context.Context, t care.Thing) (*app.CareThing, error) {
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	if err := t.Check(); err != nil {
		return nil, err
	}
	at := time.Date(2026, 10, 20, 9, 0, 0, 0, time.UTC)
	kept := func(act int64, e care.Entry, corrects int64, corrected bool) app.CareEntry {
		e.Thing = t
		return app.CareEntry{Kept: care.Kept{Entry: e, Act: act, At: at.Add(time.Duration(act) * 22 * time.Hour), Person: "Ada", Corrects: corrects}, Kind: e.Kind(), Corrected: corrected}
	}
	crack := fakeFaults()[0].Found
	oiled := care.Done{On: "2026-10-20", Work: care.Oiled, By: "Ben", With: "white oil 68", FoodGrade: true, For: "oil the bearings"}
	return &app.CareThing{Thing: t, Name: "Leaf rolls", InBook: true, OutOfUse: true, Faults: fakeFaults(), Due: fakeDues(), Last: []app.CareLast{{Done: oiled, Act: 30}}, Offered: []app.CareOffer{},
		Entries: []app.CareEntry{
			kept(20, care.Entry{Due: &care.Due{What: "oil the bearings", EveryDays: 30, From: "2026-09-01"}}, 0, false), kept(30, care.Entry{Done: &oiled}, 0, false),
			kept(39, care.Entry{Found: &care.Found{On: crack.On, Kind: care.Chipped, What: "a chip", Stops: true}}, 0, true), kept(40, care.Entry{Found: &crack}, 39, false),
			kept(42, care.Entry{Due: &care.Due{What: "polish", Ends: true}}, 0, true), kept(43, care.Entry{}, 42, false),
		},
		Cautions: fakeCautions(caution.OutOfUse, caution.RollsIntact, caution.RollsClean, caution.WhoRepairs, caution.AfterWork, caution.FoodOil, caution.RepairMetal, caution.OldMetal), Sources: []string{"practice"}, Units: q.Metric.With(q.Point)}, nil
}

func (f *fakeShop) WriteCare(_ context.Context, e care.Entry, _ int64, _, _ string) error {
	return e.Check()
}

// CareReleases has what settles act 40, or takes it back, release the rolls.
func (f *fakeShop) CareReleases(_ context.Context, e care.Entry, corrects int64, _ string) (bool, error) {
	return e.Done != nil && e.Done.Settles == 40 || corrects == 40, nil
}

func (f *fakeShop) InsteadOf(_ context.Context, r app.RollsRequest) (*app.RollsResult, error) {
	if r.Rolls != fixtureRolls.ID {
		return nil, fault.NotFound("no rolls %q", r.Rolls)
	}
	est := func(v, low, high float64) *q.Estimate {
		return &q.Estimate{Value: v, Low: low, High: high, Basis: q.Estimated}
	}
	own := app.RollsPair{Rolls: "leaf", Name: "Leaf", PieceG: 2.4, Material: "bronze", ChangeMin: 8, OutOfUse: "the Leaf rolls are out of use: cracked", Pieces: est(3500, 3380, 3620), SoundKg: est(8.4, 8.2, 8.6),
		Bags: []app.RollsBags{{Product: "pear-bag", Name: "Pear leaves", NetKg: 0.113, Pieces: *est(47.6, 46.1, 49.2), Bags: *est(73, 71, 75)}}}
	other := own
	other.Rolls, other.Name, other.PieceG, other.OutOfUse, other.Mounted = "shell", "Shell", 3.0, "", true
	other.Bags = []app.RollsBags{{Product: "pear-bag", Name: "Pear leaves", NetKg: 0.113, Pieces: *est(38.2, 37, 39.6), Bags: *est(73, 70, 75),
		Differs: []string{"the net weight stays 113 g; a count, a picture, and what is stated for a piece change: about 38 pieces of 3 g, not 48 of 2.4 g"}}}
	other.Differs, other.Cautions = []string{"brass rolls instead of bronze"}, fakeCautions(caution.AcidOnCopper)
	bad := app.RollsPair{Rolls: "bead", Name: "Bead", PieceG: 0.9, ChangeMin: 9, Cannot: "no charge goes through them in time"}
	return &app.RollsResult{Rolls: "leaf", Name: "Leaf", OutOfUse: own.OutOfUse, Recipes: []app.RollsRecipe{{Recipe: "pear", Name: "Pear leaves", ChargeKg: 10, Own: own, Others: []app.RollsPair{other, bad}}},
		Cautions: fakeCautions(caution.Prediction, caution.Choking, caution.NotLegal), Units: q.Metric.With(q.Point)}, nil
}
