package web

import (
	"bufio"
	"context"
	"encoding/json"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/shoptest"
	"slabside/internal/store/sqlite"
)

// streamed is one event of a stream.
type streamed struct {
	id, kind string
	slabNews
}

// stream opens the stream of a batch and reads events from it.
func stream(t *testing.T, root, batch, seen string) (next func() streamed, res *http.Response) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, root+"/slab/"+batch+"/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	if seen != "" {
		r.Header.Set("Last-Event-ID", seen)
	}
	if res, err = http.DefaultClient.Do(r); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { res.Body.Close() })
	lines := bufio.NewScanner(res.Body)
	return func() (e streamed) {
		t.Helper()
		for lines.Scan() {
			name, value, _ := strings.Cut(lines.Text(), ": ")
			switch name {
			case "id":
				e.id = value
			case "event":
				e.kind = value
			case "data":
				if err := json.Unmarshal([]byte(value), &e.slabNews); err != nil {
					t.Fatal(err)
				}
			case "":
				if e.kind != "" {
					return e
				}
			}
		}
		t.Fatalf("the stream has ended: %v", lines.Err())
		return e
	}, res
}

// streamSite is a site over a kept book with a batch that is begun, whose streams beat
// every so often.
func streamSite(t *testing.T, beat time.Duration) (*Site, *app.App, string) {
	t.Helper()
	k, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	a := app.New(k, shoptest.Now)
	if _, err := a.Import(t.Context(), shoptest.Book(), "test", "the sample shop"); err != nil {
		t.Fatal(err)
	}
	id, err := a.Begin(t.Context(), app.BeginRequest{Recipe: "pear-barrels"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	x := NewSite(a, fixtureOptions())
	x.streams.beat = beat
	return x, a, id
}

// A page is told where the record stands, of each act, and whether it has missed any.
func TestSlabStream(t *testing.T) {
	t.Parallel()
	x, a, id := streamSite(t, time.Hour)
	srv := serve(t, x.Local())
	next, res := stream(t, srv.URL, id, "")
	if got := res.Header.Get("Content-Type"); got != "text/event-stream" || res.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("it is %s, kept: %s", got, res.Header.Get("Cache-Control"))
	}
	first := next()
	if first.kind != "news" || first.id != itoa(first.Act) || first.Act == 0 || first.Now != fixtureNow().UnixMilli() {
		t.Errorf("at first it tells %+v", first)
	}
	for _, what := range []record.Happening{record.Lit, record.Boils} {
		if err := a.Enter(t.Context(), record.Entry{Batch: id, Moment: &record.Moment{What: what}}, 0, "Ada", ""); err != nil {
			t.Fatal(err)
		}
		e := next()
		if e.kind != "news" || e.Act != first.Act+1 || e.id != itoa(e.Act) {
			t.Errorf("of %q it tells %+v after %+v", what, e, first)
		}
		first = e
	}
	// A thermometer that tells by itself is told of too; the record stands where it stood.
	probe := app.ReadingPost{Probe: "glass", In: "kettle", Batch: id, At: shoptest.Now(), Value: 120}
	if _, err := a.AddReadings(t.Context(), []app.ReadingPost{probe}, reading.Posted, "logger"); err != nil {
		t.Fatal(err)
	}
	if e := next(); e.kind != "news" || e.Act != first.Act {
		t.Errorf("of a reading it tells %+v after %+v", e, first)
	}
	for seen, want := range map[string]string{itoa(first.Act): "beat", itoa(first.Act - 1): "news", "x": "news"} {
		again, _ := stream(t, srv.URL, id, seen)
		if e := again(); e.kind != want || e.Act != first.Act {
			t.Errorf("who has seen %s is told %+v, want %s", seen, e, want)
		}
	}
	for _, none := range []string{shoptest.Date + "-9", "x"} {
		res, err := http.Get(srv.URL + "/slab/" + none + "/events")
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != http.StatusNotFound {
			t.Errorf("of %s it answers %d", none, res.StatusCode)
		}
	}
}

// A stream outlives what the server grants a page, by its beats, and ends when it has
// lasted.
func TestSlabStream_Beats(t *testing.T) {
	t.Parallel()
	x, _, id := streamSite(t, 10*time.Millisecond)
	srv := httptest.NewUnstartedServer(x.Local())
	srv.Config.ReadTimeout, srv.Config.WriteTimeout = 100*time.Millisecond, 100*time.Millisecond
	srv.Start()
	t.Cleanup(srv.Close)
	next, _ := stream(t, srv.URL, id, "")
	for i := range 40 { // 400 ms at least
		if e := next(); (e.kind == "beat") != (i > 0) || e.Act == 0 {
			t.Fatalf("event %d: %+v", i, e)
		}
	}
	x, _, id = streamSite(t, 10*time.Millisecond)
	x.streams.lasts = 30 * time.Millisecond
	short := serve(t, x.Local())
	_, res := stream(t, short.URL, id, "")
	lines := bufio.NewScanner(res.Body)
	for lines.Scan() {
	}
	if lines.Err() != nil {
		t.Errorf("it is broken off: %v", lines.Err())
	}
}

// Only so many are open at once, and one that is closed makes room.
func TestSlabStream_Most(t *testing.T) {
	t.Parallel()
	x, _, id := streamSite(t, time.Hour)
	x.streams.open = make(chan struct{}, 1)
	srv := serve(t, x.Local())
	next, res := stream(t, srv.URL, id, "")
	next()
	_, busy := stream(t, srv.URL, id, "")
	if busy.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("the second answers %d", busy.StatusCode)
	}
	res.Body.Close()
	for range 500 {
		if len(x.streams.open) == 0 {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Error("a page that has gone still holds its place")
}

// An open stream does not hold up the program when it ends.
func TestServe_EndsStreams(t *testing.T) {
	t.Parallel()
	x, _, id := streamSite(t, time.Hour)
	ctx, stop := context.WithCancel(t.Context())
	ln, err := Listen(ctx, "127.0.0.1:0", true)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func(ln net.Listener) {
		done <- Serve(ctx, ln, x.Local(), slog.New(slog.DiscardHandler))
	}(ln)
	next, res := stream(t, "http://"+ln.Addr().String(), id, "")
	next()
	stop()
	if err := <-done; err != nil {
		t.Errorf("it ends with %v", err)
	}
	if _, err := res.Body.Read(make([]byte, 1)); err == nil {
		t.Error("the stream goes on")
	}
}
