package fault

import (
	"strings"
	"testing"
)

// A text is refused one byte past the longest, and with what does not print.
func TestTexts(t *testing.T) {
	t.Parallel()
	for text, kept := range map[string]bool{"": true, "Zoë": true, strings.Repeat("a", mostText): true, strings.Repeat("a", mostText+1): false, "a\nb": false, "\xff": false} {
		if err := Texts("made", "fine", text); (err == nil) != kept {
			t.Errorf("%.20q: %v", text, err)
		}
	}
}
