package daytest

import (
	"context"
	"slices"
	"testing"

	"slabside/internal/day"
)

// Duties of solved random days hold; every way to spoil them is found.
func TestDuties(t *testing.T) {
	t.Parallel()
	spoil := map[string]func(d []day.Duty, p *day.Problem) ([]day.Duty, bool){
		CodeDutyTwice: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			i := slices.IndexFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyRoll })
			return append(d, d[i]), i >= 0
		},
		CodeDutyMissing: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			i := slices.IndexFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyPour })
			return slices.Delete(d, i, i+1), i >= 0
		},
		CodeDutyFlame: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			return slices.DeleteFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyFlame }), true
		},
		CodeDutyClass: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			h := slices.IndexFunc(p.Hands, func(h day.Hand) bool { return !h.Hot })
			i := slices.IndexFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyTurn })
			if h < 0 || i < 0 {
				return d, false
			}
			d[i].Hand = h
			return d, true
		},
		CodeDutyAbsent: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			d[len(d)-1].To = p.End + 500
			return d, true
		},
		CodeDutyHold: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			i := slices.IndexFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyWatch })
			if i < 0 {
				return d, false
			}
			d[i].Kind = day.DutyWipe // whoever watches and has the flame cleans
			return d, slices.ContainsFunc(d, func(x day.Duty) bool {
				return x.Kind == day.DutyFlame && x.Hand == d[i].Hand && x.From < d[i].To && d[i].From < x.To && x.Boil == d[i].Boil
			})
		},
		CodeDutyLate: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			i := slices.IndexFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyWeigh })
			if i < 0 {
				return d, false
			}
			d[i].From, d[i].To = p.End-1, p.End
			return d, true
		},
		CodeDutyExtra: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			i := slices.IndexFunc(d, func(x day.Duty) bool { return x.Kind == day.DutyAfter })
			if i < 0 {
				return d, false
			}
			return append(d, d[i]), true
		},
		CodeDutyIndex: func(d []day.Duty, p *day.Problem) ([]day.Duty, bool) {
			d[0].Hand = len(p.Hands)
			return d, true
		},
	}
	found := map[string]int{}
	for seed := range uint64(200) {
		p := Random(seed, 3)
		plan, err := day.Solve(context.Background(), p, day.Options{})
		if err != nil {
			t.Fatal(err)
		}
		duties, err := day.Assign(p, plan)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		for _, v := range CheckDuties(p, plan, duties) {
			t.Errorf("seed %d: %v", seed, v)
		}
		if len(plan.Made) == 0 {
			continue
		}
		for code, f := range spoil {
			if !slices.ContainsFunc(duties, func(d day.Duty) bool { return d.Kind == day.DutyRoll }) {
				continue
			}
			d, ok := f(slices.Clone(duties), p)
			if !ok {
				continue
			}
			if !slices.ContainsFunc(CheckDuties(p, plan, d), func(v Violation) bool { return v.Code == code }) {
				t.Errorf("seed %d: duties spoiled by %s pass", seed, code)
			}
			found[code]++
		}
	}
	for code := range spoil {
		if found[code] == 0 {
			t.Errorf("no duties were spoiled by %s", code)
		}
	}
}

// Every clean of the kettle has one name, of a hand that may clean; without it,
// or with a hand that may not, the duties are refused.
func TestKettleDuties(t *testing.T) {
	t.Parallel()
	missing, class := 0, 0
	for seed := range uint64(150) {
		p := RandomAllergens(seed, 3)
		plan := solve(t, p, day.Options{})
		duties, err := day.Assign(p, plan)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range CheckDuties(p, plan, duties) {
			t.Errorf("seed %d: %v", seed, v)
		}
		i := slices.IndexFunc(duties, func(d day.Duty) bool { return d.Kind == day.DutyKettle })
		if i < 0 {
			continue
		}
		refused := func(d []day.Duty, code string) {
			if !slices.ContainsFunc(CheckDuties(p, plan, d), func(v Violation) bool { return v.Code == code }) {
				t.Errorf("seed %d: duties spoiled by %s pass", seed, code)
			}
		}
		missing++
		refused(slices.Delete(slices.Clone(duties), i, i+1), CodeDutyMissing)
		if h := slices.IndexFunc(p.Hands, func(h day.Hand) bool { return !h.Clean }); h >= 0 {
			class++
			duties[i].Hand = h
			refused(duties, CodeDutyClass)
		}
	}
	if missing == 0 || class == 0 {
		t.Errorf("%d cleans left out, %d by a hand that may not: the days test too little", missing, class)
	}
}
