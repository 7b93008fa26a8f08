package web

import (
	"net/http"
	"slices"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// How many things a list gives at once.
const (
	usualLimit = 100
	mostLimit  = 500
)

// What the API answers about the book, and what it takes. Head is the state of
// the book that was seen; a change says which one it was made from.
type (
	// APIBook is the whole shop book.
	APIBook struct {
		Head store.Head `json:"head"`
		Book book.Book  `json:"book"`
	}
	// APIThings is a part of a list of things, in the book's order.
	APIThings struct {
		Head   store.Head `json:"head"`
		Things []APIName  `json:"things"`
		Next   string     `json:"next,omitempty"` // what to give as after for those that follow
	}
	// APIName is a thing as a list names it.
	APIName struct {
		ID   string `json:"id"`
		Name string `json:"name"`
	}
	// APIThing is a thing as it is typed, in the shop's units.
	APIThing struct {
		Head store.Head        `json:"head"`
		Kind string            `json:"kind"`
		ID   string            `json:"id"`
		Text map[string]string `json:"text"` // by field, rows counted from 0: "portion.0.share"
		Rows map[string]int    `json:"rows"` // rows of every list
	}
	// APISaveThing keeps a thing; a field left out is empty.
	APISaveThing struct {
		Head store.Head        `json:"head"`
		Why  string            `json:"why,omitempty"`
		Text map[string]string `json:"text"`
		Rows map[string]int    `json:"rows,omitempty"`
	}
	// APIVersions is what a thing has been, the newest first.
	APIVersions struct {
		Versions []app.Version `json:"versions"`
		Next     int           `json:"next,omitempty"` // what to give as before for the older ones
	}
	// APIUses is what in the book uses a thing.
	APIUses struct {
		Head store.Head `json:"head"`
		Uses []app.Use  `json:"uses"`
		Next int        `json:"next,omitempty"` // what to give as skip for those that follow
	}
	// APIToMake is the lines to make.
	APIToMake struct {
		Head  store.Head    `json:"head"`
		Lines []demand.Line `json:"lines"`
	}
	// APISaveToMake puts lines in the place of the kept ones.
	APISaveToMake struct {
		Head  store.Head    `json:"head"`
		Why   string        `json:"why,omitempty"`
		Lines []demand.Line `json:"lines"`
	}
)

// endpoints is the whole API: the one table of its routes and its description.
func (s *server) endpoints() []endpoint {
	return append(slices.Concat(s.questions(), s.changes(), s.recordEndpoints(), s.storeEndpoints(), s.supplyEndpoints(), s.packingEndpoints(), s.careEndpoints(), s.traceEndpoints(), s.readingEndpoints()),
		endpoint{path: "/book", get: &operation{summary: "The whole shop book.", answer: "book", do: s.getBook}},
		endpoint{path: "/things/{kind}", get: &operation{summary: "The things of a kind: kettle, recipe, product and the others the shop book has. What a book has one of (shop, room, day, stock) has its kind as its id.",
			answer: "things", do: s.getThings, params: []param{
				limitParam(), {name: "after", help: "The id to go on after.", example: "damson-leaves"},
			}}},
		endpoint{path: "/things/{kind}/{id}",
			get: &operation{summary: "One thing as it is typed, in the shop's units.", answer: "thing", do: s.getThing},
			put: &operation{summary: "Keeps a thing as typed, a new one under an id that is free.", answer: "thing", body: "save-thing", makes: true, do: s.putThing}},
		endpoint{path: "/things/{kind}/{id}/versions", get: &operation{summary: "What a thing has been, the newest first.", answer: "versions", do: s.getVersions, params: []param{
			limitParam(), {name: "before", help: "The version to go on below.", example: "7"},
		}}},
		endpoint{path: "/uses/{kind}/{id}", get: &operation{summary: "What in the book uses a thing.", answer: "uses", do: s.getUses, params: []param{
			limitParam(), {name: "skip", help: "How many to leave out from the beginning.", example: "100"},
		}}},
		endpoint{path: "/to-make",
			get: &operation{summary: "The lines to make.", answer: "to-make", do: s.getToMake},
			put: &operation{summary: "Puts lines in the place of the lines to make.", answer: "to-make", body: "save-to-make", do: s.putToMake}},
		endpoint{path: "/openapi.json", get: &operation{summary: "This description.", do: s.getOpenAPI}},
	)
}

func limitParam() param {
	return param{name: "limit", help: "How many at most, 1 to 500; default 100.", example: "50"}
}

// limit reads how much of a list is asked for.
func (q *query) limit() int {
	n := given(whole(q, "limit"), usualLimit)
	if n < 1 || n > mostLimit {
		q.fail("limit", fault.Invalid("a list gives 1 to %d at once", mostLimit))
	}
	return n
}

// askedBook returns the kept book, if the query has nothing the operation does not know.
func (s *server) askedBook(c *call) (book.Book, store.Head, error) {
	if err := c.query().err(); err != nil {
		return book.Book{}, 0, err
	}
	return s.shop.Book(c.Context())
}

func (s *server) getBook(c *call) (any, error) {
	b, head, err := s.askedBook(c)
	return APIBook{head, b}, err
}

func (s *server) getThings(c *call) (any, error) {
	a := c.query()
	limit, after := a.limit(), a.text("after")
	if err := a.err(); err != nil {
		return nil, err
	}
	b, head, err := s.shop.Book(c.Context())
	if err != nil {
		return nil, err
	}
	kind := c.PathValue("kind")
	list := entry.List(&b, kind)
	switch {
	case !slices.Contains(entry.Kinds(), kind):
		return nil, fault.NotFound("there is no kind of thing called %q", fault.Clip(kind, fault.Echo)).WithHint("one of %s", strings.Join(entry.Kinds(), ", "))
	case entry.Single(kind):
		list = []entry.Thing{{ID: kind, Name: manyOf(kind)}}
	}
	if after != "" {
		i := slices.IndexFunc(list, func(t entry.Thing) bool { return t.ID == after })
		if i < 0 {
			return nil, fault.Invalid("no %s with the id %q to go on after", kind, fault.Clip(after, fault.Echo)).At("after").WithHint("begin the list again")
		}
		list = list[i+1:]
	}
	out := APIThings{Head: head, Things: []APIName{}}
	for _, t := range list[:min(limit, len(list))] {
		out.Things = append(out.Things, APIName(t))
	}
	if len(list) > limit {
		out.Next = out.Things[limit-1].ID
	}
	return out, nil
}

// thingOf returns a kept thing as typed. What a book has one of has its kind as its id.
func thingOf(b *book.Book, head store.Head, kind, id string) (APIThing, error) {
	f, err := entry.Print(b, kind, id)
	if err != nil {
		return APIThing{}, err
	}
	if entry.Single(kind) && id != kind {
		return APIThing{}, fault.NotFound("a book has one %s, with the id %q", kind, kind)
	}
	return APIThing{Head: head, Kind: kind, ID: id, Text: f.Text, Rows: f.Rows}, nil
}

func (s *server) getThing(c *call) (any, error) {
	b, head, err := s.askedBook(c)
	if err != nil {
		return nil, err
	}
	return thingOf(&b, head, c.PathValue("kind"), c.PathValue("id"))
}

func (s *server) putThing(c *call) (any, error) {
	var in APISaveThing
	if err := c.read(&in); err != nil {
		return nil, err
	}
	b, _, err := s.askedBook(c)
	if err != nil {
		return nil, err
	}
	kind, id := c.PathValue("kind"), c.PathValue("id")
	if err := s.ownersOnly(c.Request, kind); err != nil {
		return nil, err
	}
	if !slices.Contains(entry.Kinds(), kind) || entry.Single(kind) && id != kind {
		_, err := thingOf(&b, 0, kind, id)
		return nil, err
	}
	if typed, ok := in.Text["id"]; ok && typed != id {
		return nil, fault.Invalid("the id is another than that of the address").At("text.id").WithHint("leave it out; an id stays what it is")
	}
	for list, n := range in.Rows {
		if n < 0 || n > entry.MostRows {
			return nil, fault.Invalid("a list takes up to %d rows", entry.MostRows).At("rows." + fault.Clip(list, fault.Echo))
		}
	}
	f := entry.Form{Kind: kind, ID: id, Text: in.Text, Rows: in.Rows}
	switch _, err := thingOf(&b, 0, kind, id); {
	case entry.Single(kind):
		f.ID = ""
	case fault.KindOf(err) == fault.KindNotFound && err != nil:
		if err := store.CheckSlug(id); err != nil {
			return nil, err
		}
		f.ID, f.Text = "", map[string]string{"id": id}
		for name, text := range in.Text {
			f.Text[name] = text
		}
		c.status = http.StatusCreated
	}
	if _, _, err := s.shop.Save(c.Context(), f, in.Head, s.who(c.Request), strings.TrimSpace(in.Why)); err != nil {
		return nil, err
	}
	return s.getThing(c)
}

func (s *server) getVersions(c *call) (any, error) {
	a := c.query()
	limit, before := a.limit(), whole(a, "before")
	if before != nil && *before < 1 {
		a.fail("before", fault.Invalid("there is no version %d", *before))
	}
	if err := a.err(); err != nil {
		return nil, err
	}
	b, head, err := s.shop.Book(c.Context())
	if err != nil {
		return nil, err
	}
	// What was retired has its versions still, so only the kind is looked at.
	kind, id := c.PathValue("kind"), c.PathValue("id")
	if !slices.Contains(entry.Kinds(), kind) || entry.Single(kind) {
		if _, err := thingOf(&b, head, kind, id); err != nil {
			return nil, err
		}
	}
	list, err := s.shop.History(c.Context(), kind, id, given(before, 0), limit)
	if err != nil {
		return nil, err
	}
	out := APIVersions{Versions: append([]app.Version{}, list...)}
	if n := len(list); n > 0 && list[n-1].N > 1 {
		out.Next = list[n-1].N
	}
	return out, nil
}

func (s *server) getUses(c *call) (any, error) {
	a := c.query()
	limit, skip := a.limit(), given(whole(a, "skip"), 0)
	if skip < 0 {
		a.fail("skip", fault.Invalid("%d cannot be left out", skip))
	}
	if err := a.err(); err != nil {
		return nil, err
	}
	b, head, err := s.shop.Book(c.Context())
	if err != nil {
		return nil, err
	}
	kind, id := c.PathValue("kind"), c.PathValue("id")
	if _, err := thingOf(&b, head, kind, id); err != nil {
		return nil, err
	}
	uses, err := app.UsesOf(&b, kind, id)
	if err != nil {
		return nil, err
	}
	out := APIUses{Head: head}
	uses = uses[min(skip, len(uses)):]
	out.Uses = uses[:min(limit, len(uses))]
	if len(uses) > limit {
		out.Next = skip + limit
	}
	return out, nil
}

func (s *server) getToMake(c *call) (any, error) {
	b, head, err := s.askedBook(c)
	return APIToMake{head, append([]demand.Line{}, b.ToMake...)}, err
}

func (s *server) putToMake(c *call) (any, error) {
	var in APISaveToMake
	if err := c.read(&in); err != nil {
		return nil, err
	}
	switch {
	case in.Lines == nil:
		return nil, fault.Invalid("no list of lines").At("lines").WithHint("send an empty list to make nothing")
	case len(in.Lines) > mostLines:
		return nil, fault.Invalid("%d lines are more than %d", len(in.Lines), mostLines).At("lines").WithHint("put the bags of one product on one line")
	}
	b, _, err := s.askedBook(c)
	if err != nil {
		return nil, err
	}
	lines, wrong := typed{lines: asTyped(in.Lines)}.meant(b) // the same rules as the page's
	for i, e := range wrong {
		wrong[i] = e.At(strings.Replace(e.Field, "line[", "lines[", 1))
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	if err := s.shop.SetToMake(c.Context(), lines, in.Head, s.who(c.Request), or(strings.TrimSpace(in.Why), "lines to make changed by a program")); err != nil {
		return nil, err
	}
	b, head, err := s.shop.Book(c.Context())
	return APIToMake{head, append([]demand.Line{}, b.ToMake...)}, err
}
