package web

import (
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// A reader of commas gets and types them on pages; the same reader's programs read
// and write points.
func TestReader_Comma(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	german := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Header.Set("Accept-Language", "de-AT,de;q=0.9,en;q=0.8")
		site.ServeHTTP(w, r)
	})
	kettle := shoptest.Book().Kettles[0]
	form := thingHref("kettle", kettle.ID)
	tags := regexp.MustCompile(`(?s)<svg.*?</svg>|<script.*?</script>|<[^>]*>`)
	point := regexp.MustCompile(`[0-9]\.[0-9]+( |&nbsp;)?(kg|lb|oz|g|°|%|K|L|in|hPa|inHg)`)
	comma := regexp.MustCompile(`[0-9],[0-9]+ `)
	for _, address := range []string{"/?date=" + shoptest.Date, "/recipes/pear-barrels", "/room", "/to-make", form} {
		p := ask(t, german, "GET", address, nil)
		if m := point.FindString(tags.ReplaceAllString(p.body, " ")); m != "" {
			t.Errorf("%s says %q", address, m)
		}
		if !comma.MatchString(p.body) {
			t.Errorf("%s has no comma in a number", address)
		}
	}
	if p := ask(t, german, "GET", apiRoot+"/plan?date="+shoptest.Date, nil); regexp.MustCompile(`[0-9],[0-9]+ (lb|oz|kg)`).MatchString(p.body) {
		t.Error("the API writes commas")
	}

	smear := func(typed string) (int, string) {
		f := sentBack(ask(t, german, "GET", form, nil))
		f.Set("f.smear", typed)
		f.Set("act", "save")
		p := ask(t, german, "POST", form, f)
		return p.StatusCode, p.body
	}
	if st, body := smear("0,145 kg"); st != http.StatusSeeOther {
		t.Fatalf("%d: %s", st, body)
	}
	b, _ := bookOf(t, a)
	if got := b.Kettles[0].Smear; math.Abs(float64(got-q.Kilograms(0.145))) > 1e-9 {
		t.Errorf("0,145 kg typed, %v kg kept", float64(got))
	}
	if got := b.Kettles[0].UsualCharge; got != kettle.UsualCharge {
		t.Errorf("what was only sent back went from %v to %v kg", float64(kettle.UsualCharge), float64(got))
	}
	if p := ask(t, german, "GET", "/book", nil); !strings.Contains(p.body, "8 oz, 6,50 $") {
		t.Error("the shop book does not say what pear barrels cost")
	}
	pear := thingHref("product", "pear-bag")
	f := sentBack(ask(t, german, "GET", pear, nil))
	if f.Get("f.price") != "6,50 USD" {
		t.Errorf("the price is shown as %q", f.Get("f.price"))
	}
	f.Set("f.price", "$7,25")
	f.Set("act", "save")
	if p := ask(t, german, "POST", pear, f); p.StatusCode != http.StatusSeeOther {
		t.Errorf("a price typed with its sign: %d", p.StatusCode)
	}
	b, _ = bookOf(t, a)
	if got := b.Products[0].Price; got != "7.25 USD" {
		t.Errorf("$7,25 typed, %q kept", got)
	}
	if st, body := smear("1.145 kg"); st != http.StatusUnprocessableEntity || !strings.Contains(body, "one of thousands") {
		t.Errorf("a number that can be read two ways: %d", st)
	}
}
