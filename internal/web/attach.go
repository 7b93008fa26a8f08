package web

import (
	"bytes"
	"errors"
	"fmt"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// mostAttachUpload is the largest body of a form with a file [bytes]: far more than is
// kept, so that a phone's picture is refused by its size and not by a broken connection.
const mostAttachUpload = 32 << 20

// inMemory is how much of an upload is held in memory [bytes]; the rest waits on the disk.
const inMemory = 2 << 20

// attachedView is the card of photos and papers with its form.
type attachedView struct {
	Action string // of the form
	May    bool
	Files  []attachedRow
	Note   string // typed and not kept
}

type attachedRow struct {
	Href    string
	Picture bool
	Says    string // what there is to see, else its name
	Note    string
	Line    string // who, when, how large
}

// attachedTo is the card of a batch or a lot whose page has an address.
func (s *server) attachedTo(r *http.Request, b *book.Book, of, page string, may bool) (attachedView, error) {
	v := attachedView{Action: page + "/attachments", May: may}
	list, err := s.shop.Attached(r.Context(), of)
	if err != nil {
		return v, err
	}
	for _, x := range list.Attached {
		v.Files = append(v.Files, attachedRow{Href: "/attachments/" + x.SHA256, Picture: x.Picture(), Says: or(x.Note, or(x.Name, "without a name")), Note: x.Note,
			Line: fmt.Sprintf("%s, %s, %s %s", x.Person, stamp(x.At, b), x.Kind(), app.SaySize(list.Units, x.Bytes))})
	}
	return v, nil
}

// postRecordAttach attaches a file to a batch.
func (s *server) postRecordAttach(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	wrong, err := s.attach(r, id)
	if err != nil || len(wrong) == 0 {
		return seeAttached(w, r, recordHref(id), err)
	}
	v, err := s.recordOf(r, nil)
	if err != nil {
		return err
	}
	v.Faults, v.Attached.Note = attachFaults(wrong), r.PostFormValue("note")
	return s.render(w, status(wrong[0]), "record", v)
}

// postLotAttach attaches a file to a lot.
func (s *server) postLotAttach(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("lot")
	if supply.IsLot(id) {
		return s.attachSupply(w, r, id)
	}
	wrong, err := s.attach(r, id)
	if err != nil || len(wrong) == 0 {
		return seeAttached(w, r, lotHref(id), err)
	}
	v, err := s.lotPageOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Faults, v.Attached.Note = attachFaults(wrong), r.PostFormValue("note")
	return s.render(w, status(wrong[0]), "storelot", v)
}

// backToCard leads whoever opens the address of the form to its page.
func backToCard(w http.ResponseWriter, r *http.Request) error {
	page := recordHref(r.PathValue("id"))
	if lot := r.PathValue("lot"); lot != "" {
		page = lotHref(lot)
	}
	http.Redirect(w, r, page+"#attached", http.StatusSeeOther)
	return nil
}

// seeAttached leads to the card after a file was taken.
func seeAttached(w http.ResponseWriter, r *http.Request, page string, err error) error {
	if err == nil {
		http.Redirect(w, r, page+"?saved#attached", http.StatusSeeOther)
	}
	return err
}

// attachFaults say what is wrong with a form of one file, whose field need not be named.
func attachFaults(wrong app.Problems) []faultLine {
	out := faultLines(wrong)
	for i := range out {
		out[i].Field = ""
	}
	return out
}

// attach keeps the file of a form. What the person can put right comes back as problems.
func (s *server) attach(r *http.Request, of string) (app.Problems, error) {
	err := r.ParseMultipartForm(inMemory)
	switch {
	case errors.As(err, new(*http.MaxBytesError)):
		return app.Problems{fault.Invalid("the file has more than %d MB, and 1 MB is the most that is kept", mostAttachUpload>>20).
			WithHint("make it smaller: a phone's camera, gallery or mail offers a picture in a smaller size").WithCause(err)}, nil
	case err != nil:
		return nil, fault.Invalid("the form cannot be read").WithCause(err).WithHint("open the page again")
	}
	h := chosen(r.MultipartForm.File["file"])
	if h == nil {
		return app.Problems{fault.Invalid("no file is chosen").WithHint("take a photo, or choose a file that is not empty")}, nil
	}
	f, err := h.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	err = s.shop.Attach(r.Context(), app.AttachRequest{Of: of, Name: h.Filename, Note: r.PostFormValue("note"), Size: h.Size, From: f}, s.who(r))
	if k := fault.KindOf(err); err != nil && (k == fault.KindInvalid || k == fault.KindConflict) {
		return public(err), nil
	}
	return nil, err
}

// chosen is the first file that holds anything: one of the two inputs stays empty.
func chosen(files []*multipart.FileHeader) *multipart.FileHeader {
	for _, h := range files {
		if h.Size > 0 {
			return h
		}
	}
	return nil
}

// attachment hands out a file as it was kept. A picture is shown, a paper is saved: a PDF
// can hold more than a page to look at. A browser asks each time whether it may still
// show it, since who may look changes with the shift.
func (s *server) attachment(w http.ResponseWriter, r *http.Request) error {
	f, err := s.shop.AttachedFile(r.Context(), r.PathValue("sha256"))
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", f.Type)
	h.Set("Content-Disposition", "inline")
	if f.Type == store.TypePDF {
		h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": pdfName(f.Name)}))
	}
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+r.PathValue("sha256")+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(f.Data))
	return nil
}

// pdfName is a name under which a PDF is saved; whatever it was called, it ends as one.
func pdfName(name string) string {
	if name = or(name, "paper"); !strings.HasSuffix(strings.ToLower(name), ".pdf") {
		name += ".pdf"
	}
	return name
}
