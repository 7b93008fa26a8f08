package web

import (
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/reading"
)

// mostLogUpload is the largest body of the page that takes a logger's file [bytes]: a new
// file beside the text of the one before.
const mostLogUpload = 2*reading.MostFile + 1<<20

// mostDrawn is how many readings of a thermometer are drawn and stand in its table, and
// mostOfDay how many of a day are looked through.
const (
	mostDrawn = 120
	mostOfDay = 100_000
)

// readingsView is the page of readings: of a batch or of a day, and a logger's file that is
// brought in.
type readingsView struct {
	Base     base
	First    *firstStep
	Batch    string
	On       string
	Probes   []option
	Saved    string
	Lines    []readingsLine
	Cautions []cautionView
	File     loggerForm
	Faults   []faultLine
}

// readingsLine is what one thermometer showed at one place.
type readingsLine struct {
	ID    string // of its heading
	Name  string
	Count string
	Curve *curve // nil: of one reading
	Rows  []readingRow
	Some  bool // not all stand in the table
}

type readingRow struct {
	At, Shown, Batch, From string
	Aside                  bool
}

// loggerForm is the form of a logger's file with what it was taken for.
type loggerForm struct {
	Open                                 bool
	Batch                                string
	Probes, Places, Units, Dates, Passes []option
	Time, Value, Zone                    string
	Text                                 string // of the file that was shown
	Shown                                string // what was shown, in short
	Preview                              *loggerView
}

// loggerView is what a file is taken for.
type loggerView struct {
	Facts []pair
	Notes []string
	Rows  []readingRow
	Line  string // what becomes of it
	Doubt bool   // it ends in a question
}

// readings shows the readings of a batch or of a day.
func (s *server) readings(w http.ResponseWriter, r *http.Request) error {
	v, err := s.readingsOf(r, r.URL.Query())
	if err != nil {
		return err
	}
	if n := r.URL.Query().Get("saved"); n != "" {
		v.Saved = fault.Clip(n, 20)
	}
	return s.render(w, http.StatusOK, "readings", v)
}

// readingsOf fills the page for what is asked for.
func (s *server) readingsOf(r *http.Request, ask url.Values) (readingsView, error) {
	v := readingsView{Base: s.base(r, "Readings of thermometers", "/records"), Batch: ask.Get("batch"), On: ask.Get("on")}
	b, _, err := s.shop.Book(r.Context())
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		v.First = noBook()
		return v, nil
	}
	if err != nil {
		return v, err
	}
	v.On = or(v.On, s.shop.Today(b))
	probe := ask.Get("probe")
	v.Probes = append([]option{{"", "any", probe == ""}}, glassOptions(b, probe)...)
	v.File = newLoggerForm(b, ask)
	res, err := s.askReadings(r, b, v, probe)
	if err != nil {
		return v, err
	}
	v.Lines = readingLines(res)
	if n := mostOfDay; len(res.Readings) >= n {
		v.Cautions = append(v.Cautions, cautionView{Text: fmt.Sprintf("Only the first %d readings are looked through here.", n)})
	}
	for _, c := range res.Cautions {
		v.Cautions = append(v.Cautions, cautionView{Text: sentence(c.Text) + "."})
	}
	return v, nil
}

// askReadings asks for the readings of the page.
func (s *server) askReadings(r *http.Request, b book.Book, v readingsView, probe string) (*app.ReadingsResult, error) {
	if v.Batch != "" {
		res, err := s.shop.ReadingsOf(r.Context(), v.Batch, time.Time{})
		if err == nil && probe != "" {
			res.Readings = slices.DeleteFunc(res.Readings, func(x app.ReadingLine) bool { return x.Probe != probe })
		}
		return res, err
	}
	zone, err := time.LoadLocation(b.Shop.TimeZone)
	if err != nil {
		zone = time.UTC
	}
	day, err := time.Parse(time.DateOnly, v.On)
	if err != nil {
		return nil, fault.Invalid("%q is no date", fault.Clip(v.On, fault.Echo)).At("on").WithHint("choose a day")
	}
	req := app.ReadingQuery{Probe: probe, Limit: 5000}
	if req.From, err = app.ParseMoment("on", v.On, zone); err == nil {
		req.To, err = app.ParseMoment("on", day.AddDate(0, 0, 1).Format(time.DateOnly), zone)
	}
	if err != nil {
		return nil, err
	}
	var all *app.ReadingsResult
	for {
		page, err := s.shop.Readings(r.Context(), req)
		if err != nil {
			return nil, err
		}
		if all == nil {
			all = page
		} else {
			all.Readings = append(all.Readings, page.Readings...)
		}
		if req.After = page.Next; req.After == "" || len(all.Readings) >= mostOfDay {
			return all, nil
		}
	}
}

func glassOptions(b book.Book, chosen string) (out []option) {
	for _, g := range b.Glasses {
		out = append(out, option{g.ID, or(g.Name, g.ID), g.ID == chosen})
	}
	return out
}

// readingLines sorts readings by thermometer and place, in the order of the places.
func readingLines(res *app.ReadingsResult) (out []readingsLine) {
	type key struct {
		in    reading.Place
		probe string
	}
	by := map[key][]app.ReadingLine{}
	for _, x := range res.Readings {
		k := key{x.In, x.Probe}
		by[k] = append(by[k], x)
	}
	for _, p := range reading.Places() {
		var probes []string
		for k := range by {
			if k.in == p {
				probes = append(probes, k.probe)
			}
		}
		slices.Sort(probes)
		for _, probe := range probes {
			out = append(out, readingsLineOf(len(out), by[key{p, probe}], res.Units))
		}
	}
	return out
}

func readingsLineOf(i int, list []app.ReadingLine, u q.Reader) readingsLine {
	name := strings.ToUpper(string(list[0].In[:1])) + string(list[0].In[1:]) + ": " + list[0].Name
	line := readingsLine{ID: fmt.Sprintf("line-%d", i), Name: name, Count: count(len(list), "reading", "readings")}
	standing := slices.DeleteFunc(slices.Clone(list), func(x app.ReadingLine) bool { return x.SetAside > 0 })
	drawn := thinned(standing, mostDrawn)
	line.Some = len(drawn) < len(standing)
	if n := len(list) - len(standing); n > 0 {
		line.Count += fmt.Sprintf(", %d of them set aside", n)
	}
	degrees, unit := func(c float64) float64 { return c }, "°C"
	if u.US() {
		degrees, unit = func(c float64) float64 { return q.Celsius(c).Fahrenheit() }, "°F"
	}
	var points []curvePoint
	for _, x := range drawn {
		points = append(points, curvePoint{x: x.At.Sub(drawn[0].At).Minutes(), y: degrees(x.C)})
	}
	if len(points) > 1 && points[len(points)-1].x > 0 {
		c := drawCurve(name+" over the minutes since "+drawn[0].At.Format("15:04:05")+"; its readings stand in the table", "minutes since "+drawn[0].At.Format("15:04:05"), "shown, "+unit, u, points, nil)
		line.Curve = &c
	}
	rows := slices.Clone(drawn)
	for _, x := range list {
		if x.SetAside > 0 {
			rows = append(rows, x)
		}
	}
	slices.SortStableFunc(rows, func(a, b app.ReadingLine) int { return a.At.Compare(b.At) })
	for _, x := range rows {
		line.Rows = append(line.Rows, readingRow{At: x.At.Format("15:04:05"), Shown: u.Temperature(q.Celsius(x.C), 1), Batch: x.Batch, From: x.By + ", " + string(x.Source), Aside: x.SetAside > 0})
	}
	return line
}

// thinned keeps of many readings the lowest and the highest of each stretch, in their order:
// nothing that stands out is lost.
func thinned(list []app.ReadingLine, most int) []app.ReadingLine {
	if len(list) <= most {
		return list
	}
	var out []app.ReadingLine
	parts := most / 2
	for i := range parts {
		part := list[i*len(list)/parts : (i+1)*len(list)/parts]
		low, high := 0, 0
		for j, x := range part {
			if x.C < part[low].C {
				low = j
			}
			if x.C >= part[high].C {
				high = j
			}
		}
		out = append(out, part[min(low, high)])
		if low != high {
			out = append(out, part[max(low, high)])
		}
	}
	return out
}

// newLoggerForm is the form as it was sent, or empty.
func newLoggerForm(b book.Book, form url.Values) loggerForm {
	choose := func(name string, list ...[2]string) (out []option) {
		for _, x := range list {
			out = append(out, option{x[0], x[1], form.Get(name) == x[0]})
		}
		return out
	}
	f := loggerForm{Batch: form.Get("batch"), Probes: glassOptions(b, form.Get("probe")), Time: form.Get("time-column"), Value: form.Get("value-column"), Zone: form.Get("zone")}
	for _, p := range reading.Places() {
		f.Places = append(f.Places, option{string(p), string(p), form.Get("in") == string(p)})
	}
	f.Units = choose("unit", [2]string{"", "as the file says, else °C"}, [2]string{"C", "°C"}, [2]string{"F", "°F"})
	f.Dates = choose("dates", [2]string{"", "as the file shows"}, [2]string{string(reading.DayFirst), "day first, 28/11/2026"}, [2]string{string(reading.MonthFirst), "month first, 11/28/2026"})
	f.Passes = choose("overlap", [2]string{"", "as the file shows"}, [2]string{string(reading.First), "the first"}, [2]string{string(reading.Second), "the second"})
	return f
}

// option is one of the answers of a question; see the lists of other forms.
type option struct {
	Value, Label string
	Chosen       bool
}

// logShown says in short what is to be kept, so that nothing is kept that was not shown.
func logShown(text string, form url.Values) string {
	var all strings.Builder
	for _, name := range []string{"probe", "in", "batch", "unit", "dates", "overlap", "time-column", "value-column", "zone"} {
		fmt.Fprintf(&all, "%q ", strings.TrimSpace(form.Get(name)))
	}
	return shortOf(all.String() + text)
}

// postReadingsFile shows what a logger's file is taken for, or keeps what was shown.
func (s *server) postReadingsFile(w http.ResponseWriter, r *http.Request) error {
	err := r.ParseMultipartForm(inMemory)
	if err != nil && !errors.Is(err, http.ErrNotMultipart) {
		if errors.As(err, new(*http.MaxBytesError)) {
			return err
		}
		return fault.Invalid("the form cannot be read").WithCause(err).WithHint("open the page again")
	}
	form := r.PostForm
	v, err := s.readingsOf(r, url.Values{"batch": form["batch"]})
	if err != nil {
		v, err = s.readingsOf(r, url.Values{}) // of a batch that is not there; that is said below
	}
	if err != nil || v.First != nil {
		if err == nil {
			err = fault.NotFound("there is no shop book yet").WithHint("begin one first")
		}
		return err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	v.File = newLoggerForm(b, form)
	v.File.Open = true
	refuse := func(err error) error {
		k := fault.KindOf(err)
		if k != fault.KindInvalid && k != fault.KindNotFound {
			return err
		}
		v.Faults = faultLines(public(err))
		return s.render(w, status(err), "readings", v)
	}
	name, text, err := logText(r)
	if err != nil {
		return refuse(err)
	}
	v.File.Text = text
	keep := form.Get("act") == "keep"
	if keep && form.Get("shown") != logShown(text, form) {
		keep = false
		v.Faults = []faultLine{{Text: "Nothing was kept: something is here that was not shown yet", Hint: "Look at it below, then press again"}}
	}
	res, err := s.shop.ReadLogger(r.Context(), app.LoggerRequest{Name: name, From: strings.NewReader(text), Probe: form.Get("probe"), In: form.Get("in"), Batch: strings.TrimSpace(form.Get("batch")),
		TimeColumn: form.Get("time-column"), ValueColumn: form.Get("value-column"), Unit: form.Get("unit"), Dates: form.Get("dates"), Overlap: form.Get("overlap"), Zone: strings.TrimSpace(form.Get("zone")), Look: !keep}, s.who(r))
	if err != nil {
		return refuse(err)
	}
	if keep {
		to := url.Values{"saved": {fmt.Sprint(res.Kept + res.SetAside)}}
		if res.Batch != "" {
			to.Set("batch", res.Batch)
		} else {
			to.Set("on", res.First.Format(time.DateOnly))
		}
		http.Redirect(w, r, "/readings?"+to.Encode(), http.StatusSeeOther)
		return nil
	}
	v.File.Shown, v.File.Preview = logShown(text, form), loggerViewOf(res)
	st := http.StatusOK
	if len(v.Faults) > 0 {
		st = http.StatusUnprocessableEntity
	}
	return s.render(w, st, "readings", v)
}

// logText is the text of the file that is sent, or of the one that was shown.
func logText(r *http.Request) (name, text string, err error) {
	if r.MultipartForm != nil {
		if h := chosen(r.MultipartForm.File["file"]); h != nil {
			f, err := h.Open()
			if err != nil {
				return "", "", err
			}
			defer f.Close()
			data, err := io.ReadAll(io.LimitReader(f, reading.MostFile+1))
			if err != nil {
				return "", "", err
			}
			text, err = reading.Text("the file", data)
			return "the file", text, err
		}
	}
	if text = r.PostForm.Get("text"); strings.TrimSpace(text) == "" {
		return "", "", fault.Invalid("no file is chosen").At("file").WithHint("choose the file that the logger wrote")
	}
	return "the file", text, nil
}

func loggerViewOf(r *app.LoggerResult) *loggerView {
	u := r.Units
	const form = "2006-01-02 15:04:05"
	v := &loggerView{Notes: r.Notes, Facts: []pair{
		{"Readings", fmt.Sprintf("%d, from %s to %s", r.N, r.First.Format(form), r.Last.Format(form))},
		{"They showed", u.TemperatureRange(q.Celsius(r.LowestC), q.Celsius(r.HighestC), 1)},
		{"Time", "column " + r.TimeColumn + "; zone: " + r.Zone},
		{"Temperature", "column " + r.ValueColumn + ", in " + r.Unit.String()},
	}}
	if r.N > 1 {
		v.Facts = append(v.Facts, pair{"One every", q.Span(math.Round(r.Span() / float64(r.N-1)))})
	}
	if r.Empty > 0 {
		v.Facts = append(v.Facts, pair{"Rows without a value", fmt.Sprintf("%d, left out", r.Empty)})
	}
	for _, x := range r.Shown {
		v.Rows = append(v.Rows, readingRow{At: x.At.Format(form), Shown: u.Temperature(q.Celsius(x.C), 1), From: fmt.Sprintf("line %d", x.Line)})
	}
	v.Line = fmt.Sprintf("%d new", r.Kept)
	if r.Repeated > 0 {
		v.Line += fmt.Sprintf(", %d there already", r.Repeated)
	}
	if r.SetAside > 0 {
		v.Line += fmt.Sprintf(", %d with another value than stands at their time, to be set aside; is it the right thermometer", r.SetAside)
		v.Doubt = true
	}
	return v
}
