//go:build unix

package sqlite_test

import (
	"os"
	"sync"
	"syscall"
	"unsafe"

	"modernc.org/libc"
	lib "modernc.org/sqlite/lib"
)

// change is what is done to a file of the book, in the order it is done, and what
// the program says meanwhile.
type change struct {
	Kind changeKind
	File string
	Off  int64  // of a write; the new length of a truncation
	Data []byte // written
	Sure bool   // of a deletion: the folder was synced

	Seq  int64  // told: the act
	Text string // told: what
}

type changeKind byte

const (
	made changeKind = iota
	wrote
	cut
	synced
	gone
	told
)

// trouble is what goes wrong at a change to a file.
type trouble string

const (
	diskFull  trouble = "full"      // a part is written, then there is no room
	badWrite  trouble = "ioerr"     // the disk refuses
	badSync   trouble = "fsync"     // the sync fails and syncs nothing
	killed    trouble = "kill"      // a part is written, then the program is gone
	killAfter trouble = "killafter" // the change is whole, then the program is gone
)

// tap lies between SQLite and the system's files: it records every change, and lets
// one go wrong. It is made of SQLite's own layer for this system with six methods
// taken over (https://www.sqlite.org/vfs.html).
type tap struct {
	record func(change) // called in order, one at a time; nil: nothing is recorded

	mu    sync.Mutex
	what  trouble
	in    int     // changes until it goes wrong
	span  int     // changes that go wrong then
	share float64 // of a write that is still done
	fired int     // changes that went wrong

	names map[uintptr]string                   // open files
	under map[uintptr]*lib.Tsqlite3_io_methods // whose methods they had
	over  map[uintptr]uintptr                  // methods of the layer below to ours
	vfs   *lib.Tsqlite3_vfs                    // the layer below
	keep  []any                                // functions that only SQLite knows of
}

// arm lets the in-th change from now go wrong, and the span-1 after it.
func (t *tap) arm(what trouble, in, span int, share float64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.what, t.in, t.span, t.share, t.fired = what, in, span, share, 0
}

// calm ends it and returns how many changes went wrong.
func (t *tap) calm() int {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.what = ""
	return t.fired
}

// next says whether the change that is about to be made goes wrong. Called with the lock.
func (t *tap) next(kind changeKind) trouble {
	if t.what == "" {
		return ""
	}
	fits := kind == wrote || kind == cut && t.what != diskFull
	if t.what == badSync {
		fits = kind == synced
	}
	if t.what == killed || t.what == killAfter {
		fits = true
	}
	if !fits {
		return ""
	}
	if t.in--; t.in > 0 || t.in <= -t.span {
		return ""
	}
	t.fired++
	return t.what
}

func (t *tap) tell(c change) {
	if t.record != nil {
		t.record(c)
	}
}

// end stops the program as kill -9 does: by kill -9.
func end() int32 {
	_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
	select {}
}

// c reads memory of SQLite's as a T.
func c[T any](p uintptr) *T { return *(**T)(unsafe.Pointer(&p)) }

// call makes a Go function of one of SQLite's.
func call[F any](p uintptr) F { return *(*F)(unsafe.Pointer(&p)) }

// give makes one of SQLite's of a Go function.
func give[F any](t *tap, f F) uintptr {
	t.keep = append(t.keep, f)
	return *(*uintptr)(unsafe.Pointer(&f))
}

type (
	openFn   = func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32
	deleteFn = func(*libc.TLS, uintptr, uintptr, int32) int32
	closeFn  = func(*libc.TLS, uintptr) int32
	writeFn  = func(*libc.TLS, uintptr, uintptr, int32, int64) int32
	cutFn    = func(*libc.TLS, uintptr, int64) int32
	syncFn   = func(*libc.TLS, uintptr, int32) int32
)

// install makes the tap the layer of every database that is opened from now on.
func (t *tap) install() {
	tls := libc.NewTLS()
	base := lib.Xsqlite3_vfs_find(tls, 0)
	if base == 0 {
		lib.Xsqlite3_initialize(tls)
		base = lib.Xsqlite3_vfs_find(tls, 0)
	}
	t.names, t.under, t.over = map[uintptr]string{}, map[uintptr]*lib.Tsqlite3_io_methods{}, map[uintptr]uintptr{}
	t.vfs = c[lib.Tsqlite3_vfs](base)
	p := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(lib.Tsqlite3_vfs{})))
	own := c[lib.Tsqlite3_vfs](p)
	*own = *t.vfs
	name, err := libc.CString("tap")
	if err != nil {
		panic(err)
	}
	own.FpNext, own.FzName = 0, name
	own.FxOpen = give(t, openFn(t.open))
	own.FxDelete = give(t, deleteFn(t.delete))
	if rc := lib.Xsqlite3_vfs_register(tls, p, 1); rc != lib.SQLITE_OK {
		panic("the layer could not be put in")
	}
}

func (t *tap) open(tls *libc.TLS, vfs, name, file uintptr, flags int32, out uintptr) int32 {
	path := ""
	fresh := false
	if name != 0 {
		path = libc.GoString(name)
		_, err := os.Stat(path)
		fresh = err != nil
	}
	rc := call[openFn](t.vfs.FxOpen)(tls, vfs, name, file, flags, out)
	methods := *c[uintptr](file)
	if rc != lib.SQLITE_OK || path == "" || methods == 0 {
		return rc
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if fresh {
		t.tell(change{Kind: made, File: path})
	}
	if t.over[methods] == 0 {
		p := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(lib.Tsqlite3_io_methods{})))
		own := c[lib.Tsqlite3_io_methods](p)
		*own = *c[lib.Tsqlite3_io_methods](methods)
		own.FxClose = give(t, closeFn(t.close))
		own.FxWrite = give(t, writeFn(t.write))
		own.FxTruncate = give(t, cutFn(t.truncate))
		own.FxSync = give(t, syncFn(t.sync))
		t.over[methods] = p
	}
	t.names[file], t.under[file] = path, c[lib.Tsqlite3_io_methods](methods)
	*c[uintptr](file) = t.over[methods]
	return rc
}

func (t *tap) close(tls *libc.TLS, file uintptr) int32 {
	t.mu.Lock()
	below := t.under[file]
	delete(t.under, file)
	delete(t.names, file)
	t.mu.Unlock()
	return call[closeFn](below.FxClose)(tls, file)
}

func (t *tap) write(tls *libc.TLS, file, buf uintptr, n int32, off int64) int32 {
	t.mu.Lock()
	defer t.mu.Unlock()
	below := call[writeFn](t.under[file].FxWrite)
	data := append([]byte{}, unsafe.Slice(c[byte](buf), int(n))...)
	what := t.next(wrote)
	part := n
	switch what {
	case diskFull, killed:
		part = int32(t.share * float64(n))
	case badWrite:
		return lib.SQLITE_IOERR_WRITE
	}
	if part > 0 {
		if rc := below(tls, file, buf, part, off); rc != lib.SQLITE_OK {
			return rc
		}
		t.tell(change{Kind: wrote, File: t.names[file], Off: off, Data: data[:part]})
	}
	switch what {
	case diskFull:
		return lib.SQLITE_FULL
	case killed, killAfter:
		return end()
	}
	return lib.SQLITE_OK
}

func (t *tap) truncate(tls *libc.TLS, file uintptr, size int64) int32 {
	t.mu.Lock()
	defer t.mu.Unlock()
	what := t.next(cut)
	switch what {
	case badWrite:
		return lib.SQLITE_IOERR_TRUNCATE
	case killed:
		return end()
	}
	rc := call[cutFn](t.under[file].FxTruncate)(tls, file, size)
	if what == killAfter {
		return end()
	}
	if rc == lib.SQLITE_OK {
		t.tell(change{Kind: cut, File: t.names[file], Off: size})
	}
	return rc
}

func (t *tap) sync(tls *libc.TLS, file uintptr, flags int32) int32 {
	t.mu.Lock()
	defer t.mu.Unlock()
	what := t.next(synced)
	switch what {
	case badSync:
		return lib.SQLITE_IOERR_FSYNC
	case killed:
		return end()
	}
	rc := call[syncFn](t.under[file].FxSync)(tls, file, flags)
	if what == killAfter {
		return end()
	}
	if rc == lib.SQLITE_OK {
		t.tell(change{Kind: synced, File: t.names[file]})
	}
	return rc
}

func (t *tap) delete(tls *libc.TLS, vfs, name uintptr, dirSync int32) int32 {
	t.mu.Lock()
	defer t.mu.Unlock()
	what := t.next(gone)
	if what == killed {
		return end()
	}
	rc := call[deleteFn](t.vfs.FxDelete)(tls, vfs, name, dirSync)
	if what == killAfter {
		return end()
	}
	if rc == lib.SQLITE_OK {
		t.tell(change{Kind: gone, File: libc.GoString(name), Sure: dirSync != 0})
	}
	return rc
}
