package bookfile

import (
	"context"
	"crypto/sha256"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// write replaces the file: a new file beside it, synced, renamed over it, and
// the directory synced, so that a power cut leaves the old file or the new one.
// Just before the rename the file is read once more, so that an edit made
// meanwhile by an editor is not lost.
func (k *Keeper) write(ctx context.Context, data []byte) (store.Head, error) {
	if len(data) > Most {
		return 0, fault.Invalid("the shop book would be larger than %d MB", Most>>20)
	}
	mode := fs.FileMode(0o644)
	if info, err := os.Stat(k.path); err == nil {
		mode = info.Mode().Perm()
		// Renaming would get round a file made read-only on purpose.
		if mode&0o200 == 0 {
			return 0, k.fault(fs.ErrPermission, "write")
		}
	}
	dir := filepath.Dir(k.path)
	tmp, err := os.CreateTemp(dir, "."+k.name()+".*")
	if err != nil {
		return 0, k.fault(err, "write")
	}
	defer os.Remove(tmp.Name()) // gone after the rename; then this does nothing
	_, err = tmp.Write(data)
	err = errors.Join(err, tmp.Chmod(mode), tmp.Sync(), tmp.Close())
	if err != nil {
		return 0, k.fault(err, "write")
	}
	before := k.sum
	if _, _, err := k.read(ctx); err != nil && fault.KindOf(err) != fault.KindNotFound {
		return 0, err
	}
	if k.sum != before {
		return 0, k.moved()
	}
	if err := os.Rename(tmp.Name(), k.path); err != nil {
		return 0, k.fault(err, "write")
	}
	if err := syncDir(dir); err != nil {
		return 0, k.fault(err, "write")
	}
	info, err := os.Stat(k.path)
	if err != nil {
		return 0, k.fault(err, "read")
	}
	k.sum = sha256.Sum256(data)
	k.head = max(k.head+1, store.Head(info.ModTime().UnixNano()))
	return k.head, nil
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
