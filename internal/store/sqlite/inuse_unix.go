//go:build unix

package sqlite

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"syscall"
)

// inUse reports whether a program has the database open, by the locks that SQLite
// holds on it (https://www.sqlite.org/fileformat2.html, section 1.3.1: the lock
// bytes are the 512 from 2^30 on). Asking changes nothing, whatever state the file
// is in.
func inUse(path string) (bool, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer f.Close()
	lock := syscall.Flock_t{Type: syscall.F_WRLCK, Whence: io.SeekStart, Start: 1 << 30, Len: 512}
	if err := syscall.FcntlFlock(f.Fd(), syscall.F_GETLK, &lock); err != nil {
		return false, err
	}
	return lock.Type != syscall.F_UNLCK, nil
}
