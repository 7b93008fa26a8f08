package web

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"syscall"
	"time"

	"slabside/internal/fault"
)

// How long the server waits. A plan may be searched for while a page waits, so
// writing is given more than reading.
const (
	readTimeout   = 15 * time.Second
	writeTimeout  = 3 * time.Minute
	planPatience  = time.Minute // a page may plan twice, before and after a change
	idleTimeout   = 2 * time.Minute
	shutdownGrace = 10 * time.Second
	mostHeader    = 32 << 10 // bytes
)

// Listen opens addr. A local one must be on the loopback interface: the pages there
// are not encrypted. Errors: Forbidden for another address, Busy for a port in use,
// Invalid for an address that cannot be read.
func Listen(ctx context.Context, addr string, local bool) (net.Listener, error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fault.Invalid("cannot listen on %q", addr).WithCause(err).WithHint("write host:port, such as 127.0.0.1:7373")
	}
	if local && !loopback(host) {
		return nil, fault.Forbidden("the pages are not served unencrypted on %q", addr).
			WithHint("use 127.0.0.1:%s, and --network to let paired tablets in", port)
	}
	var lc net.ListenConfig
	ln, err := lc.Listen(ctx, "tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fault.Busy("port %s is in use by another program", port).WithCause(err).WithHint("the pages may be open already: look at http://%s; or choose another port: --listen %s, with make: make run LISTEN=%s", addr, other(host, port), other(host, port))
	case errors.Is(err, syscall.EACCES):
		return nil, fault.Forbidden("port %s may not be used by this user", port).WithCause(err).WithHint("choose a port above 1023: --listen 127.0.0.1:7373, with make: make run LISTEN=127.0.0.1:7373")
	case err != nil:
		return nil, fault.Invalid("cannot listen on %q", addr).WithCause(err).WithHint("write host:port, such as 127.0.0.1:7373")
	}
	return ln, nil
}

// Pages is what a listener serves.
type Pages = http.Handler

// Serve serves h on an open listener until ctx ends and closes the listener.
func Serve(ctx context.Context, ln net.Listener, h http.Handler, log *slog.Logger) error {
	srv := &http.Server{
		Handler:           h,
		ReadTimeout:       readTimeout,
		ReadHeaderTimeout: readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    mostHeader,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	srv.BaseContext = func(net.Listener) context.Context {
		return withClosing(context.WithoutCancel(ctx), ctx.Done())
	}
	log.Info("serving", "address", ln.Addr().String())
	done := make(chan error, 1)
	go func() { done <- srv.Serve(ln) }()
	select {
	case err := <-done:
		return fault.Internal(err, "serve the pages")
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), shutdownGrace)
	defer cancel()
	if err := srv.Shutdown(grace); err != nil {
		_ = srv.Close()
		return fault.Busy("a page was still being made and was cut off").WithCause(err)
	}
	return nil
}

// other proposes the next port of a host.
func other(host, port string) string {
	n, err := strconv.Atoi(port)
	if err != nil || n >= 65535 {
		n = 7373
	}
	return net.JoinHostPort(host, strconv.Itoa(n+1))
}

// loopback reports whether a host name or address is this machine alone.
func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}
