package fault_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"slabside/internal/fault"
)

func TestClip(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		most int
		want string
	}{
		{"", 4, ""},
		{"bonbon", 6, "bonbon"},
		{"bonbons", 6, "bonbon…"},
		{"飴飴飴", 2, "飴飴…"},
		{"mint\r\n\tdrops", 40, "mint drops"},
		{"mint\r\n", 5, "mint "},
		{"mint\r\ndrops", 5, "mint …"},
		{"a\x00b\x1b[31mc\u2028d\u202ee", 40, "a b [31mc d e"},
		{"12\u00a0kg", 40, "12 kg"},
		{"a\xffb", 40, "a\ufffdb"},
		{"anything", 0, "…"},
	} {
		if got := fault.Clip(c.text, c.most); got != c.want {
			t.Errorf("Clip(%q, %d) = %q, want %q", c.text, c.most, got, c.want)
		}
	}
}

// Whatever was typed, what is said again is one line of text, no longer than it may
// be, and all of it where it is short and plain.
func TestClip_Property(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringMatching(`[ -~\n\t]{0,60}`)).Draw(rt, "text")
		most := rapid.IntRange(0, 50).Draw(rt, "most")
		got := fault.Clip(s, most)
		if n := utf8.RuneCountInString(got); n > most+1 || n == most+1 && !strings.HasSuffix(got, "…") {
			rt.Errorf("%q: %d runes, at most %d", got, n, most)
		}
		if strings.ContainsFunc(got, func(r rune) bool { return r < ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' }) {
			rt.Errorf("%q is no one line", got)
		}
		if again := fault.Clip(s, len(s)); fault.Clip(again, len(again)) != again {
			rt.Errorf("%q clipped twice is %q", s, fault.Clip(again, len(again)))
		}
		if plain := strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r <= ' ' || r > '~' }), " "); utf8.RuneCountInString(plain) <= most && fault.Clip(plain, most) != plain {
			rt.Errorf("%q becomes %q", plain, fault.Clip(plain, most))
		}
	})
}
