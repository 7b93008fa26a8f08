package book

import (
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	q "slabside/internal/quantity"
)

var (
	idForm    = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	clockForm = regexp.MustCompile(`^([01][0-9]|2[0-3]):[0-5][0-9]$`)
	paintForm = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)
)

// The longest texts a book holds, in letters.
const (
	mostID   = 60
	mostName = 200
	mostNote = 4000
)

func goodID(s string) bool { return len(s) <= mostID && idForm.MatchString(s) }

func (c *check) badID(path, s string) {
	c.fail(path, BadID, "lower-case words with hyphens, at most 60 letters, such as damson-leaves", quoted(s)+" cannot be an id")
}

// text checks a text of a kind that is not empty.
func (c *check) text(f Field, path, s string, refs map[string][]string) {
	switch f.Kind {
	case ID:
		if !goodID(s) {
			c.badID(path, s)
		}
	case Ref:
		if f.Refs == "portion" { // looked up where its recipe is known
			return
		}
		if _, ok := c.index[f.Refs][s]; ok {
			return
		}
		c.fail(path, Unknown, didYouMean(s, refs[f.Refs]), fmt.Sprintf("no %s with the id %s", f.Refs, quoted(s)))
	case Word:
		c.word(f, path, s)
	case Clock:
		if !clockForm.MatchString(s) {
			c.fail(path, BadText, howTo(f)+", hours and minutes of 24 hours", quoted(s)+" is not a clock time")
		}
	case Date:
		if _, err := time.Parse(time.DateOnly, s); err != nil {
			c.fail(path, BadText, howTo(f)+", year, month, day", quoted(s)+" is not a date")
		}
	case Paint:
		if !paintForm.MatchString(s) {
			c.fail(path, BadText, howTo(f), quoted(s)+" is not a colour to draw in")
		}
	case Currency:
		if !q.KnownCurrency(s) {
			c.fail(path, BadText, howTo(f)+" (ISO 4217)", quoted(s)+" is not a currency")
		}
	case Money:
		if _, err := q.ParseMoney(s); err != nil {
			c.fail(path, BadText, howTo(f), quoted(s)+" is not an amount of money")
		}
	case Zone:
		if _, err := time.LoadLocation(s); err != nil || s == "Local" {
			c.fail(path, BadText, howTo(f), quoted(s)+" is not a time zone")
		}
	default:
		c.plainText(f, path, s)
	}
}

func (c *check) plainText(f Field, path, s string) {
	most := mostName
	if strings.HasSuffix(f.Path, ".note") {
		most = mostNote
	}
	switch {
	case !utf8.ValidString(s):
		c.fail(path, BadText, "save the text as UTF-8", "is not readable text")
	case utf8.RuneCountInString(s) > most:
		c.fail(path, BadText, fmt.Sprintf("at most %d letters", most), "is too long")
	case strings.TrimSpace(s) == "":
		c.fail(path, BadText, "write something or leave it out", "holds only blanks")
	case strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }):
		c.fail(path, BadText, "take the control characters out", "holds a control character")
	}
}
