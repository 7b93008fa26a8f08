package record

import (
	"slices"
	"strings"

	"slabside/internal/fault"
)

// Word is what the trade says of a sweet.
type Word string

// The words: the first means that nothing is amiss.
const (
	Good      Word = "good"
	Grained   Word = "grained"
	Sticky    Word = "sticky"
	Dull      Word = "dull"
	Cloudy    Word = "cloudy"
	Bubbles   Word = "bubbles"
	Soft      Word = "soft" // runs out of its shape
	Sharp     Word = "sharp edges"
	OffTaste  Word = "off-flavour"
	WeakTaste Word = "weak flavour"
	Strong    Word = "strong flavour"
	Burnt     Word = "burnt"
	Pale      Word = "pale"
	Dark      Word = "dark"
	Uneven    Word = "uneven colour"
)

// Words lists the words.
func Words() []Word {
	return []Word{Good, Grained, Sticky, Dull, Cloudy, Bubbles, Soft, Sharp, OffTaste, WeakTaste, Strong, Burnt, Pale, Dark, Uneven}
}

// Tasted is what somebody says of the sweets.
type Tasted struct {
	Words []Word `json:"words"`
	Note  string `json:"note,omitempty"`
}

// Signed is the end of a record: somebody has read it as it stands and stands for it.
type Signed struct {
	Through int64  `json:"through_act"` // last act that was read
	Note    string `json:"note,omitempty"`
}

func (t Tasted) check() error {
	if len(t.Words) == 0 && strings.TrimSpace(t.Note) == "" {
		return fault.Invalid("nothing is said of the sweets").At("tasted.words")
	}
	for i, w := range t.Words {
		switch {
		case !slices.Contains(Words(), w):
			return fault.Invalid("%q is none of the words for a sweet", fault.Clip(string(w), fault.Echo)).At("tasted.words").WithHint("one of %s; anything else in the note", list(Words()))
		case slices.Contains(t.Words[:i], w):
			return fault.Invalid("%s is said twice", w).At("tasted.words")
		}
	}
	if len(t.Words) > 1 && slices.Contains(t.Words, Good) {
		return fault.Invalid("good, and yet %s", list(slices.DeleteFunc(slices.Clone(t.Words), func(w Word) bool { return w == Good }))).At("tasted.words").WithHint("good means that nothing is amiss")
	}
	return fault.Texts("tasted.note", t.Note)
}

func (s Signed) check() error {
	if s.Through < 1 {
		return fault.Invalid("it is not said what was read").At("signed.through_act").WithHint("name the last act of the record as it was looked at")
	}
	return fault.Texts("signed.note", s.Note)
}
