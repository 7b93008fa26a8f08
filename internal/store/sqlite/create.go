package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"slabside/internal/fault"
)

// create makes an empty book beside its place and then moves it there, so that
// a book is whole or absent, and an empty file always means damage. If another
// program makes one meanwhile, that one stays.
func create(ctx context.Context, path, abs string, opts Options) error {
	tmp, err := scratch(abs)
	if err != nil {
		if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
			return fault.Forbidden("the shop book %s may not be written", path).WithHint(hintWrite).WithCause(err)
		}
		return fault.Internal(err, "could not make the shop book %s", path)
	}
	defer os.Remove(tmp)
	db, err := sql.Open("sqlite", dsn(tmp, "rw", opts))
	if err != nil {
		return fault.Internal(err, "could not make the shop book %s", path)
	}
	err = migrate(ctx, db, migrations)
	if err := errors.Join(err, db.Close()); err != nil {
		return translate(err, path, "make the shop book "+path)
	}
	if err := place(tmp, abs); err != nil && !errors.Is(err, fs.ErrExist) { // another program's stays
		return fault.Internal(err, "could not make the shop book %s", path)
	}
	return nil
}

// scratch makes an empty file beside abs and returns its name.
func scratch(abs string) (string, error) {
	for i := 0; ; i++ {
		name := fmt.Sprintf("%s.new-%d-%d", abs, os.Getpid(), i)
		f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o666)
		if err == nil {
			return name, f.Close()
		}
		if !errors.Is(err, fs.ErrExist) || i > 1000 {
			return "", err
		}
	}
}

// place gives the finished file its name, or returns fs.ErrExist if the name is
// taken. A link does both at once; where the disk has no links, looking and
// renaming must do.
func place(tmp, abs string) error {
	err := os.Link(tmp, abs)
	if errors.Is(err, fs.ErrExist) {
		return fs.ErrExist
	}
	if err != nil {
		if _, err := os.Lstat(abs); err == nil {
			return fs.ErrExist
		}
		if err := os.Rename(tmp, abs); err != nil {
			return err
		}
	}
	syncFolder(abs)
	return nil
}

// syncFolder puts the names in a file's folder on the disk. Not every system can.
func syncFolder(abs string) {
	if dir, err := os.Open(filepath.Dir(abs)); err == nil {
		_ = dir.Sync()
		dir.Close()
	}
}
