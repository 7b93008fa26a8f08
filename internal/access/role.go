package access

import (
	"slices"

	"slabside/internal/fault"
)

// Role is what a person or a program is in the shop.
type Role string

// The roles.
const (
	Owner  Role = "owner"  // everything
	Maker  Role = "maker"  // the book too, but not who may do what
	Helper Role = "helper" // looks, prints, and writes down what was done
	Probe  Role = "probe"  // of a program alone: brings readings of thermometers in and sees nothing
)

// Roles lists the roles of people.
func Roles() []Role { return []Role{Owner, Maker, Helper} }

// TokenRoles lists the roles of programs.
func TokenRoles() []Role { return append(Roles(), Probe) }

// Right is what a page or a change asks for.
type Right int

// The rights, each with those before it.
const (
	Anyone  Right = iota // to sign in, to be paired
	Measure              // bring readings of thermometers in
	Look                 // see and print
	Note                 // write down what was done
	Change               // recipes, room, products, orders, the day
	Govern               // the shop itself, people, tablets, tokens
)

// May reports whether a role has a right.
func (r Role) May(right Right) bool {
	switch r {
	case Owner:
		return right <= Govern
	case Maker:
		return right <= Change
	case Helper:
		return right <= Note
	case Probe:
		return right <= Measure
	}
	return right <= Anyone
}

// ParseTokenRole reads the role of a program.
func ParseTokenRole(s string) (Role, error) {
	if r := Role(s); slices.Contains(TokenRoles(), r) {
		return r, nil
	}
	return "", fault.Invalid("%q is no role", fault.Clip(s, fault.Echo)).At("role").WithHint("owner, maker, helper or probe")
}

// ParseRole reads the role of a person.
func ParseRole(s string) (Role, error) {
	if r := Role(s); slices.Contains(Roles(), r) {
		return r, nil
	}
	return "", fault.Invalid("%q is no role", fault.Clip(s, fault.Echo)).At("role").WithHint("owner, maker or helper")
}
