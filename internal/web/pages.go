package web

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"

	"slabside/internal/access"
)

//go:embed templates
var templateFiles embed.FS

// pageNames lists the folders of templates/, one a page.
var pageNames = [...]string{"day", "tomake", "tomakecsv", "batch", "recipes", "recipe", "records", "record", "trouble", "weighins", "weighin", "slabs", "slab", "hold", "trace", "stores", "storecount", "storelot", "supplylot", "packing", "packed", "packingwhen", "readings", "learned", "lookback", "room", "care", "carething", "shopbook", "thing", "versions", "start", "people", "signin", "pin", "pair", "door", "public", "fault"}

// pages holds the parsed templates by page.
type pages map[string]*template.Template

// parsePages parses every page with the layout, at the start of the program: a
// broken template is a defect and stops it there.
func parsePages(a assets) pages {
	layout := template.Must(template.New("layout").
		Option("missingkey=error").
		Funcs(template.FuncMap{"asset": a.url, "help": helpOf}).
		ParseFS(templateFiles, "templates/*.tmpl"))
	out := pages{}
	for _, name := range pageNames {
		out[name] = template.Must(template.Must(layout.Clone()).ParseFS(templateFiles, "templates/"+name+"/*.tmpl"))
	}
	return out
}

// render writes a whole page, or nothing if the template fails.
func (s *server) render(w http.ResponseWriter, st int, page string, view any) error {
	return s.renderPart(w, st, page, "layout", view)
}

// renderPart writes one named template of a page.
func (s *server) renderPart(w http.ResponseWriter, st int, page, part string, view any) error {
	var buf bytes.Buffer
	if err := s.pages[page].ExecuteTemplate(&buf, part, view); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(st)
	_, _ = w.Write(buf.Bytes()) // a reader that has gone is no error of ours
	return nil
}

// base is what every page needs beside its own view.
type base struct {
	Title string
	Shop  string
	Place string
	Menu  []menuItem
	Who   string // who is signed in; empty: nobody, or nobody has to
	May   may
}

// may is what the visitor may do, for a page not to offer more.
type may struct{ Note, Change, Govern bool }

type menuItem struct {
	Href, Text string
	Here       bool
}

// frame returns what a page needs without a look at the book. Section is the
// menu entry the page belongs to.
func frame(title, section string) base {
	b := base{Title: title, Menu: []menuItem{
		{Href: "/", Text: "Making day"}, {Href: "/to-make", Text: "To make"},
		{Href: "/recipes", Text: "Recipes"}, {Href: "/weigh-in", Text: "Weigh-in"}, {Href: "/slab", Text: "At the slab"}, {Href: "/records", Text: "Batch records"}, {Href: "/packing", Text: "Packing"}, {Href: "/stores", Text: "Stores"}, {Href: "/hold", Text: "Hold"}, {Href: "/room", Text: "Boiling room"}, {Href: "/book", Text: "Shop book"},
	}}
	for i := range b.Menu {
		b.Menu[i].Here = b.Menu[i].Href == section
	}
	return b
}

// base returns the frame of a page with the shop's name, which is left out when
// there is no book to read it from.
func (s *server) base(r *http.Request, title, section string) base {
	b := frame(title, section)
	v := visitorOf(r)
	b.May = may{v.role().May(access.Note), v.role().May(access.Change), v.role().May(access.Govern)}
	if v.person != nil {
		b.Who = v.person.Name
	}
	if !v.role().May(access.Look) { // a name is all that somebody is told who is not let in
		b.Menu = nil
	}
	if bk, _, err := s.shop.Book(r.Context()); err == nil {
		b.Shop, b.Place = bk.Shop.Name, bk.Shop.Place
	}
	return b
}
