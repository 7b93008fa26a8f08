package fault_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"slabside/internal/fault"
)

// What a person is told of an error is that of its first fault, hint apart.
func TestSaid(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		err        error
		text, hint string
	}{
		{fault.Invalid("too much").At("boil").WithHint("take less"), "too much", "take less"},
		{fmt.Errorf("while saving: %w", fault.Busy("locked")), "locked", ""},
		{errors.New("plain"), "plain", ""},
	} {
		if text, hint := fault.Said(c.err); text != c.text || hint != c.hint {
			t.Errorf("%v says %q, %q", c.err, text, hint)
		}
	}
}

func TestError_Text(t *testing.T) {
	t.Parallel()
	cases := []struct {
		err  error
		want string
	}{
		{fault.Invalid("the share %d is too large", 7), "the share 7 is too large"},
		{fault.Invalid("too large").At("recipe[2].boil_to"), "recipe[2].boil_to: too large"},
		{fault.Invalid("too large").WithHint("give at most %d %%", 5), "too large (give at most 5 %)"},
		{fault.NotFound("no recipe").At("recipe").WithHint("list them"), "recipe: no recipe (list them)"},
		{fault.OutOfRange("temperature", 482.2222, 36.72531, 160, "°C", "crc"),
			"temperature 482.2 °C is outside 36.73 to 160 °C, the range of the model (crc)"},
		{fault.OutOfRange("temperature", 160.0004, 20, 160, "°C", "crc"),
			"temperature 160.0004 °C is outside 20 to 160 °C, the range of the model (crc)"},
		{fault.OutOfRange("pressure", 3386389, 54000, 110000, "Pa", "crc"),
			"pressure 3386000 Pa is outside 54000 to 110000 Pa, the range of the model (crc)"},
		{fault.OutOfRange("temperature", 175.04, 20, 160, "°C", "crc"),
			"temperature 175 °C is outside 20 to 160 °C, the range of the model (crc)"},
		{fault.OutOfRange("pressure", math.NaN(), 1, 2, "Pa", "k"), "pressure NaN Pa is outside 1 to 2 Pa, the range of the model (k)"},
	}
	for _, c := range cases {
		if got := c.err.Error(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// The cause is for the log: errors.Is finds it and no text shows it.
func TestError_KeepsTheCauseToItself(t *testing.T) {
	t.Parallel()
	cause := errors.New("disk /dev/x, secret")
	for _, err := range []error{
		fault.Internal(cause, "read the book"), fault.Busy("the book is open elsewhere").WithCause(cause),
		fmt.Errorf("plan: %w", fault.Conflict("changed").WithCause(cause)),
	} {
		if !errors.Is(err, cause) {
			t.Errorf("%v lost its cause", err)
		}
		if strings.Contains(err.Error(), "secret") {
			t.Errorf("%v shows its cause", err)
		}
	}
}

// At, WithHint and WithCause leave the error they start from alone.
func TestError_CopiesAreApart(t *testing.T) {
	t.Parallel()
	base := fault.Invalid("bad")
	base.At("a").WithHint("b").WithCause(errors.New("c"))
	if base.Field != "" || base.Hint != "" || base.Cause != nil {
		t.Errorf("the first error became %+v", base)
	}
}

func TestKind(t *testing.T) {
	t.Parallel()
	cases := []struct {
		err  error
		want fault.Kind
		name string
	}{
		{fault.Invalid("x"), fault.KindInvalid, "invalid"},
		{fault.OutOfRange("x", 1, 2, 3, "", ""), fault.KindOutOfRange, "out of range"},
		{fault.NotFound("x"), fault.KindNotFound, "not found"},
		{fault.Conflict("x"), fault.KindConflict, "conflict"},
		{fault.Busy("x"), fault.KindBusy, "busy"},
		{fault.Forbidden("x"), fault.KindForbidden, "forbidden"},
		{fault.Internal(errors.New("y"), "x"), fault.KindInternal, "internal"},
		{errors.New("stray"), fault.KindInternal, "internal"},
		{fmt.Errorf("outer: %w", fault.NotFound("x")), fault.KindNotFound, "not found"},
		{fault.Invalid("outer").WithCause(fault.NotFound("inner")), fault.KindInvalid, "invalid"},
	}
	for _, c := range cases {
		if got := fault.KindOf(c.err); got != c.want || got.String() != c.name {
			t.Errorf("%v: kind %v, want %v", c.err, got, c.want)
		}
	}
	// A kind nobody made reads as a defect, not as a panic.
	for _, k := range []fault.Kind{0, -1, 99} {
		if k.String() != "internal" {
			t.Errorf("kind %d reads %q", int(k), k)
		}
	}
}
