package web

import (
	"context"
	"crypto/rand"
	"io"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/care"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/supply"
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
	Slab(ctx context.Context, req app.SlabRequest) (*app.SlabResult, error)
	ShelfLife(ctx context.Context, req app.ShelfLifeRequest) (*app.ShelfLifeResult, error)
	// BoilIn computes one boil of a book as it would be.
	BoilIn(ctx context.Context, b *book.Book, req app.BoilRequest) (*app.BoilResult, error)
	// Begin begins the record of a batch and returns its number.
	Begin(ctx context.Context, req app.BeginRequest, who, why string) (string, error)
	// Enter writes to the record of a batch, corrects what is written or takes it back.
	Enter(ctx context.Context, e record.Entry, corrects int64, who, why string) error
	// WeighInOf returns the sheet of a batch as it is weighed.
	WeighInOf(ctx context.Context, batch string) (*app.WeighIn, error)
	// ScanFor reads a code off a pot for an ingredient.
	ScanFor(ctx context.Context, ingredient, code string) (*app.Scanned, error)
	// Tap takes in what was tapped on a device, once and in its order.
	Tap(ctx context.Context, t app.Tap, who string) (noted bool, err error)
	// Tapped returns the number of the last tap of a device that was taken in.
	Tapped(ctx context.Context, device string) (int64, error)
	// Trace follows a lot, a batch, bags or a jar both ways.
	Trace(ctx context.Context, id string) (*app.TraceResult, error)
	// OnHold lists what is stopped and what is frozen with it.
	OnHold(ctx context.Context) (*app.Halts, error)
	// HoldAny freezes whatever bears a number.
	HoldAny(ctx context.Context, id, why, who string) error
	// Records lists records, the newest first.
	Records(ctx context.Context, q app.RecordQuery) (app.RecordList, error)
	// Record returns the record of a batch.
	Record(ctx context.Context, batch string) (*app.RecordResult, error)
	// Stores returns what is in the stores on a day, and what of it the day needs.
	Stores(ctx context.Context, date string) (*app.StoresResult, error)
	// Lot returns the ledger of a lot.
	Lot(ctx context.Context, id string) (*app.LotResult, error)
	// Receive writes down a delivery and returns the number of its lot.
	Receive(ctx context.Context, r app.ReceiveRequest, who, why string) (string, error)
	// Make makes a lot out of others and returns its number.
	Make(ctx context.Context, r app.MakeRequest, who, why string) (string, error)
	// ReceiveListed takes in what only the shop book lists.
	ReceiveListed(ctx context.Context, who string) ([]string, error)
	// WriteLot writes to the ledger of a lot, corrects what is written or takes it back.
	WriteLot(ctx context.Context, e lot.Entry, corrects int64, who, why string) error
	// HoldLot freezes a lot at once.
	HoldLot(ctx context.Context, id, why, who string) error
	// Supplies returns what there is of packaging, gas and consumables.
	Supplies(ctx context.Context, date string) (*app.SuppliesResult, error)
	// SupplyLot returns the ledger of a lot of them.
	SupplyLot(ctx context.Context, id string) (*app.SupplyResult, error)
	// ReceiveSupply writes down a delivery of them and returns the number of its lot.
	ReceiveSupply(ctx context.Context, r app.SupplyReceipt, who, why string) (string, error)
	// WriteSupply writes to the ledger of a lot of them.
	WriteSupply(ctx context.Context, e supply.Entry, corrects int64, who, why string) error
	// HoldSupply freezes a lot of them, and the bags that were packed in it.
	HoldSupply(ctx context.Context, id, why, who string) error
	// OpenFor returns the packaging that goes with a product.
	OpenFor(ctx context.Context, product string) ([]app.OpenChoice, error)
	// Attach keeps a picture or paper of a batch or a lot.
	Attach(ctx context.Context, r app.AttachRequest, who string) error
	// Attached lists what is attached to a batch or a lot.
	Attached(ctx context.Context, of string) (*app.AttachedList, error)
	// AttachedFile returns a picture or paper by the sum of its bytes.
	AttachedFile(ctx context.Context, sum string) (*app.AttachedFile, error)
	// AddReadings keeps readings of thermometers.
	AddReadings(ctx context.Context, posts []app.ReadingPost, by reading.Source, who string) (*app.ReadingsAdded, error)
	// Readings lists them.
	Readings(ctx context.Context, r app.ReadingQuery) (*app.ReadingsResult, error)
	// ReadingsOf lists those of a batch.
	ReadingsOf(ctx context.Context, batch string, since time.Time) (*app.ReadingsResult, error)
	// ReadLogger reads a logger's file and keeps its readings.
	ReadLogger(ctx context.Context, r app.LoggerRequest, who string) (*app.LoggerResult, error)
	// Care returns what is wrong in the room and what is due on a day.
	Care(ctx context.Context, date string) (*app.CareResult, error)
	// CareOf returns the ledger of a thing of the room.
	CareOf(ctx context.Context, t care.Thing) (*app.CareThing, error)
	// WriteCare writes to the ledger of a thing, corrects what is written or takes it back.
	WriteCare(ctx context.Context, e care.Entry, corrects int64, who, why string) error
	// CareReleases reports whether an entry would let a thing be used again.
	CareReleases(ctx context.Context, e care.Entry, corrects int64, who string) (bool, error)
	// InsteadOf returns what other pairs of rolls come to.
	InsteadOf(ctx context.Context, r app.RollsRequest) (*app.RollsResult, error)
	// Learned returns what the records teach of the room.
	Learned(ctx context.Context) (*app.LearnResult, error)
	// LookBack looks back from the last check of a glass that found it off.
	LookBack(ctx context.Context, glass string) (*app.LookBack, error)
	// Trouble writes down that a batch went wrong.
	Trouble(ctx context.Context, r app.TroubleRequest, who, why string) error
	// TroubleOf returns what to do about it, without what it leaves short of the day
	// where the context does not last for that.
	TroubleOf(ctx context.Context, batch string) (*app.TroubleResult, error)
	// Decide says what becomes of a batch.
	Decide(ctx context.Context, r app.DecideRequest, who, why string) error
	// Washed writes down that all was washed that a grained batch touched.
	Washed(ctx context.Context, batch, by, who string) error
	// LimitsIn holds one boil of a book as it would be against the law.
	LimitsIn(ctx context.Context, b *book.Book, req app.LimitsRequest) (*app.LimitsResult, error)
	// Limits holds one boil against the law.
	Limits(ctx context.Context, req app.LimitsRequest) (*app.LimitsResult, error)
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
	// History lists up to limit versions of a thing below a version, 0 for the
	// newest, the newest first.
	History(ctx context.Context, kind, id string, before, limit int) ([]app.Version, error)
	// AsOf returns the book with a recipe as it was in one of its versions.
	AsOf(ctx context.Context, id string, version int) (book.Book, error)
	// Last returns the last change, nil if there is none to undo.
	Last(ctx context.Context) (*app.LastChange, error)
	// Undo takes the last change back.
	Undo(ctx context.Context, expect store.Head, who string) error
	Packer
	Slabber
	Gate
}

// Gate is what the pages need of the use cases to know who may do what.
type Gate interface {
	// Access returns who may do what with the book.
	Access(ctx context.Context) (access.State, error)
	// SignIn begins a shift at a tablet and returns its secret: Forbidden for a
	// wrong PIN, Busy after too many.
	SignIn(ctx context.Context, tablet, person, pin string, random io.Reader) (secret string, err error)
	// SignOut ends a shift.
	SignOut(ctx context.Context, secret string) error
	// ChangePIN gives a person another PIN who knows the one of before.
	ChangePIN(ctx context.Context, tablet, person, old, pin string, random io.Reader) (secret string, err error)
	// Pair pairs a tablet by a code and returns its secret: Forbidden for a wrong code.
	Pair(ctx context.Context, code, name string, random io.Reader) (secret string, err error)
	// Seen notes that a tablet or a token was used.
	Seen(ctx context.Context, tablet, token string) error

	AddPerson(ctx context.Context, name string, role access.Role, pin string, random io.Reader) error
	SetPIN(ctx context.Context, person, pin string, random io.Reader) error
	SetRole(ctx context.Context, person string, role access.Role) error
	RemovePerson(ctx context.Context, person string) error
	NewPairing(ctx context.Context, random io.Reader) (code string, ends time.Time, err error)
	Unpair(ctx context.Context, tablet string) error
	NewToken(ctx context.Context, name string, role access.Role, random io.Reader) (token string, err error)
	NewProbeToken(ctx context.Context, name, probe string, random io.Reader) (token string, err error)
	RemoveToken(ctx context.Context, id string) error
}

// Options is what the pages are served with. Every field may be left out.
type Options struct {
	Log    *slog.Logger     // nil: nothing is logged
	Now    func() time.Time // nil: the machine's clock
	Person string           // who is named as changing things while nobody has to sign in; empty: "the shop"
	Random io.Reader        // where secrets come from; nil: the machine's own source

	// Network is what the pages on the shop's network say of themselves to the
	// owner, as it is now; nil: there are none.
	Network func() Network

	// Backups tells how the backups go; nil: nothing is said of them.
	Backups func() app.LastBackup

	// The prints, made by another package; nil: no print is offered.
	DaySheet    func(w io.Writer, p *app.DayPlan) error
	BatchSheets func(w io.Writer, p *app.DayPlan) error
}

// server is the state behind the pages.
type server struct {
	shop    Shop
	opt     Options
	log     *slog.Logger
	assets  assets
	pages   pages
	saves   *saves
	streams *streams
	in      entrance
	bare    bool // no book stands behind it, or nothing of it may be told
}

// The use cases offer what the pages need.
var _ Shop = (*app.App)(nil)

// filled returns the options with what was left out.
func (opt Options) filled() Options {
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.Person == "" {
		opt.Person = "the shop"
	}
	if opt.Random == nil {
		opt.Random = rand.Reader
	}
	return opt
}

// Site is the pages of a shop, by each of their entrances.
type Site struct{ server }

// New returns the pages of a shop as the machine itself sees them.
func New(shop Shop, opt Options) http.Handler { return NewSite(shop, opt).Local() }

// NewSite returns the pages of a shop.
func NewSite(shop Shop, opt Options) *Site {
	opt = opt.filled()
	a := loadAssets()
	return &Site{server{shop: shop, opt: opt, log: opt.Log, assets: a, pages: parsePages(a), saves: &saves{}, streams: newStreams()}}
}

// Local returns the pages for the machine itself: it needs no pairing.
func (x *Site) Local() http.Handler {
	return x.by(entrance{answers: loopback, limits: newLimits()})
}

// Shared returns the pages for the shop's network, to be served encrypted, under
// the names and addresses they answer to, which may change: tablets are paired, people
// sign in.
func (x *Site) Shared(names func() []string) http.Handler {
	return x.by(entrance{network: true, limits: newLimits(), answers: answersTo(names)})
}

func answersTo(names func() []string) func(string) bool {
	return func(host string) bool { return slices.Contains(names(), strings.ToLower(host)) }
}

func (x *Site) by(in entrance) http.Handler {
	s := x.server
	s.in = in
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
	page           bool         // an HTML page to look at, as against a print, a file, a probe or the API
	see, change    access.Right // to get it, and to post or put to it; the zero value lets anyone
	most           int64        // the largest body [bytes]; 0: mostBody
}

// routes is the whole site: the API, then the pages in the order of the menu.
func (s *server) routes() []route {
	return append(s.apiRoutes(), []route{
		{pattern: "/{$}", get: s.day, post: s.postDay, page: true, see: access.Look, change: access.Change},
		{pattern: "/to-make", get: s.toMake, post: s.postToMake, page: true, see: access.Look, change: access.Change},
		{pattern: "/to-make/csv", get: s.toMakeCSV, post: s.postToMakeCSV, page: true, most: mostUpload, see: access.Change, change: access.Change},
		{pattern: "/batch/{id}", get: s.batch, page: true, see: access.Look},
		{pattern: "/recipes", get: s.recipes, page: true, see: access.Look},
		{pattern: "/recipes/{id}", get: s.recipe, page: true, see: access.Look},
		{pattern: "/records", get: s.records, post: s.postBegin, page: true, see: access.Look, change: access.Note},
		{pattern: "/records/{id}", get: s.record, post: s.postRecord, page: true, see: access.Look, change: access.Note},
		{pattern: "/records/{id}/attachments", get: backToCard, post: s.postRecordAttach, see: access.Look, change: access.Note, most: mostAttachUpload},
		{pattern: "/stores/{lot}/attachments", get: backToCard, post: s.postLotAttach, see: access.Look, change: access.Note, most: mostAttachUpload},
		{pattern: "/attachments/{sha256}", get: s.attachment, see: access.Look},
		{pattern: "/hold", get: s.hold, page: true, see: access.Look},
		{pattern: "/trace/{id}", get: s.trace, post: s.postTrace, page: true, see: access.Look, change: access.Note},
		{pattern: "/weigh-in", get: s.weighIns, page: true, see: access.Look},
		{pattern: "/weigh-in/{batch}", get: s.weighIn, post: s.postWeighIn, page: true, see: access.Look, change: access.Note},
		{pattern: "/slab", get: s.slabs, page: true, see: access.Look},
		{pattern: "/slab/{batch}", get: s.slab, post: s.postSlab, page: true, see: access.Look, change: access.Note},
		{pattern: "/slab/{batch}/events", get: s.slabEvents, see: access.Look},
		{pattern: "/taps", post: s.postTap, change: access.Note},
		{pattern: "/packing", get: s.packing, post: s.postPacking, page: true, see: access.Look, change: access.Note},
		{pattern: "/packing/when", get: s.packingWhen, page: true, see: access.Look},
		{pattern: "/packing/{lot}", get: s.packed, post: s.postPacked, page: true, see: access.Look, change: access.Note},
		{pattern: "/trouble/{id}", get: s.trouble, post: s.postTrouble, page: true, see: access.Look, change: access.Note},
		{pattern: "/stores", get: s.stores, post: s.postStores, page: true, see: access.Look, change: access.Note},
		{pattern: "/stores/count", get: s.countSheet, post: s.postCount, page: true, see: access.Look, change: access.Note},
		{pattern: "/stores/{lot}", get: s.storeLot, post: s.postLot, page: true, see: access.Look, change: access.Note},
		{pattern: "/readings", get: s.readings, post: s.postReadingsFile, page: true, see: access.Look, change: access.Note, most: mostLogUpload},
		{pattern: "/learned", get: s.learned, page: true, see: access.Look},
		{pattern: "/look-back/{glass}", get: s.lookBack, page: true, see: access.Look},
		{pattern: "/room", get: s.room, page: true, see: access.Look},
		{pattern: "/care", get: s.care, page: true, see: access.Look},
		{pattern: "/care/{kind}/{id}", get: s.careThing, post: s.postCare, page: true, see: access.Look, change: access.Note},
		{pattern: "/start", get: s.start, post: s.postStart, page: true, see: access.Govern, change: access.Govern},
		{pattern: "/book", get: s.shopBook, post: s.postShopBook, page: true, see: access.Look, change: access.Change},
		{pattern: "/book/{kind}", get: s.thing, post: s.postThing, page: true, see: access.Look, change: access.Change},
		{pattern: "/book/{kind}/{id}", get: s.thing, post: s.postThing, page: true, see: access.Look, change: access.Change},
		{pattern: "/new/{kind}", get: s.newThing, post: s.postThing, page: true, see: access.Change, change: access.Change},
		{pattern: "/versions/{kind}", get: s.versions, page: true, see: access.Look},
		{pattern: "/versions/{kind}/{id}", get: s.versions, page: true, see: access.Look},
		{pattern: "/people", get: s.people, post: s.postPeople, page: true, see: access.Govern, change: access.Govern},
		{pattern: "/sign-in", get: s.signIn, post: s.postSignIn, page: true},
		{pattern: "/sign-out", post: s.postSignOut},
		{pattern: "/pin", get: s.pin, post: s.postPIN, page: true, see: access.Look, change: access.Look},
		{pattern: "/pair", get: s.pair, post: s.postPair, page: true},
		{pattern: "/day.pdf", get: s.print("day", s.opt.DaySheet), see: access.Look},
		{pattern: "/sheets.pdf", get: s.print("sheets", s.opt.BatchSheets), see: access.Look},
		{pattern: "/healthz", get: s.health},
		{pattern: "/static/{path...}", get: s.static},
		{pattern: "/", get: s.nowhere, see: access.Look},
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
		right := rt.change
		if r.Method == http.MethodGet || r.Method == http.MethodHead {
			right = rt.see
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
		known, err := s.admit(w, r, right)
		if err == nil && known != nil {
			r = known
			if !forProgram(r) { // programs read one mark everywhere
				r = r.WithContext(app.ReadWith(r.Context(), q.DecimalOf(r.Header.Get("Accept-Language"))))
			}
			err = h(w, r)
		}
		if err != nil {
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

// reads answers GET and HEAD with a handler and takes nothing, for the entrances
// that no book can be changed through.
func (s *server) reads(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			s.showStatus(w, r, http.StatusMethodNotAllowed, fault.Invalid("nothing is taken here"))
			return
		}
		if err := h(w, r); err != nil {
			s.showError(w, r, err)
		}
	})
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
