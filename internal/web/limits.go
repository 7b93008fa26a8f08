package web

import (
	"net"
	"net/http"
	"strconv"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"slabside/internal/fault"
)

// How much one address may ask: of everything, and of what can be guessed at, a
// PIN or a code.
const (
	usualRate  rate.Limit = 30 // a second
	usualBurst            = 150
	guessRate  rate.Limit = 0.5
	guessBurst            = 10

	mostAddresses = 2000
)

// limits counts what each address asks. When too many addresses are known the
// counts begin again: a shop has a few.
type limits struct {
	mu    sync.Mutex
	usual map[string]*rate.Limiter
	guess map[string]*rate.Limiter
}

func newLimits() *limits {
	return &limits{usual: map[string]*rate.Limiter{}, guess: map[string]*rate.Limiter{}}
}

// wait returns how long an address has to wait before it may ask, 0 if it may.
func (l *limits) wait(known map[string]*rate.Limiter, address string, r rate.Limit, burst int, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	b := known[address]
	if b == nil {
		if len(known) >= mostAddresses {
			clear(known)
		}
		b = rate.NewLimiter(r, burst)
		known[address] = b
	}
	if b.AllowN(now, 1) {
		return 0
	}
	return time.Duration(float64(time.Second) / float64(r))
}

// addressOf is the address a request came from. Nothing stands between a tablet
// and the program, so no header is believed.
func addressOf(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// limited refuses an address that asks too much. On the machine itself only
// guessing is limited.
func (s *server) limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var wait time.Duration
		l, now := s.in.limits, s.opt.Now()
		if s.in.network {
			wait = l.wait(l.usual, addressOf(r), usualRate, usualBurst, now)
		}
		if r.Method == http.MethodPost && (r.URL.Path == "/sign-in" || r.URL.Path == "/pair" || r.URL.Path == "/pin") {
			wait = max(wait, l.wait(l.guess, addressOf(r), guessRate, guessBurst, now))
		}
		if wait > 0 {
			w.Header().Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
			s.showStatus(w, r, http.StatusTooManyRequests, fault.Busy("that was asked too often").WithHint("wait a moment"))
			return
		}
		next.ServeHTTP(w, r)
	})
}
