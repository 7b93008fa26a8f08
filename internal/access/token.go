package access

import (
	"io"
	"slices"
	"strings"
	"time"

	"slabside/internal/fault"
)

// TokenPrefix begins every token, so that one is known for what it is where it was
// left lying.
const TokenPrefix = "slabside_"

// NewToken makes a token for a program and returns it; it is not shown again.
//
// Faults: Invalid at name or role.
func (s *State) NewToken(name string, role Role, now time.Time, random io.Reader) (string, error) {
	name, err := checkName(name)
	if err != nil {
		return "", err
	}
	if _, err := ParseTokenRole(string(role)); err != nil {
		return "", err
	}
	if len(s.Tokens) >= mostTokens {
		return "", fault.Invalid("there are %d tokens already", mostTokens).At("name").WithHint("take back those that are not used")
	}
	secret, _, err := newSecret(random)
	if err != nil {
		return "", err
	}
	token := TokenPrefix + secret
	id := newID("token-", func(id string) bool {
		return slices.ContainsFunc(s.Tokens, func(t Token) bool { return t.ID == id })
	})
	s.Tokens = append(s.Tokens, Token{ID: id, Name: name, Role: role, Key: keptOf(token), Made: now.UTC()})
	return token, nil
}

// NewProbeToken makes a token for a program that brings readings in and does nothing else:
// of one thermometer, or of any if it is empty. Faults as of [State.NewToken].
func (s *State) NewProbeToken(name, probe string, now time.Time, random io.Reader) (string, error) {
	token, err := s.NewToken(name, Probe, now, random)
	if err == nil {
		s.Tokens[len(s.Tokens)-1].Probe = probe
	}
	return token, err
}

// MayMeasure reports whether readings of a thermometer may be brought in with the token.
func (t Token) MayMeasure(probe string) bool {
	return t.Role.May(Measure) && (t.Probe == "" || t.Probe == probe)
}

// TokenOf returns what a token stands for, nil if it was never given or was taken back.
func (s *State) TokenOf(token string) *Token {
	if !strings.HasPrefix(token, TokenPrefix) {
		return nil
	}
	key := keptOf(token)
	return find(s.Tokens, func(t Token) bool { return t.Key == key })
}

// RemoveToken takes a token back.
func (s *State) RemoveToken(id string) error {
	before := len(s.Tokens)
	s.Tokens = slices.DeleteFunc(s.Tokens, func(t Token) bool { return t.ID == id })
	if len(s.Tokens) == before {
		return fault.NotFound("there is no such token")
	}
	return nil
}
