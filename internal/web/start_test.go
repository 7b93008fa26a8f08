package web

import (
	"net/http"
	"net/url"
	"testing"

	"slabside/internal/fault"
)

// emptySite is the site of a shop without a book.
func emptySite() (http.Handler, *fakeShop) {
	f := newFakeShop()
	f.bookErr = fault.NotFound("no shop book here")
	return New(f, fixtureOptions()), f
}

// An empty shop is led to the questions; what cannot be meant stands by its
// question, and the answers make a book.
func TestStart(t *testing.T) {
	t.Parallel()
	site, f := emptySite()
	ask(t, site, "GET", "/", nil).says(t, ".first a[href=/start]", "Begin a shop book")
	p := ask(t, site, "GET", "/start", nil)
	form := sentBack(p)
	form.Set("f.shop.name", "Drops & Co")
	form.Set("f.shop.place", "Anywhere")
	form.Set("f.hand.0", "Ann")
	form.Set("f.hand.1", "Ben")
	form.Set("f.recipe.name", "Lemon drops")
	form.Set("f.recipe.flavour", "lemon")
	form.Set("f.kettle.volume", "six")
	p = ask(t, site, "POST", "/start", form)
	if p.StatusCode != http.StatusUnprocessableEntity || f.bookErr == nil {
		t.Fatalf("status %d", p.StatusCode)
	}
	p.says(t, "#wrong", "1 answer needs another look")
	p.says(t, ".field-error", "6 qt")
	again := sentBack(p)
	if again.Get("f.kettle.volume") != "six" || again.Get("f.recipe.name") != "Lemon drops" {
		t.Error("what was typed is lost")
	}
	again.Set("f.kettle.volume", "24 L")
	p = ask(t, site, "POST", "/start", again)
	if p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/" {
		t.Fatalf("status %d to %q: %s", p.StatusCode, p.Header.Get("Location"), p.body)
	}
	if f.book.Shop.Name != "Drops & Co" || len(f.book.ToMake) != 1 {
		t.Errorf("the book is of %q with %d lines", f.book.Shop.Name, len(f.book.ToMake))
	}
	ask(t, site, "GET", "/start", nil).says(t, ".first", "There is a shop book already")
	if p = ask(t, site, "POST", "/start", url.Values(again)); p.StatusCode != http.StatusConflict {
		t.Errorf("a second start answers %d", p.StatusCode)
	}
}
