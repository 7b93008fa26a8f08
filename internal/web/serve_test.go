package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"

	"slabside/internal/fault"
)

func TestListen_Refuses(t *testing.T) {
	t.Parallel()
	for addr, want := range map[string]fault.Kind{
		"0.0.0.0:0": fault.KindForbidden, ":7373": fault.KindForbidden, "192.0.2.1:80": fault.KindForbidden, "[::]:0": fault.KindForbidden,
		"shop.example:80": fault.KindForbidden, "7373": fault.KindInvalid, "127.0.0.1:notaport": fault.KindInvalid,
	} {
		ln, err := Listen(t.Context(), addr, true)
		if err == nil {
			_ = ln.Close()
			t.Errorf("%s was opened", addr)
			continue
		}
		if got := fault.KindOf(err); got != want {
			t.Errorf("%s: %v (%s), want %s", addr, err, got, want)
		}
	}
}

func TestServe_BusyAndShutdown(t *testing.T) {
	t.Parallel()
	log := slog.New(slog.DiscardHandler)
	site, _ := fixtureSite()
	ctx, cancel := context.WithCancel(t.Context())
	ln, err := Listen(ctx, "127.0.0.1:0", true)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, ln, site, log) }()

	_, err = Listen(ctx, ln.Addr().String(), true)
	if fault.KindOf(err) != fault.KindBusy || !strings.Contains(err.Error(), "--listen 127.0.0.1:") || !strings.Contains(err.Error(), "make run LISTEN=127.0.0.1:") {
		t.Errorf("the same port again: %v", err)
	}
	res, err := http.Get("http://" + ln.Addr().String() + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(res.Body)
	_ = res.Body.Close()
	if string(body) != "ok\n" {
		t.Errorf("answered %q", body)
	}
	cancel()
	if err := <-done; err != nil {
		t.Errorf("after the end: %v", err)
	}
}
