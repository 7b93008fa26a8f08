package app_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/store/storetest"
)

// A file is attached with its name without folders and comes back as it went in; what
// cannot be kept is refused in words, and the size is said.
func TestAttach(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	lot, err := a.Receive(ctx, app.ReceiveRequest{Ingredient: "sugar", Mass: 25, Supplier: "Mill Lane Stores", On: shoptest.Date}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	of := func(of, name string, data []byte) error {
		return a.Attach(ctx, app.AttachRequest{Of: of, Name: name, Note: "  the seal\n", Size: int64(len(data)), From: bytes.NewReader(data)}, "Ada")
	}
	// A camera's place and time stay in: JFIF, then an Exif segment, kept byte for byte.
	picture := []byte("\xff\xd8\xff\xe1\x00\x10Exif\x00\x00GPS 54N 2W")
	if err := of(lot, `C:\Pictures\holiday.exe`, picture); err != nil {
		t.Fatal(err)
	}
	list, err := a.Attached(ctx, lot)
	if err != nil || len(list.Attached) != 1 {
		t.Fatalf("%+v, %v", list, err)
	}
	if x := list.Attached[0]; x.Name != "holiday.exe" || x.Note != "the seal" || x.Type != store.TypeJPEG || x.Kind() != "JPEG" || !x.Picture() || x.Person != "Ada" || !x.At.Equal(shoptest.Now()) {
		t.Errorf("kept as %+v", x)
	}
	f, err := a.AttachedFile(ctx, list.Attached[0].SHA256)
	if err != nil || !bytes.Equal(f.Data, picture) {
		t.Errorf("the bytes: %v", err)
	}
	if sum, err := a.AttachedSum(ctx, lot, store.Sum(f.Data)[:6]); err != nil || sum != store.Sum(f.Data) {
		t.Errorf("by the beginning of its sum: %q, %v", sum, err)
	}

	phone := append([]byte("\xff\xd8\xff\xe1"), make([]byte, 3_400_000)...)
	justOver := append([]byte("\xff\xd8\xff\xe1"), make([]byte, store.MostAttached-3)...)
	for _, c := range []struct {
		name, of string
		data     []byte
		kind     fault.Kind
		field    string
		says     string
	}{
		{"a phone's picture", lot, phone, fault.KindInvalid, "file", "the file has 3.3 MB, and 1 MB is the most"},
		{"a byte over", lot, justOver, fault.KindInvalid, "file", "the file has 1.1 MB"},
		{"empty", lot, nil, fault.KindInvalid, "file", "is empty"},
		{"a page", lot, []byte("<html>"), fault.KindInvalid, "file", "neither a JPEG or PNG picture nor a PDF"},
		{"again", lot, picture, fault.KindConflict, "file", "attached to " + lot + " already"},
		{"no such lot", "r2026-03-17-9", picture, fault.KindNotFound, "of", "there is no lot"},
		{"no such batch", "2026-03-17-9", picture, fault.KindNotFound, "of", "has no record"},
		{"no number", "sugar", picture, fault.KindInvalid, "of", "no number of a batch or a lot"},
	} {
		err := of(c.of, "x.jpg", c.data)
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != c.kind || f.Field != c.field || !strings.Contains(f.Text, c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// The size that is told is not believed.
	err = a.Attach(ctx, app.AttachRequest{Of: lot, Size: 5, From: bytes.NewReader(phone)}, "Ada")
	if fault.KindOf(err) != fault.KindInvalid || !strings.Contains(err.Error(), "MB") {
		t.Errorf("more than is told: %v", err)
	}
	if _, err := a.Attached(ctx, "r2026-03-17-9"); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("the list of no lot: %v", err)
	}
}

// What is attached is no change of the book to be undone, and the plan of the day stands.
func TestAttach_Undo(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	lot, err := a.Receive(ctx, app.ReceiveRequest{Ingredient: "sugar", Mass: 25, Supplier: "Mill Lane Stores", On: shoptest.Date}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Attach(ctx, app.AttachRequest{Of: lot, From: bytes.NewReader(storetest.Pixel(3))}, "Ada"); err != nil {
		t.Fatal(err)
	}
	last, err := a.Last(ctx)
	if err != nil || last.Undoable || len(last.What) != 1 || !strings.Contains(last.What[0], lot) {
		t.Errorf("the last change: %+v, %v", last, err)
	}
	if err := a.Undo(ctx, store.Head(last.Act), "Ada"); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("undone: %v", err)
	}
}
