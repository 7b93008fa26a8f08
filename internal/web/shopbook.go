package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// shopBookView is the whole shop book: everything in it, to find and to change.
type shopBookView struct {
	Base    base
	First   *firstStep
	Find    string // what is looked for
	Found   int
	Groups  []bookGroup
	Missing []faultLine // what the book still needs before a day can be planned
	Last    *lastView
	Backup  *backupView
	Head    store.Head
	Undone  bool
}

// bookGroup is one kind of thing.
type bookGroup struct {
	Kind, Name, One string
	Single          bool
	Things          []thingLink
}

type thingLink struct {
	Href, Name string
	Says       string // what tells it from others of its name
}

// lastView is the last change, which can be undone.
type lastView struct {
	What, When, Person, Reason string
	CanUndo                    bool
}

func (s *server) shopBook(w http.ResponseWriter, r *http.Request) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "shopbook", shopBookView{Base: frame("Shop book", "/book"), First: noBook()})
	}
	if err != nil {
		return err
	}
	v := shopBookView{Base: s.base(r, "Shop book", "/book"), Find: strings.TrimSpace(r.URL.Query().Get("find")), Head: head}
	v.Groups, v.Found = groupsOf(&b, v.Find)
	v.Missing, v.Undone = missing(&b), r.URL.Query().Has("undone")
	last, err := s.shop.Last(r.Context())
	if err != nil {
		return err
	}
	if last != nil {
		v.Last = &lastView{What: app.Listed(last.What), When: stamp(last.At, &b), Person: last.Person, Reason: last.Reason, CanUndo: last.Undoable}
	}
	v.Backup = s.backups(&b)
	return s.render(w, http.StatusOK, "shopbook", v)
}

// backupView tells how the backups go that are made while the pages run.
type backupView struct {
	Last   string // when the last good one was made; empty: none was
	Failed string // when the last one failed; empty: it did not
	Why    string
}

// backups is nil where none were tried.
func (s *server) backups(b *book.Book) *backupView {
	if s.opt.Backups == nil {
		return nil
	}
	last := s.opt.Backups()
	if last.At.IsZero() && last.Failed.IsZero() {
		return nil
	}
	v := &backupView{}
	if !last.At.IsZero() {
		v.Last = stamp(last.At, b)
	}
	if !last.Failed.IsZero() {
		v.Failed, v.Why = stamp(last.Failed, b), sentence(last.Why)
	}
	return v
}

// missing lists what keeps a book from being planned with.
func missing(b *book.Book) []faultLine {
	var out []faultLine
	for _, p := range book.Errors(book.Validate(b)) {
		out = append(out, faultLine{Text: sentence(p.Text), Field: book.Place(b, p.Field), Hint: sentence(p.Hint)})
		if len(out) == 12 {
			break
		}
	}
	return out
}

// groupsOf lists the things of a book whose name or id holds a text.
func groupsOf(b *book.Book, find string) (out []bookGroup, found int) {
	find = strings.ToLower(find)
	hit := func(words ...string) bool {
		return find == "" || strings.Contains(strings.ToLower(strings.Join(words, " ")), find)
	}
	settled := bookGroup{Kind: "settled", Name: "Shop, room and day", Single: true}
	for _, kind := range entry.Kinds() {
		if entry.Single(kind) && hit(manyOf(kind), kind) {
			settled.Things = append(settled.Things, thingLink{Href: thingHref(kind, ""), Name: manyOf(kind)})
		}
	}
	if found = len(settled.Things); found > 0 {
		out = append(out, settled)
	}
	for _, kind := range entry.Kinds() {
		if entry.Single(kind) {
			continue
		}
		g := bookGroup{Kind: kind, Name: manyOf(kind), One: anyOf(kind)}
		for _, t := range entry.List(b, kind) {
			if hit(t.Name, t.ID) {
				g.Things = append(g.Things, thingLink{thingHref(kind, t.ID), t.Name, saysOf(b, kind, t.ID)})
			}
		}
		found += len(g.Things)
		if len(g.Things) > 0 || find == "" {
			out = append(out, g)
		}
	}
	return out, found
}

// saysOf says of a product what is in one and what it costs.
func saysOf(b *book.Book, kind, id string) string {
	p, ok := b.Product(id)
	if kind != "product" || !ok {
		return ""
	}
	u := b.Shop.Units
	if p.Price == "" {
		return u.Mass(p.Net)
	}
	return u.Mass(p.Net) + ", " + u.Money(p.Price)
}

// postShopBook undoes the last change.
func (s *server) postShopBook(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	head, err := seenHead(r.PostForm)
	if err != nil {
		return err
	}
	if r.PostForm.Get("act") != "undo" {
		return fault.Invalid("the form does not say what to do").WithHint("press one of the page's buttons")
	}
	if err := s.mayUndo(r); err != nil {
		return err
	}
	if err := s.shop.Undo(r.Context(), head, s.who(r)); err != nil {
		return err
	}
	http.Redirect(w, r, "/book?undone", http.StatusSeeOther)
	return nil
}

// mayUndo refuses to undo what only an owner may change.
func (s *server) mayUndo(r *http.Request) error {
	last, err := s.shop.Last(r.Context())
	if err == nil && last != nil && slices.Contains(last.What, store.KindShop+" "+store.KindShop) {
		err = s.ownersOnly(r, store.KindShop)
	}
	return err
}

// changedMeanwhile is what a person is told whose page is older than the book.
const changedMeanwhile = "Somebody else changed the book while this page was open. Nothing of yours was kept yet"

// seenHead returns the state of the book that a form was made from.
func seenHead(form url.Values) (store.Head, error) {
	n, err := strconv.ParseInt(form.Get("head"), 10, 64)
	if err != nil {
		return 0, fault.Invalid("the form is not whole").WithHint("open the page again")
	}
	return store.Head(n), nil
}

// parseForm reads a form that was sent.
func parseForm(r *http.Request) error {
	err := r.ParseForm()
	if err == nil || errors.As(err, new(*http.MaxBytesError)) {
		return err
	}
	return fault.Invalid("the form cannot be read").WithCause(err).WithHint("open the page again")
}
