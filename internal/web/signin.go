package web

import (
	"net/http"
	"time"

	"slabside/internal/access"
	"slabside/internal/fault"
)

// signInView asks who begins a shift.
type signInView struct {
	Base   base
	Open   bool // nobody has to
	People []personChoice
	Next   string
	Faults []faultLine
}

type personChoice struct {
	ID, Name string
	Chosen   bool
}

func (s *server) signInView(r *http.Request, st *access.State, chosen, next string) signInView {
	v := signInView{Base: s.base(r, "Sign in", ""), Open: st.Open(), Next: localPath(next)}
	for _, p := range st.People {
		v.People = append(v.People, personChoice{p.ID, p.Name, p.ID == chosen})
	}
	return v
}

// atTablet is the tablet a sign-in is for; an unpaired one is sent to be paired.
func (s *server) atTablet(w http.ResponseWriter, r *http.Request) (string, bool) {
	if v := visitorOf(r); v.tablet != "" {
		return v.tablet, true
	}
	http.Redirect(w, r, "/pair", http.StatusSeeOther)
	return "", false
}

func (s *server) signIn(w http.ResponseWriter, r *http.Request) error {
	if _, ok := s.atTablet(w, r); !ok {
		return nil
	}
	st, err := s.shop.Access(r.Context())
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "signin", s.signInView(r, &st, "", r.URL.Query().Get("next")))
}

func (s *server) postSignIn(w http.ResponseWriter, r *http.Request) error {
	tablet, ok := s.atTablet(w, r)
	if !ok {
		return nil
	}
	if err := parseForm(r); err != nil {
		return err
	}
	person, next := r.PostForm.Get("person"), r.PostForm.Get("next")
	secret, err := s.shop.SignIn(r.Context(), tablet, person, r.PostForm.Get("pin"), s.opt.Random)
	if err != nil {
		return s.askAgain(w, err, "signin", func(f []faultLine) (any, error) {
			st, err := s.shop.Access(r.Context())
			v := s.signInView(r, &st, person, next)
			v.Faults = f
			return v, err
		})
	}
	if old := cookieOf(r, s.in.shiftCookie()); old != "" { // the shift before ends with the new one
		if err := s.shop.SignOut(r.Context(), old); err != nil {
			return err
		}
	}
	s.in.setCookie(w, s.in.shiftCookie(), secret, access.ShiftTime)
	http.Redirect(w, r, localPath(next), http.StatusSeeOther)
	return nil
}

// askAgain shows a form again with what was wrong; other errors go on.
func (s *server) askAgain(w http.ResponseWriter, err error, page string, view func([]faultLine) (any, error)) error {
	switch fault.KindOf(err) {
	case fault.KindForbidden, fault.KindBusy, fault.KindInvalid, fault.KindConflict:
	default:
		return err
	}
	v, viewErr := view(faultLines(public(err)))
	if viewErr != nil {
		return viewErr
	}
	if fault.KindOf(err) == fault.KindBusy {
		w.Header().Set("Retry-After", "30")
	}
	return s.render(w, status(err), page, v)
}

func (s *server) postSignOut(w http.ResponseWriter, r *http.Request) error {
	if secret := cookieOf(r, s.in.shiftCookie()); secret != "" {
		if err := s.shop.SignOut(r.Context(), secret); err != nil {
			return err
		}
	}
	s.in.setCookie(w, s.in.shiftCookie(), "", 0)
	w.Header().Set("Clear-Site-Data", `"cache"`)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// pinView lets a person change the PIN.
type pinView struct {
	Base   base
	Least  int
	Most   int
	Faults []faultLine
	Nobody bool // is signed in
	Done   bool
}

func (s *server) pin(w http.ResponseWriter, r *http.Request) error {
	return s.render(w, http.StatusOK, "pin", pinView{Base: s.base(r, "Change the PIN", ""), Least: access.LeastPIN, Most: access.MostPIN,
		Nobody: visitorOf(r).person == nil, Done: r.URL.Query().Has("done")})
}

func (s *server) postPIN(w http.ResponseWriter, r *http.Request) error {
	v := visitorOf(r)
	if v.person == nil {
		return fault.Forbidden("nobody is signed in").WithHint("sign in first")
	}
	if err := parseForm(r); err != nil {
		return err
	}
	secret, err := s.shop.ChangePIN(r.Context(), v.tablet, v.person.ID, r.PostForm.Get("old"), r.PostForm.Get("pin"), s.opt.Random)
	if err != nil {
		return s.askAgain(w, err, "pin", func(f []faultLine) (any, error) {
			return pinView{Base: s.base(r, "Change the PIN", ""), Least: access.LeastPIN, Most: access.MostPIN, Faults: f}, nil
		})
	}
	s.in.setCookie(w, s.in.shiftCookie(), secret, access.ShiftTime)
	http.Redirect(w, r, "/pin?done", http.StatusSeeOther)
	return nil
}

// pairView asks for the code that pairs a tablet.
type pairView struct {
	Base   base
	Paired bool // it is already, or needs none
	Name   string
	Faults []faultLine
}

func (s *server) pair(w http.ResponseWriter, r *http.Request) error {
	return s.render(w, http.StatusOK, "pair", pairView{Base: s.base(r, "Pair this tablet", ""), Paired: visitorOf(r).tablet != ""})
}

func (s *server) postPair(w http.ResponseWriter, r *http.Request) error {
	if visitorOf(r).tablet != "" {
		http.Redirect(w, r, "/pair", http.StatusSeeOther)
		return nil
	}
	if err := parseForm(r); err != nil {
		return err
	}
	name := r.PostForm.Get("name")
	secret, err := s.shop.Pair(r.Context(), digitsOf(r.PostForm.Get("code")), name, s.opt.Random)
	if err != nil {
		return s.askAgain(w, err, "pair", func(f []faultLine) (any, error) {
			return pairView{Base: s.base(r, "Pair this tablet", ""), Name: name, Faults: f}, nil
		})
	}
	s.in.setCookie(w, s.in.tabletCookie(), secret, tabletTime)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// digitsOf leaves the digits of a code that was typed in groups.
func digitsOf(code string) string {
	var out []byte
	for i := 0; i < len(code) && len(out) < 20; i++ {
		if c := code[i]; c >= '0' && c <= '9' {
			out = append(out, c)
		}
	}
	return string(out)
}

// onDay is the day of a moment, in the shop's zone, for the lists of people and tablets.
func onDay(t time.Time, loc *time.Location) string {
	if t.IsZero() {
		return "never"
	}
	return t.In(loc).Format("2 January 2006")
}
