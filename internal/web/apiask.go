package web

import (
	"encoding"
	"errors"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
)

// query reads the values of a question and gathers what is wrong with them.
type query struct {
	values url.Values
	op     *operation
	wrong  app.Problems
}

// query checks that the values are the operation's own, each once, and that none
// that must be there is missing.
func (c *call) query() *query {
	q := &query{op: c.op}
	var err error
	if q.values, err = url.ParseQuery(c.URL.RawQuery); err != nil {
		q.wrong = append(q.wrong, fault.Invalid("the query cannot be read").WithCause(err).WithHint("write %% as %%25, + as %%2B and a space as %%20"))
		return q
	}
	var known []string
	many := map[string]bool{}
	for _, p := range c.op.params {
		known, many[p.name] = append(known, p.name), p.many
		if p.must && q.values.Get(p.name) == "" {
			q.fail(p.name, fault.Invalid("not given"))
		}
	}
	var names []string
	for name := range q.values {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		switch {
		case !slices.Contains(known, name):
			q.wrong = append(q.wrong, fault.Invalid("nothing is asked by this name").At(fault.Clip(name, fault.Echo)).WithHint("%s", nameHint(known)))
		case len(q.values[name]) > 1 && !many[name]:
			q.fail(name, fault.Invalid("given more than once"))
		}
	}
	return q
}

// fail notes what is wrong with a value; a hint of its own stays.
func (q *query) fail(name string, err error) {
	var e *fault.Error
	if !errors.As(err, &e) {
		e = fault.Invalid("%s", err.Error())
	}
	if e.Hint == "" {
		for _, p := range q.op.params {
			if p.name == name {
				e = e.WithHint("write it as %s=%s", name, p.example)
			}
		}
	}
	q.wrong = append(q.wrong, e.At(name))
}

// err returns what was wrong so far, nil if nothing was.
func (q *query) err() error {
	if len(q.wrong) == 0 {
		return nil
	}
	return q.wrong
}

func (q *query) text(name string) string { return q.values.Get(name) }

// amount reads a quantity with its unit, nil if it was not given.
func amount[T any, P interface {
	*T
	encoding.TextUnmarshaler
}](q *query, name string) *T {
	return one(q, name, func(s string) (v T, err error) { return v, P(&v).UnmarshalText([]byte(s)) })
}

// number reads a number without a unit.
func number(q *query, name string) *float64 { return one(q, name, parseNumber) }

func parseNumber(s string) (float64, error) {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fault.Invalid("%q is not a number", fault.Clip(s, fault.Echo))
	}
	return x, nil
}

// whole reads a whole number.
func whole(q *query, name string) *int { return one(q, name, parseWhole) }

func parseWhole(s string) (int, error) {
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0, fault.Invalid("%q is not a whole number", fault.Clip(s, fault.Echo))
	}
	return n, nil
}

// several reads values with commas between them.
func several[T any](q *query, name string, parse func(string) (T, error)) []T {
	list := one(q, name, func(s string) (out []T, err error) {
		for part := range strings.SplitSeq(s, ",") {
			v, err := parse(part)
			if err != nil {
				return nil, err
			}
			out = append(out, v)
		}
		return out, nil
	})
	return given(list, nil)
}

func parseYes(s string) (bool, error) {
	switch s {
	case "yes", "true":
		return true, nil
	case "no", "false":
		return false, nil
	}
	return false, fault.Invalid("%q is neither yes nor no", fault.Clip(s, fault.Echo))
}

// one reads a value that is given at most once, nil if it was not given.
func one[T any](q *query, name string, parse func(string) (T, error)) *T {
	s := q.values.Get(name)
	if s == "" {
		return nil
	}
	v, err := parse(s)
	if err != nil {
		q.fail(name, err)
		return nil
	}
	return &v
}

// given returns what was given, or what stands for it.
func given[T any](p *T, usual T) T {
	if p == nil {
		return usual
	}
	return *p
}

func nameHint(known []string) string {
	if len(known) == 0 {
		return "leave it out"
	}
	return "one of " + strings.Join(known, ", ")
}
