package web

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// Slabber is what the pages at the slab need of the use cases.
type Slabber interface {
	// AtSlab returns a batch under way as it is followed beside kettle and slab.
	AtSlab(ctx context.Context, batch string, at time.Time) (app.AtSlab, error)
	// SlabBatches lists the batches that are under way.
	SlabBatches(ctx context.Context, at time.Time) ([]app.SlabLine, error)
	// Written returns what is written of a batch.
	Written(ctx context.Context, batch string) (record.Record, error)
	// Changed tells when something is written of a batch, until the context ends.
	Changed(ctx context.Context, batch string) (<-chan struct{}, error)
}

// slabsView lists the batches that are under way.
type slabsView struct {
	Base  base
	First *firstStep
	NowMS int64
	Zone  string
	Lines []slabTab
}

// slabTab is a batch under way, to go to.
type slabTab struct {
	ID, Name, Paint, Href string
	Verb, Stop            string // Verb is empty when all is done
	Due                   slabTime
	Loud                  bool
}

// slabTime is when a thing is due, for the clock of the page to count to.
type slabTime struct {
	MS   int64  // since 1970; 0: nobody can say
	At   string // time of day
	From string // of its range; empty: none
	To   string
	In   string // as it was when the page was made
}

// slabView is a batch beside kettle and slab: one verb, one clock.
type slabView struct {
	Base                  base
	ID, Name, Paint       string
	Href, Record, Trouble string
	Events                string
	Who, Zone, Clock      string
	NowMS, Act            int64
	Tabs                  []slabTab
	Blocked               bool // it may not be lit: not all is looked at
	Open                  []string
	Stop                  string
	Ended                 string // time of day
	Steps                 []slabStepView
	Done                  []slabDone
	DoneWhat              string // what is done, comma-separated
	Keys                  []slabKey
	Undo                  *slabDone
	Live                  *slabLiveView
	Why                   string
	Read                  slabReadView
	Readings              []slabReadRow
	Cautions              []cautionView
	Pictures              []troublePicture
	Grave                 []string // said beside the pictures while nobody hears
	Faults                []faultLine
	Saved                 bool
	Lost                  slabLost
}

// slabStepView is a thing to be done, on a panel of its own.
type slabStepView struct {
	N              int
	Tap            string
	Verb, Do, Look string
	Due            slabTime
	Until          slabTime
	Basis          string
	Value, On, Of  string // "154.5 °C", "on this glass"
	Loud, Shown    bool
	LateMS         int64 // end of the range; 0: none
	Then           *slabTab
	Cautions       []cautionView
}

// Long reports whether the word of the step is one of several.
func (v slabStepView) Long() bool { return utf8.RuneCountInString(v.Verb) > 7 }

// Wide reports whether the figure has more than a number of four digits.
func (v slabStepView) Wide() bool { return utf8.RuneCountInString(v.Value) > 8 }

// slabDone is a thing that was done.
type slabDone struct {
	What, Says, At string
}

// slabLost is when a thermometer that tells by itself was heard last.
type slabLost struct {
	Last, Gap int64  // of its readings [ms since 1970; ms]; 0: none tells by itself
	Since     string // time of day, when it is silent for too long; empty: it is not
}

// slabKey is a key for what happens when it happens, between two steps.
type slabKey struct {
	What, Says    string
	After, Before string // what must be done and what must not be; Before may be empty
	Shown         bool
}

// slabLiveView is what is foreseen.
type slabLiveView struct {
	State, Mark   string
	Say, Advice   string
	Now           figure
	Known         bool
	From, To      string // temperatures of the rolling band
	Opens, Closes slabTime
	Fits          string
	Basis         string
	Matters       []string
	Strip         *slabStrip
	Curve         *slabCurve
}

func slabHref(id string) string { return "/slab/" + url.PathEscape(id) }

// zoneOf is the book's time zone; that of the machine is nobody's.
func zoneOf(b *book.Book) *time.Location {
	if loc, err := time.LoadLocation(b.Shop.TimeZone); err == nil {
		return loc
	}
	return time.UTC
}

// slabs lists the batches under way; the only one is shown at once.
func (s *server) slabs(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "slabs", slabsView{Base: frame("At the slab", "/slab"), First: noBook()})
	}
	if err != nil {
		return err
	}
	now := s.opt.Now()
	list, err := s.shop.SlabBatches(r.Context(), now)
	if err != nil {
		return err
	}
	if len(list) == 1 {
		http.Redirect(w, r, slabHref(list[0].Batch), http.StatusSeeOther)
		return nil
	}
	v := slabsView{Base: s.base(r, "At the slab", "/slab"), NowMS: now.UnixMilli(), Zone: zoneOf(&b).String(), Lines: slabTabs(list, now, zoneOf(&b))}
	if len(list) == 0 {
		v.First = &firstStep{Text: "No batch is under way. Begin one of the day’s boils: weigh it in, look at what is looked at before the flame, and it stands here.", Href: "/weigh-in", Do: "Begin one of the day"}
	}
	return s.render(w, http.StatusOK, "slabs", v)
}

func slabTabs(list []app.SlabLine, now time.Time, loc *time.Location) []slabTab {
	var out []slabTab
	for _, l := range list {
		t := slabTab{ID: l.Batch, Name: l.Name, Paint: l.Paint, Href: slabHref(l.Batch), Stop: l.Stop}
		if l.Step != nil {
			t.Verb, t.Due, t.Loud = l.Step.Verb, slabDue(*l.Step, now, loc), l.Step.Loud
		}
		out = append(out, t)
	}
	return out
}

// slabDue says when a step is due and how far that can be out.
func slabDue(x app.SlabStep, now time.Time, loc *time.Location) slabTime {
	d := slabTimeOf(x.Due, now, loc)
	if x.Due == nil || x.Early == nil || x.Late == nil {
		return d
	}
	if from, to := clock(x.Early.In(loc)), clock(x.Late.In(loc)); from != to {
		d.From, d.To = from, to
	}
	return d
}

func slabTimeOf(t *time.Time, now time.Time, loc *time.Location) slabTime {
	if t == nil {
		return slabTime{}
	}
	return slabTime{MS: t.UnixMilli(), At: clock(t.In(loc)), In: untilWords(t.Sub(now))}
}

// untilWords says how long it is until a time, or how long it is past.
func untilWords(d time.Duration) string {
	late := d < 0
	s := int(d.Abs().Round(time.Second) / time.Second)
	text := fmt.Sprintf("%d:%02d", s/60, s%60)
	if s >= 3600 {
		text = fmt.Sprintf("%d h %02d", s/3600, s/60%60)
	}
	if late {
		return text + " late"
	}
	return "in " + text
}

func (s *server) slab(w http.ResponseWriter, r *http.Request) error {
	v, err := s.slabOf(r, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "slab", v)
}

// slabOf shows a batch at the slab; what was typed and refused stands in the form of the
// reading.
func (s *server) slabOf(r *http.Request, typed url.Values) (slabView, error) {
	id := r.PathValue("batch")
	if err := record.CheckID(id); err != nil {
		return slabView{}, errNotUnderWay(id)
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return slabView{}, err
	}
	now, loc := s.opt.Now(), zoneOf(&b)
	at, err := s.shop.AtSlab(r.Context(), id, now)
	if err != nil {
		return slabView{}, err
	}
	written, err := s.shop.Written(r.Context(), id)
	if err != nil {
		return slabView{}, err
	}
	v := slabView{Base: s.base(r, capital(at.Name)+" at the slab", "/slab"), ID: id, Name: at.Name, Paint: at.Paint, Href: slabHref(id), Record: recordHref(id), Trouble: troubleHref(id), Events: slabHref(id) + "/events",
		Who: s.who(r), Zone: loc.String(), Clock: clock(now.In(loc)), NowMS: now.UnixMilli(), Act: written.Through(), Stop: at.Stop, Why: at.Why, Cautions: sentencesOf(at.Cautions)}
	if list, err := s.shop.SlabBatches(r.Context(), now); err == nil { // without it, this one is still there
		v.Tabs = slices.DeleteFunc(slabTabs(list, now, loc), func(t slabTab) bool { return t.ID == id })
	}
	if at.Ended != nil {
		v.Ended = clock(at.Ended.In(loc))
	}
	v.steps(&at, now, loc)
	v.done(&at, written, loc)
	if at.Live != nil {
		v.Live = slabLive(&at, b.Shop.Units, now, loc)
	}
	v.Lost = lostOf(&at, now, loc)
	v.reading(&at, b.Shop.Units, now, loc, typed)
	v.Pictures, v.Grave = troublePictures(nil), []string{caution.Text(caution.HotSugar), caution.Text(caution.Burns)}
	return v, nil
}

func errNotUnderWay(id string) error {
	return fault.NotFound("no batch %q is begun", fault.Clip(id, fault.Echo)).WithHint("begin it on the page Weigh-in, or choose it under At the slab")
}

// steps lays out what is still to be done, a panel each, and the keys beside it.
func (v *slabView) steps(at *app.AtSlab, now time.Time, loc *time.Location) {
	begun := slices.ContainsFunc(at.Steps, func(x app.SlabStep) bool { return x.DoneAt != nil })
	v.Blocked, v.Open = !at.Ready && !begun && at.Ended == nil, at.Open
	if at.Ended != nil {
		return
	}
	for i := at.Next; i < len(at.Steps); i++ {
		x := at.Steps[i]
		p := slabStepView{N: i, Tap: string(x.Tap), Verb: x.Verb, Do: sentence(x.Do), Look: sentence(x.Look), Due: slabDue(x, now, loc), Until: slabTimeOf(x.Until, now, loc), Basis: x.Basis, Of: x.Of,
			Loud: x.Loud, Shown: i == at.Next && !v.Blocked, Cautions: sentencesOf(x.Cautions)}
		if x.Late != nil {
			p.LateMS = x.Late.UnixMilli()
		}
		p.Value, p.On = cutFigure(x.Figure)
		if i+1 < len(at.Steps) {
			n := at.Steps[i+1]
			p.Then = &slabTab{Verb: n.Verb, Due: slabDue(n, now, loc)}
		}
		v.Steps = append(v.Steps, p)
	}
}

// theFigure is the number of a figure with its unit, before the words that go with it.
var theFigure = regexp.MustCompile(`^([\d.,–]+) (%|°C|°F|kg|g|lb|oz|min)(?: (.*))?$`)

// cutFigure parts a figure into what is set large and what is said of it.
func cutFigure(s string) (value, on string) {
	m := theFigure.FindStringSubmatch(s)
	if m == nil {
		return s, ""
	}
	return m[1] + "\u00a0" + m[2], m[3]
}

// early are the keys for what nobody can foresee to the minute, each between two of the
// happenings.
var early = []slabKey{
	{What: string(record.EdgeUp), Says: "Edge lifts", After: string(record.Poured), Before: string(record.FirstSheet)},
	{What: string(record.Sticks), Says: "It sticks", After: string(record.Poured), Before: string(record.LastSheet)},
	{What: string(record.Cracked), Says: "It cracks", After: string(record.Poured), Before: string(record.LastSheet)},
}

// done lays out what was done, the last of it to be taken back, and the keys that what
// is done opens.
func (v *slabView) done(at *app.AtSlab, r record.Record, loc *time.Location) {
	is := map[string]bool{}
	for _, x := range at.Steps {
		is[string(x.Tap)] = x.DoneAt != nil
	}
	var last record.Kept
	for _, k := range r.Moments() {
		is[string(k.Moment.What)] = true
		if k.Moment.What != record.Looked {
			v.Done = append(v.Done, slabDone{string(k.Moment.What), capital(app.MomentName(k.Moment.What)), k.At.In(loc).Format("15:04:05")})
		}
		if k.Act > last.Act {
			last = k
		}
	}
	if last.Act != 0 {
		v.Undo = &slabDone{string(last.Moment.What), slabVerb(at, last.Moment.What), clock(last.At.In(loc))}
	}
	var what []string
	for _, h := range record.Happenings() {
		if is[string(h)] {
			what = append(what, string(h))
		}
	}
	v.DoneWhat = strings.Join(what, ",")
	for _, k := range early {
		k.Shown = is[k.After] && !is[k.Before] && at.Ended == nil
		v.Keys = append(v.Keys, k)
	}
}

// slabVerb is the word of a happening on this page: its step's, or what happened.
func slabVerb(at *app.AtSlab, h record.Happening) string {
	i := slices.IndexFunc(at.Steps, func(x app.SlabStep) bool { return x.Tap == h })
	if i < 0 {
		return app.MomentName(h)
	}
	return at.Steps[i].Verb
}

// slabMarks are the shapes beside the states, which are told apart without colour.
var slabMarks = map[string]string{"too soft": "soft", "in condition": "good", "gone short": "short"}

func slabLive(at *app.AtSlab, u q.Reader, now time.Time, loc *time.Location) *slabLiveView {
	l := at.Live
	v := &slabLiveView{State: l.State, Mark: slabMarks[l.State], Say: l.Say, Advice: l.Advice, From: u.Temperature(q.Celsius(l.RollFromC), 0), To: u.Temperature(q.Celsius(l.RollToC), 0),
		Opens: slabTimeOf(l.Opens, now, loc), Closes: slabTimeOf(l.Closes, now, loc), Basis: l.Basis, Matters: l.Matters}
	if l.Fits > 0 {
		v.Fits = u.SayChance(q.Fraction(l.Fits), 0)
	}
	if l.NowC != nil {
		text := u.Temperature(q.Celsius(*l.NowC), 0)
		if l.LowC != nil && l.HighC != nil {
			text = u.SayTemperature(q.Estimate{Value: float64(*l.NowC), Low: float64(*l.LowC), High: float64(*l.HighC), Basis: q.Estimated}, 0)
		}
		v.Now, v.Known = figureOf(text), true
	}
	v.Strip = drawStrip(l, now)
	v.Curve = drawSlab(at, u, now, loc)
	return v
}

// slabReadView is the form of a reading, on steppers.
type slabReadView struct {
	Spots   []slabSpot
	Glasses []slabGlass
	Unit    string
	Value   string
	Mark    string // for decimals
	Step    string // of the first glass
	Fault   *faultLine
}

// Many reports whether it is asked which glass is read.
func (v slabReadView) Many() bool { return len(v.Glasses) > 1 }

type slabSpot struct {
	Value, Says string
	Chosen      bool
	Start       string // what the stepper begins at there
}

type slabGlass struct {
	ID, Name, Step string
	Chosen         bool
}

type slabReadRow struct{ At, Where, Glass, Read, True string }

// spotWords say where a thermometer is read.
var spotWords = map[record.Spot]string{record.AtKettle: "in the kettle", record.AtSlab: "on the slab", record.AtSheet: "a sheet"}

// noReading is where the stepper begins when nothing is known of the batch [°C]: about
// where syrup comes to the boil.
const noReading = 105

// reading lays out the form of a reading and those that were taken.
func (v *slabView) reading(at *app.AtSlab, u q.Reader, now time.Time, loc *time.Location, typed url.Values) {
	deg, _ := unitsOf(u)
	f := slabReadView{Unit: deg, Mark: or(string(u.Decimal()), ".")}
	step, dec := 1.0, 0
	for i, g := range at.Glasses {
		k := float64(g.Step)
		if u.US() {
			k *= 9.0 / 5
		}
		if k <= 0 {
			k = 1
		}
		if i == 0 {
			step, dec = k, 1
		}
		f.Glasses = append(f.Glasses, slabGlass{g.ID, g.Name, u.With(q.Point).Digits(k, 3), i == 0})
	}
	f.Step = u.With(q.Point).Digits(step, 3)
	poured := slices.ContainsFunc(at.Steps, func(x app.SlabStep) bool { return x.Tap == record.Poured && x.DoneAt != nil })
	where := record.AtKettle
	if poured {
		where = record.AtSlab
	}
	show := func(c float64) string {
		if u.US() {
			c = q.Celsius(c).Fahrenheit()
		}
		return u.Number(math.Round(c/step)*step, dec)
	}
	for _, spot := range record.Spots() {
		f.Spots = append(f.Spots, slabSpot{string(spot), capital(spotWords[spot]), spot == where, show(slabStart(at, spot, now))})
		if spot == where {
			f.Value = f.Spots[len(f.Spots)-1].Start
		}
	}
	if typed != nil {
		f.Value = typed.Get("read")
		for i := range f.Spots {
			f.Spots[i].Chosen = f.Spots[i].Value == typed.Get("at")
		}
	}
	v.Read = f
	names := map[string]string{}
	for _, g := range at.Glasses {
		names[g.ID] = g.Name
	}
	for _, x := range slices.Backward(at.Readings) {
		v.Readings = append(v.Readings, slabReadRow{x.At.In(loc).Format("15:04:05"), spotWords[x.Where], or(names[x.Glass], x.Glass), u.Temperature(q.Celsius(x.C), 1), u.Temperature(q.Celsius(x.TrueC), 1)})
	}
}

// How often a thermometer that tells by itself tells at least, and how many of its gaps
// pass before it counts as lost.
const (
	tellsEvery = time.Minute
	tellsTell  = 4 // readings, to know it by
	lostAfter  = 4 // gaps
)

// lostOf says whether a thermometer that told by itself has fallen silent.
func lostOf(at *app.AtSlab, now time.Time, loc *time.Location) slabLost {
	n := len(at.Readings)
	if n < tellsTell || at.Ended != nil {
		return slabLost{}
	}
	when := make([]time.Time, n)
	for i, x := range at.Readings {
		when[i] = x.At
	}
	slices.SortFunc(when, time.Time.Compare)
	last := when[n-1]
	gap := last.Sub(when[n-tellsTell]) / (tellsTell - 1)
	if gap <= 0 || gap > tellsEvery {
		return slabLost{}
	}
	gap = max(lostAfter*gap, tellsEvery)
	l := slabLost{Last: last.UnixMilli(), Gap: gap.Milliseconds()}
	if now.Sub(last) > gap {
		l.Since = clock(last.In(loc))
	}
	return l
}

// slabStart is what a thermometer would be expected to read at a place [°C]: as foreseen,
// or else as it read there last.
func slabStart(at *app.AtSlab, spot record.Spot, now time.Time) float64 {
	var last *app.SlabReading
	for i := range at.Readings {
		if x := &at.Readings[i]; x.Where == spot && (last == nil || x.At.After(last.At)) {
			last = x
		}
	}
	switch l := at.Live; {
	case l != nil && l.NowC != nil && spot != record.AtKettle:
		return float64(*l.NowC)
	case last != nil:
		return float64(last.C)
	case l != nil && len(l.Curve) > 0:
		i := slices.IndexFunc(l.Curve, func(p app.SlabPoint) bool { return p.At.After(now) })
		if i < 0 {
			i = len(l.Curve) - 1
		}
		return float64(l.Curve[i].C)
	}
	return noReading
}

// postSlab takes in what is tapped where there is no script.
func (s *server) postSlab(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id := r.PathValue("batch")
	e, corrects, wrong, err := s.readSlab(r, id, r.PostForm)
	if err != nil {
		return err
	}
	if len(wrong) == 0 {
		err := s.shop.Enter(r.Context(), e, corrects, s.who(r), "")
		if err == nil {
			http.Redirect(w, r, slabHref(id)+"?saved", http.StatusSeeOther)
			return nil
		}
		if !forForm(err) {
			return err
		}
		wrong = public(err)
	}
	typed := r.PostForm
	if typed.Get("what") != string(record.Looked) {
		typed = nil
	}
	v, err := s.slabOf(r, typed)
	if err != nil {
		return err
	}
	lines := faultLines(wrong)
	if typed != nil && slabFields[lines[0].Field] == "read" || lines[0].Field == "read" {
		v.Read.Fault, lines = &lines[0], lines[1:]
	}
	v.Faults = lines
	return s.render(w, status(wrong[0]), "slab", v)
}

// slabFields leads from the fields of a moment to those of its form.
var slabFields = map[string]string{"moment.read_c": "read", "moment.at": "at", "moment.what": "what"}

// readSlab reads what a form of this page says: that something happened, a reading, or
// that the last of a happening is taken back. What is taken back is found by what it is,
// so that it can be done before the tablet has heard that it was written.
func (s *server) readSlab(r *http.Request, id string, form url.Values) (e record.Entry, corrects int64, wrong app.Problems, err error) {
	e = record.Entry{Batch: id}
	if err := record.CheckID(id); err != nil {
		return e, 0, nil, errNotUnderWay(id)
	}
	what := record.Happening(form.Get("what"))
	if form.Get("act") == "back" {
		written, err := s.shop.Written(r.Context(), id)
		if err != nil {
			return e, 0, nil, err
		}
		of := slices.DeleteFunc(written.Moments(), func(k record.Kept) bool { return k.Moment.What != what })
		if len(of) == 0 {
			return e, 0, app.Problems{fault.Conflict("nothing of that is written of batch %s", id).WithHint("look at its record")}, nil
		}
		return e, slices.MaxFunc(of, func(a, b record.Kept) int { return cmp.Compare(a.Act, b.Act) }).Act, nil, nil
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return e, 0, nil, err
	}
	m := &record.Moment{What: what}
	if what == record.Looked {
		n := &noteReader{form: form, u: b.Shop.Units}
		deg, _ := unitsOf(n.u)
		m.ReadC, m.At, m.Glass = float64(of(n, "read", deg, q.ParseTemperature)), record.Spot(form.Get("at")), form.Get("glass")
		if wrong = n.wrong; len(wrong) == 0 && strings.TrimSpace(form.Get("read")) == "" {
			wrong = app.Problems{fault.Invalid("no reading is typed").At("read").WithHint("write what the thermometer shows")}
		}
	}
	e.Moment = m
	if err := e.Check(); err != nil && len(wrong) == 0 {
		wrong = public(err)
	}
	return e, 0, wrong, nil
}
