package app

import (
	"context"
	"errors"
	"io"
	"math"
	"strings"
	"time"

	"slabside/internal/fault"
	ledger "slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// AttachRequest is a picture or paper of a batch or a lot.
type AttachRequest struct {
	Of   string // number of the batch or the lot
	Name string // of the file; folders are left out
	Note string // what there is to see
	Size int64  // as told [bytes]; 0: not told
	From io.Reader
}

// Attached is a picture or paper as it is kept.
type Attached struct {
	SHA256 string    `json:"sha256"` // of its bytes, by which they are got
	Bytes  int64     `json:"bytes"`
	Type   string    `json:"type"` // image/jpeg, image/png, application/pdf
	Name   string    `json:"name,omitempty"`
	Note   string    `json:"note,omitempty"`
	Act    int64     `json:"act"`
	At     time.Time `json:"at"`
	Person string    `json:"person"`
}

// AttachedList is what is attached to a batch or a lot, as it came.
type AttachedList struct {
	Of       string     `json:"of"`
	Attached []Attached `json:"attached"`

	Units q.Reader `json:"-"`
}

// AttachedFile is a picture or paper with its bytes.
type AttachedFile struct {
	Type, Name string
	Data       []byte
}

// mostName and mostAttachedNote are the longest name and note that are kept [characters].
const (
	mostName         = 120
	mostAttachedNote = 200
)

// Attach keeps a picture or paper with the record of a batch or the ledger of a lot. The
// bytes are kept as they come, with whatever a camera wrote into them.
//
// Faults: Invalid at "of" for what is no number, NotFound if there is no such batch or
// lot, Invalid at "file" for one that is empty, too large or of another kind than JPEG,
// PNG and PDF, Conflict if it is attached already.
func (a *App) Attach(ctx context.Context, r AttachRequest, who string) error {
	b, _, err := a.Book(ctx)
	if err == nil {
		err = a.knowsNumber(ctx, r.Of)
	}
	if err != nil {
		return err
	}
	if r.Size > store.MostAttached {
		return tooLarge(b.Shop.Units, r.Size)
	}
	data, err := io.ReadAll(io.LimitReader(r.From, store.MostAttached+1))
	if err != nil {
		return fault.Invalid("the file cannot be read").At("file").WithCause(err)
	}
	if len(data) > store.MostAttached {
		return tooLarge(b.Shop.Units, int64(len(data)))
	}
	x := store.AttachmentOf(data)
	x.Of, x.Name, x.Note = r.Of, fileName(r.Name), fault.Clip(strings.TrimSpace(r.Note), mostAttachedNote)
	_, err = a.keeper.Attach(ctx, x, data, store.Meta{Person: who, At: a.now()})
	return err
}

// tooLarge refuses a file and says how large it is, rounded up so that it never reads as
// what would be taken.
func tooLarge(u q.Reader, size int64) error {
	mb := math.Ceil(float64(size)/store.MostAttached*10) / 10
	return fault.Invalid("the file has %s MB, and 1 MB is the most that is kept", u.Number(mb, 1)).At("file").
		WithHint("make it smaller: a phone's camera, gallery or mail offers a picture in a smaller size")
}

// fileName is a file's name without its folders, as either system writes them.
func fileName(name string) string {
	return fault.Clip(strings.TrimSpace(name[strings.LastIndexAny(name, `/\`)+1:]), mostName)
}

// knowsNumber refuses what is the number of no batch and no lot.
func (a *App) knowsNumber(ctx context.Context, of string) error {
	if ledger.CheckID(of) == nil {
		_, err := a.ledgerOf(ctx, of)
		var f *fault.Error
		if errors.As(err, &f) {
			return f.At("of")
		}
		return err
	}
	if supply.IsLot(of) {
		_, err := a.supplyKept(ctx, of)
		return refield(err, "of")
	}
	if record.CheckID(of) != nil {
		return fault.Invalid("%q is no number of a batch or a lot", fault.Clip(of, fault.Echo)).At("of").
			WithHint("write it as 2026-11-28-2 for a batch, r2026-11-28-2 or s2026-11-28-2 for a lot")
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: of, Limit: 1})
	if err == nil && len(list) == 0 {
		err = fault.NotFound("batch %s has no record", of).At("of").WithHint("begin one on its page, or with slabside begin")
	}
	return err
}

// Attached lists what is attached to a batch or a lot, in the order in which it came.
// Faults as of [App.Attach].
func (a *App) Attached(ctx context.Context, of string) (*AttachedList, error) {
	b, _, err := a.Book(ctx)
	if err == nil {
		err = a.knowsNumber(ctx, of)
	}
	if err != nil {
		return nil, err
	}
	kept, err := a.keeper.Attachments(ctx, of)
	if err != nil {
		return nil, err
	}
	out := &AttachedList{Of: of, Attached: []Attached{}, Units: b.Shop.Units}
	for _, k := range kept {
		out.Attached = append(out.Attached, Attached{SHA256: k.SHA256, Bytes: k.Bytes, Type: k.Type, Name: k.Name, Note: k.Note, Act: k.Act, At: k.At, Person: k.Person})
	}
	return out, nil
}

// AttachedSum returns the whole sum of a file that is attached to a batch or a lot and
// whose sum begins so. NotFound if there is none, Invalid if there are several.
func (a *App) AttachedSum(ctx context.Context, of, begin string) (string, error) {
	list, err := a.Attached(ctx, of)
	if err != nil {
		return "", err
	}
	found := ""
	for _, x := range list.Attached {
		switch {
		case !strings.HasPrefix(x.SHA256, begin):
		case found != "":
			return "", fault.Invalid("more than one file of %s has a sum that begins with %q", of, fault.Clip(begin, fault.Echo)).WithHint("write more of it")
		default:
			found = x.SHA256
		}
	}
	if found == "" {
		return "", fault.NotFound("no file of %s has a sum that begins with %q", of, fault.Clip(begin, fault.Echo)).WithHint("the list of what is attached has the sums")
	}
	return found, nil
}

// AttachedFile returns a picture or paper by the sum of its bytes. NotFound if there is
// none.
func (a *App) AttachedFile(ctx context.Context, sum string) (*AttachedFile, error) {
	is, data, err := a.keeper.AttachmentData(ctx, sum)
	if err != nil {
		return nil, err
	}
	return &AttachedFile{Type: is.Type, Name: is.Name, Data: data}, nil
}

// Picture reports whether a page can show it.
func (x Attached) Picture() bool { return x.Type != store.TypePDF }

// Kind says what kind of file it is.
func (x Attached) Kind() string {
	switch x.Type {
	case store.TypeJPEG:
		return "JPEG"
	case store.TypePNG:
		return "PNG"
	}
	return "PDF"
}

// SaySize says how large a file is, in kB of 1024 bytes and at least 1.
func SaySize(u q.Reader, bytes int64) string {
	return u.Number(math.Ceil(float64(bytes)/1024), 0) + " kB"
}
