package app_test

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

// clocked is an app whose clock the test sets, over a new book with the sample shop, which
// lies in the time zone of its book.
func clocked(t testing.TB) (a *app.App, now *time.Time, zone *time.Location) {
	t.Helper()
	at := shoptest.Now()
	now = &at
	var mu sync.Mutex
	a = app.New(keeper(t), func() time.Time { mu.Lock(); defer mu.Unlock(); return *now })
	if _, err := a.Import(context.Background(), shoptest.Book(), "test", "the sample shop"); err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation(shoptest.Book().Shop.TimeZone)
	if err != nil {
		t.Fatal(err)
	}
	return a, now, zone
}

// post is a reading of the sample shop's thermometer.
func post(at time.Time, c float64, in string) app.ReadingPost {
	return app.ReadingPost{Probe: "glass", At: at, Value: c, In: in}
}

func added(t testing.TB, a *app.App, posts ...app.ReadingPost) reading.Counts {
	t.Helper()
	r, err := a.AddReadings(context.Background(), posts, reading.Posted, "logger (program)")
	if err != nil {
		t.Fatal(err)
	}
	return r.Counts
}

func TestAddReadings(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, now, zone := clocked(t)
	at := now.Add(-time.Minute)
	fahrenheit := post(at.Add(time.Second), 302, "water-in")
	fahrenheit.Unit = "°F"
	ahead := post(now.Add(time.Hour), 20, "air")
	ahead.Ahead = time.Hour + 2*time.Second
	if n := added(t, a, post(at, 151.2, "kettle"), fahrenheit, ahead, post(time.Time{}, 21, "air")); n != (reading.Counts{Kept: 4}) {
		t.Errorf("%+v", n)
	}
	got, err := a.Readings(ctx, app.ReadingQuery{Limit: 10})
	if err != nil {
		t.Fatal(err)
	}
	want := []app.ReadingLine{
		{At: at, C: 151.2, In: reading.Kettle}, {At: at.Add(time.Second), C: 150, In: reading.WaterIn},
		{At: now.Add(-2 * time.Second), C: 20, In: reading.Air}, {At: *now, C: 21, In: reading.Air},
	}
	for i := range want {
		x := &want[i]
		x.Probe, x.Name, x.At, x.Source, x.By, x.Received = "glass", "Confectioner's glass", x.At.In(zone), reading.Posted, "logger (program)", now.In(zone)
	}
	if d := cmp.Diff(want, got.Readings); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if len(got.Cautions) != 1 || got.Cautions[0].Code != "as-shown" || got.Next != "" {
		t.Errorf("%+v, next %q", got.Cautions, got.Next)
	}
	// The same again, and another value.
	if n := added(t, a, post(at, 151.2, "kettle"), post(at, 149, "kettle")); n != (reading.Counts{Repeated: 1, SetAside: 1}) {
		t.Errorf("again: %+v", n)
	}
	if got, _ := a.Readings(ctx, app.ReadingQuery{Limit: 10}); len(got.Readings) != 5 || got.Readings[0].C != 151.2 || got.Readings[1].SetAside != 1 || len(got.Cautions) != 2 {
		t.Errorf("%+v", got)
	}
	for name, c := range map[string]struct {
		change func(*app.ReadingPost)
		kind   fault.Kind
		field  string
	}{
		"another unit":   {func(p *app.ReadingPost) { p.Unit = "K" }, fault.KindInvalid, "unit"},
		"no place":       {func(p *app.ReadingPost) { p.In = "" }, fault.KindInvalid, "in"},
		"nobody's":       {func(p *app.ReadingPost) { p.Probe = "none" }, fault.KindNotFound, "probe"},
		"no batch":       {func(p *app.ReadingPost) { p.Batch = shoptest.Date + "-9" }, fault.KindNotFound, "batch"},
		"far ahead":      {func(p *app.ReadingPost) { p.At = now.Add(6 * time.Minute) }, fault.KindInvalid, "at"},
		"°F taken for C": {func(p *app.ReadingPost) { p.Value = 401 }, fault.KindInvalid, "value"},
		"no clock":       {func(p *app.ReadingPost) { p.Ahead = 200 * 365 * 24 * time.Hour }, fault.KindInvalid, "clock_ahead_ms"},
	} {
		bad := post(*now, 20, "air")
		c.change(&bad)
		_, err := a.AddReadings(ctx, []app.ReadingPost{post(*now, 99, "slab"), bad}, reading.Posted, "x")
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != c.kind || f.Field != "readings[1]."+c.field {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, n := range []int{0, 10_001} {
		if _, err := a.AddReadings(ctx, make([]app.ReadingPost, n), reading.Posted, "x"); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%d at once: %v", n, err)
		}
	}
	if got, _ := a.Readings(ctx, app.ReadingQuery{Limit: 10}); len(got.Readings) != 5 {
		t.Errorf("a refusal left %d readings", len(got.Readings))
	}
}

// TestReadings_pages: the parts of a list are the whole list.
func TestReadings_pages(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, now, _ := clocked(t)
	for i := range 7 {
		added(t, a, post(now.Add(time.Duration(i-10)*time.Minute), float64(20+i), "air"), post(now.Add(time.Duration(i-10)*time.Minute), 90, "kettle"))
	}
	whole, err := a.Readings(ctx, app.ReadingQuery{Limit: 100})
	if err != nil {
		t.Fatal(err)
	}
	var parts []app.ReadingLine
	for after := ""; ; {
		p, err := a.Readings(ctx, app.ReadingQuery{Limit: 3, After: after})
		if err != nil || len(p.Readings) == 0 || len(parts) > len(whole.Readings) {
			t.Fatalf("%d, %v", len(p.Readings), err)
		}
		parts = append(parts, p.Readings...)
		if after = p.Next; after == "" {
			break
		}
	}
	if d := cmp.Diff(whole.Readings, parts); d != "" || len(parts) != 14 {
		t.Errorf("(-whole +parts):\n%s", d)
	}
	for name, q := range map[string]app.ReadingQuery{"limit": {}, "limit of": {Limit: 5001}, "after": {Limit: 1, After: "x"}, "in": {Limit: 1, In: "cellar"}} {
		var f *fault.Error
		if _, err := a.Readings(ctx, q); !errors.As(err, &f) || f.Kind != fault.KindInvalid || !strings.HasPrefix(name, f.Field) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := a.Readings(ctx, app.ReadingQuery{Limit: 1, Batch: shoptest.Date + "-9"}); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("of no batch: %v", err)
	}
}

// TestReadingsOf follows two batches through the room: each reading is of the batch that
// was there then, and of no other.
func TestReadingsOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, now, _ := clocked(t)
	day := *now
	at := func(minutes int) time.Time { return day.Add(time.Duration(minutes) * time.Minute) }
	begin := func(minutes int) string {
		*now = at(minutes)
		id, err := a.Begin(ctx, app.BeginRequest{Recipe: "pear-barrels", Charge: 8}, "Ada", "")
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	lift := func(minutes int, id string) {
		*now = at(minutes)
		if err := a.Enter(ctx, record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 151}}, 0, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	one := begin(0)
	two := begin(20) // weighed while the first boils
	lift(40, one)
	lift(80, two)
	*now = at(600)
	for _, c := range []struct {
		in      string
		minutes int
		want    string
	}{
		{"kettle", -1, ""}, {"kettle", 0, one}, {"kettle", 25, one}, {"kettle", 39, one}, {"kettle", 40, two}, {"kettle", 79, two}, {"kettle", 80, ""},
		{"slab", 39, ""}, {"slab", 40, one}, {"sheet", 60, one}, {"rolls", 79, one}, {"slab", 80, two}, {"hook", 100, two}, {"rolls", 80 + 179, two}, {"rolls", 80 + 180, ""},
		{"air", 10, one}, {"air", 70, one}, {"water out", 90, two}, {"air", 300, ""},
	} {
		p, err := reading.ParsePlace(c.in)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := a.BatchAt(ctx, p, at(c.minutes)); err != nil || got != c.want {
			t.Errorf("%s after %d min is of %q, %v, want %q", c.in, c.minutes, got, err, c.want)
		}
	}
	said := post(at(500), 30, "sheet")
	said.Batch = one
	other := post(at(30), 120, "kettle") // in the first one's time, and said to be of the second
	other.Probe, other.Batch = "glass", two
	added(t, a, post(at(10), 100, "kettle"), post(at(45), 130, "kettle"), post(at(50), 90, "sheet"), post(at(85), 91, "sheet"), post(at(400), 20, "air"), said, other)
	values := func(r *app.ReadingsResult, err error) string {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, x := range r.Readings {
			out = append(out, fmt.Sprint(x.C))
		}
		return strings.Join(out, " ")
	}
	if got := values(a.ReadingsOf(ctx, one, time.Time{})); got != "100 90 30" {
		t.Errorf("the first: %s", got)
	}
	if got := values(a.ReadingsOf(ctx, two, time.Time{})); got != "120 130 91" {
		t.Errorf("the second: %s", got)
	}
	if got := values(a.ReadingsOf(ctx, one, at(45))); got != "90 30" {
		t.Errorf("the first, later: %s", got)
	}
	if got := values(a.Readings(ctx, app.ReadingQuery{Batch: two, In: "kettle", From: at(40), Limit: 9})); got != "130" {
		t.Errorf("the second's, in the kettle, from then on: %s", got)
	}
	if _, err := a.ReadingsOf(ctx, shoptest.Date+"-9", time.Time{}); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("of no batch: %v", err)
	}
	if _, err := a.ReadingsOf(ctx, "x", time.Time{}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("of no number: %v", err)
	}
	// A lift that is written down later, with its time, finds the readings of that time.
	three := begin(300)
	*now = at(420)
	lit, lifted := at(310), at(345)
	zone, _ := time.LoadLocation(shoptest.Book().Shop.TimeZone)
	e := record.Entry{Batch: three, Lifted: &record.Lifted{ReadC: 150, LitAt: lit.In(zone).Format("15:04"), LiftedAt: lifted.In(zone).Format("15:04")}}
	if err := a.Enter(ctx, e, 0, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	for minutes, want := range map[int]string{305: "", 310: three, 344: three, 345: "", 419: ""} {
		if got, err := a.BatchAt(ctx, reading.Kettle, at(minutes)); err != nil || got != want {
			t.Errorf("after %d min: %q, %v, want %q", minutes, got, err, want)
		}
	}
	// One that was never lifted makes room for the next that was, and ends by itself.
	four, five := begin(500), begin(520)
	lift(560, five)
	for minutes, want := range map[int]string{510: four, 519: four, 520: five, 559: five} {
		if got, err := a.BatchAt(ctx, reading.Kettle, at(minutes)); err != nil || got != want {
			t.Errorf("after %d min: %q, %v, want %q", minutes, got, err, want)
		}
	}
}

// TestWatchReadings: who watches a batch is told of its readings and of no others, whoever
// reads slowly holds nobody up and keeps the newest, and nothing is left when the context
// ends.
func TestWatchReadings(t *testing.T) {
	a, now, _ := clocked(t)
	ctx := context.Background()
	id, err := a.Begin(ctx, app.BeginRequest{Recipe: "pear-barrels", Charge: 8}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	before := runtime.NumGoroutine()
	watching, stop := context.WithCancel(ctx)
	mine, all := a.WatchReadings(watching, id), a.WatchReadings(watching, "")
	other := a.WatchReadings(watching, shoptest.Date+"-9")
	at := now.Add(time.Second)
	added(t, a, post(at, 100, "kettle"), post(at.Add(time.Second), 101, "kettle"), post(at, 20, "slab"))
	want := []app.ReadingNews{{Batch: id, Probe: "glass", In: reading.Kettle, At: at.Add(time.Second).UTC(), C: 101}, {Probe: "glass", In: reading.Slab, At: at.UTC(), C: 20}}
	// The slab's value came for a time that the kettle's stands at: set aside, and told.
	if got := <-mine; got != want[0] {
		t.Errorf("told %+v, want %+v", got, want[0])
	}
	for _, w := range want {
		if got := <-all; got != w {
			t.Errorf("told %+v, want %+v", got, w)
		}
	}
	added(t, a, post(at, 100, "kettle")) // nothing new
	for i := range 40 {
		added(t, a, post(at.Add(time.Duration(2+i)*time.Second), float64(102+i), "kettle"))
	}
	var last app.ReadingNews
	n := 0
	for len(mine) > 0 {
		last = <-mine
		n++
	}
	if last.C != 141 || n != 16 {
		t.Errorf("a slow reader got %d news, the last of %g °C", n, last.C)
	}
	if len(other) != 0 {
		t.Error("another batch was told")
	}
	stop()
	for range all {
	}
	if _, open := <-mine; open {
		t.Error("the channel goes on after the end")
	}
	added(t, a, post(at.Add(2*time.Minute), 20, "air"))
	for range 50 {
		if runtime.NumGoroutine() <= before {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	if now := runtime.NumGoroutine(); now > before {
		t.Errorf("%d goroutines before, %d after", before, now)
	}
}

// TestReadLogger reads a file, first only looking.
func TestReadLogger(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, now, zone := clocked(t)
	begin := now.In(zone).Add(-10 * time.Minute).Truncate(time.Minute)
	var text strings.Builder
	text.WriteString("Logger 7;;\nDatum;Zeit;Temperatur °C\n")
	for i := range 5 {
		at := begin.Add(time.Duration(i) * time.Minute)
		fmt.Fprintf(&text, "%s;%s;%d,5\n", at.Format("02.01.2006"), at.Format("15:04"), 20+i)
	}
	req := app.LoggerRequest{Name: "log.csv", Probe: "glass", In: "air", Look: true}
	run := func(req app.LoggerRequest, text string) (*app.LoggerResult, error) {
		req.From = strings.NewReader(text)
		return a.ReadLogger(ctx, req, "Ada")
	}
	r, err := run(req, text.String())
	if err != nil {
		t.Fatal(err)
	}
	if r.N != 5 || r.Counts != (reading.Counts{Kept: 5}) || !r.Looked || !r.First.Equal(begin) || r.Span() != 240 || r.LowestC != 20.5 || r.HighestC != 24.5 || len(r.Shown) != 5 ||
		r.Shown[0].Line != 3 || r.Zone != zone.String() || r.Dates != reading.DayFirst || !r.Comma || r.TimeColumn != "Datum+Zeit" {
		t.Errorf("%+v", *r)
	}
	if got, _ := a.Readings(ctx, app.ReadingQuery{Limit: 9}); len(got.Readings) != 0 {
		t.Errorf("looking kept %d", len(got.Readings))
	}
	req.Look = false
	if r, err = run(req, text.String()); err != nil || r.Counts != (reading.Counts{Kept: 5}) || r.Looked {
		t.Errorf("%+v, %v", r, err)
	}
	req.Look = true
	mixed := strings.Replace(text.String(), "22,5", "22,6", 1) + begin.Add(5*time.Minute).Format("02.01.2006;15:04") + ";25\n"
	if r, err = run(req, mixed); err != nil || r.Counts != (reading.Counts{Kept: 1, Repeated: 4, SetAside: 1}) || len(r.Cautions) != 1 {
		t.Errorf("%+v, %v", r, err)
	}
	would := r.Counts
	req.Look = false
	if r, err = run(req, mixed); err != nil || r.Counts != would {
		t.Errorf("looked %+v, kept %+v, %v", would, r.Counts, err)
	}
	kept, _ := a.Readings(ctx, app.ReadingQuery{Limit: 99})
	if len(kept.Readings) != 7 || kept.Readings[0].Source != reading.Logged || kept.Readings[0].By != "Ada" {
		t.Errorf("%d kept, %+v", len(kept.Readings), kept.Readings[0])
	}
	for name, c := range map[string]struct {
		change func(*app.LoggerRequest)
		text   string
		kind   fault.Kind
		field  string
	}{
		"no thermometer":         {func(q *app.LoggerRequest) { q.Probe = "none" }, text.String(), fault.KindNotFound, "probe"},
		"looking, none":          {func(q *app.LoggerRequest) { q.Probe, q.Look = "none", true }, text.String(), fault.KindNotFound, "probe"},
		"no batch":               {func(q *app.LoggerRequest) { q.Batch = shoptest.Date + "-9" }, text.String(), fault.KindNotFound, "batch"},
		"looking, no batch":      {func(q *app.LoggerRequest) { q.Batch, q.Look = shoptest.Date+"-9", true }, text.String(), fault.KindNotFound, "batch"},
		"no place":               {func(q *app.LoggerRequest) { q.In = "" }, text.String(), fault.KindInvalid, "in"},
		"no unit":                {func(q *app.LoggerRequest) { q.Unit = "K" }, text.String(), fault.KindInvalid, "unit"},
		"no zone":                {func(q *app.LoggerRequest) { q.Zone = "Mars/Olympus" }, text.String(), fault.KindInvalid, "zone"},
		"this machine's zone":    {func(q *app.LoggerRequest) { q.Zone = "Local" }, text.String(), fault.KindInvalid, "zone"},
		"no order":               {func(q *app.LoggerRequest) { q.Dates = "year" }, text.String(), fault.KindInvalid, "dates"},
		"neither":                {func(q *app.LoggerRequest) { q.Overlap = "third" }, text.String(), fault.KindInvalid, "overlap"},
		"no column":              {func(q *app.LoggerRequest) { q.ValueColumn = "heat" }, text.String(), fault.KindInvalid, "value-column"},
		"a line wrong":           {func(*app.LoggerRequest) {}, strings.Replace(text.String(), "22,5", "open", 1), fault.KindInvalid, "log.csv:5, column Temperatur °C"},
		"a value that cannot be": {func(*app.LoggerRequest) {}, strings.Replace(text.String(), "22,5", "2250", 1), fault.KindInvalid, "log.csv:5, column Temperatur °C"},
		"a clock never set":      {func(*app.LoggerRequest) {}, "t,c\n2000-01-01 00:00,20\n", fault.KindInvalid, "log.csv:2, column t"},
		"a time to come":         {func(*app.LoggerRequest) {}, "t,c\n2036-01-01 00:00,20\n", fault.KindInvalid, "log.csv:2, column t"},
	} {
		q := req
		c.change(&q)
		_, err := run(q, c.text)
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != c.kind || f.Field != c.field {
			t.Errorf("%s: %v, want one of kind %q at %q", name, err, c.kind, c.field)
		}
	}
	if after, _ := a.Readings(ctx, app.ReadingQuery{Limit: 99}); len(after.Readings) != 7 {
		t.Errorf("a refusal left %d readings", len(after.Readings))
	}
}

func TestParseMoment(t *testing.T) {
	t.Parallel()
	paris, err := time.LoadLocation("Europe/Paris")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"": "0001-01-01T00:00:00Z", "2026-11-28": "2026-11-27T23:00:00Z", "2026-11-28 10:02": "2026-11-28T09:02:00Z", "2026-11-28T10:02:03": "2026-11-28T09:02:03Z",
		"2026-11-28T10:02:03+13:00": "2026-11-27T21:02:03Z", "2026-03-29 02:30": "", "soon": "", "2026-11-31": "",
	} {
		at, err := app.ParseMoment("from", text, paris)
		var f *fault.Error
		if got := at.UTC().Format(time.RFC3339); want != "" && (err != nil || got != want) || want == "" && (!errors.As(err, &f) || f.Field != "from") {
			t.Errorf("%q is %s, %v, want %s", text, got, err, want)
		}
	}
}

// BenchmarkReadings times one reading from the posting until it is on the disk, and until
// whoever watches its batch is told; and a logger's file of an hour at one a second.
func BenchmarkReadings(b *testing.B) {
	a, now, _ := clocked(b)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	if _, err := a.Begin(ctx, app.BeginRequest{Recipe: "pear-barrels", Charge: 8}, "Ada", ""); err != nil {
		b.Fatal(err)
	}
	at := *now
	next := func() time.Time { at = at.Add(time.Millisecond); return at }
	many := func() []app.ReadingPost {
		out := make([]app.ReadingPost, 3600)
		for i := range out {
			out[i] = post(next(), 120, "kettle")
		}
		return out
	}
	*now = at.Add(240 * time.Hour)
	b.Run("stored", func(b *testing.B) {
		for b.Loop() {
			added(b, a, post(next(), 120, "kettle"))
		}
	})
	b.Run("an hour at once", func(b *testing.B) {
		for b.Loop() {
			added(b, a, many()...)
		}
	})
	news := a.WatchReadings(ctx, "")
	b.Run("told", func(b *testing.B) {
		for b.Loop() {
			added(b, a, post(next(), 120, "kettle"))
			<-news
		}
	})
}
