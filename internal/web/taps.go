package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/packing"
	"slabside/internal/record"
	"slabside/internal/store"
)

// tapAnswer is what a page is told of a tap that it has sent.
type tapAnswer struct {
	Next  int64  `json:"next"`         // number of the tap that is waited for now
	To    string `json:"to,omitempty"` // address at which the page goes on; empty: where it is
	Noted bool   `json:"noted"`        // it could not be written as it was meant, and is kept as a note
	Text  string `json:"text,omitempty"`
	Hint  string `json:"hint,omitempty"`
	Field string `json:"field,omitempty"` // of the form
}

// postTap takes in a form that was tapped on a device: what it says, to which page it
// belongs, and its place among the device's taps. A page counts its taps and keeps each
// until it is answered, so that none is lost with the network and none done twice.
func (s *server) postTap(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	a := r.PostForm
	whole := func(name string) int64 {
		n, err := strconv.ParseInt(a.Get(name), 10, 64)
		if err != nil || n < 0 {
			return -1
		}
		return n
	}
	n, at, now := whole("n"), whole("at"), whole("now")
	form, err := url.ParseQuery(a.Get("form"))
	if err != nil || n < 1 || at < 0 || now < 0 {
		return fault.Invalid("that is no tap").WithHint("open the page again")
	}
	t := app.Tap{Tap: store.Tap{Device: a.Get("device"), N: n, Offset: s.opt.Now().Sub(time.UnixMilli(now)).Round(time.Millisecond)}, At: time.UnixMilli(at).UTC(), Late: a.Get("late") != ""}
	wrong, err := s.readTap(r, a.Get("to"), form, &t)
	if told(err) {
		wrong, err = public(err), nil
	}
	switch {
	case err != nil:
		return err
	case len(wrong) > 0 && !t.Late:
		return s.refuseTap(w, r, t, wrong[0])
	case len(wrong) > 0: // nobody can be asked any more
		why, _ := fault.Said(wrong[0])
		batch := ""
		if where, id, _ := strings.Cut(strings.TrimPrefix(a.Get("to"), "/"), "/"); where != "packing" && record.CheckID(id) == nil {
			batch = id
		}
		t.Missed = &app.Missed{Batch: batch, Why: why, Tried: fault.Clip(a.Get("form"), 3000)}
	}
	noted, err := s.shop.Tap(r.Context(), t, s.who(r))
	if told(err) {
		return s.refuseTap(w, r, t, err)
	}
	if err != nil {
		return err
	}
	out := tapAnswer{Noted: noted}
	if t.Pack != nil && t.Pack.Corrects == 0 && !noted { // on in the lot of that product, batches and date
		back := stationValues(form)
		back.Set("saved", count(int(t.Pack.Bags), "bag", "bags"))
		if t.Pack.Lot != "" {
			back.Set("lot", t.Pack.Lot)
		}
		out.To = "/packing?" + back.Encode()
	}
	return s.answerTap(w, r, http.StatusOK, t.Device, out)
}

// told reports whether a fault is the tap's own, which no waiting mends: the tablet is told
// and lets the tap go. Every other one may pass, and the tap waits.
func told(err error) bool {
	switch fault.KindOf(err) {
	case fault.KindInvalid, fault.KindConflict, fault.KindNotFound, fault.KindOutOfRange, fault.KindForbidden:
		return err != nil
	}
	return false
}

// readTap reads the form that was tapped as its page reads it.
func (s *server) readTap(r *http.Request, to string, form url.Values, t *app.Tap) (wrong app.Problems, err error) {
	where, id, _ := strings.Cut(strings.TrimPrefix(to, "/"), "/")
	if id, err = url.PathUnescape(id); err != nil {
		return nil, fault.Invalid("that is no tap").WithHint("open the page again")
	}
	switch where {
	case "weigh-in":
		t.Entry, t.Corrects, wrong, err = s.readWeighing(r, id, form)
	case "records":
		t.Entry, t.Corrects, wrong, err = s.readNoted(r, id, form)
		t.Why = strings.TrimSpace(form.Get("why"))
	case "slab":
		t.Entry, t.Corrects, wrong, err = s.readSlab(r, id, form)
	case "trouble":
		err = s.readTrouble(r, id, form, t)
	case "packing":
		wrong, err = s.readPackTap(r, id, form, t)
	default:
		err = fault.Invalid("that is no tap").WithHint("open the page again")
	}
	return wrong, err
}

// readPackTap reads what was tapped at the packing station, or of a ledger of the packing.
func (s *server) readPackTap(r *http.Request, id string, form url.Values, t *app.Tap) (app.Problems, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return nil, err
	}
	if id == "" {
		var wrong app.Problems
		t.Pack, t.Fill, wrong, err = readStation(&b, form)
		return wrong, err
	}
	if t.Corrects, err = correctsOf(form); err != nil {
		return nil, err
	}
	zone, err := time.LoadLocation(b.Shop.TimeZone)
	if err != nil {
		zone = time.UTC
	}
	if t.Why = strings.TrimSpace(form.Get("reason")); form.Get("act") == packing.Packing && t.Corrects != 0 {
		n := &noteReader{form: form, u: b.Shop.Units}
		t.Pack = &app.PackRequest{Lot: id, Bags: n.count("bags"), Corrects: t.Corrects}
		return n.wrong, nil
	}
	e, wrong, err := readPacked(r, &b, id, form, t.At.Add(t.Offset).In(zone).Format(time.DateOnly), t.Corrects)
	t.Packing = &e
	return wrong, err
}

// packTapFields leads from the fields of an entry of the packing to those of its forms.
var packTapFields = map[string]string{
	"packed.bags": "bags", "packed.best_before": "best", "packed.why": "why", "packed.weighed_mg": "weighed", "packed.of": "batch", "packed.product": "product",
	"moved.bags": "bags", "moved.to": "to", "moved.for": "for", "counted.bags": "bags", "taken.mass_mg": "mass", "taken.to": "to", "taken.for": "for", "left.found_mg": "mass",
	"filled.why": "why", "filled.of": "jar_batch",
}

// refuseTap says what is wrong with a tap whose page is there to be told.
func (s *server) refuseTap(w http.ResponseWriter, r *http.Request, t app.Tap, err error) error {
	out := tapAnswer{}
	text, hint := fault.Said(err)
	out.Text, out.Hint = sentence(text), sentence(hint)
	var f *fault.Error
	if errors.As(err, &f) {
		out.Field = or(weighField[f.Field], or(noteNames[f.Field], or(workNames[f.Field], or(slabFields[f.Field], or(packTapFields[f.Field], f.Field)))))
	}
	return s.answerTap(w, r, status(err), t.Device, out)
}

func (s *server) answerTap(w http.ResponseWriter, r *http.Request, code int, device string, out tapAnswer) error {
	last, err := s.shop.Tapped(r.Context(), device)
	if err != nil {
		return err
	}
	out.Next = last + 1
	text, err := json.Marshal(out)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	_, _ = w.Write(text)
	return nil
}
