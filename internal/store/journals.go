package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"slabside/internal/fault"
	"slabside/internal/journal"
)

// Jot is an entry of one of the journals as an act keeps it.
type Jot struct {
	Journal string          `json:"journal"`
	Subject string          `json:"subject"`
	Kind    string          `json:"kind"`
	Entry   json.RawMessage `json:"entry"`
}

// jotted is an entry with the act that wrote it.
type jotted struct {
	Act
	Jot Jot
}

// Journal is a family of ledgers of one type of entries: what may follow what in one, and what it is found by.
type Journal[E journal.Entry] struct {
	Name   string
	Follow func(kept []journal.Kept[E], e E, corrects int64) error
	Row    func(kept []journal.Kept[E]) journal.Row
}

// rules are those of a journal whose entries have no type here.
type rules interface {
	follow(kept []jotted, j Jot, corrects int64) error
	row(kept []jotted) (journal.Row, error)
}

// journals holds the journals that are kept, by their names.
var journals = map[string]rules{}

func register[E journal.Entry](j Journal[E]) Journal[E] {
	journals[j.Name] = j
	return j
}

func (j Journal[E]) read(jot Jot) (E, error) {
	var e E
	if err := strict(jot.Entry, &e); err != nil {
		return e, fault.Internal(err, "an entry of %s cannot be read", j.Name)
	}
	if e.Subject() != jot.Subject || e.Kind() != jot.Kind {
		return e, fault.Invalid("an entry of %s stands under another subject or kind than its own", j.Name)
	}
	return e, nil
}

func (j Journal[E]) kept(list []jotted) ([]journal.Kept[E], error) {
	out := make([]journal.Kept[E], 0, len(list))
	for _, x := range list {
		e, err := j.read(x.Jot)
		if err != nil {
			return nil, err
		}
		out = append(out, journal.Kept[E]{Entry: e, Act: x.Seq, At: x.At, TakenIn: x.Received, Person: x.Person, Reason: x.Reason, Corrects: x.Corrects})
	}
	return out, nil
}

func (j Journal[E]) follow(list []jotted, jot Jot, corrects int64) error {
	kept, err := j.kept(list)
	if err != nil {
		return err
	}
	e, err := j.read(jot)
	if err != nil {
		return err
	}
	if err := e.Check(); err != nil {
		return err
	}
	return j.Follow(kept, e, corrects)
}

func (j Journal[E]) row(list []jotted) (journal.Row, error) {
	kept, err := j.kept(list)
	if err != nil {
		return journal.Row{}, err
	}
	return j.Row(kept), nil
}

// Enter writes one entry, in an act of its own. Faults are those of its rules.
func (j Journal[E]) Enter(ctx context.Context, k Keeper, e E, corrects int64, m Meta) (Head, error) {
	if err := e.Check(); err != nil {
		return 0, err
	}
	text, err := plainJSON(e)
	if err != nil {
		return 0, fault.Internal(err, "an entry of %s cannot be written", j.Name)
	}
	return k.EnterJot(ctx, Jot{j.Name, e.Subject(), e.Kind(), text}, corrects, m)
}

// Find returns the ledgers that are looked for, the last day first.
func (j Journal[E]) Find(ctx context.Context, k Keeper, f FindJots) ([][]journal.Kept[E], error) {
	f.journal = j.Name
	found, err := k.Jots(ctx, f)
	if err != nil {
		return nil, err
	}
	out := make([][]journal.Kept[E], 0, len(found))
	for _, l := range found {
		kept, err := j.kept(l.list)
		if err != nil {
			return nil, err
		}
		out = append(out, kept)
	}
	return out, nil
}

// FindJots says which ledgers of a journal are looked for; what is empty does not matter.
type FindJots struct {
	Subject  string
	Of       string // id of what it is of
	From, To string // days, both included
	Live     bool   // those with something left, or to do
	Before   string // subject: those that come after it in the list
	Limit    int

	journal string
}

// Journal returns the name of the journal that is looked through.
func (f FindJots) Journal() string { return f.journal }

// Jots is the ledger of one subject, in the order in which it was written.
type Jots struct{ list []jotted }

// Add adds what an act wrote.
func (l *Jots) Add(a Act, j Jot) { l.list = append(l.list, jotted{a, j}) }

// FollowJot refuses an entry that cannot follow those that are kept of its subject.
func FollowJot(kept Jots, j Jot, corrects int64) error {
	r, ok := journals[j.Journal]
	if !ok {
		return fault.Invalid("there is no journal called %q", fault.Clip(j.Journal, fault.Echo))
	}
	return r.follow(kept.list, j, corrects)
}

// RowOfJots returns what a ledger is found by.
func RowOfJots(name string, kept Jots) (journal.Row, error) {
	r, ok := journals[name]
	if !ok {
		return journal.Row{}, fault.Invalid("there is no journal called %q", fault.Clip(name, fault.Echo))
	}
	return r.row(kept.list)
}

// jotKey names a ledger.
type jotKey struct{ Journal, Subject string }

// enterJot takes the entry of an act into its ledger.
func (s *State) enterJot(a Act, body ActBody) []string {
	j := body.Jot
	if a.Kind != ActJot || j == nil || body.Entry != nil || body.Lot != nil || len(body.Lots) > 0 {
		return []string{"it writes to a journal, or does not, against its kind"}
	}
	var p []string
	key := jotKey{j.Journal, j.Subject}
	kept := s.jots[key]
	if err := FollowJot(kept, *j, a.Corrects); err != nil {
		p = append(p, err.Error())
	}
	kept.Add(a, *j)
	s.jots[key] = kept
	return p
}

// JotKeys returns the ledgers of all journals, sorted.
func (s *State) JotKeys() [][2]string {
	keys := slices.SortedFunc(maps.Keys(s.jots), func(a, b jotKey) int {
		return bytes.Compare([]byte(a.Journal+"\x00"+a.Subject), []byte(b.Journal+"\x00"+b.Subject))
	})
	out := make([][2]string, len(keys))
	for i, k := range keys {
		out[i] = [2]string{k.Journal, k.Subject}
	}
	return out
}

// JotsOf returns the ledger of a subject and, for each of its entries, its act and kind.
func (s *State) JotsOf(name, subject string) (Jots, []string) {
	l := s.jots[jotKey{name, subject}]
	said := make([]string, len(l.list))
	for i, x := range l.list {
		said[i] = fmt.Sprintf("%d %s", x.Seq, x.Jot.Kind)
	}
	return l, said
}
