package daytest

import (
	"fmt"

	"slabside/internal/day"
)

// The codes of violations, one for each sentence of the model.
const (
	CodeShape        = "malformed"         // an index out of range, a list of the wrong length
	CodeTwice        = "made_twice"        // a boil made twice
	CodePourOrder    = "pour_order"        // Made is not in pour order
	CodeRecipeOrder  = "recipe_order"      // boils of a recipe out of index order, or one left out before
	CodeOpening      = "before_opening"    // a block starts before minute 0
	CodeKettle       = "kettle"            // two boils in the kettle, or one in it and it is cleaned for the next
	CodeSlab         = "slab"              // two boils on the slab
	CodeHook         = "hook"              // two boils on the hook
	CodeRolls        = "rolls"             // two boils in the rolls
	CodeFlames       = "two_flames"        // two flames lit
	CodeAdult        = "flame_unwatched"   // a flame and no adult in the room
	CodeBench        = "bench"             // more sheets than the bench holds
	CodeActWindow    = "act_window"        // the act before slab and hook are free or into the pour
	CodeRollsMin     = "rolls_minutes"     // the wrong minutes for the rolls
	CodeRollsWindow  = "rolls_window"      // rolls set up while they roll, or into the rolling
	CodeResidue      = "residue"           // a level on the line above the limit at the pour
	CodeKettleLevel  = "kettle_residue"    // a level in the kettle above the limit as the charge begins
	CodeHot          = "hot_hands"         // too few hot hands
	CodeClean        = "clean_hands"       // too few hands for set-ups
	CodeWeigh        = "weighing_late"     // not weighed when the charge begins
	CodeUndone       = "work_undone"       // elastic work that nobody is there to end
	CodeBreakWindow  = "break_window"      // a break started outside its window
	CodeBreakMissing = "break_missing"     // a break not taken on a day that needs it
	CodeBreakFlame   = "break_flame"       // a flame lit while a break runs
	CodeBreakWork    = "break_work"        // hot work, charge or set-up while a break runs
	CodeKept         = "appointment"       // kept by a boil outside its window
	CodeKeptRecipe   = "appoint_recipe"    // kept by a boil of another recipe
	CodeKeptTwice    = "appoint_twice"     // one boil keeps two appointments
	CodeFirst        = "rule_first"        // rule First broken
	CodeLast         = "rule_last"         // rule Last broken
	CodeNext         = "rule_next"         // rule Next broken
	CodeNotNext      = "rule_not_next"     // rule NotNext broken
	CodeAtLeast      = "rule_at_least"     // rule AtLeast broken
	CodeBefore       = "rule_before"       // rule Before broken
	CodeEndWrong     = "end_wrong"         // Plan.End is not the end of the work
	CodeDayEnd       = "day_end"           // end and closing beyond the day
	CodeCleaning     = "cleaning_wrong"    // Plan.Cleaning is not the cleaning minutes
	CodeNames        = "objective_names"   // the objectives are not the five in order
	CodeMust         = "must_wrong"        // value of the must-lines
	CodeAppoint      = "appointment_wrong" // value of the appointments
	CodeShould       = "should_wrong"      // value of the should-lines
	CodeEndValue     = "end_value_wrong"   // value of the end
	CodeCleanValue   = "clean_value_wrong" // value of the cleaning
	CodeBound        = "bound_above"       // a bound above its value
	CodeProof        = "proof"             // called best, and a bound below its value or stopped early
)

// Violation is one rule of the model that a plan breaks.
type Violation struct {
	Code   string
	Minute int // the first minute of it, −1 if it has none
	Text   string
}

// String returns the violation on one line.
func (v Violation) String() string {
	return fmt.Sprintf("%s at %d: %s", v.Code, v.Minute, v.Text)
}

// Check replays a plan minute by minute and returns what it breaks, each code
// once with its first minute. A plan without violations returns nil.
func Check(p *day.Problem, plan *day.Plan) []Violation {
	r := &replay{p: p, plan: plan}
	r.shape()
	if r.out != nil {
		return r.out // the rest would index out of range
	}
	r.horizon()
	r.order()
	r.residue()
	r.kettleResidue()
	r.setups()
	r.minutes()
	r.finish()
	r.appointments()
	r.rules()
	r.values()
	return r.out
}

type replay struct {
	p    *day.Problem
	plan *day.Plan
	out  []Violation

	before  [][]int // levels on the line before the act of every place
	rolls   []int   // minutes the rolls take before every place
	cleaned []int   // how many of them are cleaning

	last int // the minutes 0 ≤ τ < last are replayed
	end  int // E, −1 when the work never ends
}

func (r *replay) add(code string, minute int, format string, a ...any) {
	for _, v := range r.out {
		if v.Code == code {
			return
		}
	}
	r.out = append(r.out, Violation{code, minute, fmt.Sprintf(format, a...)})
}

// block is a placed boil with its minutes from the opening.
type block struct {
	day.Placed
	boil   day.Boil
	shape  day.Shape
	kettle int // minutes of the clean of the kettle
}

func (r *replay) block(k int) block {
	pl := r.plan.Made[k]
	b := r.p.Boils[pl.Boil]
	kettle := 0
	if pl.KettleClean {
		kettle = r.p.KettleMin
	}
	return block{pl, b, b.Shapes[pl.Shape], kettle}
}

func (b block) litFrom() int    { return b.Pour - b.boil.Lit }
func (b block) chargeFrom() int { return b.Pour - b.boil.Lit - b.boil.Charge }
func (b block) kettleFrom() int { return b.chargeFrom() - b.kettle }
func (b block) kettleTo() int   { return b.Pour + b.boil.Pour + b.boil.Rinse }
func (b block) slabTo() int     { return b.Pour + b.shape.SlabFree }
func (b block) rollsTo() int    { return b.Pour + b.shape.RollTo }
func (b block) cool() int       { return b.Pour + b.shape.RollTo + b.boil.Cool }
func (b block) onHook() bool    { return b.shape.HookFrom < b.shape.HookTo }
func (b block) hookTo() int     { return b.Pour + b.shape.HookTo }

// blockEnd is the minute by which everything but elastic work is done.
func (r *replay) blockEnd(k int) int {
	b := r.block(k)
	e := max(b.kettleTo(), b.slabTo(), b.rollsTo(), b.cool())
	if b.onHook() {
		e = max(e, b.hookTo())
	}
	for _, s := range b.shape.Steps {
		e = max(e, b.Pour+s.To)
	}
	if m := r.p.ActMin[b.Act]; m > 0 {
		e = max(e, b.ActFrom+m)
	}
	if b.RollsMin > 0 {
		e = max(e, b.RollsFrom+b.RollsMin)
	}
	return e
}

func within(minute, from, to int) bool { return from <= minute && minute < to }

func (r *replay) shape() {
	p, plan := r.p, r.plan
	for k, m := range plan.Made {
		switch {
		case m.Boil < 0 || m.Boil >= len(p.Boils):
			r.add(CodeShape, -1, "place %d has no boil %d", k, m.Boil)
		case m.Shape < 0 || m.Shape >= len(p.Boils[m.Boil].Shapes):
			r.add(CodeShape, -1, "place %d has no shape %d", k, m.Shape)
		case m.Act < 0 || int(m.Act) >= day.NumActs:
			r.add(CodeShape, -1, "place %d has no act %d", k, int(m.Act))
		}
	}
	if len(plan.Breaks) != len(p.Breaks) {
		r.add(CodeShape, -1, "%d breaks for %d", len(plan.Breaks), len(p.Breaks))
	}
	if len(plan.Kept) != len(p.Appoint) {
		r.add(CodeShape, -1, "%d appointments for %d", len(plan.Kept), len(p.Appoint))
	}
	for _, k := range plan.Kept {
		if k < -1 || k >= len(plan.Made) {
			r.add(CodeShape, -1, "an appointment kept by place %d", k)
		}
	}
}

// horizon finds a minute after which nothing runs and nobody is in the room.
func (r *replay) horizon() {
	r.last = r.p.End
	for k := range r.plan.Made {
		r.last = max(r.last, r.blockEnd(k))
	}
	for _, h := range r.p.Hands {
		for _, s := range h.Present {
			r.last = max(r.last, s.To)
		}
	}
}

func (r *replay) order() {
	made := make([]int, len(r.p.Boils))
	for k, m := range r.plan.Made {
		made[m.Boil]++
		if made[m.Boil] > 1 {
			r.add(CodeTwice, m.Pour, "boil %d made twice", m.Boil)
		}
		if k > 0 && m.Pour <= r.plan.Made[k-1].Pour {
			r.add(CodePourOrder, m.Pour, "place %d pours no later than the one before", k)
		}
		if from := r.block(k).kettleFrom(); from < 0 {
			r.add(CodeOpening, from, "boil %d is charged, or the kettle cleaned for it, before the opening", m.Boil)
		}
		// every boil of the same recipe with a smaller index comes before
		for b := range m.Boil {
			if r.p.Boils[b].Recipe != r.p.Boils[m.Boil].Recipe {
				continue
			}
			before := false
			for _, q := range r.plan.Made[:k] {
				before = before || q.Boil == b
			}
			if !before {
				r.add(CodeRecipeOrder, m.Pour, "boil %d before boil %d of its recipe", m.Boil, b)
			}
		}
	}
}

// pairBefore is the pair of rolls on the machine before place k.
func (r *replay) pairBefore(k int) int {
	if k == 0 {
		return r.p.Mounted
	}
	return r.block(k - 1).boil.Rolls
}

func (r *replay) setups() {
	r.rollsWork()
	for k := range r.plan.Made {
		b := r.block(k)
		slabFree, rollsFree := 0, 0
		if k > 0 {
			i := r.block(k - 1)
			slabFree, rollsFree = i.slabTo(), i.rollsTo()
			if i.onHook() {
				slabFree = max(slabFree, i.hookTo())
			}
		}
		if m := r.p.ActMin[b.Act]; m > 0 {
			if b.ActFrom < slabFree {
				r.add(CodeActWindow, b.ActFrom, "%v before boil %d starts, slab and hook are free at %d", b.Act, b.Placed.Boil, slabFree)
			}
			if b.ActFrom+m > b.Pour {
				r.add(CodeActWindow, b.Pour, "%v before boil %d ends at %d, the pour is at %d", b.Act, b.Placed.Boil, b.ActFrom+m, b.Pour)
			}
		}
		if want := r.rolls[k]; b.RollsMin != want {
			r.add(CodeRollsMin, b.RollsFrom, "rolls before boil %d take %d min, not %d", b.Placed.Boil, want, b.RollsMin)
		}
		if b.RollsMin > 0 {
			if b.RollsFrom < rollsFree {
				r.add(CodeRollsWindow, b.RollsFrom, "rolls before boil %d, they are free at %d", b.Placed.Boil, rollsFree)
			}
			if start := b.Pour + b.shape.RollFrom; b.RollsFrom+b.RollsMin > start {
				r.add(CodeRollsWindow, start, "rolls before boil %d are ready at %d", b.Placed.Boil, b.RollsFrom+b.RollsMin)
			}
		}
	}
}

func (r *replay) finish() {
	for i, start := range r.plan.Breaks {
		b := r.p.Breaks[i]
		if start == -1 {
			if r.end > b.To {
				r.add(CodeBreakMissing, b.To, "%s is not taken and the work ends at %d", b.Name, r.end)
			}
		} else if start < b.From || start > b.To {
			r.add(CodeBreakWindow, start, "%s outside %d to %d", b.Name, b.From, b.To)
		}
	}
	if r.plan.End != r.end {
		r.add(CodeEndWrong, r.end, "the plan says %d", r.plan.End)
	}
	if r.end+r.p.Closing > r.p.End {
		r.add(CodeDayEnd, r.end, "with %d min of closing, the day ends at %d", r.p.Closing, r.p.End)
	}
}
