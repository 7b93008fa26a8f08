package sqlite_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"slabside/internal/access"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

// Who may do what is kept whole or not at all, and is no part of the log: what
// leaves the book as a file holds no PIN and no secret.
func TestAccess_together(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "book.db")
	k := open(t, path, sqlite.Options{})
	if s, err := k.Access(ctx); err != nil || !s.Open() {
		t.Fatalf("a new book: %+v, %v", s, err)
	}
	add := func(name string) error {
		return k.ChangeAccess(ctx, func(s *access.State) error {
			s.People = append(s.People, access.Person{ID: name, Name: name, Role: access.Owner, PIN: "hash-of-" + name})
			return nil
		})
	}
	if err := add("ada"); err != nil {
		t.Fatal(err)
	}
	no := errors.New("no")
	for name, c := range map[string]struct {
		err  error
		kept bool
	}{"dropped": {no, false}, "counted": {access.Keep(no), true}} {
		err := k.ChangeAccess(ctx, func(s *access.State) error {
			s.Misses = append(s.Misses, access.Miss{Person: name})
			return c.err
		})
		if !errors.Is(err, no) {
			t.Errorf("%s: %v", name, err)
		}
		s, err := k.Access(ctx)
		if err != nil || (len(s.Misses) == 1) != c.kept {
			t.Errorf("%s: %d misses, %v", name, len(s.Misses), err)
		}
		if err := k.ChangeAccess(ctx, func(s *access.State) error { s.Misses = nil; return nil }); err != nil {
			t.Fatal(err)
		}
	}
	var wait sync.WaitGroup
	for i := range 8 {
		wait.Go(func() {
			if err := add(fmt.Sprint("p", i)); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	k = open(t, path, sqlite.Options{MustExist: true})
	s, err := k.Access(ctx)
	if err != nil || len(s.People) != 9 || s.Open() {
		t.Fatalf("%d people, %v", len(s.People), err)
	}
	if head, err := k.Head(ctx); head != 0 || err != nil {
		t.Errorf("people made an act: head %d, %v", head, err)
	}
	full := open(t, filepath.Join(t.TempDir(), "full.db"), sqlite.Options{})
	storetest.History(t, full)
	if err := full.ChangeAccess(ctx, func(s *access.State) error {
		_, err := s.AddPerson("Ada", access.Owner, "204713", rand.NewChaCha8([32]byte{2}))
		return err
	}); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := full.ExportAll(ctx, &out); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "argon2id") {
		t.Error("the book's export holds the hash of a PIN")
	}
	if a, err := full.Verify(ctx); err != nil || len(a.Problems) > 0 {
		t.Errorf("Verify: %+v, %v", a, err)
	}
}
