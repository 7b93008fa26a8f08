package sqlite_test

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/store/sqlite"
)

// asNobody runs fn without the rights of an administrator, whom no permission
// stops. Linux keeps the user for file access with each thread, so that only
// this test's thread is changed.
func asNobody(t *testing.T, fn func()) {
	t.Helper()
	if os.Geteuid() != 0 {
		fn()
		return
	}
	const nobody = 65534
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // never unlocked: the thread ends with the goroutine
		syscall.RawSyscall(syscall.SYS_SETFSUID, nobody, 0, 0)
		fn()
	}()
	<-done
}

func chmod(t *testing.T, path string, mode os.FileMode) {
	t.Helper()
	if err := os.Chmod(path, mode); err != nil {
		t.Fatal(err)
	}
}

func TestOpen_forbidden(t *testing.T) {
	t.Parallel()
	path := filled(t)
	dir := filepath.Dir(path)
	chmod(t, filepath.Dir(dir), 0o755)
	t.Cleanup(func() { os.Chmod(dir, 0o755) })

	chmod(t, path, 0o444)
	chmod(t, dir, 0o777)
	asNobody(t, func() { refused(t, path, sqlite.Options{}, fault.KindForbidden) }) // the file

	chmod(t, path, 0o666)
	chmod(t, dir, 0o555)
	asNobody(t, func() {
		refused(t, path, sqlite.Options{}, fault.KindForbidden)                         // the folder
		refused(t, filepath.Join(dir, "new.db"), sqlite.Options{}, fault.KindForbidden) // a new book in it
	})
	chmod(t, path, 0o000)
	chmod(t, dir, 0o777)
	asNobody(t, func() { refused(t, path, sqlite.Options{}, fault.KindForbidden) }) // not to be read either

	chmod(t, dir, 0o000)
	asNobody(t, func() { refused(t, path, sqlite.Options{}, fault.KindForbidden) })

	chmod(t, dir, 0o777)
	chmod(t, path, 0o666)
	for _, end := range []string{"-wal", "-shm"} { // with the rights the file had
		if err := os.Remove(path + end); err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
	}
	asNobody(t, func() {
		k, err := sqlite.Open(context.Background(), path, sqlite.Options{})
		if err != nil {
			t.Errorf("with the rights it needs: %v", err)
			return
		}
		k.Close()
	})
}
