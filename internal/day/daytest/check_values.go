package daytest

import (
	"slices"

	"slabside/internal/day"
)

func (r *replay) appointments() {
	for a, k := range r.plan.Kept {
		if k == -1 {
			continue
		}
		ap, b := r.p.Appoint[a], r.block(k)
		if b.Pour < ap.At-ap.Early || b.Pour > ap.At+ap.Late {
			r.add(CodeKept, b.Pour, "%s is kept outside %d to %d", ap.Name, ap.At-ap.Early, ap.At+ap.Late)
		}
		if ap.Recipe != -1 && ap.Recipe != b.boil.Recipe {
			r.add(CodeKeptRecipe, b.Pour, "%s is kept by recipe %d", ap.Name, b.boil.Recipe)
		}
		if slices.Contains(r.plan.Kept[:a], k) {
			r.add(CodeKeptTwice, b.Pour, "place %d keeps two appointments", k)
		}
	}
}

func (r *replay) rules() {
	n := len(r.plan.Made)
	recipe := make([]int, n)
	for k := range n {
		recipe[k] = r.block(k).boil.Recipe
	}
	for _, rule := range r.p.Rules {
		switch rule.Kind {
		case day.First:
			if n > 0 && recipe[0] != rule.A {
				r.add(CodeFirst, -1, "first is recipe %d, not %d", recipe[0], rule.A)
			}
		case day.Last:
			if n > 0 && recipe[n-1] != rule.A {
				r.add(CodeLast, -1, "last is recipe %d, not %d", recipe[n-1], rule.A)
			}
		case day.Next:
			k := slices.Index(recipe, rule.B)
			if k == 0 || k > 0 && recipe[k-1] != rule.A {
				r.add(CodeNext, -1, "recipe %d does not follow recipe %d", rule.B, rule.A)
			}
		case day.NotNext:
			for k := 1; k < n; k++ {
				if recipe[k-1] == rule.A && recipe[k] == rule.B {
					r.add(CodeNotNext, -1, "recipe %d follows recipe %d", rule.B, rule.A)
				}
			}
		case day.Before:
			if k := slices.Index(recipe, rule.B); k >= 0 && rule.A != rule.B && slices.Contains(recipe[k:], rule.A) {
				r.add(CodeBefore, -1, "recipe %d comes after recipe %d", rule.A, rule.B)
			}
		case day.AtLeast:
			for k := range n {
				if recipe[k] != rule.B {
					continue
				}
				applies := rule.A == -1 && (k == 0 || recipe[k-1] != rule.B) ||
					rule.A != -1 && k > 0 && recipe[k-1] == rule.A
				if applies && r.plan.Made[k].Act < rule.Act {
					r.add(CodeAtLeast, -1, "%v before place %d, at least %v asked", r.plan.Made[k].Act, k, rule.Act)
				}
			}
		}
	}
}

func (r *replay) values() {
	p, plan := r.p, r.plan
	count := make([]int, len(p.Recipes))
	cleaning := 0
	for k := range plan.Made {
		b := r.block(k)
		count[b.boil.Recipe]++
		cleaning += p.ActMin[b.Act] + b.kettle + r.cleaned[k]
	}
	if plan.Cleaning != cleaning {
		r.add(CodeCleaning, -1, "the plan says %d, it is %d", plan.Cleaning, cleaning)
	}
	var must, should, missed int
	for _, l := range p.Lines {
		made := true
		for rec, need := range l.Needs {
			made = made && count[rec] >= need
		}
		if !made && l.Must {
			must++
		}
		if !made && !l.Must {
			should++
		}
	}
	for _, k := range plan.Kept {
		if k == -1 {
			missed++
		}
	}
	names := []string{day.ObjMust, day.ObjAppoint, day.ObjShould, day.ObjEnd, day.ObjClean}
	codes := []string{CodeMust, CodeAppoint, CodeShould, CodeEndValue, CodeCleanValue}
	values := []int{must, missed, should, r.end, cleaning}
	if len(plan.Objectives) != len(names) {
		r.add(CodeNames, -1, "%d objectives", len(plan.Objectives))
		return
	}
	for i, o := range plan.Objectives {
		if o.Name != names[i] {
			r.add(CodeNames, -1, "objective %d is %q", i, o.Name)
		}
		if o.Value != values[i] {
			r.add(codes[i], -1, "%s is %d, the plan says %d", names[i], values[i], o.Value)
		}
		if o.Bound > o.Value {
			r.add(CodeBound, -1, "%s has bound %d above %d", o.Name, o.Bound, o.Value)
		}
		if plan.ProvedBest && o.Bound < o.Value {
			r.add(CodeProof, -1, "%s has bound %d below %d", o.Name, o.Bound, o.Value)
		}
	}
	if plan.ProvedBest && plan.StoppedEarly {
		r.add(CodeProof, -1, "stopped early and called best")
	}
}
