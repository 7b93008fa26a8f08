package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"slabside/internal/fault"
	"slabside/internal/record"
)

// How a stream lives: a beat tells that the program is there, and what its clock says; a
// stream ends after a while and is opened anew, so that who may see is asked again; a
// write that nobody takes ends it.
const (
	beatEvery    = 15 * time.Second
	streamLasts  = 10 * time.Minute
	streamWrites = 10 * time.Second
	mostStreams  = 200
)

// streams counts the streams that are open.
type streams struct {
	open  chan struct{}
	beat  time.Duration
	lasts time.Duration
}

func newStreams() *streams {
	return &streams{make(chan struct{}, mostStreams), beatEvery, streamLasts}
}

// closingKey is where a request's context keeps the channel that is closed when the
// program stops serving: a stream would hold it up.
type closingKey struct{}

func withClosing(ctx context.Context, closing <-chan struct{}) context.Context {
	return context.WithValue(ctx, closingKey{}, closing)
}

// slabNews is what a stream tells: where the record of the batch stands, and the time.
// The page then asks for what it shows.
type slabNews struct {
	Act int64 `json:"act"`
	Now int64 `json:"now"` // ms since 1970
}

// slabEvents tells a page at the slab that there is something new of its batch. The id of
// an event is the act up to which the record stands, so that a page that was away is told
// at once if anything was written meanwhile.
func (s *server) slabEvents(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("batch")
	if err := record.CheckID(id); err != nil {
		return errNotUnderWay(id)
	}
	ctx := r.Context()
	changed, err := s.shop.Changed(ctx, id) // before it is looked at: nothing falls between
	if err != nil {
		return err
	}
	written, err := s.shop.Written(ctx, id)
	if err != nil {
		return err
	}
	select {
	case s.streams.open <- struct{}{}:
		defer func() { <-s.streams.open }()
	default:
		return fault.Busy("too many pages are open at the slab").WithHint("close those that nobody looks at")
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	w.WriteHeader(http.StatusOK)
	if r.Method == http.MethodHead {
		return nil
	}
	c := http.NewResponseController(w)
	lasting := c.SetWriteDeadline(time.Time{}) == nil // else it is cut off as a page is
	out := &eventWriter{w: w, c: c, now: s.opt.Now}
	out.text("retry: 2000\n\n")
	seen, err := strconv.ParseInt(r.Header.Get("Last-Event-ID"), 10, 64)
	kind := "beat" // it has missed nothing
	if act := written.Through(); err != nil || seen != act {
		kind = "news"
	}
	out.event(kind, written.Through())
	if !lasting {
		return nil
	}
	s.follow(ctx, id, out, changed, written.Through())
	return nil
}

// follow tells what happens until the page goes, the stream has lasted, or the program
// stops serving.
func (s *server) follow(ctx context.Context, id string, out *eventWriter, changed <-chan struct{}, act int64) {
	beat, end := time.NewTicker(s.streams.beat), time.NewTimer(s.streams.lasts)
	defer beat.Stop()
	defer end.Stop()
	closing, _ := ctx.Value(closingKey{}).(<-chan struct{})
	for out.err == nil {
		select {
		case <-ctx.Done():
			return
		case <-closing:
			return
		case <-end.C:
			return
		case <-beat.C:
			out.event("beat", act)
		case <-changed:
			written, err := s.shop.Written(ctx, id)
			if err != nil {
				return // the page opens another and is told why
			}
			act = written.Through()
			out.event("news", act)
		}
	}
}

// eventWriter writes events and keeps the first fault.
type eventWriter struct {
	w   http.ResponseWriter
	c   *http.ResponseController
	now func() time.Time
	err error
}

func (e *eventWriter) event(kind string, act int64) {
	data, err := json.Marshal(slabNews{act, e.now().UnixMilli()})
	if err != nil {
		e.err = err
		return
	}
	e.text(fmt.Sprintf("id: %d\nevent: %s\ndata: %s\n\n", act, kind, data))
}

func (e *eventWriter) text(s string) {
	if e.err != nil {
		return
	}
	// The server's own limit is for pages; that of a stream runs from write to write.
	if err := e.c.SetWriteDeadline(time.Now().Add(streamWrites)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		e.err = err
		return
	}
	if _, e.err = e.w.Write([]byte(s)); e.err != nil {
		return
	}
	if err := e.c.Flush(); err != nil && !errors.Is(err, http.ErrNotSupported) {
		e.err = err
	}
}

func (s *server) getAtSlab(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	at, err := s.shop.AtSlab(c.Context(), c.PathValue("batch"), s.opt.Now())
	if err != nil {
		return nil, err
	}
	return at, nil
}
