package app

import (
	"context"
	"reflect"
	"strings"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// KeepTrial writes the changes of a trial to the shop book: rules, breaks, pours
// and hands of the day, and the lines to make. What holds for a date alone is not
// written. It is one act.
//
// Faults: Problems for changes that cannot be meant; Invalid if there is nothing
// to write; Conflict if the book has moved on from expect.
func (a *App) KeepTrial(ctx context.Context, req PlanRequest, expect store.Head, who, why string) (store.Head, error) {
	b, head, err := a.Book(ctx)
	if err != nil {
		return 0, err
	}
	if head != expect {
		return 0, fault.Conflict("somebody else changed the book").WithHint("look at the trial again beside the plan as it is now")
	}
	var list []Change
	var says []string
	for _, c := range req.If {
		if !c.DateOnly() {
			list, says = append(list, c), append(says, c.Say(&b))
		}
	}
	if len(list) == 0 {
		return 0, fault.Invalid("nothing of this trial is written to the shop book").WithHint("it holds for that day alone; print it, or keep its address")
	}
	if _, err := usable(&b); err != nil {
		return 0, err
	}
	after, err := withChanges(b, list, req.Date)
	if err != nil {
		return 0, err
	}
	if why == "" {
		why = "a trial day kept: " + fault.Clip(strings.Join(says, "; "), 60)
	}
	m := store.Meta{Person: who, At: a.now(), Reason: why}
	if !reflect.DeepEqual(b.Day, after.Day) || len(b.Hands) != len(after.Hands) {
		changed := book.Book{Format: after.Format, Day: after.Day, Hands: after.Hands, ToMake: after.ToMake}
		head, _, err = a.keeper.Import(ctx, changed, head, m)
		return head, err
	}
	return a.keeper.SetToMake(ctx, after.ToMake, head, m)
}
