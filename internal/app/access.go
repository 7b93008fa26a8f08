package app

import (
	"context"
	"io"
	"time"

	"slabside/internal/access"
	"slabside/internal/fault"
)

// Access returns who may do what with the book. A book that is a file keeps none
// of it and is open.
func (a *App) Access(ctx context.Context) (access.State, error) {
	k, ok := a.keeper.Keeper.(access.Keeper)
	if !ok {
		return access.State{}, nil
	}
	return k.Access(ctx)
}

// changeAccess changes who may do what, with the app's clock.
func (a *App) changeAccess(ctx context.Context, change func(s *access.State, now time.Time) error) error {
	k, ok := a.keeper.Keeper.(access.Keeper)
	if !ok {
		return fault.Invalid("a shop book that is a file knows no people").WithHint("import it into a database: slabside --book shop.db import shop.toml")
	}
	return k.ChangeAccess(ctx, func(s *access.State) error { return change(s, a.now()) })
}

// AddPerson adds a person, the first as an owner.
func (a *App) AddPerson(ctx context.Context, name string, role access.Role, pin string, random io.Reader) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error {
		_, err := s.AddPerson(name, role, pin, random)
		return err
	})
}

// SetPIN gives a person another PIN and ends the person's shifts.
func (a *App) SetPIN(ctx context.Context, person, pin string, random io.Reader) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error { return s.SetPIN(person, pin, random) })
}

// ChangePIN gives a person another PIN who knows the one of before, and begins a
// new shift. Forbidden for a wrong one, which counts.
func (a *App) ChangePIN(ctx context.Context, tablet, person, old, pin string, random io.Reader) (secret string, err error) {
	err = a.changeAccess(ctx, func(s *access.State, now time.Time) error {
		if _, err := s.SignIn(tablet, person, old, now, random); err != nil {
			return err
		}
		if err := s.SetPIN(person, pin, random); err != nil {
			return err
		}
		secret, err = s.SignIn(tablet, person, pin, now, random)
		return err
	})
	return secret, err
}

// SetRole gives a person another role.
func (a *App) SetRole(ctx context.Context, person string, role access.Role) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error { return s.SetRole(person, role) })
}

// RemovePerson takes a person out.
func (a *App) RemovePerson(ctx context.Context, person string) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error { return s.RemovePerson(person) })
}

// SignIn begins a shift at a tablet and returns its secret.
func (a *App) SignIn(ctx context.Context, tablet, person, pin string, random io.Reader) (secret string, err error) {
	err = a.changeAccess(ctx, func(s *access.State, now time.Time) error {
		secret, err = s.SignIn(tablet, person, pin, now, random)
		return err
	})
	return secret, err
}

// SignOut ends a shift.
func (a *App) SignOut(ctx context.Context, secret string) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error { s.SignOut(secret); return nil })
}

// NewPairing makes a code that pairs one tablet.
func (a *App) NewPairing(ctx context.Context, random io.Reader) (code string, ends time.Time, err error) {
	err = a.changeAccess(ctx, func(s *access.State, now time.Time) error {
		code, ends, err = s.NewPairing(now, random)
		return err
	})
	return code, ends, err
}

// Pair pairs a tablet by a code and returns the tablet's secret.
func (a *App) Pair(ctx context.Context, code, name string, random io.Reader) (secret string, err error) {
	err = a.changeAccess(ctx, func(s *access.State, now time.Time) error {
		secret, err = s.Pair(code, name, now, random)
		return err
	})
	return secret, err
}

// Unpair forgets a tablet.
func (a *App) Unpair(ctx context.Context, tablet string) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error { return s.Unpair(tablet) })
}

// NewToken makes a token for a program.
func (a *App) NewToken(ctx context.Context, name string, role access.Role, random io.Reader) (token string, err error) {
	err = a.changeAccess(ctx, func(s *access.State, now time.Time) error {
		token, err = s.NewToken(name, role, now, random)
		return err
	})
	return token, err
}

// NewProbeToken makes a token for a program that brings readings in and does nothing else:
// of one thermometer, or of any if it is empty. NotFound, at "probe", for one that is not
// in the book.
func (a *App) NewProbeToken(ctx context.Context, name, probe string, random io.Reader) (token string, err error) {
	if probe != "" {
		if err := a.knowsProbe(ctx, probe); err != nil {
			return "", err
		}
	}
	err = a.changeAccess(ctx, func(s *access.State, now time.Time) error {
		token, err = s.NewProbeToken(name, probe, now, random)
		return err
	})
	return token, err
}

// RemoveToken takes a token back.
func (a *App) RemoveToken(ctx context.Context, id string) error {
	return a.changeAccess(ctx, func(s *access.State, _ time.Time) error { return s.RemoveToken(id) })
}

// Seen notes that a tablet or a token was used, to the hour.
func (a *App) Seen(ctx context.Context, tablet, token string) error {
	return a.changeAccess(ctx, func(s *access.State, now time.Time) error { s.Seen(tablet, token, now); return nil })
}
