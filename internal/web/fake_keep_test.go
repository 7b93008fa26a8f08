package web

import (
	"context"
	"slices"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/store"
)

// The fake shop keeps things in memory, each state of the book beside who made it.

type fakeState struct {
	book   book.Book
	what   string
	person string
	reason string
}

func (f *fakeShop) step(b book.Book, what, who, why string) {
	f.was = append(f.was, fakeState{f.book, what, who, why})
	f.book = b
	f.head++
}

func (f *fakeShop) Save(_ context.Context, form entry.Form, expect store.Head, who, why string) (string, store.Head, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	b, id, faults := entry.Put(f.book, form)
	if len(faults) > 0 {
		var p app.Problems
		for _, x := range faults {
			p = append(p, fault.Invalid("%s", x.Text).At(x.Name).WithHint("%s", x.Hint))
		}
		return id, 0, p
	}
	if expect != f.head {
		return id, 0, fault.Conflict("the book has changed")
	}
	f.step(b, form.Kind+" "+id, who, why)
	return id, f.head, nil
}

func (f *fakeShop) KeepTrial(_ context.Context, req app.PlanRequest, expect store.Head, who, why string) (store.Head, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if expect != f.head {
		return 0, fault.Conflict("the book has changed")
	}
	b := f.book
	b.Day.Rules = slices.Clone(b.Day.Rules)
	for _, c := range req.If {
		b.Day.Rules = append(b.Day.Rules, c.Rule)
	}
	f.step(b, "day", who, why)
	return f.head, nil
}

func (f *fakeShop) Start(_ context.Context, text map[string]string, who string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.bookErr == nil {
		return fault.Conflict("there is a book already")
	}
	b, lines, err := app.Begin(text)
	if err != nil {
		return err
	}
	b.ToMake = lines
	f.step(b, "shop", who, "the book begins")
	f.bookErr = nil
	return nil
}

func (f *fakeShop) Retire(_ context.Context, kind, id string, expect store.Head, who, why string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if expect != f.head {
		return fault.Conflict("the book has changed")
	}
	if uses, _ := app.UsesOf(&f.book, kind, id); len(uses) > 0 {
		return fault.Conflict("%s %s is still used", kind, id)
	}
	b := f.book
	i := slices.IndexFunc(b.Ingredients, func(x ingredient.Ingredient) bool { return x.ID == id })
	if kind != "ingredient" || i < 0 {
		return fault.NotFound("no %s %q", kind, id)
	}
	b.Ingredients = slices.Delete(slices.Clone(b.Ingredients), i, i+1)
	f.step(b, kind+" "+id, who, why)
	return nil
}

func (f *fakeShop) History(_ context.Context, kind, id string, before, limit int) ([]app.Version, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	now, err := entry.Print(&f.book, kind, id)
	if err != nil {
		return nil, err
	}
	first := now
	if len(f.was) > 0 {
		if first, err = entry.Print(&f.was[0].book, kind, id); err != nil {
			first = now
		}
	}
	at := time.Date(2026, 11, 20, 18, 5, 0, 0, time.UTC)
	out := []app.Version{{N: 1, Act: 1, At: at, Person: "Ann", Reason: "the book begins", Changes: entry.Differences(entry.Form{}, first)}}
	if d := entry.Differences(first, now); len(d) > 0 {
		last := f.was[len(f.was)-1]
		out = append([]app.Version{{N: 2, Act: 2, At: at.Add(time.Hour), Person: last.person, Reason: last.reason, Changes: d}}, out...)
	}
	if before > 0 {
		out = out[min(len(out), max(0, out[0].N-before+1)):]
	}
	if len(out) == 0 {
		return nil, fault.NotFound("there is no version below %d", before)
	}
	return out[:min(limit, len(out))], nil
}

func (f *fakeShop) Last(context.Context) (*app.LastChange, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.was) == 0 {
		return nil, nil
	}
	last := f.was[len(f.was)-1]
	return &app.LastChange{Act: int64(f.head), At: fixtureNow(), Person: last.person, Reason: last.reason, What: []string{last.what}, Undoable: true}, nil
}

func (f *fakeShop) Undo(_ context.Context, expect store.Head, who string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	switch {
	case expect != f.head:
		return fault.Conflict("the book has changed")
	case len(f.was) == 0:
		return fault.Invalid("there is nothing to undo")
	}
	last := f.was[len(f.was)-1]
	f.step(last.book, last.what, who, "undone")
	return nil
}
