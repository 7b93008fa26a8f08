package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/record"
)

// troubleView is a batch that goes wrong: the pictures to press, then what to do.
type troubleView struct {
	Base     base
	Who      string // writes
	ID, Name string
	Record   string // address; empty: it is not begun
	Pictures []troublePicture
	Saved    bool
	Now      []troubleNow
	Written  []troubleWritten
	Place    string // what stands decided; empty: nothing does
	PlaceWhy string
	Held     bool
	Wash     string
	Open     []placeView
	Closed   []placeView
	Known    bool // what it leaves short is worked out
	Wait     string
	Short    []lossView
	NoShort  string
	Until    string // latest flame-up
	AtLeast  bool   // perhaps later still
	Remake   string
	Causes   []causeGroup
	OnHold   []heldView
	Cautions []cautionView
	Faults   []faultLine
}

// troublePicture is a picture to press.
type troublePicture struct {
	What, Word, Icon string
	Written          bool
	Now              []string // to do at once, should nobody hear that it is pressed
}

// troubleWritten is a trouble that stands written.
type troubleWritten struct {
	Act                  int64
	What, When, By, Note string
}

type troubleNow struct {
	What  string
	Lines []string
}

// placeView is what may become of the batch, or may not.
type placeView struct {
	As, Says, Why string
	Reasons       []string
}

type lossView struct {
	Name, For string
	Must      bool
	Short     figure
	Left      figure
	Asked     int
}

type causeGroup struct {
	What string
	List []causeView
}

type causeView struct {
	What, Look string
	Says       []string
	Silent     bool
}

type heldView struct{ ID, Href, Name, Why string }

// troublePatience is how long the next thirty seconds wait for what can come later.
const troublePatience = 1500 * time.Millisecond

func troubleHref(id string) string { return "/trouble/" + url.PathEscape(id) }

func (s *server) trouble(w http.ResponseWriter, r *http.Request) error {
	v, err := s.troubleOf(r)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "trouble", v)
}

// troubleOf shows what to do about a batch, at once.
func (s *server) troubleOf(r *http.Request) (troubleView, error) {
	id := r.PathValue("id")
	if err := record.CheckID(id); err != nil {
		return troubleView{}, errNoBatch()
	}
	patience := troublePatience
	if r.URL.Query().Has("wait") {
		patience = planPatience
	}
	ctx, cancel := context.WithTimeout(r.Context(), patience)
	defer cancel()
	res, err := s.shop.TroubleOf(ctx, id)
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		return s.troubleBegins(r, id)
	}
	if err != nil {
		return troubleView{}, err
	}
	v := troubleView{Base: s.base(r, "Trouble, batch "+id, "/"), Who: s.who(r), ID: id, Name: res.Name, Record: recordHref(id), Pictures: troublePictures(res)}
	for _, n := range res.Now {
		v.Now = append(v.Now, troubleNow{capital(string(n.What)), n.Lines})
	}
	for _, l := range res.Troubles {
		v.Written = append(v.Written, troubleWritten{l.Act, capital(string(l.What)), l.When, l.By, l.Note})
	}
	if res.Place != record.Free || res.PlaceWhy != "" {
		v.Place, v.PlaceWhy, v.Held = capital(strings.ToLower(app.SayPlace(res.Place))), capital(res.PlaceWhy), res.Place == record.OnHold
	}
	if res.Wash != nil {
		v.Wash = res.Wash.SayWash()
	}
	v.places(res)
	v.loss(res)
	for _, c := range res.Causes {
		what := capital(string(c.Trouble))
		if n := len(v.Causes); n == 0 || v.Causes[n-1].What != what {
			v.Causes = append(v.Causes, causeGroup{What: what})
		}
		g := &v.Causes[len(v.Causes)-1]
		g.List = append(g.List, causeView{capital(c.What), c.Look, c.Says(), len(c.Evidence) == 0})
	}
	for _, h := range res.OnHold {
		v.OnHold = append(v.OnHold, heldView{h.Batch, troubleHref(h.Batch), h.Name, h.Why})
	}
	for _, c := range res.Cautions {
		c.Text = strings.TrimSuffix(c.Text, ".") + "."
		v.Cautions = append(v.Cautions, cautionsOf([]app.Caution{c})...)
	}
	return v, nil
}

// troubleBegins shows the pictures for a boil of the plan that nobody has begun.
func (s *server) troubleBegins(r *http.Request, id string) (troubleView, error) {
	p, err := s.plan(r.Context(), app.PlanRequest{Date: id[:len(time.DateOnly)]})
	if err != nil {
		return troubleView{}, err
	}
	i := slices.IndexFunc(p.Batches, func(b app.Batch) bool { return b.ID == id })
	if i < 0 {
		return troubleView{}, errNoBatch()
	}
	return troubleView{Base: s.base(r, "Trouble, batch "+id, "/"), Who: s.who(r), ID: id, Name: p.Batches[i].Name, Pictures: troublePictures(nil)}, nil
}

func troublePictures(res *app.TroubleResult) []troublePicture {
	var out []troublePicture
	for _, t := range record.Troubles() {
		written := res != nil && slices.ContainsFunc(res.Troubles, func(l app.TroubleLine) bool { return l.What == t })
		out = append(out, troublePicture{string(t), capital(string(t)), strings.ReplaceAll(string(t), " ", "-"), written, app.ThirtySeconds(t)})
	}
	return out
}

// placeVerbs are what is pressed.
var placeVerbs = map[record.Place]string{record.OnHold: "Hold it", record.Reboiled: "Boil it again", record.Relabel: "Another label", record.Diverted: "Sell it as something else",
	record.Binned: "Throw it away", record.Free: "It may be used"}

func (v *troubleView) places(res *app.TroubleResult) {
	for _, o := range res.Options {
		p := placeView{string(o.As), placeVerbs[o.As], capital(o.Why), o.Reasons}
		switch {
		case o.As == record.OnHold && v.Held: // it is
		case o.Open:
			v.Open = append(v.Open, p)
		default:
			v.Closed = append(v.Closed, p)
		}
	}
}

func (v *troubleView) loss(res *app.TroubleResult) {
	l := res.Day
	if l == nil {
		v.Wait = troubleHref(v.ID) + "?wait#short"
		return
	}
	u := res.Units
	v.Known, v.NoShort, v.Remake = true, capital(l.Why), capital(l.Remake.Why)
	for _, x := range l.Short {
		v.Short = append(v.Short, lossView{x.Name, x.For, x.Must, figureOf(u.SayCount(x.Short, "bags")), figureOf(u.SayCount(x.Left, "bags")), x.Asked})
	}
	if !l.Remake.Until.IsZero() {
		v.Until, v.AtLeast = clock(l.Remake.Until), !l.Remake.Proved
	}
}

// postTrouble writes a trouble down, a wash, or what becomes of the batch.
func (s *server) postTrouble(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id := r.PathValue("id")
	err := s.writeTrouble(r, id)
	if err == nil {
		http.Redirect(w, r, troubleHref(id)+"?saved", http.StatusSeeOther)
		return nil
	}
	if !forForm(err) {
		return err
	}
	wrong := public(err)
	v, shown := s.troubleOf(r)
	if shown != nil {
		return err
	}
	v.Faults = faultLines(wrong)
	return s.render(w, status(wrong[0]), "trouble", v)
}

func (s *server) writeTrouble(r *http.Request, id string) error {
	var t app.Tap
	if err := s.readTrouble(r, id, r.PostForm, &t); err != nil {
		return err
	}
	who := s.who(r)
	switch {
	case t.Trouble != nil:
		return s.shop.Trouble(r.Context(), *t.Trouble, who, "")
	case t.Decide != nil:
		return s.shop.Decide(r.Context(), *t.Decide, who, "")
	}
	return s.shop.Washed(r.Context(), t.Washed, who, who)
}

// readTrouble reads what a form of the page asks for.
func (s *server) readTrouble(r *http.Request, id string, form url.Values, t *app.Tap) error {
	switch form.Get("act") {
	case "trouble":
		t.Trouble = &app.TroubleRequest{Batch: id, What: record.Trouble(form.Get("what"))}
		return nil
	case "washed":
		t.Washed = id
		return record.CheckID(id)
	case "decide":
		why := strings.Join(slices.DeleteFunc([]string{form.Get("why"), strings.TrimSpace(form.Get("note"))}, func(x string) bool { return x == "" }), "; ")
		t.Decide = &app.DecideRequest{Batch: id, As: record.Place(form.Get("as")), Why: why}
		if who := s.who(r); !visitorOf(r).role().May(access.Change) {
			return fault.Forbidden("%s may not decide what becomes of a batch", who).WithHint("a maker or the owner looks at it and decides")
		}
		return nil
	}
	return fault.Invalid("the form is not whole").WithHint("open the page again")
}

// placeTag says in a list what may be done with a batch that is not simply good.
func placeTag(p record.Place) string {
	if p == record.Free || p == "" {
		return ""
	}
	return strings.ToLower(app.SayPlace(p))
}
