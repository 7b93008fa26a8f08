package sqlite

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"slabside/internal/fault"
	"slabside/internal/store"
)

var _ store.Copier = (*Keeper)(nil)

// Backup implements store.Copier. The copy is written anew from what one reading
// transaction sees, so that the writer need not wait, pages that were let go do not
// travel along, and a damaged page shows itself.
func (k *Keeper) Backup(ctx context.Context, file string) (store.Copy, error) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return store.Copy{}, fault.Internal(err, "could not find the folder of %s", file)
	}
	if err := free(file, abs); err != nil {
		return store.Copy{}, err
	}
	tmp, err := scratch(abs)
	if err != nil {
		return store.Copy{}, cannotWrite(err, file)
	}
	defer os.Remove(tmp)
	defer os.Remove(tmp + "-journal")
	if _, err := k.reader.ExecContext(ctx, "VACUUM INTO ?", tmp); err != nil {
		return store.Copy{}, translate(err, file, "copy the shop book to "+file)
	}
	size, err := syncFile(tmp)
	if err != nil {
		return store.Copy{}, cannotWrite(err, file)
	}
	a, err := k.Look(ctx, tmp)
	if err != nil {
		return store.Copy{}, err
	}
	if err := k.vouch(ctx, a); err != nil {
		return store.Copy{}, err
	}
	switch err := place(tmp, abs); {
	case errors.Is(err, fs.ErrExist):
		return store.Copy{}, taken(file)
	case err != nil:
		return store.Copy{}, cannotWrite(err, file)
	}
	return store.Copy{File: file, Bytes: size, Audit: a}, nil
}

// Look implements store.Copier.
func (k *Keeper) Look(ctx context.Context, file string) (store.Audit, error) { return Look(ctx, file) }

// Look audits a shop book without changing it.
func Look(ctx context.Context, file string) (store.Audit, error) {
	k, err := Open(ctx, file, Options{MustExist: true, ReadOnly: true})
	if err != nil {
		return store.Audit{}, err
	}
	a, err := k.Verify(ctx)
	return a, errors.Join(err, k.Close())
}

// vouch holds an audit of a copy to this book: nothing wrong, and its last act is
// one of this book's.
func (k *Keeper) vouch(ctx context.Context, a store.Audit) error {
	if n := len(a.Problems); n > 0 {
		return fault.Internal(nil, "a copy of the shop book does not pass its audit: %s: %s", a.Problems[0].Where, a.Problems[0].Text).
			WithHint("no backup was made; slabside audit tells what is wrong with the book")
	}
	if a.Head == 0 {
		return nil
	}
	acts, err := k.Acts(ctx, int64(a.Head)-1, 1)
	if err != nil {
		return err
	}
	if len(acts) == 0 || acts[0].Hash != a.Hash {
		return fault.Internal(nil, "a copy of the shop book ends in an act that is not the book's").WithHint("no backup was made; try again, and slabside audit")
	}
	return nil
}

// BackupIn implements store.Copier.
func (k *Keeper) BackupIn(ctx context.Context, dir string, at time.Time) (store.Copy, error) {
	return k.Backup(ctx, filepath.Join(dir, k.stem()+"-"+at.UTC().Format(stamp)+".db"))
}

// stamp dates a file's name; UTC, so that the order of names is that of time.
const stamp = "20060102T150405Z"

func (k *Keeper) stem() string {
	name := filepath.Base(k.path)
	return strings.TrimSuffix(name, filepath.Ext(name))
}

// Backups implements store.Copier.
func (k *Keeper) Backups(dir string) ([]store.Kept, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fault.NotFound("the folder %s of the backups cannot be read", dir).WithHint("look at the name").WithCause(err)
	}
	var all []store.Kept
	for _, e := range entries {
		date, ok := strings.CutPrefix(strings.TrimSuffix(e.Name(), ".db"), k.stem()+"-")
		at, err := time.Parse(stamp, date)
		if !ok || err != nil || !e.Type().IsRegular() || !marked(filepath.Join(dir, e.Name())) {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue // gone meanwhile
		}
		all = append(all, store.Kept{File: filepath.Join(dir, e.Name()), At: at, Bytes: info.Size()})
	}
	slices.SortFunc(all, func(a, b store.Kept) int { return b.At.Compare(a.At) })
	return all, nil
}

// Prune implements store.Copier.
func (k *Keeper) Prune(dir string, keep int) ([]store.Kept, error) {
	if keep < 1 {
		return nil, fault.Invalid("%d backups cannot be kept", keep).At("keep").WithHint("keep at least one")
	}
	all, err := k.Backups(dir)
	if err != nil || len(all) <= keep {
		return nil, err
	}
	var gone []store.Kept
	for _, b := range all[keep:] {
		if err := os.Remove(b.File); err != nil {
			return gone, fault.Internal(err, "the old backup %s could not be deleted", b.File).WithHint("check who may write to its folder")
		}
		gone = append(gone, b)
	}
	return gone, nil
}

// marked reports whether a file begins as a shop book does: SQLite's header with
// this program's id (https://www.sqlite.org/fileformat2.html, section 1.3).
func marked(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	var head [72]byte
	if _, err := f.Read(head[:]); err != nil {
		return false
	}
	return bytes.HasPrefix(head[:], []byte("SQLite format 3\x00")) && binary.BigEndian.Uint32(head[68:]) == appID
}

// free makes sure that a new file can have its name.
func free(file, abs string) error {
	if _, err := os.Lstat(abs); err == nil {
		return taken(file)
	}
	if _, err := os.Stat(filepath.Dir(abs)); err != nil {
		return fault.NotFound("there is no folder %s", filepath.Dir(file)).WithHint("make the folder first").WithCause(err)
	}
	return nil
}

func taken(file string) *fault.Error {
	return fault.Conflict("%s is there already, and nothing is written over", file).WithHint("give another name")
}

// cannotWrite sorts an error of the operating system on writing a file.
func cannotWrite(err error, file string) *fault.Error {
	switch {
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fault.Forbidden("%s may not be written", file).WithHint("check who may write to its folder").WithCause(err)
	case errors.Is(err, syscall.ENOSPC):
		return fault.Internal(err, "the disk with %s is full", file).WithHint("make room and try again; nothing was changed")
	}
	return fault.Internal(err, "%s could not be written", file).WithHint("check the disk; nothing was changed")
}

// syncFile puts a file's content on the disk and returns its size.
func syncFile(path string) (int64, error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return 0, err
	}
	info, err := f.Stat()
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return 0, fmt.Errorf("sync: %w", err)
	}
	return info.Size(), nil
}
