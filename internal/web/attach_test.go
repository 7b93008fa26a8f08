package web

import (
	"bytes"
	"context"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"

	"slabside/internal/app"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/store/storetest"
)

// attachForm sends the form of the card as a browser does: two inputs for a file, of
// which one is left empty.
func attachForm(t *testing.T, site http.Handler, at, name, note string, data []byte) page {
	t.Helper()
	var body bytes.Buffer
	mw := multipart.NewWriter(&body)
	for _, part := range []struct {
		name string
		data []byte
	}{{"", nil}, {name, data}} {
		w, err := mw.CreateFormFile("file", part.name)
		if err == nil {
			_, err = w.Write(part.data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := mw.WriteField("note", note); err != nil {
		t.Fatal(err)
	}
	if err := mw.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", at+"/attachments", &body)
	r.Host = "127.0.0.1:7373"
	r.Header.Set("Content-Type", mw.FormDataContentType())
	return send(t, site, r)
}

// A photo and a certificate go in by the form and come back byte for byte, a picture to
// be looked at and a paper to be saved; what is refused says why, and the note is there again.
func TestAttachPages(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	lot, err := a.Receive(context.Background(), app.ReceiveRequest{Ingredient: "sugar", Mass: 25, Supplier: "Mill Lane Stores", On: shoptest.Date}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	batch, err := a.Begin(context.Background(), app.BeginRequest{Recipe: shoptest.Book().Recipes[0].ID}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	picture, paper := storetest.Pixel(7), []byte("%PDF-1.4\nCoA 2304 \x00\xff")
	for _, at := range []string{lotHref(lot), recordHref(batch)} {
		ask(t, site, "GET", at, nil).says(t, "#attached", "None yet")
		for name, data := range map[string][]byte{"slab.html": picture, `"Zertifikat Ä".exe`: paper} {
			p := attachForm(t, site, at, name, "seen <b> on "+name, data)
			if p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != at+"?saved#attached" {
				t.Fatalf("%s: %d to %q: %s", name, p.StatusCode, p.Header.Get("Location"), p.body)
			}
		}
		p := ask(t, site, "GET", at, nil)
		img := all(p.root, "#attached img")
		if len(img) != 1 {
			t.Fatalf("%s shows %d pictures, want 1", at, len(img))
		}
		if alt, _ := attrOf(img[0], "alt"); alt != "seen <b> on slab.html" {
			t.Errorf("the picture is called %q", alt)
		}
		if src, _ := attrOf(img[0], "src"); src != "/attachments/"+store.Sum(picture) {
			t.Errorf("the picture is at %q", src)
		}

		refused := func(what string, want int, data []byte, says string) {
			t.Helper()
			p := attachForm(t, site, at, "x.png", "kept note", data)
			if note := attrIn(p.root, "#att-note", "value"); p.StatusCode != want || note != "kept note" && want != 413 { // of that nothing was read
				t.Errorf("%s: %d, the note is %q", what, p.StatusCode, note)
			}
			p.says(t, "#wrong", says)
		}
		refused("nothing", 422, nil, "No file is chosen")
		refused("a page", 422, []byte("<html>"), "neither a JPEG or PNG picture nor a PDF")
		refused("twice", 409, picture, "already")
		refused("a phone's picture", 422, append([]byte("\xff\xd8\xff"), make([]byte, 3_400_000)...), "The file has 3.3 MB, and 1 MB is the most")
		refused("more than is read", 413, append([]byte("\xff\xd8\xff"), make([]byte, mostAttachUpload)...), "The file has more than 32 MB")
	}

	p := ask(t, site, "GET", "/attachments/"+store.Sum(picture), nil)
	if p.StatusCode != 200 || p.body != string(picture) || p.Header.Get("Content-Type") != "image/png" || p.Header.Get("Content-Disposition") != "inline" {
		t.Errorf("the picture: %d, %v", p.StatusCode, p.Header)
	}
	if p.Header.Get("X-Content-Type-Options") != "nosniff" || p.Header.Get("Cache-Control") != "private, no-cache" {
		t.Errorf("the picture may be taken for something else or kept by others: %v", p.Header)
	}
	r := newRequest("GET", "/attachments/"+store.Sum(picture), nil)
	r.Header.Set("If-None-Match", p.Header.Get("ETag"))
	if p := send(t, site, r); p.StatusCode != http.StatusNotModified || p.body != "" {
		t.Errorf("asked again: %d", p.StatusCode)
	}
	p = ask(t, site, "GET", "/attachments/"+store.Sum(paper), nil)
	how, args, err := mime.ParseMediaType(p.Header.Get("Content-Disposition"))
	if p.StatusCode != 200 || p.body != string(paper) || p.Header.Get("Content-Type") != "application/pdf" || err != nil || how != "attachment" || args["filename"] != `"Zertifikat Ä".exe.pdf` {
		t.Errorf("the paper: %d, %v, %v", p.StatusCode, p.Header, args)
	}
	for _, at := range []string{"/attachments/" + store.Sum([]byte("none")), "/attachments/x"} {
		if p := ask(t, site, "GET", at, nil); p.StatusCode != 404 {
			t.Errorf("%s: %d", at, p.StatusCode)
		}
	}
	for _, page := range []string{lotHref(lot), recordHref(batch)} {
		if p := ask(t, site, "GET", page+"/attachments", nil); p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != page+"#attached" {
			t.Errorf("the address of the form, opened: %d to %q", p.StatusCode, p.Header.Get("Location"))
		}
	}
	if p := attachForm(t, site, "/stores/r2026-03-17-9", "x.png", "", picture); p.StatusCode != 404 {
		t.Errorf("to a lot that never came: %d", p.StatusCode)
	}
	if p := ask(t, site, "POST", lotHref(lot)+"/attachments", url.Values{"note": {"x"}}); p.StatusCode != 422 {
		t.Errorf("a form that is not one with a file: %d", p.StatusCode)
	}
}

// A helper may attach, and the pages offer it.
func TestAttach_MayNote(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	for _, at := range []string{"/stores/" + fixtureLot, "/records/" + fixtureBatch} {
		p := x.ask("GET", at, x.tablet, x.shift["Wilma"], nil)
		if p.count("#attached form") != 1 || p.count("#attached img") != 1 {
			t.Errorf("%s: %d forms, %d pictures", at, p.count("#attached form"), p.count("#attached img"))
		}
	}
}
