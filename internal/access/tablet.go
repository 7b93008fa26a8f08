package access

import (
	"io"
	"slices"
	"time"

	"slabside/internal/fault"
)

// A pairing code: eight digits, good for ten minutes and one tablet, dead after
// five wrong tries of any code.
const (
	codeDigits = 8
	codeTime   = 10 * time.Minute
	codeWrong  = 5
)

// NewPairing makes a code that pairs one tablet, in the place of any before it.
func (s *State) NewPairing(now time.Time, random io.Reader) (code string, ends time.Time, err error) {
	code, err = digits(random, codeDigits)
	if err != nil {
		return "", ends, err
	}
	ends = now.UTC().Add(codeTime)
	s.Pairings = []Pairing{{Key: keptOf(code), Ends: ends}}
	return code, ends, nil
}

// Pair pairs a tablet under a name and returns the secret it is known by.
//
// Faults: Invalid at name; Forbidden, wrapped by [Keep], for a code that does not
// stand, told alike whatever the reason.
func (s *State) Pair(code, name string, now time.Time, random io.Reader) (string, error) {
	now = now.UTC()
	s.tidy(now)
	name, err := checkName(name)
	if err != nil {
		return "", err
	}
	key := keptOf(code)
	i := slices.IndexFunc(s.Pairings, func(p Pairing) bool { return p.Key == key })
	if i < 0 {
		for j := range s.Pairings {
			s.Pairings[j].Wrong++
		}
		s.Pairings = slices.DeleteFunc(s.Pairings, func(p Pairing) bool { return p.Wrong >= codeWrong })
		return "", Keep(fault.Forbidden("the code does not pair this tablet").At("code").WithHint("let the owner make a new one and type it within ten minutes"))
	}
	if len(s.Tablets) >= mostTablets {
		return "", fault.Invalid("%d tablets are paired already", mostTablets).At("name").WithHint("unpair those that are gone")
	}
	secret, kept, err := newSecret(random)
	if err != nil {
		return "", err
	}
	s.Pairings = slices.Delete(s.Pairings, i, i+1)
	s.Tablets = append(s.Tablets, Tablet{ID: newID("tablet-", func(id string) bool { return s.tablet(id) != nil }), Name: name, Key: kept, Paired: now, Seen: now})
	return secret, nil
}

func (s *State) tablet(id string) *Tablet {
	return find(s.Tablets, func(t Tablet) bool { return t.ID == id })
}

// TabletOf returns the tablet of a secret, nil if it was not paired or is no more.
func (s *State) TabletOf(secret string) *Tablet {
	if secret == "" {
		return nil
	}
	key := keptOf(secret)
	return find(s.Tablets, func(t Tablet) bool { return t.Key == key })
}

// Unpair forgets a tablet, its shifts and its wrong PINs: another may get its id.
func (s *State) Unpair(id string) error {
	if s.tablet(id) == nil {
		return fault.NotFound("there is no such tablet")
	}
	s.endShifts(func(x Shift) bool { return x.Tablet == id })
	s.Misses = slices.DeleteFunc(s.Misses, func(m Miss) bool { return m.Tablet == id })
	s.Tablets = slices.DeleteFunc(s.Tablets, func(t Tablet) bool { return t.ID == id })
	return nil
}

// seenEvery is how exactly it is known when a tablet or a token was last used.
const seenEvery = time.Hour

// Stale reports whether Seen has something to note.
func Stale(seen, now time.Time) bool { return now.Sub(seen) >= seenEvery }

// Seen notes the use of a tablet and a token; either may be empty.
func (s *State) Seen(tablet, token string, now time.Time) {
	if t := s.tablet(tablet); t != nil {
		t.Seen = now.UTC()
	}
	if t := find(s.Tokens, func(t Token) bool { return t.ID == token }); t != nil {
		t.Used = now.UTC()
	}
}
