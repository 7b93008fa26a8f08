package web

import (
	"bytes"
	"context"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	"slabside/internal/reading"
	"slabside/internal/shoptest"
)

// logForm sends the form of a logger's file as a browser does; without a file, the one that
// was shown goes back.
func logForm(t *testing.T, site http.Handler, file string, fields url.Values) page {
	t.Helper()
	var body bytes.Buffer
	mw := multipart.NewWriter(&body)
	w, err := mw.CreateFormFile("file", map[bool]string{true: "log.csv"}[file != ""])
	if err == nil {
		_, err = w.Write([]byte(file))
	}
	for name, values := range fields {
		for _, v := range values {
			if err == nil {
				err = mw.WriteField(name, v)
			}
		}
	}
	if err == nil {
		err = mw.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/readings", &body)
	r.Host = "127.0.0.1:7373"
	r.Header.Set("Content-Type", mw.FormDataContentType())
	return send(t, site, r)
}

// loggerFile is what a logger wrote in the hour before the fixed clock, in the shop's time
// zone, every minute.
func loggerFile(t *testing.T) string {
	t.Helper()
	zone, err := time.LoadLocation(shoptest.Book().Shop.TimeZone)
	if err != nil {
		t.Fatal(err)
	}
	text := "Logger 7\nDate;Temperature °C\n"
	for i := range 60 {
		at := shoptest.Now().Add(time.Duration(i-60) * time.Minute).In(zone)
		text += fmt.Sprintf("%s;%d,%d\n", at.Format("02.01.2006 15:04"), 20+i, i%10)
	}
	return text
}

// lookedAt is the form as the page sends it back after a look.
func lookedAt(p page, fields url.Values) url.Values {
	out := url.Values{}
	for k, v := range fields {
		out[k] = v
	}
	for _, n := range all(p.root, "textarea[name=text]") {
		out.Set("text", n.FirstChild.Data)
	}
	for _, n := range all(p.root, "#bring input[name=shown]") {
		v, _ := attrOf(n, "value")
		out.Set("shown", v)
	}
	return out
}

// A file is looked at, then kept, and stands on the page of its day; nothing is kept that
// was not shown.
func TestReadingsPage(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	kept := func() int {
		r, err := a.Readings(t.Context(), app.ReadingQuery{Limit: 5000})
		if err != nil {
			t.Fatal(err)
		}
		return len(r.Readings)
	}
	ask(t, site, "GET", "/readings", nil).says(t, "main p.quiet", "No thermometer showed anything")
	fields := url.Values{"probe": {"glass"}, "in": {"slab"}, "act": {"look"}}
	p := logForm(t, site, loggerFile(t), fields)
	if p.StatusCode != http.StatusOK || kept() != 0 {
		t.Fatalf("status %d, %d kept: %s", p.StatusCode, kept(), p.body)
	}
	p.says(t, "#seen", "60, from")
	p.says(t, "#seen", "column Date")
	p.says(t, "#seen .lead", "60 new")
	if p.count("#bring[open]") != 1 || p.count("#bring select[name=probe] option[selected]") != 1 || p.count("#bring select[name=in] option[selected]") != 1 {
		t.Error("the form is not as it was sent")
	}
	// What was not shown is not kept: pressed at once, or with another place.
	keep := lookedAt(p, fields)
	keep.Set("act", "keep")
	other := lookedAt(p, keep)
	other.Set("in", "kettle")
	for what, form := range map[string]url.Values{"at once": {"probe": {"glass"}, "in": {"slab"}, "act": {"keep"}, "text": keep["text"]}, "another place": other} {
		p := logForm(t, site, "", form)
		if p.StatusCode != http.StatusUnprocessableEntity || kept() != 0 {
			t.Errorf("%s: status %d, %d kept", what, p.StatusCode, kept())
		}
		p.says(t, "#wrong", "not shown yet")
		p.says(t, "#seen .lead", "60 new")
	}
	p = logForm(t, site, "", keep)
	if p.StatusCode != http.StatusSeeOther || kept() != 60 {
		t.Fatalf("status %d, %d kept: %s", p.StatusCode, kept(), p.body)
	}
	p = ask(t, site, "GET", p.Header.Get("Location"), nil)
	p.says(t, "[role=status]", "60 readings were kept")
	p.says(t, "section.card h2", "Slab: Confectioner's glass")
	if p.count("svg.curve path") == 0 || p.count("section.card tbody tr") != 60 {
		t.Errorf("%d curves, %d rows", p.count("svg.curve"), p.count("section.card tbody tr"))
	}
	// Again, and with another value.
	p = logForm(t, site, strings.Replace(loggerFile(t), ";79,9", ";79,8", 1), fields)
	p.says(t, "#seen .lead", "59 there already, 1 with another value")
	keep = lookedAt(p, fields)
	keep.Set("act", "keep")
	p = logForm(t, site, "", keep)
	p = ask(t, site, "GET", p.Header.Get("Location"), nil)
	if p.count("section.card tbody tr") != 61 || p.count("section.card .bad") != 1 {
		t.Errorf("%d rows, %d set aside", p.count("section.card tbody tr"), p.count("section.card .bad"))
	}
}

func TestReadingsPage_wrong(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	good := url.Values{"probe": {"glass"}, "in": {"slab"}, "act": {"look"}}
	with := func(name, value string) url.Values {
		out := url.Values{}
		for k, v := range good {
			out[k] = v
		}
		out.Set(name, value)
		return out
	}
	for name, c := range map[string]struct {
		file   string
		form   url.Values
		status int
		says   string
	}{
		"no file":           {"", good, 422, "No file is chosen"},
		"a workbook":        {"PK\x03\x04\x00", good, 422, "is not plain text"},
		"a line wrong":      {strings.Replace(loggerFile(t), ";25,5", ";hot", 1), good, 422, `"hot" is no temperature`},
		"no batch":          {loggerFile(t), with("batch", shoptest.Date+"-9"), 404, "has no record"},
		"no number":         {loggerFile(t), with("batch", "x"), 422, "no number of a batch"},
		"no column":         {loggerFile(t), with("value-column", "heat"), 422, `no column "heat"`},
		"no zone":           {loggerFile(t), with("zone", "Mars"), 422, "no time zone"},
		"no thermometer":    {loggerFile(t), with("probe", "brass"), 404, "no thermometer"},
		"no such place":     {loggerFile(t), with("in", "cellar"), 422, "does not look at"},
		"another unit":      {loggerFile(t), with("unit", "F"), 422, "the unit is said to be"},
		"script in a value": {strings.Replace(loggerFile(t), ";25,5", ";<script>alert(1)</script>", 1), good, 422, "is no temperature"},
	} {
		p := logForm(t, site, c.file, c.form)
		if p.StatusCode != c.status || p.count("main script") != 0 {
			t.Errorf("%s: status %d, want %d", name, p.StatusCode, c.status)
			continue
		}
		if got := strings.ToLower(p.body); p.count("#wrong") != 1 || !strings.Contains(strings.ReplaceAll(strings.ReplaceAll(got, "&#34;", `"`), "&#39;", "'"), strings.ToLower(c.says)) {
			t.Errorf("%s: does not say %q: %s", name, c.says, words(all(p.root, "#wrong")[0]))
		}
	}
	if p := ask(t, site, "GET", "/readings?on=soon", nil); p.StatusCode != 422 {
		t.Errorf("no day: status %d", p.StatusCode)
	}
	if p := ask(t, site, "GET", "/readings?batch="+shoptest.Date+"-9", nil); p.StatusCode != 404 {
		t.Errorf("no batch: status %d", p.StatusCode)
	}
	if r, err := a.Readings(t.Context(), app.ReadingQuery{Limit: 9}); err != nil || len(r.Readings) != 0 {
		t.Errorf("%d were kept, %v", len(r.Readings), err)
	}
}

// Of many readings nothing that stands out is lost, and their order stays.
func TestThinned(t *testing.T) {
	t.Parallel()
	var list []app.ReadingLine
	begin := time.Date(2026, 3, 17, 7, 0, 0, 0, time.UTC)
	for i := range 7200 {
		list = append(list, app.ReadingLine{At: begin.Add(time.Duration(i) * time.Second), C: 100 + float64(i)/200})
	}
	list[100].C, list[5000].C, list[7199].C = 300, -40, 250
	got := thinned(list, mostDrawn)
	if len(got) > mostDrawn || !slices.IsSortedFunc(got, func(a, b app.ReadingLine) int { return a.At.Compare(b.At) }) {
		t.Fatalf("%d points", len(got))
	}
	for _, c := range []float64{300, -40, 250} {
		if !slices.ContainsFunc(got, func(x app.ReadingLine) bool { return x.C == c }) {
			t.Errorf("%g °C is lost", c)
		}
	}
	if few := thinned(list[:mostDrawn], mostDrawn); len(few) != mostDrawn {
		t.Errorf("of %d, %d are left", mostDrawn, len(few))
	}
}

// A file is looked at and kept on a phone, with script and without; the page has nothing for
// the checker to find and is not wider than the window.
func bringALog(t *testing.T, tab context.Context) {
	if testing.Short() {
		t.Skip("looked at without the race detector")
	}
	site, a := keptSite(t)
	srv := serve(t, site)
	file := filepath.Join(t.TempDir(), "log.csv")
	if err := os.WriteFile(file, []byte(loggerFile(t)), 0o644); err != nil {
		t.Fatal(err)
	}
	posts := []app.ReadingPost{}
	for i := range 30 {
		posts = append(posts, app.ReadingPost{Probe: "glass", In: "kettle", At: shoptest.Now().Add(time.Duration(i-200) * time.Minute), Value: 90 + float64(i)})
	}
	if _, err := a.AddReadings(context.Background(), posts, reading.Posted, "kettle wire (program)"); err != nil {
		t.Fatal(err)
	}
	for _, on := range []bool{false, true} {
		do(t, tab, scripts(on), size(390, 844), chromedp.Navigate(srv.URL+"/readings?on="+shoptest.Date))
		press(t, tab, "#bring > summary")
		do(t, tab, chromedp.SetUploadFiles(chromedp.CSS("#l-file"), []string{file}), chromedp.SetValue(chromedp.CSS("#l-in"), map[bool]string{false: "slab", true: "air"}[on]))
		press(t, tab, "#bring button[value=look]")
		do(t, tab, chromedp.WaitVisible(chromedp.CSS("#seen")))
		for _, s := range [][2]int64{{390, 844}, {1280, 800}} {
			do(t, tab, size(s[0], s[1]))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("looked at, at %d: %.0f pixels wider than the window", s[0], d)
			}
			if on {
				clean(t, tab, fmt.Sprintf("a logger's file at %d", s[0]))
			}
			shot(t, tab, fmt.Sprintf("readings-look-%t-%d", on, s[0]))
		}
		press(t, tab, "#bring button[value=keep]")
		do(t, tab, chromedp.WaitVisible(chromedp.CSS("p.saved")))
		for _, s := range [][2]int64{{390, 844}, {1280, 800}} {
			do(t, tab, size(s[0], s[1]))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("kept, at %d: %.0f pixels wider than the window", s[0], d)
			}
			if on {
				clean(t, tab, fmt.Sprintf("readings at %d", s[0]))
			}
			shot(t, tab, fmt.Sprintf("readings-%t-%d", on, s[0]))
		}
	}
	if r, err := a.Readings(context.Background(), app.ReadingQuery{Limit: 500}); err != nil || len(r.Readings) != 150 {
		t.Errorf("%d kept, %v", len(r.Readings), err)
	}
}

// shot writes a picture of the page where somebody asks for it.
func shot(t *testing.T, tab context.Context, name string) {
	t.Helper()
	to := os.Getenv("SHOTS")
	if to == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(to, name+".png"), value(t, tab, chromedp.FullScreenshot(100)), 0o644); err != nil {
		t.Fatal(err)
	}
}
