package access

import (
	"context"
	"slices"
	"time"
)

// State is who may do what with one book.
type State struct {
	People   []Person  `json:"people,omitempty"`
	Tablets  []Tablet  `json:"tablets,omitempty"`
	Shifts   []Shift   `json:"shifts,omitempty"`
	Tokens   []Token   `json:"tokens,omitempty"`
	Pairings []Pairing `json:"pairings,omitempty"`
	Misses   []Miss    `json:"misses,omitempty"`
}

// Person signs in with a PIN.
type Person struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Role Role   `json:"role"`
	PIN  string `json:"pin,omitempty"` // hash; empty: nobody signs in by this name
}

// Tablet is a device that was paired.
type Tablet struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Key    string    `json:"key"` // of its secret
	Paired time.Time `json:"paired"`
	Seen   time.Time `json:"seen"` // to the hour
}

// Here names the machine itself among the tablets: it needs no pairing.
const Here = "here"

// Shift is one person signed in at one tablet.
type Shift struct {
	Key    string    `json:"key"` // of its secret
	Person string    `json:"person"`
	Tablet string    `json:"tablet"`
	Began  time.Time `json:"began"`
}

// ShiftTime is how long a shift lasts at most.
const ShiftTime = 12 * time.Hour

// Token is what a program asks with.
type Token struct {
	ID   string    `json:"id"`
	Name string    `json:"name"`
	Role Role      `json:"role"`
	Key  string    `json:"key"` // of its secret
	Made time.Time `json:"made"`
	Used time.Time `json:"used"` // to the hour; zero: never

	Probe string `json:"probe,omitempty"` // the one thermometer it brings readings of; empty: any
}

// Pairing is a code that pairs one tablet.
type Pairing struct {
	Key   string    `json:"key"` // of the code
	Ends  time.Time `json:"ends"`
	Wrong int       `json:"wrong"` // codes tried while it stood
}

// Miss counts wrong PINs of one person at one tablet.
type Miss struct {
	Person string    `json:"person"`
	Tablet string    `json:"tablet"`
	Count  int       `json:"count"`
	Until  time.Time `json:"until"` // nothing is tried before
}

// Keeper keeps the state of one book. Errors are those of package store.
type Keeper interface {
	// Access returns the state; an empty one if nothing was ever kept.
	Access(ctx context.Context) (State, error)
	// ChangeAccess reads the state, lets change change it, and keeps it, all in
	// one transaction. An error of change is returned and nothing is kept, unless
	// it is wrapped by [Keep].
	ChangeAccess(ctx context.Context, change func(*State) error) error
}

// Keep marks an error after which what was changed is to be kept all the same: a
// wrong PIN is counted.
func Keep(err error) error { return kept{err} }

type kept struct{ error }

// Kept returns the error inside and whether the change is to be kept.
func Kept(err error) (error, bool) {
	if k, ok := err.(kept); ok {
		return k.error, true
	}
	return err, err == nil
}

// Open reports whether nobody has to sign in: no owner has a PIN.
func (s *State) Open() bool {
	return !slices.ContainsFunc(s.People, func(p Person) bool { return p.Role == Owner && p.PIN != "" })
}

// Person returns a person by id, nil if there is none.
func (s *State) Person(id string) *Person {
	return find(s.People, func(p Person) bool { return p.ID == id })
}

// find returns the first that fits, in place, nil if none does.
func find[T any](list []T, fits func(T) bool) *T {
	if i := slices.IndexFunc(list, fits); i >= 0 {
		return &list[i]
	}
	return nil
}
