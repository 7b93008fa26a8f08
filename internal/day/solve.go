package day

import "context"

// Solve plans the day. Any plan it returns keeps every rule of the package
// comment; ProvedBest says that no plan is better. When the context ends or
// the budget of labels is used up, the best plan so far comes back with
// StoppedEarly set and honest bounds. Faults: Invalid, naming the field.
func Solve(ctx context.Context, p *Problem, o Options) (*Plan, error) {
	if err := Validate(p); err != nil {
		return nil, err
	}
	in := newInstance(p)
	b := in.newBounds()
	// Each pass looks wider than the last and only for what beats the best so far;
	// the last looks at everything. What nothing beats is proved.
	best := newSearch(ctx, in, b, o)
	labels, proved := 0, false
	for _, width := range o.passes() {
		s := newSearch(ctx, in, b, o)
		s.limit -= labels
		s.beam = width
		if width > 0 {
			s.late = beamLate
		}
		if best.haveOwn {
			s.best = best.best
		}
		s.run()
		labels += s.seen
		proved = !s.stopped && !s.cut
		if s.haveOwn || !best.haveOwn {
			best = s
		} else {
			best.stopped, best.left, best.open = s.stopped, s.left, s.open
		}
		if proved || s.stopped {
			break
		}
	}
	s := best
	if !s.haveOwn {
		s.nothing()
		proved = false
	}
	plan := s.plan()
	plan.Labels = labels
	plan.StoppedEarly = s.stopped
	plan.ProvedBest = proved
	if !proved {
		s.openBounds(plan)
	}
	return plan, nil
}

// nothing makes the best plan the one without boils.
func (s *search) nothing() {
	in := s.in
	s.best = vector{vAppoint: len(in.p.Appoint)}
	s.best[vMust], s.best[vShould] = in.lines(make([]int, len(in.order)))
}

// openBounds lowers the bounds of an unproved plan to what is known of every day.
func (s *search) openBounds(plan *Plan) {
	root := &label{parent: -1, recipe: -1, kept: -1, levels: s.in.levels, placed: Placed{Boil: -1, Pour: -1}}
	v, ok := s.b.of(root, s.in.counts(0))
	if !ok {
		v = vector{}
	}
	if s.left && v.less(s.open) {
		v = s.open
	}
	open := false
	for i := range plan.Objectives {
		o := &plan.Objectives[i]
		// Below a level that is not at its bound nothing is known of the next.
		if open {
			o.Bound = 0
		} else {
			o.Bound = min(o.Value, v[i])
		}
		open = open || o.Bound < o.Value
	}
}

// plan reads the best plan back from its last label.
func (s *search) plan() *Plan {
	p := s.in.p
	plan := &Plan{Breaks: make([]int, len(p.Breaks)), Kept: make([]int, len(p.Appoint))}
	for i := range plan.Breaks {
		plan.Breaks[i] = -1
	}
	for i := range plan.Kept {
		plan.Kept[i] = -1
	}
	for _, b := range s.ending.breaks {
		plan.Breaks[b.which] = b.at
	}
	for id := s.leaf; id > 0; id = s.all[id].parent {
		l := s.all[id]
		plan.Made = append(plan.Made, l.placed)
		for _, b := range l.breaks {
			plan.Breaks[b.which] = b.at
		}
		if l.kept >= 0 {
			plan.Kept[l.kept] = int(l.made) - 1
		}
	}
	for i, j := 0, len(plan.Made)-1; i < j; i, j = i+1, j-1 {
		plan.Made[i], plan.Made[j] = plan.Made[j], plan.Made[i]
	}
	plan.End, plan.Cleaning = s.best[vEnd], s.best[vClean]
	for i, name := range vectorNames {
		plan.Objectives = append(plan.Objectives, Objective{Name: name, Value: s.best[i], Bound: s.best[i]})
	}
	return plan
}
