package access

import (
	"io"
	"slices"
	"time"

	"slabside/internal/fault"
)

// Wrong PINs of one person at one tablet: so many cost nothing, then each costs
// twice the wait of the one before.
const (
	freeMisses = 5
	firstWait  = 30 * time.Second
	mostWait   = 15 * time.Minute
)

// nobody is who is not there, in the counts: one for all such names, since what is
// typed would otherwise fill what is kept.
const nobody = "nobody"

// SignIn begins a shift and returns its secret, a new one every time.
//
// Faults: Forbidden for a wrong PIN or a person who is not there, told alike and at
// the same cost, wrapped by [Keep] so that it counts; Busy while too many have been
// wrong.
func (s *State) SignIn(tablet, person, pin string, now time.Time, random io.Reader) (string, error) {
	now = now.UTC()
	s.tidy(now)
	p := s.Person(person)
	hash := ""
	if p == nil {
		person = nobody
	} else {
		hash = p.PIN
	}
	m := find(s.Misses, func(m Miss) bool { return m.Person == person && m.Tablet == tablet })
	if m != nil && now.Before(m.Until) {
		return "", fault.Busy("too many wrong PINs").At("pin").WithHint("wait %s, or ask the owner for a new PIN", wait(m.Until.Sub(now)))
	}
	// The hash is worked out in here, inside the one transaction that a [Keeper] writes,
	// on purpose: no two tries count as one, and however many come at once, one hash
	// after the other is worked out and their memory is that of one, pinMemory.
	if !samePIN(pin, hash) {
		s.miss(person, tablet, now)
		return "", Keep(fault.Forbidden("the name and the PIN do not go together").At("pin").WithHint("try again"))
	}
	s.Misses = slices.DeleteFunc(s.Misses, func(m Miss) bool { return m.Person == person && m.Tablet == tablet })
	secret, key, err := newSecret(random)
	if err != nil {
		return "", err
	}
	s.Shifts = append(s.Shifts, Shift{Key: key, Person: person, Tablet: tablet, Began: now})
	return secret, nil
}

// wait says how long, in whole minutes or seconds.
func wait(d time.Duration) string {
	if d > 90*time.Second {
		return d.Round(time.Minute).String()
	}
	return d.Round(time.Second).String()
}

// miss counts a wrong PIN.
func (s *State) miss(person, tablet string, now time.Time) {
	m := find(s.Misses, func(m Miss) bool { return m.Person == person && m.Tablet == tablet })
	if m == nil {
		s.Misses = append(s.Misses, Miss{Person: person, Tablet: tablet})
		m = &s.Misses[len(s.Misses)-1]
	}
	m.Count++
	if over := m.Count - freeMisses; over >= 0 {
		m.Until = now.Add(min(firstWait<<min(over, 16), mostWait))
	}
}

// tidy drops what time has ended: shifts, codes, and misses a day old.
func (s *State) tidy(now time.Time) {
	s.endShifts(func(x Shift) bool { return !now.Before(x.Began.Add(ShiftTime)) || now.Before(x.Began) })
	s.Pairings = slices.DeleteFunc(s.Pairings, func(p Pairing) bool { return !now.Before(p.Ends) })
	s.Misses = slices.DeleteFunc(s.Misses, func(m Miss) bool { return now.After(m.Until.Add(24*time.Hour)) && !m.Until.IsZero() })
}

// OnShift returns who is signed in with a secret at a tablet, nil if nobody is. A
// secret that turns up at another tablet than its own was carried off: see [State.CarriedOff].
func (s *State) OnShift(secret, tablet string, now time.Time) *Person {
	x := s.shift(secret)
	if x == nil || x.Tablet != tablet || !now.Before(x.Began.Add(ShiftTime)) {
		return nil
	}
	return s.Person(x.Person)
}

// CarriedOff reports whether a secret belongs to a shift at another tablet.
func (s *State) CarriedOff(secret, tablet string) bool {
	x := s.shift(secret)
	return x != nil && x.Tablet != tablet
}

func (s *State) shift(secret string) *Shift {
	if secret == "" {
		return nil
	}
	key := keptOf(secret)
	return find(s.Shifts, func(x Shift) bool { return x.Key == key })
}

// SignOut ends the shift of a secret, wherever it is.
func (s *State) SignOut(secret string) {
	key := keptOf(secret)
	s.endShifts(func(x Shift) bool { return x.Key == key })
}

func (s *State) endShifts(which func(Shift) bool) { s.Shifts = slices.DeleteFunc(s.Shifts, which) }
