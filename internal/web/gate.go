package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"time"

	"slabside/internal/access"
	"slabside/internal/fault"
)

// entrance is one way into the pages.
type entrance struct {
	network bool                   // over the shop's network, encrypted: tablets are paired
	answers func(host string) bool // to which names
	limits  *limits
}

// The cookies of a tablet and of a shift. On the network their names bind them to
// this host and to encryption, as RFC 6265bis has it.
func (e entrance) tabletCookie() string { return "__Host-slabside-tablet" }

func (e entrance) shiftCookie() string {
	if e.network {
		return "__Host-slabside-shift"
	}
	return "slabside-shift"
}

// tabletTime is how long a tablet stays paired without being seen.
const tabletTime = 365 * 24 * time.Hour

// setCookie hands out a secret; an empty one takes it back.
func (e entrance) setCookie(w http.ResponseWriter, name, secret string, lasts time.Duration) {
	c := &http.Cookie{Name: name, Value: secret, Path: "/", MaxAge: int(lasts.Seconds()), HttpOnly: true, Secure: e.network, SameSite: http.SameSiteStrictMode}
	if secret == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

func cookieOf(r *http.Request, name string) string {
	c, err := r.Cookie(name)
	if err != nil {
		return ""
	}
	return c.Value
}

// visitor is who asks.
type visitor struct {
	open   bool   // nobody has to sign in
	tablet string // id; access.Here on the machine itself; empty: not paired
	person *access.Person
	token  *access.Token
}

type visitorKey struct{}

func visitorOf(r *http.Request) visitor {
	v, _ := r.Context().Value(visitorKey{}).(visitor)
	return v
}

// role is what the visitor may do.
func (v visitor) role() access.Role {
	switch {
	case v.open:
		return access.Owner
	case v.token != nil:
		return v.token.Role
	case v.person != nil:
		return v.person.Role
	}
	return ""
}

// who names the visitor as one who changed something.
func (s *server) who(r *http.Request) string {
	switch v := visitorOf(r); {
	case v.person != nil:
		return v.person.Name
	case v.token != nil:
		return v.token.Name + " (program)"
	}
	return s.opt.Person
}

// admit finds out who asks and whether they may. Nil without an error: the answer
// was given.
func (s *server) admit(w http.ResponseWriter, r *http.Request, right access.Right) (*http.Request, error) {
	st, err := s.shop.Access(r.Context())
	if err != nil {
		return nil, err
	}
	v, err := s.recognise(w, r, &st)
	if err != nil {
		return nil, err
	}
	r = r.WithContext(context.WithValue(r.Context(), visitorKey{}, v))
	switch {
	case v.role().May(right):
		s.seen(r, &st, v)
		return r, nil
	case s.in.network && st.Open():
		return nil, fault.Forbidden("nobody can sign in yet").WithHint("open the pages on the machine itself and make an owner under People")
	case forProgram(r) && v.token == nil && v.person == nil:
		w.Header().Set("WWW-Authenticate", `Bearer realm="slabside"`)
		return nil, errUnknown("no token").WithHint("send one as Authorization: Bearer TOKEN; the owner makes them under People")
	case v.person != nil || v.token != nil:
		return nil, fault.Forbidden("%s may not do that", s.who(r)).WithHint("ask the owner of the book")
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		return nil, errUnknown("nobody is signed in; nothing was changed").WithHint("sign in on another page, then go back and send this again")
	}
	to := "/sign-in?next=" + url.QueryEscape(r.URL.RequestURI())
	if v.tablet == "" {
		to = "/pair"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil, nil
}

// recognise reads what a request brings: a token, a tablet's cookie, a shift's.
func (s *server) recognise(w http.ResponseWriter, r *http.Request, st *access.State) (visitor, error) {
	v := visitor{open: st.Open() && !s.in.network}
	if !s.in.network {
		v.tablet = access.Here
	} else if t := st.TabletOf(cookieOf(r, s.in.tabletCookie())); t != nil {
		v.tablet = t.ID
	}
	if given := r.Header.Get("Authorization"); given != "" && forProgram(r) {
		scheme, token, _ := strings.Cut(given, " ")
		if t := st.TokenOf(strings.TrimSpace(token)); t != nil && strings.EqualFold(scheme, "Bearer") {
			v.token = t
			return v, nil
		}
		w.Header().Set("WWW-Authenticate", `Bearer realm="slabside", error="invalid_token"`)
		return v, errUnknown("the token is not known").WithHint("it may have been taken back; the owner makes another under People")
	}
	shift := cookieOf(r, s.in.shiftCookie())
	if st.CarriedOff(shift, v.tablet) { // copied from its tablet: it ends everywhere
		if err := s.shop.SignOut(r.Context(), shift); err != nil {
			return v, err
		}
		s.in.setCookie(w, s.in.shiftCookie(), "", 0)
		s.log.Warn("a shift turned up at another tablet and was ended", "tablet", v.tablet)
		return v, nil
	}
	v.person = st.OnShift(shift, v.tablet, s.opt.Now())
	return v, nil
}

// seen notes, once an hour, that a tablet or a token is in use.
func (s *server) seen(r *http.Request, st *access.State, v visitor) {
	now := s.opt.Now()
	stale := v.token != nil && access.Stale(v.token.Used, now)
	token := ""
	if v.token != nil {
		token = v.token.ID
	}
	for _, t := range st.Tablets {
		stale = stale || t.ID == v.tablet && access.Stale(t.Seen, now)
	}
	if stale {
		if err := s.shop.Seen(r.Context(), v.tablet, token); err != nil {
			s.log.Warn("the use of a tablet or a token could not be noted", "error", err.Error())
		}
	}
}

// errUnknown is a fault of somebody who has not said who they are.
func errUnknown(text string) *fault.Error {
	return fault.Forbidden("%s", text).WithCause(errNotSignedIn)
}

// localPath returns an address of these pages that somebody was on the way to, and
// the making day for anything else.
func localPath(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.IsAbs() || u.Host != "" || u.User != nil || !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.ContainsAny(next, "\\\r\n\t") {
		return "/"
	}
	return u.RequestURI()
}
