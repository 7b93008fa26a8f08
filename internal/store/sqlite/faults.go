package sqlite

import (
	"context"
	"errors"
	"fmt"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"slabside/internal/fault"
)

// The hints that several faults share.
const (
	hintRestore = "restore a backup; nothing was changed"
	hintBusy    = "close the other program, or try again in a moment"
	hintWrite   = "check who may write to the file, to its -wal and -shm files and to their folder"
)

// translate turns an error of the engine into a fault, by SQLite's extended
// result code alone. Faults pass through; a cancelled context stays one.
func translate(err error, path, doing string) error {
	var f *fault.Error
	var e *driver.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &f):
		return err
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("%s: %w", doing, err)
	case !errors.As(err, &e):
		return fault.Internal(err, "could not %s", doing)
	}
	if f := byCode(e.Code(), path); f != nil {
		return f.WithCause(err)
	}
	return fault.Internal(err, "could not %s", doing)
}

// byCode is the table of SQLite's codes that have a meaning of their own here;
// nil for the others, which are defects of the program.
func byCode(code int, path string) *fault.Error {
	switch code {
	case lib.SQLITE_READONLY_DBMOVED:
		return fault.NotFound("the shop book %s was moved or deleted while it was open", path).WithHint("put it back and start again")
	case lib.SQLITE_CONSTRAINT_TRIGGER:
		return fault.Forbidden("what stands in the book is never written over").WithHint("correct it with a new entry")
	case lib.SQLITE_IOERR_SHORT_READ, lib.SQLITE_IOERR_CORRUPTFS, lib.SQLITE_IOERR_DATA:
		return damaged(path)
	}
	switch code & 0xff {
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED, lib.SQLITE_PROTOCOL:
		return fault.Busy("the shop book %s is in use by another program", path).WithHint(hintBusy)
	case lib.SQLITE_READONLY, lib.SQLITE_PERM, lib.SQLITE_AUTH, lib.SQLITE_CANTOPEN:
		return fault.Forbidden("the shop book %s may not be written", path).WithHint(hintWrite)
	case lib.SQLITE_NOTADB:
		return notBook(path)
	case lib.SQLITE_CORRUPT:
		return damaged(path)
	case lib.SQLITE_FULL:
		return fault.Internal(nil, "the disk is full").WithHint("make room and try again; nothing was changed")
	case lib.SQLITE_IOERR:
		return fault.Internal(nil, "the disk with the shop book %s cannot be read or written", path).
			WithHint("check the disk, and keep a copy of the book before going on")
	case lib.SQLITE_TOOBIG:
		return fault.Invalid("this is too long to be kept")
	}
	return nil
}

func damaged(path string) *fault.Error {
	return fault.Internal(nil, "the shop book %s is damaged", path).WithHint(hintRestore)
}

func notBook(path string) *fault.Error {
	return fault.Internal(nil, "the file %s is not a shop book, or its beginning is damaged", path).WithHint(hintRestore)
}
