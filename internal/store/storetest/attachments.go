package storetest

import (
	"bytes"
	"encoding/base64"
	"image"
	"image/color"
	"image/png"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// Pixel is a PNG picture of one pixel; each shade is another file.
func Pixel(shade uint8) []byte {
	dot := image.NewGray(image.Rect(0, 0, 1, 1))
	dot.SetGray(0, 0, color.Gray{Y: shade})
	var buf bytes.Buffer
	if err := png.Encode(&buf, dot); err != nil {
		panic(err) // a buffer takes everything
	}
	return buf.Bytes()
}

// as describes bytes as attached to a batch or a lot.
func as(of string, data []byte) store.Attachment {
	a := store.AttachmentOf(data)
	a.Of, a.Name, a.Note = of, "Zoë's dröp.png", "the <slab> 飴"
	return a
}

// attach attaches what must be taken.
func (k kit) attach(of string, data []byte, minutes int) store.Head {
	k.t.Helper()
	head, err := k.Attach(k.ctx, as(of, data), data, meta(minutes))
	if err != nil {
		k.t.Fatalf("Attach to %s: %v (cause %v)", of, err, cause(err))
	}
	return head
}

// shelved returns a book with one batch and one lot.
func shelved(t *testing.T, open Open) (k kit, batch, lot string) {
	t.Helper()
	k = start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	batch, lot = "2026-03-14-1", "r2026-03-14-1"
	k.enter(begun(b, batch, head), 0, 1)
	k.lot(came(lot, b.Ingredients[0].ID, ""), 0, 1)
	return k, batch, lot
}

// testAttachments attaches files of the three kinds, one of them to two numbers, and gets
// them back as they came.
func testAttachments(t *testing.T, open Open) {
	k, batch, lot := shelved(t, open)
	paper := append([]byte("%PDF-1.7\n"), bytes.Repeat([]byte{0, 0xff, '\n', 0x80}, 9)...)
	large := append([]byte("\xff\xd8\xff\xe0"), make([]byte, store.MostAttached-4)...)
	first := k.attach(batch, Pixel(9), 2)
	k.attach(lot, Pixel(9), 3) // the same bytes
	k.attach(lot, paper, 4)
	last := k.attach(batch, large, 5)
	got, err := k.Attachments(k.ctx, batch)
	want := []store.KeptAttachment{{Attachment: as(batch, Pixel(9)), Act: int64(first), Meta: meta(2)}, {Attachment: as(batch, large), Act: int64(last), Meta: meta(5)}}
	if d := cmp.Diff(want, got); err != nil || d != "" {
		t.Errorf("%v (-want +got):\n%s", err, d)
	}
	if got, err := k.Attachments(k.ctx, lot); err != nil || len(got) != 2 || got[1].Type != store.TypePDF {
		t.Errorf("of the lot: %+v, %v", got, err)
	}
	if got, err := k.Attachments(k.ctx, "2026-03-14-2"); err != nil || len(got) != 0 {
		t.Errorf("of a batch that was not: %+v, %v", got, err)
	}
	for _, data := range [][]byte{Pixel(9), paper, large} {
		is, kept, err := k.AttachmentData(k.ctx, store.Sum(data))
		if err != nil || !bytes.Equal(kept, data) || is.Type != store.TypeOf(data) || is.Bytes != int64(len(data)) {
			t.Errorf("%d bytes of %+v for %d, %v", len(kept), is, len(data), err)
		}
	}
	_, _, err = k.AttachmentData(k.ctx, store.Sum([]byte("none")))
	wantKind(t, "a sum that nothing has", err, fault.KindNotFound)
	k.sound()
	// Twice the same bytes are there once.
	if text := k.export(); strings.Count(text, `{"line":"attachment"`) != 3 || strings.Count(text, base64.StdEncoding.EncodeToString(Pixel(9))) != 1 {
		t.Errorf("%d files travel, want 3", strings.Count(text, `{"line":"attachment"`))
	}
}

func testAttachmentsRefused(t *testing.T, open Open) {
	k, batch, _ := shelved(t, open)
	k.attach(batch, Pixel(1), 2)
	before := k.export()
	large := append([]byte("%PDF-1.4"), make([]byte, store.MostAttached-7)...)
	change := func(fn func(*store.Attachment)) store.Attachment {
		a := as(batch, Pixel(2))
		fn(&a)
		return a
	}
	for _, c := range []struct {
		name  string
		a     store.Attachment
		data  []byte
		kind  fault.Kind
		field string
	}{
		{"no such batch", change(func(a *store.Attachment) { a.Of = "2026-03-14-2" }), Pixel(2), fault.KindNotFound, "of"},
		{"no such lot", change(func(a *store.Attachment) { a.Of = "r2026-03-14-2" }), Pixel(2), fault.KindNotFound, "of"},
		{"attached twice", as(batch, Pixel(1)), Pixel(1), fault.KindConflict, "file"},
		{"empty", as(batch, nil), nil, fault.KindInvalid, "file"},
		{"a byte too large", as(batch, large), large, fault.KindInvalid, "file"},
		{"a page", as(batch, []byte("<html>")), []byte("<html>"), fault.KindInvalid, "file"},
		{"another sum", as(batch, Pixel(3)), Pixel(2), fault.KindInvalid, "file"},
		{"another type", change(func(a *store.Attachment) { a.Type = store.TypePDF }), Pixel(2), fault.KindInvalid, "file"},
		{"another size", change(func(a *store.Attachment) { a.Bytes++ }), Pixel(2), fault.KindInvalid, "file"},
		{"a note that is no text", change(func(a *store.Attachment) { a.Note = "\xff" }), Pixel(2), fault.KindInvalid, "note"},
		{"a name without an end", change(func(a *store.Attachment) { a.Name = strings.Repeat("飴", 501) }), Pixel(2), fault.KindInvalid, "name"},
	} {
		_, err := k.Attach(k.ctx, c.a, c.data, meta(3))
		wantKind(t, c.name, err, c.kind)
		if f, ok := err.(*fault.Error); ok && f.Field != c.field {
			t.Errorf("%s: the fault names field %q, want %q", c.name, f.Field, c.field)
		}
	}
	if d := cmp.Diff(before, k.export()); d != "" {
		t.Errorf("a refusal changed the book (-before +after):\n%s", d)
	}
	k.sound()
}

// testAttachmentsWhole carries files over into another book; a line of bytes that is
// missing, spoiled, doubled or of no act is named, and nothing is taken in.
func testAttachmentsWhole(t *testing.T, open Open) {
	k, batch, lot := shelved(t, open)
	k.attach(batch, Pixel(1), 2)
	k.attach(lot, Pixel(1), 3)
	k.attach(lot, Pixel(2), 4)
	text := k.export()
	to := start(t, open)
	if _, err := to.ImportAll(to.ctx, strings.NewReader(text)); err != nil {
		t.Fatal(err, cause(err))
	}
	if d := cmp.Diff(text, to.export()); d != "" {
		t.Errorf("export of the import (-first +second):\n%s", d)
	}
	if _, data, err := to.AttachmentData(to.ctx, store.Sum(Pixel(2))); err != nil || !bytes.Equal(data, Pixel(2)) {
		t.Errorf("the bytes in the other book: %v", err)
	}
	to.sound()

	lines := strings.SplitAfter(strings.TrimSuffix(text, "\n"), "\n")
	var at []int
	for i, l := range lines {
		if strings.HasPrefix(l, `{"line":"attachment"`) {
			at = append(at, i)
		}
	}
	if len(at) != 2 {
		t.Fatalf("files at lines %v, want two", at)
	}
	first, second := at[0], at[1]
	with := func(i int, now ...string) string {
		return strings.Join(append(append(append([]string{}, lines[:i]...), now...), lines[i+1:]...), "")
	}
	old, spoilt := base64.StdEncoding.EncodeToString(Pixel(1)), base64.StdEncoding.EncodeToString(Pixel(3))
	for _, c := range []struct {
		name, text string
		line       int // that is named
	}{
		{"missing", with(first), first + 1},
		{"missing at the end", with(second), second + 1},
		{"spoiled", with(first, strings.Replace(lines[first], old, spoilt, 1)), first + 1},
		{"no base64", with(first, strings.Replace(lines[first], old, "*", 1)), first + 1},
		{"without its bytes", with(first, strings.Replace(lines[first], old, "", 1)), first + 1},
		{"doubled", with(first, lines[first], lines[first]), first + 2},
		{"of another act", with(first, lines[second]), first + 1},
		{"brought in again", with(second-1, lines[first], lines[second-1]), second},
	} {
		empty := start(t, open)
		_, err := empty.ImportAll(empty.ctx, strings.NewReader(c.text))
		wantField(t, c.name, err, "line "+strconv.Itoa(c.line))
		if head, err := empty.Head(empty.ctx); head != 0 || err != nil {
			t.Errorf("%s: head %d, %v", c.name, head, err)
		}
	}
}
