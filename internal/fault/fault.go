// Package fault holds the kinds of error Slabside can answer with. A fault
// keeps what a person is told (Text, Field, Hint) apart from the wrapped cause,
// which is for the log alone.
package fault

import (
	"errors"
	"fmt"
	"strconv"
)

// Kind sorts errors by what the caller can do about them.
type Kind int

// The kinds, in rising order of surprise.
const (
	KindInvalid    Kind = iota + 1 // input that cannot be meant
	KindOutOfRange                 // physics asked outside a model's range
	KindNotFound                   // no such thing
	KindConflict                   // someone else changed it, or it exists already
	KindBusy                       // locked, port taken, try again
	KindForbidden                  // not allowed to this person or directory
	KindInternal                   // a defect or a broken machine
)

var kindNames = [...]string{KindInvalid: "invalid", KindOutOfRange: "out of range", KindNotFound: "not found",
	KindConflict: "conflict", KindBusy: "busy", KindForbidden: "forbidden", KindInternal: "internal"}

// String returns the kind's name.
func (k Kind) String() string {
	if k > 0 && int(k) < len(kindNames) {
		return kindNames[k]
	}
	return "internal"
}

// Error is a fault: what went wrong, where, and what to do about it.
type Error struct {
	Kind  Kind
	Text  string // public, one sentence without a full stop
	Field string // path of the field, "recipe[2].boil_to"; empty if none
	Hint  string // what to do; empty if nothing is to be said
	Cause error  // for the log; never shown
}

// Error returns the public text with the field and the hint.
func (e *Error) Error() string {
	s := e.Text
	if e.Field != "" {
		s = e.Field + ": " + s
	}
	if e.Hint != "" {
		s += " (" + e.Hint + ")"
	}
	return s
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// At returns a copy of the error that names the field.
func (e *Error) At(field string) *Error { c := *e; c.Field = field; return &c }

// WithHint returns a copy of the error with a hint.
func (e *Error) WithHint(format string, a ...any) *Error {
	c := *e
	c.Hint = fmt.Sprintf(format, a...)
	return &c
}

// WithCause returns a copy of the error that wraps cause.
func (e *Error) WithCause(cause error) *Error { c := *e; c.Cause = cause; return &c }

func newf(k Kind, format string, a ...any) *Error {
	return &Error{Kind: k, Text: fmt.Sprintf(format, a...)}
}

// Invalid reports input that cannot be meant.
func Invalid(format string, a ...any) *Error { return newf(KindInvalid, format, a...) }

// OutOfRange reports a quantity outside the range of the model asked.
// Source is the bibliography key of the model whose range it is.
func OutOfRange(quantity string, value, low, high float64, unit, source string) *Error {
	// Four digits are enough for a person, unless the value then reads like the limit.
	digits := 4
	for digits < 12 && (short(value, digits) == short(low, digits) || short(value, digits) == short(high, digits)) {
		digits++
	}
	return newf(KindOutOfRange, "%s %s %s is outside %s to %s %s, the range of the model (%s)",
		quantity, short(value, digits), unit, short(low, digits), short(high, digits), unit, source)
}

// short prints a number with at most so many digits that mean something, never
// with a power of ten.
func short(v float64, digits int) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// NotFound reports a thing that does not exist.
func NotFound(format string, a ...any) *Error { return newf(KindNotFound, format, a...) }

// Conflict reports a change that collides with another.
func Conflict(format string, a ...any) *Error { return newf(KindConflict, format, a...) }

// Busy reports something that is in use.
func Busy(format string, a ...any) *Error { return newf(KindBusy, format, a...) }

// Forbidden reports something that may not be done.
func Forbidden(format string, a ...any) *Error { return newf(KindForbidden, format, a...) }

// Internal wraps an unexpected error; its public text says only what was attempted.
func Internal(cause error, format string, a ...any) *Error {
	return newf(KindInternal, format, a...).WithCause(cause)
}

// KindOf returns the kind of the first fault in err's chain, KindInternal for any other error.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return KindInternal
}

// Said returns what a person is told of an error: the text and the hint of its first
// fault, without the field; of any other error all it says.
func Said(err error) (text, hint string) {
	var e *Error
	if errors.As(err, &e) {
		return e.Text, e.Hint
	}
	return err.Error(), ""
}
