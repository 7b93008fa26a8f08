package cli

import (
	"errors"
	"fmt"
	"io"

	"slabside/internal/app"
	"slabside/internal/fault"
)

// The exit statuses.
const (
	ExitDone     = 0 // done
	ExitNo       = 1 // computed, and the answer is no
	ExitInput    = 2 // bad input, or out of a model's range
	ExitNotFound = 3
	ExitRefused  = 4 // conflict, busy or forbidden
	ExitInternal = 5
)

const exitHelp = "Exit status: 0 done; 1 computed, and the answer is no; 2 bad input or out of a model's range; " +
	"3 not found; 4 conflict, busy or forbidden; 5 internal."

// errNo says that a command computed and printed an answer, and it is no.
var errNo = errors.New("the answer is no")

// exitOf maps an error to its exit status: the one table.
func exitOf(err error) int {
	switch {
	case err == nil:
		return ExitDone
	case errors.Is(err, errNo):
		return ExitNo
	}
	switch fault.KindOf(err) {
	case fault.KindInvalid, fault.KindOutOfRange:
		return ExitInput
	case fault.KindNotFound:
		return ExitNotFound
	case fault.KindConflict, fault.KindBusy, fault.KindForbidden:
		return ExitRefused
	}
	return ExitInternal
}

// report prints an error for a person: every fault on a line, its hint under it.
func report(w io.Writer, err error) {
	if err == nil || errors.Is(err, errNo) {
		return
	}
	var all app.Problems
	if errors.As(err, &all) {
		for _, e := range all {
			reportOne(w, e)
		}
		return
	}
	var e *fault.Error
	if errors.As(err, &e) {
		reportOne(w, e)
		return
	}
	fmt.Fprintf(w, "slabside: something went wrong inside: %v\n", err)
}

func reportOne(w io.Writer, e *fault.Error) {
	text := e.Text
	if e.Field != "" {
		text = e.Field + ": " + text
	}
	fmt.Fprintf(w, "slabside: %s\n", text)
	if e.Kind == fault.KindInternal && e.Cause != nil {
		fmt.Fprintf(w, "  cause: %v\n", e.Cause)
	}
	if e.Hint != "" {
		fmt.Fprintf(w, "  → %s\n", e.Hint)
	}
}
