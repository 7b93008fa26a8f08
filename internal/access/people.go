package access

import (
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"slabside/internal/fault"
)

// mostPeople, mostTablets and mostTokens bound the lists.
const (
	mostPeople  = 100
	mostTablets = 100
	mostTokens  = 100
	mostName    = 60 // characters
)

// checkName refuses a name that cannot be shown.
func checkName(name string) (string, error) {
	name = strings.TrimSpace(name)
	switch {
	case name == "":
		return "", fault.Invalid("the name is missing").At("name").WithHint("write the name that the pages are to show")
	case utf8.RuneCountInString(name) > mostName:
		return "", fault.Invalid("the name is longer than %d letters", mostName).At("name").WithHint("write a shorter one")
	case !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl):
		return "", fault.Invalid("the name holds what cannot be shown").At("name").WithHint("write it again")
	}
	return name, nil
}

// AddPerson adds a person. The first must be an owner with a PIN: with anybody
// else the book would be open still.
//
// Faults: Invalid at name, role or pin; Conflict for a name that is taken.
func (s *State) AddPerson(name string, role Role, pin string, random io.Reader) (Person, error) {
	name, err := checkName(name)
	if err != nil {
		return Person{}, err
	}
	if _, err := ParseRole(string(role)); err != nil {
		return Person{}, err
	}
	if slices.ContainsFunc(s.People, func(p Person) bool { return strings.EqualFold(p.Name, name) }) {
		return Person{}, fault.Conflict("there is a %s already", name).At("name").WithHint("add a letter to tell the two apart")
	}
	if len(s.People) >= mostPeople {
		return Person{}, fault.Invalid("the book knows %d people already", mostPeople).At("name")
	}
	if s.Open() && role != Owner {
		return Person{}, fault.Invalid("the first to be added is an owner").At("role").WithHint("begin with the person who decides who may do what")
	}
	p := Person{ID: newID("person-", func(id string) bool { return s.Person(id) != nil }), Name: name, Role: role}
	if p.PIN, err = newPIN(pin, random); err != nil {
		return Person{}, err
	}
	s.People = append(s.People, p)
	return p, nil
}

func newPIN(pin string, random io.Reader) (string, error) {
	if err := CheckPIN(pin); err != nil {
		return "", err
	}
	return hashPIN(pin, random)
}

// SetPIN gives a person another PIN and ends the person's shifts.
func (s *State) SetPIN(id, pin string, random io.Reader) error {
	p := s.Person(id)
	if p == nil {
		return noPerson()
	}
	hash, err := newPIN(pin, random)
	if err != nil {
		return err
	}
	p.PIN = hash
	s.endShifts(func(x Shift) bool { return x.Person == id })
	s.Misses = slices.DeleteFunc(s.Misses, func(m Miss) bool { return m.Person == id })
	return nil
}

// SetRole gives a person another role. Conflict for the last owner.
func (s *State) SetRole(id string, role Role) error {
	p := s.Person(id)
	if p == nil {
		return noPerson()
	}
	if _, err := ParseRole(string(role)); err != nil {
		return err
	}
	if role != Owner && s.lastOwner(*p) {
		return fault.Conflict("%s is the only owner", p.Name).WithHint("make somebody else an owner first")
	}
	p.Role = role
	return nil
}

// RemovePerson takes a person out; what the person did keeps the name. Conflict
// for the last owner.
func (s *State) RemovePerson(id string) error {
	p := s.Person(id)
	if p == nil {
		return noPerson()
	}
	if s.lastOwner(*p) {
		return fault.Conflict("%s is the only owner", p.Name).WithHint("make somebody else an owner first")
	}
	s.endShifts(func(x Shift) bool { return x.Person == id })
	s.Misses = slices.DeleteFunc(s.Misses, func(m Miss) bool { return m.Person == id })
	s.People = slices.DeleteFunc(s.People, func(x Person) bool { return x.ID == id })
	return nil
}

func (s *State) lastOwner(p Person) bool {
	return p.Role == Owner && !slices.ContainsFunc(s.People, func(x Person) bool { return x.ID != p.ID && x.Role == Owner && x.PIN != "" })
}

func noPerson() error { return fault.NotFound("there is no such person") }
