package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"slabside/internal/app"
)

// Measures of the drawing, in its own units (close to pixels on a desktop).
const (
	perMinute = 2.1 // a minute across
	nameWide  = 86  // column of row names
	headHigh  = 66  // hours and pins above the rows
	laneHigh  = 30  // one bar
	lanePad   = 9   // between rows
	hotHigh   = 38  // bar of the hot run
	charWide  = 6.9 // a letter of the label face, on average
)

// timetable is the day drawn: a row a resource, minutes across.
type timetable struct {
	W, H     int
	From, To int64   // milliseconds since the epoch at X0 and X1, for the now-line
	X0, X1   float64 // where the day begins and ends
	RowsTop  int
	RowsEnd  int
	Hours    []tick
	Breaks   []band
	Pins     []pin
	Hot      []hotRun
	HotY     int
	Rows     []drawnRow
	Legend   []stageWord
	Summary  string
	Table    []tableRow
}

type tick struct {
	X     float64
	Label string
}

type band struct {
	X, W float64
	Name string
}

type pin struct {
	X, WinX, WinW float64
	Label         string
	Y             int  // base line of the label
	Right         bool // the label stands left of the pin
	Kept          bool
}

// hotRun is one boil's run from the hold point to the last sheet, as one bar.
type hotRun struct {
	N        int
	X, W     float64
	Segments []drawnBar
	Label    string
	Title    string
}

// drawnRow is a row of bars; what is in it is drawn from Top down.
type drawnRow struct {
	Name      string
	Y, H, Top int
	Bars      []drawnBar
}

// barGroup is the bars of one stage in a row. They share what is said of a stage,
// and one path draws the texture of them all.
type barGroup struct {
	Stage string
	Hot   bool
	Fill  string
	D     string
	Bars  []drawnBar
}

type drawnBar struct {
	X, W  float64
	Y     int    // below the row's top
	N     int    // of its boil, 0 without one
	Stage string // class and texture
	Label string
	Title string
	Hot   bool
}

type stageWord struct{ Stage, Word string }

type tableRow struct {
	First           bool // of its row of the drawing
	Row, What, Boil string
	N               int // of the boil, 0 without one
	Hot             bool
	From, To        string
	Minutes         int
}

// stageWords says each stage of a bar, in the order of the legend. A stage has
// its own texture in the style sheet's and the drawing's definitions.
var stageWords = [...]stageWord{
	{"weigh", "weigh in"}, {"charge", "load the kettle"}, {"boil", "on the flame"}, {"watch", "watched"},
	{"pour", "pour"}, {"turn", "turn and fold"}, {"pull", "pull"}, {"tend", "keep even"}, {"roll", "roll"},
	{"hold_slab", "slab taken"}, {"rinse", "rinse the kettle"}, {"wipe", "wipe"}, {"wash", "wash"},
	{"allergen", "allergen clean"}, {"change", "change rolls"}, {"cool", "sheets cooling"},
	{"after", "break, sieve, pack"}, {"break", "break"},
}

func stageOf(stage string) stageWord {
	for _, s := range stageWords {
		if s.Stage == stage {
			return s
		}
	}
	return stageWord{"other", stage}
}

// drawTimetable lays the rows of a plan out on a time axis.
func drawTimetable(p *app.DayPlan) timetable {
	from, to := dayHours(p)
	x := func(t time.Time) float64 {
		return round1(nameWide + t.Sub(from).Minutes()*perMinute)
	}
	tt := timetable{From: from.UnixMilli(), To: to.UnixMilli(), X0: nameWide, X1: x(to)}
	tt.W = int(tt.X1) + 26
	for h := from; !h.After(to); h = h.Add(time.Hour) {
		tt.Hours = append(tt.Hours, tick{X: x(h), Label: clock(h)})
	}
	names := map[string]app.Batch{}
	for _, b := range p.Batches {
		names[b.ID] = b
	}

	y := headHigh
	tt.RowsTop = y
	if len(p.Batches) > 0 {
		tt.HotY = y + lanePad
		for _, b := range p.Batches {
			tt.Hot = append(tt.Hot, drawHot(b, x))
		}
		y += hotHigh + 2*lanePad
	}
	used := map[string]bool{}
	for _, r := range p.Rows {
		row, lanes := drawRow(r, names, len(p.Breaks) > 0, x, y)
		row.H = lanes*(laneHigh+2) - 2 + lanePad
		y += row.H
		tt.Rows = append(tt.Rows, row)
		for i, b := range r.Bars {
			used[stageOf(b.Stage).Stage] = true
			tt.Table = append(tt.Table, tableRow{
				First: i == 0, Row: r.Name, What: cmp.Or(b.Text, stageOf(b.Stage).Word), Boil: boilName(names, b.Batch), Hot: b.Hot,
				From: clock(b.From), To: clock(b.To), N: names[b.Batch].N, Minutes: minutesOf(b.From, b.To),
			})
		}
	}
	tt.RowsEnd = y
	tt.H = y + 8
	for _, s := range stageWords {
		if used[s.Stage] {
			tt.Legend = append(tt.Legend, s)
		}
	}
	for _, b := range p.Breaks {
		tt.Breaks = append(tt.Breaks, band{X: x(b.From), W: round1(x(b.To) - x(b.From)), Name: b.Name})
	}
	for i, a := range p.Pours {
		lo, hi := a.At.Add(-minutes(float64(a.Early))), a.At.Add(minutes(float64(a.Late)))
		d := pin{X: x(a.At), WinX: x(lo), WinW: round1(x(hi) - x(lo)), Label: clock(a.At) + " " + a.Name, Kept: a.Batch != "", Y: 14 + i%2*17}
		d.Right = d.X+textWide(d.Label)+12 > float64(tt.W)
		tt.Pins = append(tt.Pins, d)
	}
	tt.Summary = fmt.Sprintf("Timetable from %s to %s: %s on %s. The same is in the table below.",
		clock(from), clock(to), count(len(p.Batches), "boil", "boils"), count(len(p.Rows), "row", "rows"))
	return tt
}

// dayHours returns whole hours that hold everything of the day.
func dayHours(p *app.DayPlan) (from, to time.Time) {
	from, to = p.Opens, p.Opens
	grow := func(a, b time.Time) {
		if !a.IsZero() && a.Before(from) {
			from = a
		}
		if b.After(to) {
			to = b
		}
	}
	grow(p.Opens, p.Closed)
	grow(p.Opens, p.WorkEnd)
	for _, r := range p.Rows {
		for _, b := range r.Bars {
			grow(b.From, b.To)
		}
	}
	if len(p.Rows) == 0 {
		grow(p.Opens, p.Ends)
	}
	from = floorHour(from)
	if end := floorHour(to); end.Before(to) {
		to = end.Add(time.Hour)
	}
	return from, to
}

// floorHour goes back to the full hour of the shop's own clock.
func floorHour(t time.Time) time.Time {
	return t.Add(-time.Duration(t.Minute())*time.Minute - time.Duration(t.Second())*time.Second - time.Duration(t.Nanosecond()))
}

func minutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }

// drawHot joins what one boil asks for between the hold point and the last
// sheet into one bar.
func drawHot(b app.Batch, x func(time.Time) float64) hotRun {
	run := hotRun{N: b.N, X: x(b.Hold), W: round1(x(b.RollEnd) - x(b.Hold)), Label: fit(b.N, b.Name, x(b.RollEnd)-x(b.Hold))}
	seg := func(stage string, from, to time.Time) {
		if to.After(from) {
			run.Segments = append(run.Segments, drawnBar{X: x(from), W: round1(x(to) - x(from)), Stage: stage})
		}
	}
	seg("watch", b.Hold, b.Pour)
	seg("pour", b.Pour, b.PourEnd)
	seg("turn", b.PourEnd, b.RollStart)
	seg("roll", b.RollStart, b.RollEnd)
	run.Title = fmt.Sprintf("Boil %d, %s: watched from %s, pour %s, rolls %s to %s", b.N, b.Name,
		clock(b.Hold), clock(b.Pour), clock(b.RollStart), clock(b.RollEnd))
	return run
}

// drawRow places the bars of a row in as few lanes as keep them apart. Bars of
// one boil that touch bear its name once, across them all. A break is not drawn
// again where it is a band over all rows.
func drawRow(r app.Row, names map[string]app.Batch, banded bool, x func(time.Time) float64, y int) (drawnRow, int) {
	row := drawnRow{Name: r.Name, Y: y, Top: y + lanePad/2}
	bars := slices.Clone(r.Bars)
	if banded {
		bars = slices.DeleteFunc(bars, func(b app.Bar) bool { return b.Stage == "break" })
	}
	slices.SortStableFunc(bars, func(a, b app.Bar) int { return a.From.Compare(b.From) })
	type run struct { // touching bars of one boil in a lane
		batch string
		first int // index into row.Bars
		end   time.Time
	}
	runs := map[int]run{} // by lane
	var ends []time.Time  // of each lane
	for _, b := range bars {
		lane := slices.IndexFunc(ends, func(e time.Time) bool { return !b.From.Before(e) })
		if lane < 0 {
			lane, ends = len(ends), append(ends, time.Time{})
		}
		ends[lane] = b.To
		st := stageOf(b.Stage)
		w := x(b.To) - x(b.From)
		what := cmp.Or(b.Text, st.Word)
		d := drawnBar{X: x(b.From), W: round1(max(w, 1)), Y: lane * (laneHigh + 2), Stage: st.Stage, Hot: b.Hot, N: names[b.Batch].N,
			Title: fmt.Sprintf("%s to %s: %s", clock(b.From), clock(b.To), what)}
		if name := boilName(names, b.Batch); name != "" {
			d.Title += ", boil " + strconv.Itoa(d.N)
			whole := runs[lane]
			if whole.batch != b.Batch || !whole.end.Equal(b.From) {
				whole = run{batch: b.Batch, first: len(row.Bars)}
			}
			whole.end = b.To
			runs[lane] = whole
			row.Bars = append(row.Bars, d)
			first := &row.Bars[whole.first]
			first.Label = fit(names[b.Batch].N, names[b.Batch].Name, x(b.To)-first.X)
			continue
		}
		if textWide(st.Word)+6 <= w {
			d.Label = st.Word
		}
		row.Bars = append(row.Bars, d)
	}
	return row, max(len(ends), 1)
}

func boilName(names map[string]app.Batch, id string) string {
	b, ok := names[id]
	if !ok {
		return ""
	}
	return strconv.Itoa(b.N) + " " + b.Name
}

// fit returns as much of "3 Barley drops" as a bar of that width holds.
func fit(n int, name string, wide float64) string {
	num := strconv.Itoa(n)
	if full := num + " " + name; name != "" && textWide(full)+6 <= wide {
		return full
	}
	if first, _, ok := strings.Cut(name, " "); ok && textWide(num+" "+first)+6 <= wide {
		return num + " " + first
	}
	if textWide(num)+2 <= wide {
		return num
	}
	return ""
}

func textWide(s string) float64 { return float64(utf8.RuneCountInString(s)) * charWide }

func round1(v float64) float64 { return float64(int(v*10+0.5)) / 10 }

// Groups puts the bars of a row together by their stage.
func (r drawnRow) Groups() []barGroup { return grouped(r.Bars, laneHigh) }

// HotGroups puts the parts of the hot runs together by their stage.
func (t timetable) HotGroups() []barGroup {
	var all []drawnBar
	for _, h := range t.Hot {
		all = append(all, h.Segments...)
	}
	return grouped(all, hotHigh)
}

// grouped puts bars of a height together by their stage. A texture is a line as wide
// as a bar is high.
func grouped(bars []drawnBar, high int) []barGroup {
	var out []barGroup
	for _, b := range bars {
		i := slices.IndexFunc(out, func(g barGroup) bool { return g.Stage == b.Stage && g.Hot == b.Hot })
		if i < 0 {
			i, out = len(out), append(out, barGroup{Stage: b.Stage, Hot: b.Hot, Fill: texture(b.Stage)})
		}
		out[i].D += fmt.Sprintf("M%s %dh%s", strconv.FormatFloat(b.X, 'f', -1, 64), b.Y+high/2, strconv.FormatFloat(b.W, 'f', -1, 64))
		out[i].Bars = append(out[i].Bars, b)
	}
	return out
}

// BodyHigh is the height of the rows together.
func (t timetable) BodyHigh() int { return t.RowsEnd - t.RowsTop }

// HourY is the base line of the hours.
func (t timetable) HourY() int { return t.RowsTop - 19 }

// Fill names the texture of the stage.
func (s stageWord) Fill() string { return texture(s.Stage) }

// texture returns the paint of a stage's texture; a stage nobody has drawn one for has none.
func texture(stage string) string {
	if stageOf(stage).Stage == "other" {
		return "none"
	}
	return "url(#t-" + stage + ")"
}
