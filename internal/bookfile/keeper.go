package bookfile

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"sync"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/store"
)

// Keeper keeps a book in a shop-book file. It implements [store.Keeper] as far
// as a file can: it keeps no history, and the head is a number made from the
// file's time and content, which rises whenever the content changes.
type Keeper struct {
	path string

	mu   sync.Mutex
	sum  [sha256.Size]byte // of the content the head was given for
	head store.Head
}

var _ store.Keeper = (*Keeper)(nil)

// Open returns a keeper of the file; the file need not exist yet. A link is
// followed, so that what is written replaces the file and not the link.
func Open(path string) (*Keeper, error) {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, fault.Invalid("%s is a directory, not a shop-book file", filepath.Base(path))
	}
	return &Keeper{path: path}, nil
}

const noHistory = "a shop-book file keeps no history; import it into a .db"

// Book returns the definitions in the file. A file with errors is Invalid, and
// the fault names the first with its line.
func (k *Keeper) Book(ctx context.Context) (book.Book, store.Head, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.book(ctx)
}

func (k *Keeper) book(ctx context.Context) (book.Book, store.Head, error) {
	data, head, err := k.read(ctx)
	if err != nil {
		return book.Book{}, 0, err
	}
	b, _, err := Decode(k.name(), data)
	if err != nil {
		return book.Book{}, 0, err
	}
	return b, head, nil
}

// Head returns the file's head, 0 if there is no file.
func (k *Keeper) Head(ctx context.Context) (store.Head, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	_, head, err := k.read(ctx)
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		return 0, nil
	}
	return head, err
}

func (k *Keeper) name() string { return filepath.Base(k.path) }

// read returns the file's bytes and its head.
func (k *Keeper) read(ctx context.Context) ([]byte, store.Head, error) {
	if err := ctx.Err(); err != nil {
		return nil, 0, fault.Internal(err, "reading %s was called off", k.name())
	}
	f, err := os.Open(k.path)
	if err != nil {
		return nil, 0, k.fault(err, "read")
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, 0, k.fault(err, "read")
	}
	data, err := io.ReadAll(io.LimitReader(f, Most+1)) // Decode reports what is larger
	if err != nil {
		return nil, 0, k.fault(err, "read")
	}
	if sum := sha256.Sum256(data); sum != k.sum || k.head == 0 {
		k.sum = sum
		k.head = max(k.head+1, store.Head(info.ModTime().UnixNano()))
	}
	return data, k.head, nil
}

// Import adds what is new or differs in b and never deletes. The file is written
// anew from its contents: comments that people put in are lost. Expect 0 with no
// file there makes the file. A merged book with errors is refused.
func (k *Keeper) Import(ctx context.Context, b book.Book, expect store.Head, _ store.Meta) (store.Head, store.Changes, error) {
	return k.change(ctx, store.Change{Put: b}, expect)
}

// Change is Import with things taken out, which must be needed by nothing then.
func (k *Keeper) Change(ctx context.Context, c store.Change, expect store.Head, _ store.Meta) (store.Head, error) {
	head, _, err := k.change(ctx, c, expect)
	return head, err
}

func (k *Keeper) change(ctx context.Context, c store.Change, expect store.Head) (store.Head, store.Changes, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	old, head, err := k.book(ctx)
	if err != nil && (fault.KindOf(err) != fault.KindNotFound || len(c.Out) > 0) {
		return 0, store.Changes{}, err
	}
	if head != expect {
		return 0, store.Changes{}, k.moved()
	}
	merged, changes := merge(old, c.Put)
	if len(changes.Added)+len(changes.Revised)+len(c.Out) == 0 && head != 0 {
		return head, changes, nil
	}
	for _, n := range c.Out {
		if err := takeOut(&merged, n); err != nil {
			return 0, store.Changes{}, err
		}
	}
	if errs := book.Errors(book.Validate(&merged)); len(errs) > 0 && len(c.Out) > 0 {
		return 0, store.Changes{}, fault.Conflict("%s is still needed: %s", c.Out[0], errs[0].Text).At(errs[0].Field)
	}
	head, err = k.rewrite(ctx, merged)
	if err != nil {
		return 0, store.Changes{}, err
	}
	return head, changes, nil
}

// takeOut takes a thing out of a book.
func takeOut(b *book.Book, n store.Name) error {
	if store.Single(n.Kind) {
		return fault.Invalid("the %s of a book is never taken out", n.Kind)
	}
	v := reflect.ValueOf(b).Elem()
	for i := range v.NumField() {
		list := v.Field(i)
		if key, _ := book.Key(v.Type().Field(i)); key != n.Kind || list.Kind() != reflect.Slice || key == toMakeKey {
			continue
		}
		if at := slices.Index(ids(list), n.Slug); at >= 0 {
			list.Set(reflect.AppendSlice(list.Slice3(0, at, at), list.Slice(at+1, list.Len())))
			return nil
		}
	}
	return fault.NotFound("no %s with the id %q", n.Kind, fault.Clip(n.Slug, fault.Echo))
}

// rewrite writes a sound book over the file.
func (k *Keeper) rewrite(ctx context.Context, b book.Book) (store.Head, error) {
	if errs := book.Errors(book.Validate(&b)); len(errs) > 0 {
		return 0, refused(errs[0])
	}
	data, err := Encode(b)
	if err != nil {
		return 0, err
	}
	return k.write(ctx, data)
}

// refused turns a problem of a book into a fault.
func refused(p book.Problem) error {
	return fault.Invalid("%s", p.Text).At(p.Field).WithHint("%s", p.Hint)
}

// SetToMake replaces the lines to make in the file's text; every other byte
// stays, comments included.
func (k *Keeper) SetToMake(ctx context.Context, lines []demand.Line, expect store.Head, _ store.Meta) (store.Head, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	data, head, err := k.read(ctx)
	if err != nil {
		return 0, err
	}
	if head != expect {
		return 0, k.moved()
	}
	want, _, err := Decode(k.name(), data)
	if err != nil {
		return 0, err
	}
	if slices.Equal(want.ToMake, lines) {
		return head, nil
	}
	want.ToMake = lines
	if errs := book.Errors(book.Validate(&want)); len(errs) > 0 {
		return 0, refused(errs[0])
	}
	text, err := replaceToMake(data, lines)
	if err != nil {
		return 0, err
	}
	// The text was edited, not written from the book: read it back before it counts.
	got, _, err := Decode(k.name(), text)
	if err != nil {
		return 0, fault.Internal(err, "the lines to make could not be written into %s", k.name())
	}
	if len(lines) == 0 {
		want.ToMake = nil
	}
	if !reflect.DeepEqual(got, want) {
		return 0, fault.Internal(errors.New("reading back differs"), "the lines to make could not be written into %s", k.name())
	}
	return k.write(ctx, text)
}

func (k *Keeper) moved() error {
	return fault.Conflict("%s was changed by someone else", k.name()).WithHint("read it again and repeat the change")
}

// ToMakeBefore reports that a file keeps none.
func (k *Keeper) ToMakeBefore(context.Context) ([]demand.Line, error) {
	return nil, fault.NotFound("no lines to make of before: " + noHistory)
}

// Acts reports that a file keeps none.
func (k *Keeper) Acts(context.Context, int64, int) ([]store.Act, error) {
	return nil, fault.NotFound("no acts: " + noHistory)
}

// Versions reports that a file keeps none.
func (k *Keeper) Versions(context.Context, string, string, int, int) ([]store.Version, error) {
	return nil, fault.NotFound("no versions: " + noHistory)
}

// BookAt answers NotFound: a file has no history.
func (k *Keeper) BookAt(context.Context, store.Head) (book.Book, store.Head, error) {
	return book.Book{}, 0, fault.NotFound("no book of before: " + noHistory)
}

// Enter refuses: a file keeps no records.
func (k *Keeper) Enter(context.Context, record.Entry, int64, store.Meta) (store.Head, error) {
	return 0, fault.Invalid("no record can be written to %s: "+noHistory, k.name())
}

// Records finds none: a file keeps no records.
func (k *Keeper) Records(context.Context, store.Find) ([]record.Record, error) { return nil, nil }

// EnterLot refuses: a file keeps no ledgers.
func (k *Keeper) EnterLot(context.Context, lot.Entry, int64, store.Meta) (store.Head, error) {
	return 0, fault.Invalid("no lot can be written to %s: "+noHistory, k.name())
}

// Lots finds none: a file keeps no ledgers.
func (k *Keeper) Lots(context.Context, store.FindLots) ([]lot.Ledger, error) { return nil, nil }

// NextLot refuses: a file keeps no ledgers.
func (k *Keeper) NextLot(context.Context, string) (string, error) {
	return "", fault.Invalid("no lot can be written to %s: "+noHistory, k.name())
}

// EnterJot refuses: a file keeps no journals.
func (k *Keeper) EnterJot(context.Context, store.Jot, int64, store.Meta) (store.Head, error) {
	return 0, fault.Invalid("nothing can be written down in %s: "+noHistory, k.name())
}

// Jots finds none: a file keeps no journals.
func (k *Keeper) Jots(context.Context, store.FindJots) ([]store.Jots, error) { return nil, nil }

// NextJot refuses: a file keeps no journals.
func (k *Keeper) NextJot(context.Context, string, string) (int, error) {
	return 0, fault.Invalid("nothing can be written down in %s: "+noHistory, k.name())
}

// Attach refuses: a file keeps no pictures.
func (k *Keeper) Attach(context.Context, store.Attachment, []byte, store.Meta) (store.Head, error) {
	return 0, fault.Invalid("nothing can be attached in %s: "+noHistory, k.name())
}

// Attachments finds none: a file keeps no pictures.
func (k *Keeper) Attachments(context.Context, string) ([]store.KeptAttachment, error) {
	return nil, nil
}

// AttachmentData finds none: a file keeps no pictures.
func (k *Keeper) AttachmentData(context.Context, string) (store.Attachment, []byte, error) {
	return store.Attachment{}, nil, fault.NotFound("nothing is attached: " + noHistory)
}

// AddReadings refuses: a file keeps no readings.
func (k *Keeper) AddReadings(context.Context, []reading.Reading) (reading.Counts, error) {
	return reading.Counts{}, fault.Invalid("no readings can be kept in %s: "+noHistory, k.name())
}

// Readings finds none: a file keeps no readings.
func (k *Keeper) Readings(context.Context, store.FindReadings) ([]reading.Kept, error) {
	return nil, nil
}

// Tapped finds none: a file keeps no acts.
func (k *Keeper) Tapped(context.Context, string) (int64, error) { return 0, nil }

// ExportAll reports that a file has neither acts nor revisions to export.
func (k *Keeper) ExportAll(context.Context, io.Writer) error {
	return fault.NotFound("no acts and revisions: " + noHistory)
}

// ImportAll reports that a file cannot hold them.
func (k *Keeper) ImportAll(context.Context, io.Reader) (store.Head, error) {
	return 0, fault.Invalid("acts and revisions cannot be put into %s: "+noHistory, k.name())
}

// Verify reads the file and reports its errors; there is no chain to check.
func (k *Keeper) Verify(ctx context.Context) (store.Audit, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	data, head, err := k.read(ctx)
	if err != nil {
		return store.Audit{}, err
	}
	a := store.Audit{Head: head, Hash: hex.EncodeToString(k.sum[:])}
	_, problems, _ := Decode(k.name(), data)
	for _, p := range problems {
		if p.Severity == book.Error {
			a.Problems = append(a.Problems, store.Problem{Where: fmt.Sprintf("line %d", p.Line), Text: p.Text})
		}
	}
	return a, nil
}

// Close does nothing: no file stays open.
func (k *Keeper) Close() error { return nil }

// fault sorts an error of the operating system.
func (k *Keeper) fault(err error, verb string) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fault.NotFound("no shop book at %s", k.name()).WithHint("name another with --book, or write the demo shop's: slabside demo, then slabside export definitions -o shop.toml").WithCause(err)
	case errors.Is(err, fs.ErrPermission):
		return fault.Forbidden("%s may not be %s", k.name(), map[string]string{"read": "read", "write": "written"}[verb]).WithCause(err)
	}
	return fault.Internal(err, "could not %s %s", verb, k.name())
}
