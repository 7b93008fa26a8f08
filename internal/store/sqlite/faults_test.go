package sqlite

import (
	"context"
	"errors"
	"fmt"
	"testing"

	lib "modernc.org/sqlite/lib"

	"slabside/internal/fault"
)

// TestByCode: the meaning of each code is SQLite's own list
// (https://www.sqlite.org/rescode.html, from memory); the kinds are ours.
func TestByCode(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code int
		want fault.Kind // 0: no meaning of its own
	}{
		{lib.SQLITE_BUSY, fault.KindBusy},
		{lib.SQLITE_BUSY_RECOVERY, fault.KindBusy},
		{lib.SQLITE_BUSY_SNAPSHOT, fault.KindBusy},
		{lib.SQLITE_LOCKED, fault.KindBusy},
		{lib.SQLITE_LOCKED_SHAREDCACHE, fault.KindBusy},
		{lib.SQLITE_PROTOCOL, fault.KindBusy},
		{lib.SQLITE_READONLY, fault.KindForbidden},
		{lib.SQLITE_READONLY_DIRECTORY, fault.KindForbidden},
		{lib.SQLITE_READONLY_CANTINIT, fault.KindForbidden},
		{lib.SQLITE_READONLY_DBMOVED, fault.KindNotFound},
		{lib.SQLITE_PERM, fault.KindForbidden},
		{lib.SQLITE_AUTH, fault.KindForbidden},
		{lib.SQLITE_CANTOPEN, fault.KindForbidden},
		{lib.SQLITE_CANTOPEN_FULLPATH, fault.KindForbidden},
		{lib.SQLITE_NOTADB, fault.KindInternal},
		{lib.SQLITE_CORRUPT, fault.KindInternal},
		{lib.SQLITE_CORRUPT_INDEX, fault.KindInternal},
		{lib.SQLITE_IOERR, fault.KindInternal},
		{lib.SQLITE_IOERR_SHORT_READ, fault.KindInternal},
		{lib.SQLITE_IOERR_FSYNC, fault.KindInternal},
		{lib.SQLITE_FULL, fault.KindInternal},
		{lib.SQLITE_TOOBIG, fault.KindInvalid},
		{lib.SQLITE_CONSTRAINT_TRIGGER, fault.KindForbidden},
		{lib.SQLITE_CONSTRAINT_FOREIGNKEY, 0},
		{lib.SQLITE_CONSTRAINT_UNIQUE, 0},
		{lib.SQLITE_ERROR, 0},
		{lib.SQLITE_MISUSE, 0},
	} {
		f := byCode(c.code, "book.db")
		if f == nil && c.want == 0 {
			continue
		}
		if f == nil || f.Kind != c.want || f.Text == "" || (f.Hint == "") != (c.code == lib.SQLITE_TOOBIG) {
			t.Errorf("code %d: %+v, want kind %v and a hint", c.code, f, c.want)
		}
	}
}

func TestTranslate(t *testing.T) {
	t.Parallel()
	if translate(nil, "p", "d") != nil {
		t.Error("nil became an error")
	}
	own := fault.Conflict("changed")
	if got := translate(fmt.Errorf("act: %w", own), "p", "d"); fault.KindOf(got) != fault.KindConflict {
		t.Errorf("a fault became %v", got)
	}
	if got := translate(context.Canceled, "p", "d"); !errors.Is(got, context.Canceled) {
		t.Errorf("a cancelled context became %v", got)
	}
	secret := errors.New("secret path")
	got := translate(secret, "p", "read the shop book")
	if !errors.Is(got, secret) || got.Error() != "could not read the shop book" {
		t.Errorf("an unknown error became %q", got)
	}
}
