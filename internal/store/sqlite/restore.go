package sqlite

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// beside are the files that belong to a database while it is in use or was not
// closed in order.
var beside = []string{"-wal", "-shm", "-journal"}

// Restore puts a backup in the place of a book. The backup is copied beside the
// place, opened there as the program opens any book, which brings its tables up to
// the schema of today, and audited; only then is anything moved. What is in the
// place with Replace is moved aside, never deleted. Faults: NotFound without the
// backup or the folder, Conflict for a book in the place, Busy if a program has it
// open, Forbidden for a backup of a newer program, Internal for a damaged one.
func Restore(ctx context.Context, from, to string, o store.RestoreOptions) (store.Restored, error) {
	abs, err := filepath.Abs(to)
	if err != nil {
		return store.Restored{}, fault.Internal(err, "could not find the folder of %s", to)
	}
	if err := free(to, abs); err != nil && (!o.Replace || fault.KindOf(err) != fault.KindConflict) {
		if fault.KindOf(err) == fault.KindConflict {
			err = fault.Conflict("there is a shop book %s already", to).WithHint("try the backup with --drill; --replace moves the book there aside first")
		}
		return store.Restored{}, err
	}
	if same(from, abs) {
		return store.Restored{}, fault.Invalid("%s is the book itself, not a backup of it", from)
	}
	tmp, err := scratch(abs)
	if err != nil {
		return store.Restored{}, cannotWrite(err, to)
	}
	defer remove(tmp)
	a, err := settle(ctx, from, tmp)
	if err != nil {
		return store.Restored{}, err
	}
	r := store.Restored{Audit: a}
	if used, err := inUse(abs); err != nil || used {
		return store.Restored{}, fault.Busy("the shop book %s is in use by another program", to).WithHint("stop slabside serve first").WithCause(err)
	}
	if r.Aside, err = aside(to, o.At.UTC().Format(stamp)); err != nil {
		return r, err
	}
	switch err := place(tmp, abs); {
	case errors.Is(err, fs.ErrExist):
		return r, left(taken(to), r.Aside)
	case err != nil:
		return r, left(cannotWrite(err, to), r.Aside)
	}
	return r, nil
}

// left says what the book of before is called now.
func left(f *fault.Error, moved []string) error {
	if len(moved) > 0 {
		return f.WithHint("the book that was there is now %s", moved[0])
	}
	return f
}

// Try restores a backup to a scratch folder that is deleted afterwards, and
// returns what it holds. Faults are those of Restore.
func Try(ctx context.Context, from string) (store.Audit, error) {
	dir, err := os.MkdirTemp("", "slabside-drill-")
	if err != nil {
		return store.Audit{}, cannotWrite(err, "a scratch folder")
	}
	defer os.RemoveAll(dir)
	return settle(ctx, from, filepath.Join(dir, "book.db"))
}

// settle copies a backup, with the write-ahead log of one that was never closed in
// order, opens it as any book is opened, audits it and leaves one file on the disk.
func settle(ctx context.Context, from, to string) (store.Audit, error) {
	for _, end := range []string{"", "-wal"} {
		err := copyInto(from+end, to+end)
		switch {
		case end != "" && errors.Is(err, fs.ErrNotExist):
		case errors.Is(err, fs.ErrNotExist):
			return store.Audit{}, fault.NotFound("there is no backup %s", from).WithHint("look at the name")
		case err != nil:
			return store.Audit{}, cannotWrite(err, "a copy of "+from)
		}
	}
	k, err := Open(ctx, to, Options{MustExist: true})
	if err != nil {
		return store.Audit{}, named(err, from)
	}
	if schema, newer := k.Newer(); newer {
		k.Close()
		return store.Audit{}, fault.Forbidden("the backup %s was written by a newer program (schema %d, this one knows %d)", from, schema, Schema).
			WithHint("restore it with the newer program")
	}
	a, err := k.Verify(ctx)
	if err := errors.Join(err, k.Close()); err != nil {
		return store.Audit{}, named(err, from)
	}
	if len(a.Problems) > 0 {
		return a, fault.Internal(nil, "the backup %s does not pass its audit: %s: %s", from, a.Problems[0].Where, a.Problems[0].Text).
			WithHint("take an older backup; nothing was changed")
	}
	if _, err := syncFile(to); err != nil {
		return a, cannotWrite(err, to)
	}
	return a, nil
}

// named says of which file a fault of its copy is.
func named(err error, file string) error {
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != fault.KindInternal {
		return err
	}
	return fault.Internal(err, "the backup %s is damaged or no shop book", file).WithHint("take another backup; nothing was changed")
}

// aside moves a book and what lies beside it to dated names, the book first: what
// is left alone if the power fails between is found and moved by the next try, and
// a log is never taken for another book's.
func aside(path, date string) (moved []string, err error) {
	name := path + ".aside-" + date
	for _, end := range append([]string{""}, beside...) {
		if _, err := os.Lstat(path + end); err != nil {
			continue
		}
		if _, err := os.Lstat(name + end); err == nil {
			return moved, taken(name + end)
		}
		if err := os.Rename(path+end, name+end); err != nil {
			return moved, fault.Internal(err, "%s could not be moved aside", path+end).WithHint("check who may write to its folder")
		}
		moved = append(moved, name+end)
	}
	syncFolder(path)
	return moved, nil
}

// remove deletes a scratch file with what lies beside it.
func remove(path string) {
	for _, end := range append([]string{""}, beside...) {
		os.Remove(path + end)
	}
}

func same(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// copyInto copies a file's content into another, which is made if it is missing.
func copyInto(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}
