package web

import (
	"errors"
	"net/http"

	"slabside/internal/app"
	"slabside/internal/fault"
)

// statusOf is the one table from kinds of fault to HTTP status.
var statusOf = map[fault.Kind]int{
	fault.KindInvalid:    http.StatusUnprocessableEntity,
	fault.KindOutOfRange: http.StatusUnprocessableEntity,
	fault.KindNotFound:   http.StatusNotFound,
	fault.KindConflict:   http.StatusConflict,
	fault.KindBusy:       http.StatusServiceUnavailable,
	fault.KindForbidden:  http.StatusForbidden,
	fault.KindInternal:   http.StatusInternalServerError,
}

// status returns the HTTP status of any error.
func status(err error) int {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return http.StatusRequestEntityTooLarge
	}
	if errors.Is(err, errNotSignedIn) {
		return http.StatusUnauthorized
	}
	if errors.Is(err, errMediaType) {
		return http.StatusUnsupportedMediaType
	}
	if st, ok := statusOf[fault.KindOf(err)]; ok {
		return st
	}
	return http.StatusInternalServerError
}

// errNotSignedIn marks a fault of somebody who has not said who they are.
var errNotSignedIn = errors.New("not signed in")

// errDefect is what a person is told of an error that is not theirs.
func errDefect(cause error) *fault.Error {
	return fault.Internal(cause, "something in the program went wrong; nothing was changed").
		WithHint("try again; if it stays, the log says what happened")
}

// public returns the faults a person may be told of.
func public(err error) []*fault.Error {
	var ps app.Problems
	if errors.As(err, &ps) && len(ps) > 0 {
		return ps
	}
	var e *fault.Error
	if errors.As(err, &e) && e.Kind != fault.KindInternal {
		return []*fault.Error{e}
	}
	return []*fault.Error{errDefect(err)}
}

// faultView is the page that says what is wrong and what to do.
type faultView struct {
	Base   base
	Status int
	Faults []faultLine
}

type faultLine struct{ Text, Field, Hint string }

func faultLines(list []*fault.Error) []faultLine {
	out := make([]faultLine, len(list))
	for i, e := range list {
		out[i] = faultLine{Text: sentence(e.Text), Field: e.Field, Hint: sentence(e.Hint)}
	}
	return out
}

// showError answers with a page for err; an unexpected one goes to the log.
func (s *server) showError(w http.ResponseWriter, r *http.Request, err error) {
	st := status(err)
	if st == http.StatusRequestEntityTooLarge {
		err = fault.Invalid("that is too much at once").WithHint("send less at a time")
	}
	if st == http.StatusInternalServerError {
		s.log.Error("error", "path", r.URL.Path, "error", err.Error(), "cause", causes(err))
	}
	if st == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", "5")
	}
	s.showStatus(w, r, st, public(err)...)
}

// causes joins the wrapped errors, for the log alone.
func causes(err error) string {
	var out string
	for err = errors.Unwrap(err); err != nil; err = errors.Unwrap(err) {
		out += err.Error() + "; "
	}
	return out
}

func (s *server) showStatus(w http.ResponseWriter, r *http.Request, st int, list ...*fault.Error) {
	if forProgram(r) {
		s.showProblem(w, st, list)
		return
	}
	v := faultView{Base: frame(faultTitle(st), ""), Status: st, Faults: faultLines(list)}
	if s.bare {
		v.Base = base{Title: faultTitle(st)}
	} else if st < http.StatusInternalServerError { // after a defect nothing more is asked of the book
		v.Base = s.base(r, faultTitle(st), "")
	}
	if err := s.render(w, st, "fault", v); err != nil {
		s.log.Error("error page", "error", err.Error())
		http.Error(w, "something went wrong", http.StatusInternalServerError)
	}
}

func faultTitle(st int) string {
	switch st {
	case http.StatusNotFound:
		return "Not here"
	case http.StatusMethodNotAllowed, http.StatusForbidden, http.StatusMisdirectedRequest, http.StatusUnauthorized, http.StatusTooManyRequests:
		return "Not done"
	case http.StatusConflict:
		return "Changed by somebody else"
	case http.StatusServiceUnavailable:
		return "Busy just now"
	case http.StatusInternalServerError:
		return "Something went wrong"
	}
	return "This cannot be done as it stands"
}
