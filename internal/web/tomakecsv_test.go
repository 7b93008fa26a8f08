package web

import (
	"bytes"
	"context"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"slabside/internal/demand"
)

const webOrders = "Product name;Qty;Delivery date;Customer\r\n" +
	"Pear drops 113 g;12;28/11/2026;\"Quay\nCafé\"\r\n" +
	"Mint leafs 113 g;3;29/11/2026;=HYPERLINK(1)\r\n" +
	"Postage, insured, by the overnight carrier;1;;\r\n"

// upload sends a form as a browser sends one with a file.
func upload(t *testing.T, site http.Handler, form url.Values, file string) page {
	t.Helper()
	var body bytes.Buffer
	mw := multipart.NewWriter(&body)
	for k, vs := range form {
		for _, v := range vs {
			if err := mw.WriteField(k, v); err != nil {
				t.Fatal(err)
			}
		}
	}
	part, err := mw.CreateFormFile("file", "orders.csv")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := part.Write([]byte(file)); err != nil {
		t.Fatal(err)
	}
	if err := mw.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/to-make/csv", &body)
	r.Host = "127.0.0.1:7373"
	r.Header.Set("Content-Type", mw.FormDataContentType())
	return send(t, site, r)
}

// formOf reads the form of the page as a browser would send it back.
func formOf(t *testing.T, p page, act string) url.Values {
	t.Helper()
	f := url.Values{"act": {act}}
	for _, n := range all(p.root, "input[type=hidden]") {
		name, _ := attrOf(n, "name")
		v, _ := attrOf(n, "value")
		f.Add(name, v)
	}
	for _, n := range all(p.root, "select") {
		name, _ := attrOf(n, "name")
		for _, o := range all(n, "option") {
			if _, ok := attrOf(o, "selected"); ok {
				v, _ := attrOf(o, "value")
				f.Set(name, v)
			}
		}
	}
	area := all(p.root, "textarea")
	if len(area) != 1 {
		t.Fatalf("%d text areas", len(area))
	}
	if c := area[0].FirstChild; c != nil {
		f.Set("text", strings.ReplaceAll(c.Data, "\n", "\r\n"))
	}
	return f
}

func TestToMakeCSV_FileToLines(t *testing.T) {
	t.Parallel()
	want := []demand.Line{{Product: "pear-113", Bags: 12, Due: "2026-11-28", For: "Quay Café"}, {Product: "mint-113", Bags: 3, Due: "2026-11-29", For: "=HYPERLINK(1)"}}
	for act, before := range map[string]int{"add": 6, "replace": 0} {
		site, f := fixtureSite()
		p := upload(t, site, url.Values{"head": {"7"}, "act": {"look"}}, webOrders)
		if p.StatusCode != http.StatusOK {
			t.Fatalf("status %d: %s", p.StatusCode, p.one(t, "main"))
		}
		p.says(t, ".problems li", "Line 5: no product is chosen for \"Postage, insured, by the overnight carrier\"")
		p.says(t, "tbody tr", "Pear drops 113 g 12 2026-11-28 Quay Café")
		p.says(t, ".help", "Not the book's own word: check it")

		form := formOf(t, p, act)
		if p = upload(t, site, form, ""); p.StatusCode != http.StatusUnprocessableEntity || f.head != 7 {
			t.Fatalf("lines that are wrong: status %d, head %d", p.StatusCode, f.head)
		}
		form = formOf(t, p, act)
		if form.Get("word.2") == "" || form.Get("dates") != "day" {
			t.Fatalf("the form has lost its answers: %v", form)
		}
		form.Set("product.2", "-")
		if p = upload(t, site, form, ""); p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/?saved=8" {
			t.Fatalf("%s: %d to %q", act, p.StatusCode, p.Header.Get("Location"))
		}
		if d := cmp.Diff(want, f.book.ToMake[before:]); d != "" {
			t.Errorf("%s keeps %s", act, d)
		}
	}
}

func TestToMakeCSV_AsksForTheDates(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	p := ask(t, site, "POST", "/to-make/csv", url.Values{"head": {"7"}, "act": {"look"}, "text": {"product,bags,due\npear-113,2,3/4/2026\n"}})
	p.says(t, "#dates-e", "Say which stands first")
	p.says(t, ".problems li", "Line 2")
	form := formOf(t, p, "replace")
	form.Set("dates", "month")
	if p = ask(t, site, "POST", "/to-make/csv", form); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d", p.StatusCode)
	}
	if got := f.book.ToMake; len(got) != 1 || got[0].Due != "2026-03-04" {
		t.Errorf("kept %+v", got)
	}
}

// A column chosen by hand stands, and what was not shown is not kept.
func TestToMakeCSV_MappingByHand(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	text := "a,first,second\npear-113,2,5\n"
	p := ask(t, site, "POST", "/to-make/csv", url.Values{"head": {"7"}, "act": {"add"}, "text": {text}})
	p.says(t, "#wrong", "there is something here that was not shown yet")
	form := formOf(t, p, "look")
	form.Set("column.bags", "2")
	p = ask(t, site, "POST", "/to-make/csv", form)
	p.says(t, "tbody tr", "Pear drops 113 g 5")
	form = formOf(t, p, "add")
	form.Set("text", text+"mix-227,1,1\n")
	p = ask(t, site, "POST", "/to-make/csv", form)
	p.says(t, "#wrong", "there is something here that was not shown yet")
	p.says(t, "tbody tr", "Shop mix 227 g 1")
	if f.head != 7 {
		t.Fatal("something was kept that was not shown")
	}
	form = formOf(t, p, "look")
	form.Set("column.product", "")
	p = ask(t, site, "POST", "/to-make/csv", form)
	p.says(t, ".field-error", "No column \"product\". Say which column it is")
}

func TestToMakeCSV_Conflict(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	p := ask(t, site, "POST", "/to-make/csv", url.Values{"head": {"7"}, "act": {"look"}, "text": {"product,bags\npear-113,2\n"}})
	form := formOf(t, p, "add")
	f.head, f.book.ToMake = 8, []demand.Line{{Product: "pear-113", Bags: 10}}
	p = ask(t, site, "POST", "/to-make/csv", form)
	if p.StatusCode != http.StatusConflict || f.head != 8 {
		t.Fatalf("status %d, head %d", p.StatusCode, f.head)
	}
	p.says(t, "#wrong tbody tr", "Pear drops 113 g 10 bags 12 bags")
	if p = ask(t, site, "POST", "/to-make/csv", formOf(t, p, "add")); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("pressed again: status %d", p.StatusCode)
	}
	if d := cmp.Diff([]demand.Line{{Product: "pear-113", Bags: 10}, {Product: "pear-113", Bags: 2}}, f.book.ToMake); d != "" {
		t.Error(d)
	}
}

func TestToMakeCSV_Refuses(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	for name, c := range map[string]struct {
		file string
		want string
	}{
		"a workbook": {"PK\x03\x04\x00\x00", "The file is not plain text."},
		"too large":  {"a,b\n" + strings.Repeat(" ", 4<<20), "The file is larger than 4 MB."},
		"nothing":    {"", "no header line"},
	} {
		p := upload(t, site, url.Values{"head": {"7"}, "act": {"look"}}, c.file)
		if p.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", name, p.StatusCode)
		}
		p.says(t, "#wrong", c.want)
	}
	for want, text := range map[string]string{
		"there is no line in the file":                       "product,bags\n",
		"that would be 201 lines, and a day takes up to 200": "product,bags\n" + strings.Repeat("pear-113,1\n", mostLines+1),
	} {
		p := ask(t, site, "POST", "/to-make/csv", url.Values{"head": {"7"}, "act": {"look"}, "text": {text}})
		p = ask(t, site, "POST", "/to-make/csv", formOf(t, p, "replace"))
		p.says(t, "#wrong", want)
	}
	if p := upload(t, site, url.Values{"head": {"7"}, "act": {"look"}}, strings.Repeat("x", mostUpload)); p.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("more than the page takes: status %d", p.StatusCode)
	}
	if f.head != 7 {
		t.Error("the book has changed")
	}
}

// ordersFromFile pastes a text: the page of what it becomes has nothing for the
// checker and is no wider than any window. Without script its button keeps it.
func ordersFromFile(t *testing.T, tab context.Context) {
	t.Helper()
	f := newFakeShop()
	srv := serve(t, New(f, fixtureOptions()))
	do(t, tab, chromedp.Navigate(srv.URL+"/to-make/csv"))
	retype(t, tab, "#text", "product;bags;date;a column with a rather long name that goes on\npear-113;2;3/4/2026;x\nPeer drops 113 g;2;2026-11-28;y\nanything else at all, really;1;;\n")
	press(t, tab, "#read")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#become-h")))
	for _, s := range screens {
		do(t, tab, size(s[0], s[1]))
		clean(t, tab, fmt.Sprintf("orders from a file at %d", s[0]))
		if d := overflow(t, tab); d > 0 {
			t.Errorf("at %d: %.0f pixels wider than the window", s[0], d)
		}
	}
	do(t, tab, scripts(false), chromedp.Navigate(srv.URL+"/to-make/csv"))
	retype(t, tab, "#text", "product,bags\npear-113,2\n")
	press(t, tab, "#read")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#become-h")))
	press(t, tab, "button[value=replace]")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".changed")))
	if line, head := f.kept(); head != 8 || line.Product != "pear-113" || line.Bags != 2 {
		t.Errorf("kept %+v at head %d", line, head)
	}
}
