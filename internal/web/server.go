package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// Shop is what the pages need of the use cases; [app.App] offers it.
type Shop interface {
	// Book returns the kept book and its head; NotFound when there is none.
	Book(ctx context.Context) (book.Book, store.Head, error)
	// Today returns the date in the book's time zone, as an ISO date.
	Today(b book.Book) string
	// Plan plans a making day.
	Plan(ctx context.Context, req app.PlanRequest) (*app.DayPlan, error)
	// Boil computes one boil.
	Boil(ctx context.Context, req app.BoilRequest) (*app.BoilResult, error)
	// SetToMake replaces the lines to make: app.Problems when they cannot be
	// meant, Conflict when the book has moved on from the expected head.
	SetToMake(ctx context.Context, lines []demand.Line, expect store.Head, who, why string) error
	// KeepTrial writes the changes of a trial day to the book.
	KeepTrial(ctx context.Context, req app.PlanRequest, expect store.Head, who, why string) (store.Head, error)
	// Save keeps a thing as typed: app.Problems when it cannot be meant, each at
	// the name of its field, Conflict when the book has moved on.
	Save(ctx context.Context, f entry.Form, expect store.Head, who, why string) (id string, head store.Head, err error)
	// Start begins a book with the answers to the questions of the guided start:
	// app.Problems when they cannot be meant, Conflict when there is a book.
	Start(ctx context.Context, text map[string]string, who string) error
	// Retire takes a thing out of the book.
	Retire(ctx context.Context, kind, id string, expect store.Head, who, why string) error
	// History lists the versions of a thing, the newest first.
	History(ctx context.Context, kind, id string) ([]app.Version, error)
	// Last returns the last change, nil if there is none to undo.
	Last(ctx context.Context) (*app.LastChange, error)
	// Undo takes the last change back.
	Undo(ctx context.Context, expect store.Head, who string) error
}

// Options is what the pages are served with. Every field may be left out.
type Options struct {
	Log    *slog.Logger     // nil: nothing is logged
	Now    func() time.Time // nil: the machine's clock
	Person string           // who is named as changing the lines; empty: "the shop"

	// The prints, made by another package; nil: no print is offered.
	DaySheet    func(w io.Writer, p *app.DayPlan) error
	BatchSheets func(w io.Writer, p *app.DayPlan) error
}

// server is the state behind the pages.
type server struct {
	shop   Shop
	opt    Options
	log    *slog.Logger
	assets assets
	pages  pages
	saves  saves
}

// The use cases offer what the pages need.
var _ Shop = (*app.App)(nil)

// New returns the pages of a shop.
func New(shop Shop, opt Options) http.Handler {
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.Person == "" {
		opt.Person = "the shop"
	}
	a := loadAssets()
	s := &server{shop: shop, opt: opt, log: opt.Log, assets: a, pages: parsePages(a)}
	mux := http.NewServeMux()
	for _, rt := range s.routes() {
		mux.Handle(rt.pattern, s.serve(rt))
	}
	return s.guard(mux)
}

// plan asks for a day for as long as a page can wait; a search that takes longer
// goes on, and the page says to ask again.
func (s *server) plan(ctx context.Context, req app.PlanRequest) (*app.DayPlan, error) {
	ctx, cancel := context.WithTimeout(ctx, planPatience)
	defer cancel()
	return s.shop.Plan(ctx, req)
}

// handler answers a request or says what is wrong; it writes nothing before it is sure.
type handler func(w http.ResponseWriter, r *http.Request) error

// route is one address of the site. A method without a handler is refused.
type route struct {
	pattern        string // of ServeMux, without a method
	get, post, put handler
	page           bool  // an HTML page to look at, as against a print, a file, a probe or the API
	most           int64 // the largest body [bytes]; 0: mostBody
}

// routes is the whole site: the API, then the pages in the order of the menu.
func (s *server) routes() []route {
	return append(s.apiRoutes(), []route{
		{pattern: "/{$}", get: s.day, post: s.postDay, page: true},
		{pattern: "/to-make", get: s.toMake, post: s.postToMake, page: true},
		{pattern: "/to-make/csv", get: s.toMakeCSV, post: s.postToMakeCSV, page: true, most: mostUpload},
		{pattern: "/batch/{id}", get: s.batch, page: true},
		{pattern: "/recipes", get: s.recipes, page: true},
		{pattern: "/recipes/{id}", get: s.recipe, page: true},
		{pattern: "/room", get: s.room, page: true},
		{pattern: "/start", get: s.start, post: s.postStart, page: true},
		{pattern: "/book", get: s.shopBook, post: s.postShopBook, page: true},
		{pattern: "/book/{kind}", get: s.thing, post: s.postThing, page: true},
		{pattern: "/book/{kind}/{id}", get: s.thing, post: s.postThing, page: true},
		{pattern: "/new/{kind}", get: s.newThing, post: s.postThing, page: true},
		{pattern: "/versions/{kind}", get: s.versions, page: true},
		{pattern: "/versions/{kind}/{id}", get: s.versions, page: true},
		{pattern: "/day.pdf", get: s.print("day", s.opt.DaySheet)},
		{pattern: "/sheets.pdf", get: s.print("sheets", s.opt.BatchSheets)},
		{pattern: "/healthz", get: s.health},
		{pattern: "/static/{path...}", get: s.static},
		{pattern: "/", get: s.nowhere},
	}...)
}

// serve answers with the handler of the request's method, or with a page that
// says what is wrong.
func (s *server) serve(rt route) http.Handler {
	most := int64(mostBody)
	if rt.most > 0 {
		most = rt.most
	}
	return http.MaxBytesHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var h handler
		switch r.Method {
		case http.MethodGet, http.MethodHead:
			h = rt.get
		case http.MethodPost:
			h = rt.post
		case http.MethodPut:
			h = rt.put
		}
		if h == nil {
			allow := "GET, HEAD"
			if rt.post != nil {
				allow += ", POST"
			}
			if rt.put != nil {
				allow += ", PUT"
			}
			w.Header().Set("Allow", allow)
			s.showStatus(w, r, http.StatusMethodNotAllowed,
				fault.Invalid("%s is not taken here", methodWord(r.Method)).WithHint("it takes %s", allow))
			return
		}
		if err := h(w, r); err != nil {
			s.showError(w, r, err)
		}
	}), most)
}

// methodWord keeps an echoed method short.
func methodWord(m string) string {
	if len(m) > 10 {
		return "that method"
	}
	return m
}

func (s *server) nowhere(http.ResponseWriter, *http.Request) error {
	return fault.NotFound("there is no such page").WithHint("choose one from the menu")
}

func (s *server) health(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = io.WriteString(w, "ok\n")
	return nil
}
