package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	_ "modernc.org/sqlite" // the driver

	"slabside/internal/fault"
	"slabside/internal/store"
)

// Options says how a book is opened. The zero value is right for the shop.
type Options struct {
	// MustExist answers NotFound for a missing file instead of making one.
	MustExist bool
	// ReadOnly opens without being able to write, and leaves the file as it is.
	ReadOnly bool
	// BusyTimeout is how long to wait for another program; 0: 5 s.
	BusyTimeout time.Duration
	// Readers is how many may read at once; 0: 4.
	Readers int
	// Device is where acts are done, [a-z0-9-_.]; empty: "desk".
	Device string
	// Now is the clock for when an act was received; nil: when it was done.
	Now func() time.Time
}

// smallBook is the size up to which every open checks every page (measured: 0.04 s
// for 28 MB on two cores, the file in memory). A larger book is checked when it
// was not closed in order.
const smallBook = 50 << 20 // bytes

// leastPage is SQLite's smallest page: a file is whole pages
// (https://www.sqlite.org/fileformat2.html, section 1.2).
const leastPage = 512 // bytes

// Keeper keeps a shop book in a file.
type Keeper struct {
	path   string
	device string
	now    func() time.Time
	reader *sql.DB
	writer *sql.DB // nil if the file is of a newer schema or only looked at
	newer  int     // that schema; 0 if it is not
	looks  bool    // opened to be looked at
}

var _ store.Keeper = (*Keeper)(nil)

// Open opens the shop book at path and makes it if it is missing and need not
// exist. A file of a newer schema opens for reading only: see Newer. Kinds of
// fault: NotFound for a missing file or folder, Invalid for a folder or for
// another program's database, Forbidden for what may not be written, Busy for
// a locked file, Internal for a damaged one; none of them changes the file.
func Open(ctx context.Context, path string, opts Options) (*Keeper, error) {
	if opts.BusyTimeout <= 0 {
		opts.BusyTimeout = 5 * time.Second
	}
	if opts.Readers <= 0 {
		opts.Readers = 4
	}
	if opts.Device == "" {
		opts.Device = "desk"
	}
	if err := store.CheckSlug(opts.Device); err != nil {
		return nil, err
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fault.Internal(err, "could not find the folder of %s", path)
	}
	if err := find(ctx, path, abs, opts); err != nil {
		return nil, err
	}
	version, err := inspect(ctx, path, abs, opts)
	if err != nil {
		return nil, translate(err, path, "open the shop book "+path)
	}
	k := &Keeper{path: path, device: opts.Device, now: opts.Now}
	if version > Schema {
		k.newer = version
	} else if opts.ReadOnly {
		k.looks = true
	} else if err := k.openWriter(ctx, abs, opts); err != nil {
		return nil, translate(err, path, "open the shop book "+path)
	}
	k.reader, err = sql.Open("sqlite", dsn(abs, "ro", opts))
	if err == nil {
		k.reader.SetMaxOpenConns(opts.Readers)
		k.reader.SetMaxIdleConns(opts.Readers)
		err = k.reader.PingContext(ctx)
	}
	if err != nil {
		k.Close()
		return nil, translate(err, path, "open the shop book "+path)
	}
	return k, nil
}

// openWriter opens the one connection that writes and brings the schema up.
func (k *Keeper) openWriter(ctx context.Context, abs string, opts Options) error {
	db, err := sql.Open("sqlite", dsn(abs, "rw", opts))
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(1)
	if err := migrate(ctx, db, migrations); err != nil {
		db.Close()
		return err
	}
	k.writer = db
	return nil
}

// Newer returns the schema of a file that a newer program wrote, and whether
// this is one: it can be read as far as this program understands it, and not
// written.
func (k *Keeper) Newer() (schema int, newer bool) { return k.newer, k.newer > 0 }

// Close lets the file go. The readers go first, so that the writer is the last
// one and folds the write-ahead log into the file.
func (k *Keeper) Close() error {
	var errs []error
	if k.reader != nil {
		errs = append(errs, k.reader.Close())
	}
	if k.writer != nil {
		errs = append(errs, k.writer.Close())
	}
	return translate(errors.Join(errs...), k.path, "close the shop book "+k.path)
}

// dsn builds the name of the database for one pool. Pragmas stand in it since
// they hold for one connection only; the driver sets busy_timeout first,
// because switching to the write-ahead log can block. A pool that only reads
// leaves the journal mode as it is: it is kept in the file.
func dsn(abs, mode string, opts Options) string {
	p := filepath.ToSlash(abs)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	u := url.URL{Scheme: "file", Path: p}
	q := fmt.Sprintf("mode=%s&_txlock=immediate&_dqs=0&_pragma=busy_timeout(%d)&_pragma=foreign_keys(ON)&_pragma=synchronous(FULL)",
		mode, opts.BusyTimeout.Milliseconds())
	if mode != "ro" {
		q += "&_pragma=journal_mode(WAL)"
	}
	return u.String() + "?" + q
}

// find makes sure that there is a file, and makes an empty book if it may.
func find(ctx context.Context, path, abs string, opts Options) error {
	info, err := os.Stat(abs)
	switch {
	case err == nil && info.IsDir():
		return fault.Invalid("%s is a folder, not a shop book", path).WithHint("name a file in it, such as %s", filepath.Join(path, "slabside.db"))
	case err == nil && !info.Mode().IsRegular():
		return fault.Invalid("%s is not a file", path).WithHint("name the shop's own file")
	case err == nil && info.Size() == 0:
		return fault.Internal(nil, "the file %s is empty where a shop book is expected", path).
			WithHint("restore a backup, or delete the empty file to begin a new book")
	case err == nil && info.Size() < leastPage:
		return notBook(path)
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrPermission):
		return fault.Forbidden("the shop book %s may not be looked at", path).WithHint(hintWrite).WithCause(err)
	case !errors.Is(err, fs.ErrNotExist):
		return fault.Invalid("%s cannot be the name of a shop book", path).WithHint("name a file in a folder").WithCause(err)
	case opts.MustExist:
		return fault.NotFound("there is no shop book %s", path).WithHint("name another with --book, import a shop-book file, or make the demo shop: slabside demo")
	}
	if _, err := os.Stat(filepath.Dir(abs)); errors.Is(err, fs.ErrNotExist) {
		return fault.NotFound("there is no folder %s", filepath.Dir(path)).WithHint("make the folder first")
	}
	return create(ctx, path, abs, opts)
}

// inspect looks at a file without being able to change it and returns its schema.
func inspect(ctx context.Context, path, abs string, opts Options) (version int, err error) {
	size, unclean := int64(0), false
	if info, err := os.Stat(abs); err == nil {
		size = info.Size()
	}
	if info, err := os.Stat(abs + "-wal"); err == nil {
		unclean = info.Size() > 0
	}
	if !unclean && size%leastPage != 0 {
		return 0, damaged(path)
	}
	db, err := sql.Open("sqlite", dsn(abs, "ro", opts))
	if err != nil {
		return 0, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	id, err := number(ctx, db, "application_id")
	if err != nil {
		return 0, err
	}
	if version, err = number(ctx, db, "user_version"); err != nil {
		return 0, err
	}
	if id != appID {
		return 0, fault.Invalid("%s is a database, but not a shop book", path).WithHint("name the shop's own file")
	}
	if size <= smallBook || unclean {
		if err := check(ctx, db, path, "quick_check(1)"); err != nil {
			return 0, err
		}
	}
	return version, nil
}

// check runs one of SQLite's own checks; what it finds is damage.
func check(ctx context.Context, q querier, path, pragma string) error {
	var found string
	if err := q.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&found); err != nil {
		return err
	}
	if found != "ok" {
		return damaged(path).WithCause(errors.New(found))
	}
	return nil
}
