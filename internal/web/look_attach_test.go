package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	"slabside/internal/shoptest"
)

// A photo is chosen and attached, once too often, and then a paper that is none: with
// script and without, on a phone; the card has nothing for the checker to find, the photo
// is drawn, and nothing is wider than the window at a desk either.
func attachAPhoto(t *testing.T, tab context.Context)         { attachPhoto(t, tab, true) }
func attachAPhotoNoScript(t *testing.T, tab context.Context) { attachPhoto(t, tab, false) }

func attachPhoto(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	site, a := keptSite(t)
	srv := serve(t, site)
	lot, err := a.Receive(context.Background(), app.ReceiveRequest{Ingredient: "sugar", Mass: 25, Supplier: "Mill Lane Stores", On: shoptest.Date}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	photo, paper, wrong := filepath.Join(dir, "IMG_20260317_081500_a_long_name_of_a_camera_without_a_gap.jpg"), filepath.Join(dir, "coa.pdf"), filepath.Join(dir, "wrong.jpg")
	for name, data := range map[string][]byte{photo: amber(t, 1600, 900), paper: []byte("%PDF-1.4\n"), wrong: []byte("GIF89a")} {
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	attach := func(input, file, note, then string) {
		t.Helper()
		do(t, tab, chromedp.SetUploadFiles(chromedp.CSS(input), []string{file}))
		retype(t, tab, "#att-note", note)
		press(t, tab, "#attached button.primary")
		do(t, tab, chromedp.WaitVisible(chromedp.CSS(then)))
	}
	do(t, tab, scripts(on), size(390, 844), chromedp.Navigate(srv.URL+lotHref(lot)))
	attach("#att-photo", photo, "", "#attached li:nth-child(1)")
	attach("#att-file", paper, "certificate of analysis", "#attached li:nth-child(2)")
	attach("#att-photo", photo, "again", "#wrong")
	do(t, tab, chromedp.Navigate(srv.URL+lotHref(lot)))
	attach("#att-file", wrong, "no picture", "#wrong")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#attached img")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#wrong p"))); !strings.Contains(got, "neither a JPEG or PNG picture nor a PDF") {
		t.Errorf("no picture is refused with %q", got)
	}
	if got := value(t, tab, chromedp.Value(chromedp.CSS("#att-note"))); got != "no picture" {
		t.Errorf("the note that was not kept is %q", got)
	}
	for _, s := range [][2]int64{{390, 844}, {1280, 800}} {
		do(t, tab, size(s[0], s[1]), chromedp.ScrollIntoView(chromedp.CSS("#attached img")))
		if d := overflow(t, tab); d > 0 {
			t.Errorf("at %d: %.0f pixels wider than the window", s[0], d)
		}
		if on {
			clean(t, tab, fmt.Sprintf("photos at %d", s[0]))
			drawn := value(t, tab, chromedp.Evaluate[[]float64](`(async () => { const i = document.querySelector('#attached img'); await i.decode(); const r = i.getBoundingClientRect(); return [i.naturalWidth, r.width / r.height, r.height]; })()`, chromedp.EvalAwaitPromise))
			if drawn[0] != 1600 || drawn[1] < 1.76 || drawn[1] > 1.8 || drawn[2] > 200 {
				t.Errorf("at %d the photo is drawn as %v: width of the file, shape, height", s[0], drawn)
			}
		}
		if to := os.Getenv("SHOTS"); to != "" {
			if err := os.WriteFile(filepath.Join(to, fmt.Sprintf("photos-%t-%d.png", on, s[0])), value(t, tab, chromedp.FullScreenshot(100)), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// amber is a JPEG that shades from one side to the other.
func amber(t *testing.T, w, h int) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.SetRGBA(x, y, color.RGBA{uint8(120 + 120*x/w), uint8(60 + 100*y/h), 20, 255})
		}
	}
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, m, nil); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}
