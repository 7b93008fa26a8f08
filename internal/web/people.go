package web

import (
	"net/http"
	"strings"
	"time"

	"slabside/internal/access"
	"slabside/internal/fault"
)

// Network is what the pages on the shop's network say of themselves.
type Network struct {
	Address     string // of the pages, with https
	Door        string // of the page that hands out the certificate; empty: none
	Fingerprint string // of the certificate, to compare
}

// peopleView is who may do what: people, tablets, programs.
type peopleView struct {
	Base     base
	Open     bool // nobody has to sign in
	People   []personView
	Roles    []roleView
	First    access.Role // of who is added to nobody
	Least    int
	Most     int
	Tablets  []tabletView
	Tokens   []tokenView
	Programs []roleView // what a program may do
	Network  *Network
	Code     string // that pairs a tablet, shown once
	Until    string
	Token    string // for a program, shown once
	TokenOf  string
	Name     string // as typed
	Faults   []faultLine
}

type personView struct {
	ID, Name string
	Role     string
	Self     bool
	Roles    []roleView
}

type roleView struct {
	Role, Text string
	Chosen     bool
}

type tabletView struct{ ID, Name, Paired, Seen string }

type tokenView struct{ ID, Name, Role, Made, Used string }

// rolesOfPrograms are the roles of programs, that of readings once for any thermometer and
// once for each.
func (s *server) rolesOfPrograms(r *http.Request) []roleView {
	out := rolesFor(access.Helper)
	out = append(out, roleView{Role: string(access.Probe), Text: "probe: brings readings of any thermometer in, nothing else"})
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return out
	}
	for _, g := range b.Glasses {
		out = append(out, roleView{Role: string(access.Probe) + ":" + g.ID, Text: "probe: brings readings of " + or(g.Name, g.ID) + " in, nothing else"})
	}
	return out
}

// newToken makes the token that a form asks for.
func (s *server) newToken(r *http.Request) (string, error) {
	role, probe, _ := strings.Cut(r.PostForm.Get("role"), ":")
	if access.Role(role) == access.Probe {
		return s.shop.NewProbeToken(r.Context(), r.PostForm.Get("name"), probe, s.opt.Random)
	}
	return s.shop.NewToken(r.Context(), r.PostForm.Get("name"), access.Role(r.PostForm.Get("role")), s.opt.Random)
}

// roleTexts says what each role may do.
var roleTexts = map[access.Role]string{
	access.Owner: "everything", access.Maker: "the book and the day", access.Helper: "looks, prints, writes down what was done",
}

func rolesFor(chosen access.Role) (out []roleView) {
	for _, r := range access.Roles() {
		out = append(out, roleView{string(r), string(r) + ": " + roleTexts[r], r == chosen})
	}
	return out
}

func (s *server) peopleView(r *http.Request) (peopleView, error) {
	v := peopleView{Base: s.base(r, "People", "/people"), Least: access.LeastPIN, Most: access.MostPIN}
	if s.opt.Network != nil {
		n := s.opt.Network()
		v.Network = &n
	}
	st, err := s.shop.Access(r.Context())
	if err != nil {
		return v, err
	}
	loc := s.zone(r)
	v.Open = st.Open()
	v.Roles, v.First = rolesFor(access.Maker), access.Owner
	self := visitorOf(r).person
	for _, p := range st.People {
		v.People = append(v.People, personView{ID: p.ID, Name: p.Name, Role: string(p.Role), Self: self != nil && self.ID == p.ID, Roles: rolesFor(p.Role)})
	}
	for _, t := range st.Tablets {
		v.Tablets = append(v.Tablets, tabletView{t.ID, t.Name, onDay(t.Paired, loc), onDay(t.Seen, loc)})
	}
	v.Programs = s.rolesOfPrograms(r)
	for _, t := range st.Tokens {
		role := string(t.Role)
		if t.Probe != "" {
			role += " " + t.Probe
		}
		v.Tokens = append(v.Tokens, tokenView{t.ID, t.Name, role, onDay(t.Made, loc), onDay(t.Used, loc)})
	}
	return v, nil
}

// zone is the shop's time zone.
func (s *server) zone(r *http.Request) *time.Location {
	if b, _, err := s.shop.Book(r.Context()); err == nil {
		if loc, err := time.LoadLocation(b.Shop.TimeZone); err == nil {
			return loc
		}
	}
	return time.UTC
}

func (s *server) people(w http.ResponseWriter, r *http.Request) error {
	v, err := s.peopleView(r)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "people", v)
}

// postPeople does one thing to people, tablets or tokens. What is shown once, a
// code or a token, is shown in the answer itself.
func (s *server) postPeople(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	var code, token string
	var until time.Time
	ctx, form := r.Context(), r.PostForm
	err := func() (err error) {
		switch form.Get("act") {
		case "add":
			return s.shop.AddPerson(ctx, form.Get("name"), access.Role(form.Get("role")), form.Get("pin"), s.opt.Random)
		case "role":
			return s.shop.SetRole(ctx, form.Get("id"), access.Role(form.Get("role")))
		case "pin":
			return s.shop.SetPIN(ctx, form.Get("id"), form.Get("pin"), s.opt.Random)
		case "remove":
			return s.shop.RemovePerson(ctx, form.Get("id"))
		case "pair":
			code, until, err = s.shop.NewPairing(ctx, s.opt.Random)
			return err
		case "unpair":
			return s.shop.Unpair(ctx, form.Get("id"))
		case "token":
			token, err = s.newToken(r)
			return err
		case "untoken":
			return s.shop.RemoveToken(ctx, form.Get("id"))
		}
		return fault.Invalid("the form does not say what to do").WithHint("press one of the page's buttons")
	}()
	if err == nil && code == "" && token == "" {
		http.Redirect(w, r, "/people", http.StatusSeeOther)
		return nil
	}
	view := func(f []faultLine) (any, error) {
		v, err := s.peopleView(r)
		v.Faults, v.Name = f, form.Get("name")
		return v, err
	}
	if err != nil {
		return s.askAgain(w, err, "people", view)
	}
	v, err := s.peopleView(r)
	if err != nil {
		return err
	}
	v.Token, v.TokenOf = token, form.Get("name")
	if code != "" {
		v.Code, v.Until = code[:4]+" "+code[4:], clock(until.In(s.zone(r)))
	}
	return s.render(w, http.StatusOK, "people", v)
}
