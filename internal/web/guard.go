package web

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"slabside/internal/fault"
)

// mostBody is the largest body a form may send [bytes], unless its route says more.
const mostBody = 256 << 10

// contentPolicy lets a page use the site's own files and nothing else: no
// inline script, no inline style, no frame, no form to elsewhere.
const contentPolicy = "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'"

// guard wraps the site with what every request passes: the log, the net under
// panics, the headers, the check of the host and of the origin.
func (s *server) guard(next http.Handler) http.Handler {
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.showError(w, r, fault.Forbidden("this was sent from another site's page").WithHint("open the page here and send it again"))
	}))
	next = origin.Handler(next)
	next = s.limited(next)
	next = s.ownHost(next)
	next = headers(next)
	next = s.catch(next)
	return s.logged(next)
}

// ownHost refuses a request that was addressed to another name: a foreign name
// that resolves to this machine would otherwise read the pages.
func (s *server) ownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		if !s.in.answers(strings.Trim(host, "[]")) {
			s.showStatus(w, r, http.StatusMisdirectedRequest,
				fault.Forbidden("these pages do not answer to that name").WithHint("open the address that the program prints"))
			return
		}
		next.ServeHTTP(w, r)
	})
}

func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=()")
		next.ServeHTTP(w, r)
	})
}

// catch turns a panic of a handler into a page and a line of the log.
func (s *server) catch(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			v := recover()
			if v == nil {
				return
			}
			if err, ok := v.(error); ok && errors.Is(err, http.ErrAbortHandler) {
				panic(v)
			}
			s.log.Error("panic", "path", r.URL.Path, "value", fmt.Sprint(v), "stack", string(debug.Stack()))
			if rec, ok := w.(*recorder); ok && rec.status != 0 {
				return // the answer has begun; nothing true can be added
			}
			s.showStatus(w, r, http.StatusInternalServerError, errDefect(nil))
		}()
		next.ServeHTTP(w, r)
	})
}

func (s *server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		rec := &recorder{ResponseWriter: w}
		begin := time.Now()
		next.ServeHTTP(rec, r)
		s.log.Info("request", "method", r.Method, "path", r.URL.Path, "status", rec.status,
			"bytes", rec.bytes, "ms", time.Since(begin).Milliseconds())
	})
}

// recorder remembers what was answered.
type recorder struct {
	http.ResponseWriter
	status int
	bytes  int
}

func (r *recorder) WriteHeader(status int) {
	if r.status == 0 {
		r.status = status
	}
	r.ResponseWriter.WriteHeader(status)
}

func (r *recorder) Write(b []byte) (int, error) {
	if r.status == 0 {
		r.status = http.StatusOK
	}
	n, err := r.ResponseWriter.Write(b)
	r.bytes += n
	return n, err
}

// Unwrap lets http.ResponseController reach the connection.
func (r *recorder) Unwrap() http.ResponseWriter { return r.ResponseWriter }
