package web

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// A picture of every page in every width, for the guide:
//
//	go test ./internal/web -run TestPictures -pictures ../../docs/pictures
//	go test ./internal/web -run TestPictures -pictures DIR -pictures-of http://127.0.0.1:7373
//
// The second form takes the pages of a program that runs, such as the demo's.
var (
	picturesDir = flag.String("pictures", "", "write a picture of every page and width to this folder")
	picturesOf  = flag.String("pictures-of", "", "address of a running program to take the pictures of; empty: the test's own shop")
)

// mostHigh is how far down a page its picture goes [pixels].
const mostHigh = 2400

// mostPicture is the largest a picture may be [bytes].
const mostPicture = 180_000

// colours is how many colours a picture keeps.
const colours = 32

// TestPictures makes the pictures when asked; otherwise it makes one in memory,
// so that the way to them stays open.
func TestPictures(t *testing.T) {
	t.Parallel()
	tab := newBrowser(t)
	site, _ := fixtureSite()
	srv := serve(t, site)
	root, pages, names := srv.URL, pageAddresses(t), pictureNames(t)
	widths := screens
	if *picturesOf != "" {
		root = strings.TrimSuffix(*picturesOf, "/")
		pages = runningPages(t, tab, root)
	} else {
		do(t, tab, clockAt(fixtureNow()))
	}
	if *picturesDir == "" {
		pages, names, widths = pages[3:4], names[3:4], screens[3:]
	}
	shoot := func(name string) {
		take := chromedp.FullScreenshot(100)
		if strings.Contains(name, "slab") { // made to be seen without scrolling, its keys stay in sight
			take = chromedp.CaptureScreenshot()
		}
		b := small(t, value(t, tab, take))
		if len(b) > mostPicture {
			t.Errorf("%s: %d bytes", name, len(b))
		}
		if *picturesDir == "" {
			return
		}
		if err := os.WriteFile(filepath.Join(*picturesDir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for i, a := range pages {
		if *picturesOf != "" && a == "/start" {
			continue // the shop that runs has begun
		}
		for _, s := range widths {
			do(t, tab, theme("light"), size(s[0], s[1]), chromedp.Navigate(root+a))
			shoot(fmt.Sprintf("%s-%d.png", names[i], s[0]))
		}
		if *picturesDir != "" && i == 0 {
			do(t, tab, theme("dark"), size(screens[0][0], screens[0][1]))
			shoot(names[i] + "-dark.png")
		}
	}
}

// moreNames name the pictures of moreAddresses.
var moreNames = []string{"day-trial", "batch-trial"}

// pictureNames names the pictures of pageAddresses, in its order.
func pictureNames(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, rt := range (&server{}).routes() {
		if !rt.page {
			continue
		}
		name := strings.NewReplacer("/{kind}/{id}", "-thing", "/{kind}", "-kind", "/{id}", "").Replace(rt.pattern[1:])
		switch rt.pattern {
		case "/{$}":
			name = "day"
		case "/recipes/{id}":
			name = "recipe"
		case "/records/{id}":
			name = "record"
		case "/stores/{lot}":
			name = "lot"
		case "/packing/{lot}":
			name = "packed"
		case "/weigh-in/{batch}":
			name = "weigh-in-sheet"
		case "/slab/{batch}":
			name = "at-the-slab"
		case "/care/{kind}/{id}":
			name = "care-of"
		case "/look-back/{glass}":
			name = "look-back"
		}
		out = append(out, strings.ReplaceAll(name, "/", "-"))
	}
	out = append(out, moreNames...)
	if pages := pageAddresses(t); len(out) != len(pages) {
		t.Fatalf("%d names of pictures for %d pages", len(out), len(pages))
	}
	once := slices.Compact(slices.Sorted(slices.Values(out)))
	if len(once) != len(out) {
		t.Fatalf("two pictures have one name: %v", out)
	}
	return out
}

// runningPages finds an example of every page in a program that runs.
func runningPages(t *testing.T, tab context.Context, root string) []string {
	t.Helper()
	out := pageAddresses(t)
	first := func(on, start string) string {
		do(t, tab, chromedp.Navigate(root+on))
		links := value(t, tab, chromedp.Evaluate[[]string](`Array.from(document.querySelectorAll('main a')).map(a => a.getAttribute('href'))`))
		i := slices.IndexFunc(links, func(l string) bool { return strings.HasPrefix(l, start) })
		if i < 0 {
			t.Fatalf("%s has no link to %s", on, start)
		}
		return links[i]
	}
	const trial = "/?start=08%3A30" // of any shop
	for i, a := range out {
		switch {
		case strings.HasPrefix(a, "/?"):
			out[i] = trial
		case strings.HasPrefix(a, "/batch/") && strings.Contains(a, "?"):
			out[i] = first(trial, "/batch/")
		case strings.HasPrefix(a, "/batch/"):
			out[i] = first("/", "/batch/")
		case strings.HasPrefix(a, "/recipes/"):
			out[i] = first("/recipes", "/recipes/")
		case strings.HasPrefix(a, "/records/"):
			out[i] = first("/records", "/records/2")
		case strings.HasPrefix(a, "/slab/"):
			out[i] = underWay(t, tab, root)
		case strings.HasPrefix(a, "/care/"):
			out[i] = first("/care", "/care/rolls/")
		case strings.HasPrefix(a, "/look-back/"):
			out[i] = strings.Replace(first("/room", "/book/glass/"), "/book/glass/", "/look-back/", 1)
		case strings.HasPrefix(a, "/stores/r"):
			out[i] = first("/stores", "/stores/r")
		case strings.HasPrefix(a, "/packing/b"):
			out[i] = first("/packing", "/packing/l")
		case strings.HasPrefix(a, "/book/recipe/"):
			out[i] = first("/book", "/book/recipe/")
		case strings.HasPrefix(a, "/versions/recipe/"):
			out[i] = strings.Replace(first("/book", "/book/recipe/"), "/book/", "/versions/", 1)
		}
	}
	return out
}

// underWay begins two of the day's boils in a program that runs, lights the first, and
// returns the address of its page at the slab.
func underWay(t *testing.T, tab context.Context, root string) string {
	t.Helper()
	do(t, tab, chromedp.Navigate(root+"/weigh-in"))
	return value(t, tab, chromedp.Evaluate[string](`(async () => {
		const forms = Array.from(document.querySelectorAll('form[action="/records"]')).slice(0, 2);
		const ids = forms.map((f) => f.querySelector('[name=batch]').value);
		for (const f of forms) await fetch('/records', { method: 'POST', body: new URLSearchParams(new FormData(f)) });
		for (const what of ['lit', 'boils', 'washed down', 'glass in']) await fetch('/slab/' + ids[0], { method: 'POST', body: new URLSearchParams({ what }) });
		return '/slab/' + ids[0];
	})()`, chromedp.EvalAwaitPromise))
}

// small writes a picture with a palette of its most used colours, to keep it light.
func small(t *testing.T, b []byte) []byte {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	count := map[color.RGBA]int{}
	box := img.Bounds()
	box.Max.Y = min(box.Max.Y, box.Min.Y+mostHigh)
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			count[color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)]++
		}
	}
	list := make([]color.RGBA, 0, len(count))
	for c := range count {
		list = append(list, c)
	}
	slices.SortFunc(list, func(a, b color.RGBA) int {
		if d := count[b] - count[a]; d != 0 {
			return d
		}
		return int(a.R)<<16 + int(a.G)<<8 + int(a.B) - int(b.R)<<16 - int(b.G)<<8 - int(b.B)
	})
	pal := color.Palette{}
	for _, c := range list {
		if len(pal) == colours {
			break
		}
		if len(pal) < 8 || far(pal, c) {
			pal = append(pal, c)
		}
	}
	out := image.NewPaletted(box, pal)
	index := map[color.RGBA]uint8{}
	for c := range count {
		index[c] = uint8(pal.Index(c))
	}
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			out.SetColorIndex(x, y, index[color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)])
		}
	}
	var buf bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&buf, out); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// far reports whether a colour differs visibly from all of a palette's.
func far(pal color.Palette, c color.RGBA) bool {
	for _, p := range pal {
		o := p.(color.RGBA)
		if abs(int(o.R)-int(c.R))+abs(int(o.G)-int(c.G))+abs(int(o.B)-int(c.B)) < 18 {
			return false
		}
	}
	return true
}

func abs(n int) int { return max(n, -n) }
