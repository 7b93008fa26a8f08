package app

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// Change is one thing that a trial day has otherwise than the kept one. Which of
// the parts it fills is its kind's.
type Change struct {
	Kind  string // one of ChangeKinds
	Rule  book.Rule
	Pour  book.Pour
	Break book.Break
	Hand  rig.Hand
	Line  demand.Line // For "" means every taker
}

// ChangeKind is a kind of change: how it is written and what becomes of it when
// the trial is kept. The same names are the flags of the plan command, the
// parameters of the API and the query of the pages.
type ChangeKind struct {
	Name    string
	Form    string // what stands after the name
	Help    string
	Example string
	// DateOnly holds for the day that is asked for and is not written to the
	// shop book, which has no dates for it.
	DateOnly bool

	read  func(text string) (Change, bool)
	text  func(Change) string
	say   func(*book.Book, Change) string
	apply func(*book.Book, Change, string) error
}

// mostChanges and longestChange bound what one trial asks for.
const (
	mostChanges   = 60
	longestChange = 400 // bytes
)

// ChangeKinds returns the kinds of change in the order in which they are applied:
// who is there, what is made, in which order, around what.
func ChangeKinds() []ChangeKind {
	return []ChangeKind{
		{Name: "without-hand", Form: "HAND", Help: "Plan without this hand, that day alone.", Example: "ada", DateOnly: true,
			read:  func(s string) (Change, bool) { return Change{Hand: rig.Hand{ID: s}}, s != "" },
			text:  func(c Change) string { return c.Hand.ID },
			say:   func(b *book.Book, c Change) string { return "without " + handName(b, c.Hand.ID) },
			apply: withoutHand},
		{Name: "hand", Form: "NAME [HH:MM-HH:MM] TASKS", Help: "One more hand, hours, and what the hand may do; adult among it.", Example: "Dora 09:00-13:00 adult,weigh,pack",
			read: readHand, text: textHand, say: sayHand, apply: addHand},
		{Name: "not-today", Form: "RECIPE", Help: "Do not boil this recipe that day; what needs it is not made.", Example: "barley-barrels", DateOnly: true,
			read: readOne, text: textRule, say: func(b *book.Book, c Change) string { return "no " + recipeName(b, c.Rule.Recipe) }, apply: notToday},
		{Name: "without", Form: "PRODUCT[@FOR]", Help: "Leave out the lines to make of this product.", Example: "mint-beads-113",
			read: readLine, text: textLine, say: func(b *book.Book, c Change) string { return "without " + lineName(b, c.Line) }, apply: withoutLine},
		{Name: "bags", Form: "PRODUCT[@FOR]=BAGS", Help: "Another number of bags of this product.", Example: "mint-beads-113=60",
			read: readBags, text: func(c Change) string { return textLine(c) + "=" + strconv.Itoa(c.Line.Bags) },
			say: func(b *book.Book, c Change) string {
				return fmt.Sprintf("%d bags of %s", c.Line.Bags, lineName(b, c.Line))
			}, apply: otherBags},
		{Name: "must", Form: "PRODUCT[@FOR]", Help: "The lines of this product must go that day.", Example: "mint-beads-113", DateOnly: true,
			read: readLine, text: textLine, say: func(b *book.Book, c Change) string { return lineName(b, c.Line) + " must go" }, apply: mustGo},
		ruleKind("first", "RECIPE", "Boil this recipe first of the day.", "barley-barrels", readOne),
		ruleKind("last", "RECIPE", "Boil this recipe last of the day.", "barley-barrels", readOne),
		ruleKind("next", "A,B", "Boil recipe B straight after A.", "mint-beads,barley-barrels", readTwo),
		ruleKind("not-next", "A,B", "Do not boil recipe B straight after A.", "mint-beads,barley-barrels", readTwo),
		ruleKind("later", "A,B", "Boil recipe B later than every boil of A.", "mint-beads,barley-barrels", readTwo),
		ruleKind("at-least", "ACT,[A,]B", "At least this act (wipe, wash, allergen clean) before recipe B, or only where it follows A.", "wash,barley-barrels", readAtLeast),
		{Name: "break", Form: "NAME HH:MM-HH:MM LENGTH", Help: "One more break, earliest and latest start, and how long.", Example: "tea 10:30-11:00 20min",
			read: readBreak, text: textBreak,
			say: func(_ *book.Book, c Change) string {
				return fmt.Sprintf("break %s, %.0f min, begun from %s to %s", c.Break.Name, c.Break.Duration.Minutes(), c.Break.From, c.Break.To)
			}, apply: addBreak},
		{Name: "pour", Form: "NAME HH:MM EARLY LATE [RECIPE]", Help: "Announce a pour: time, how early and how late it is still kept, and of which recipe.", Example: "school visit 11:00 10min 15min",
			read: readPour, text: textPour, say: sayPour, apply: addPour},
	}
}

// ruleKind is a kind of change that adds a rule of the day.
func ruleKind(name, form, help, example string, read func(string) (Change, bool)) ChangeKind {
	rule := strings.ReplaceAll(name, "-", "_")
	return ChangeKind{Name: name, Form: form, Help: help, Example: example, text: textRule, say: sayRule, apply: addRule,
		read: func(s string) (Change, bool) {
			c, ok := read(s)
			c.Rule.Kind = rule
			return c, ok
		}}
}

func kindOf(name string) (ChangeKind, bool) {
	return byID(ChangeKinds(), name, func(k ChangeKind) string { return k.Name })
}

// ReadChange reads a change as it is written after the name of its kind. It says
// whether that can be read; whether it can be meant is judged with the book.
func ReadChange(kind, text string) (Change, error) {
	k, ok := kindOf(kind)
	if !ok {
		return Change{}, fault.Invalid("there is no change called %q", fault.Clip(kind, fault.Echo))
	}
	if len(text) <= longestChange {
		if c, ok := k.read(strings.Join(strings.Fields(text), " ")); ok {
			c.Kind = kind
			return c, nil
		}
	}
	return Change{}, fault.Invalid("%q cannot be read", fault.Clip(text, fault.Echo)).At(kind).WithHint("write it as %s, such as %s", k.Form, k.Example)
}

// ReadChanges reads all changes that are given by name, in the order of ChangeKinds.
func ReadChanges(given func(kind string) []string) ([]Change, error) {
	var out []Change
	var p Problems
	for _, k := range ChangeKinds() {
		for _, text := range given(k.Name) {
			c, err := ReadChange(k.Name, text)
			if err != nil {
				p = append(p, err.(*fault.Error))
				continue
			}
			out = append(out, c)
		}
	}
	if len(out) > mostChanges {
		p = append(p, fault.Invalid("%d changes at once", len(out)).WithHint("a trial takes up to %d", mostChanges))
	}
	if len(p) > 0 {
		return nil, p
	}
	return out, nil
}

// Text writes a change as ReadChange reads it.
func (c Change) Text() string {
	if k, ok := kindOf(c.Kind); ok {
		return k.text(c)
	}
	return ""
}

// Say says a change in the words of a book: "Barley drops first".
func (c Change) Say(b *book.Book) string {
	if k, ok := kindOf(c.Kind); ok {
		return k.say(b, c)
	}
	return c.Kind
}

// DateOnly reports whether a change holds for its date alone.
func (c Change) DateOnly() bool {
	k, _ := kindOf(c.Kind)
	return k.DateOnly
}

// Ids are looked up later; here they must only not be taken for anything else.
func plainWord(s string) bool { return s != "" && !strings.ContainsAny(s, ", =@") }

func readOne(s string) (Change, bool) { return Change{Rule: book.Rule{Recipe: s}}, plainWord(s) }

func readTwo(s string) (Change, bool) {
	a, b, ok := strings.Cut(s, ",")
	return Change{Rule: book.Rule{After: a, Recipe: b}}, ok && plainWord(a) && plainWord(b)
}

func readAtLeast(s string) (Change, bool) {
	act, rest, ok := strings.Cut(s, ",")
	if after, recipe, two := strings.Cut(rest, ","); two {
		return Change{Rule: book.Rule{Act: act, After: after, Recipe: recipe}}, act != "" && plainWord(after) && plainWord(recipe)
	}
	return Change{Rule: book.Rule{Act: act, Recipe: rest}}, ok && act != "" && plainWord(rest)
}

func textRule(c Change) string {
	var parts []string
	for _, s := range []string{c.Rule.Act, c.Rule.After, c.Rule.Recipe} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ",")
}

func readLine(s string) (Change, bool) {
	product, taker, named := strings.Cut(s, "@")
	return Change{Line: demand.Line{Product: product, For: taker}}, plainWord(product) && named == (taker != "")
}

func textLine(c Change) string {
	if c.Line.For == "" {
		return c.Line.Product
	}
	return c.Line.Product + "@" + c.Line.For
}

func readBags(s string) (Change, bool) {
	i := strings.LastIndexByte(s, '=')
	if i < 0 {
		return Change{}, false
	}
	c, ok := readLine(s[:i])
	n, err := strconv.Atoi(s[i+1:])
	c.Line.Bags = n
	return c, ok && err == nil
}

var (
	hoursForm = regexp.MustCompile(`^(\d\d:\d\d)-(\d\d:\d\d)$`)
	breakForm = regexp.MustCompile(`^(.+) (\d\d:\d\d)-(\d\d:\d\d) (\S+)$`)
	pourForm  = regexp.MustCompile(`^(.+) (\d\d:\d\d) (\S+) (\S+?)(?: (\S+))?$`)
)

const adultWord = "adult"

func readHand(s string) (Change, bool) {
	words := strings.Fields(s)
	if len(words) < 2 {
		return Change{}, false
	}
	var h rig.Hand
	tasks := strings.Split(words[len(words)-1], ",")
	words = words[:len(words)-1]
	if m := hoursForm.FindStringSubmatch(words[len(words)-1]); m != nil {
		h.From, h.To = m[1], m[2]
		words = words[:len(words)-1]
	}
	h.Name = strings.Join(words, " ")
	for _, t := range tasks {
		switch {
		case t == adultWord:
			h.Adult = true
		case t == "":
			return Change{}, false
		default:
			h.May = append(h.May, rig.Task(t))
		}
	}
	return Change{Hand: h}, h.Name != "" && len(h.May) > 0
}

func textHand(c Change) string {
	var tasks []string
	if c.Hand.Adult {
		tasks = append(tasks, adultWord)
	}
	for _, t := range c.Hand.May {
		tasks = append(tasks, string(t))
	}
	s := c.Hand.Name + " "
	if c.Hand.From != "" {
		s += c.Hand.From + "-" + c.Hand.To + " "
	}
	return s + strings.Join(tasks, ",")
}

// readMinutes reads a length of time of whole minutes.
func readMinutes(s string) (q.Duration, bool) {
	d, err := q.ParseDuration(s)
	return d, err == nil && d.Minutes() == float64(d.WholeMinutes()) && d >= 0
}

func readBreak(s string) (Change, bool) {
	m := breakForm.FindStringSubmatch(s)
	if m == nil {
		return Change{}, false
	}
	d, ok := readMinutes(m[4])
	return Change{Break: book.Break{Name: m[1], From: m[2], To: m[3], Duration: d}}, ok
}

func textBreak(c Change) string {
	b := c.Break
	return fmt.Sprintf("%s %s-%s %dmin", b.Name, b.From, b.To, b.Duration.WholeMinutes())
}

func readPour(s string) (Change, bool) {
	m := pourForm.FindStringSubmatch(s)
	if m == nil {
		return Change{}, false
	}
	early, ok1 := readMinutes(m[3])
	late, ok2 := readMinutes(m[4])
	return Change{Pour: book.Pour{Name: m[1], At: m[2], Early: early, Late: late, Recipe: m[5]}}, ok1 && ok2
}

func textPour(c Change) string {
	p := c.Pour
	s := fmt.Sprintf("%s %s %dmin %dmin", p.Name, p.At, p.Early.WholeMinutes(), p.Late.WholeMinutes())
	if p.Recipe != "" {
		s += " " + p.Recipe
	}
	return s
}

func sayHand(_ *book.Book, c Change) string {
	s := "with " + c.Hand.Name
	if c.Hand.From != "" {
		s += fmt.Sprintf(" from %s to %s", c.Hand.From, c.Hand.To)
	}
	tasks := make([]string, len(c.Hand.May))
	for i, t := range c.Hand.May {
		tasks[i] = string(t)
	}
	return s + ", who may " + Listed(tasks)
}

func sayPour(b *book.Book, c Change) string {
	s := fmt.Sprintf("%s announced for %s, kept from %.0f min early to %.0f min late", c.Pour.Name, c.Pour.At, c.Pour.Early.Minutes(), c.Pour.Late.Minutes())
	if c.Pour.Recipe != "" {
		s += ", of " + recipeName(b, c.Pour.Recipe)
	}
	return s
}

func sayRule(b *book.Book, c Change) string {
	r, after := recipeName(b, c.Rule.Recipe), recipeName(b, c.Rule.After)
	switch c.Kind {
	case "first", "last":
		return r + " " + c.Kind
	case "next":
		return r + " straight after " + after
	case "not-next":
		return r + " not straight after " + after
	case "later":
		return r + " later than every boil of " + after
	}
	s := fmt.Sprintf("before %s at least: %s", r, c.Rule.Act)
	if c.Rule.After != "" {
		s = fmt.Sprintf("from %s to %s at least: %s", after, r, c.Rule.Act)
	}
	return s
}

func recipeName(b *book.Book, id string) string {
	if r, ok := b.Recipe(id); ok {
		return r.Name
	}
	return id
}

func handName(b *book.Book, id string) string {
	if i := slices.IndexFunc(b.Hands, func(h rig.Hand) bool { return h.ID == id }); i >= 0 {
		return b.Hands[i].Name
	}
	return id
}

func lineName(b *book.Book, l demand.Line) string {
	name := l.Product
	if p, ok := b.Product(l.Product); ok {
		name = p.Name
	}
	if l.For != "" {
		name += " for " + l.For
	}
	return name
}
