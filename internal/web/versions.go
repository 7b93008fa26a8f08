package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
)

// versionsView lists the versions of a thing, the newest first.
type versionsView struct {
	Base    base
	Title   string
	Back    string
	Quiet   string
	Version []versionView
	Older   string // address of those before; empty: there are none
}

// versionsAtOnce is how many versions a page shows.
const versionsAtOnce = 20

type versionView struct {
	N                    int
	When, Person, Reason string
	Changes              []conflictRow
	First                bool
}

func (s *server) versions(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	kind, id := r.PathValue("kind"), r.PathValue("id")
	v := versionsView{Title: manyOf(kind), Back: thingHref(kind, id)}
	if !entry.Single(kind) {
		v.Title = entry.NameOf(&b, kind, id)
	}
	before, err := beforeOf(r)
	if err != nil {
		return err
	}
	list, err := s.shop.History(r.Context(), kind, id, before, versionsAtOnce)
	switch {
	case err != nil && fault.KindOf(err) == fault.KindNotFound && before == 0:
		v.Quiet = "No versions are kept of it. A book that is a file keeps none; import it into a database to have them."
	case err != nil:
		return err
	}
	for _, x := range list {
		vv := versionView{N: x.N, When: stamp(x.At, &b), Person: x.Person, Reason: x.Reason, First: x.N == 1}
		for _, d := range x.Changes {
			vv.Changes = append(vv.Changes, conflictRow{fieldWords(d.Name), or(d.From, "nothing"), or(d.To, "nothing")})
		}
		v.Version = append(v.Version, vv)
	}
	if n := len(list); n > 0 && list[n-1].N > 1 {
		v.Older = fmt.Sprintf("%s?before=%d", versionsHref(kind, id), list[n-1].N)
	}
	v.Base = s.base(r, "Versions of "+v.Title, "/book")
	return s.render(w, http.StatusOK, "versions", v)
}

// beforeOf reads the version that the page shows those before of.
func beforeOf(r *http.Request) (int, error) {
	text := r.URL.Query().Get("before")
	if text == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return 0, fault.Invalid("there is no version %q", fault.Clip(text, fault.Echo)).At("before").WithHint("leave it out for the newest versions")
	}
	return n, nil
}

// stamp prints a moment in the shop's time zone.
func stamp(t time.Time, b *book.Book) string {
	if loc, err := time.LoadLocation(b.Shop.TimeZone); err == nil {
		t = t.In(loc)
	}
	return t.Format("2 January 2006, 15:04")
}
