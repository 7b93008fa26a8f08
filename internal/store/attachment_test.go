package store_test

import (
	"net/http"
	"strings"
	"testing"

	"slabside/internal/store"
)

// TestTypeOf holds the kinds to how browsers tell them (WHATWG, MIME Sniffing, section 6,
// as net/http has it): what is kept as a picture is never taken for a page.
func TestTypeOf(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ data, want string }{
		{"\xff\xd8\xff\xe0\x00\x10JFIF\x00", store.TypeJPEG},
		{"\xff\xd8\xff\xe1\x00\x10Exif\x00", store.TypeJPEG},
		{"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", store.TypePNG},
		{"%PDF-1.7\n%\xe2\xe3\xcf\xd3", store.TypePDF},
		{"", ""},
		{"\xff\xd8", ""},
		{"\x89PNG\n\x1a\n", ""}, // what a transfer as text leaves of it
		{"%pdf-1.7", ""},
		{" %PDF-1.7", ""},
		{"<html><script>", ""},
		{"GIF89a", ""},
		{"RIFF....WEBPVP8 ", ""},
		{"\x00\x00\x00\x18ftypheic", ""},
		{"<svg xmlns='http://www.w3.org/2000/svg'>", ""},
	} {
		got := store.TypeOf([]byte(c.data))
		if got != c.want {
			t.Errorf("%q is %q, want %q", c.data, got, c.want)
		}
		browser := http.DetectContentType([]byte(c.data))
		if got != "" && browser != got {
			t.Errorf("%q is %q here and %q to a browser", c.data, got, browser)
		}
		if got == "" && (strings.HasPrefix(browser, "image/jpeg") || strings.HasPrefix(browser, "image/png")) {
			t.Errorf("%q is a picture to a browser and refused here", c.data)
		}
	}
}
