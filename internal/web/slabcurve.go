package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// slabStrip is the rolling time laid out from now: too soft, in condition, gone short.
type slabStrip struct {
	W, H           int
	Title          string
	Opens, Closes  float64 // where the zones meet
	From, To       int64   // the times at its ends [ms]
	Now            float64
	NeedFrom, Need float64 // what the rolls take for what is left, and how wide that is; 0: not known
	Over           bool    // it ends after the batch has gone short
}

// Measures of the strip's drawing, in its own units.
const stripWide, stripHigh = 600, 64

// drawStrip lays out the rolling time; nil where it is not known.
func drawStrip(l *app.SlabLive, now time.Time) *slabStrip {
	if l.Opens == nil || l.Closes == nil || !l.Closes.After(*l.Opens) {
		return nil
	}
	needs := time.Duration(float64(l.NeedsMin) * float64(time.Minute))
	begin := *l.Opens
	if now.After(begin) {
		begin = now
	}
	from, to := *l.Opens, *l.Closes
	if now.Before(from) && from.Sub(now) < time.Hour {
		from = now
	}
	if end := begin.Add(needs); end.After(to) && end.Sub(to) < time.Hour {
		to = end
	}
	from, to = from.Add(-to.Sub(from)/12), to.Add(to.Sub(from)/8)
	x := func(t time.Time) float64 {
		return round1(min(max(float64(t.Sub(from))/float64(to.Sub(from)), 0), 1) * stripWide)
	}
	s := &slabStrip{W: stripWide, H: stripHigh, Opens: x(*l.Opens), Closes: x(*l.Closes), From: from.UnixMilli(), To: to.UnixMilli(), Now: x(now)}
	s.Title = fmt.Sprintf("Rolling time: too soft, then in condition for %.0f min, then gone short", l.Closes.Sub(*l.Opens).Minutes())
	if needs > 0 {
		s.NeedFrom, s.Need, s.Over = x(begin), x(begin.Add(needs))-x(begin), begin.Add(needs).After(*l.Closes)
	}
	return s
}

// Short and Mid are the widths of the zones.
func (s slabStrip) Mid() float64   { return round1(s.Closes - s.Opens) }
func (s slabStrip) Short() float64 { return round1(float64(s.W) - s.Closes) }

// slabCurve is the temperature as it is foreseen, with its range, the band in which it
// can be rolled, and what was read.
type slabCurve struct {
	curve
	Range    string // path of the range
	BandY    float64
	BandH    float64
	Now      float64
	From, To int64 // the times at the ends of the frame [ms]
	Rows     []slabCurveRow
}

// Wide is how wide the frame is.
func (c slabCurve) Wide() int { return c.X1 - c.X0 }

// Broad is how wide the drawing is: the last time of day stands out of the frame.
func (c slabCurve) Broad() int { return c.W + 16 }

type slabCurveRow struct{ At, C, Range string }

// mostRows is how many rows the table of the curve has at most.
const mostRows = 16

// drawSlab draws the curve; nil where there is none.
func drawSlab(at *app.AtSlab, u q.Reader, now time.Time, loc *time.Location) *slabCurve {
	l := at.Live
	if len(l.Curve) < 2 {
		return nil
	}
	first, last := l.Curve[0].At, l.Curve[len(l.Curve)-1].At
	scale := func(c q.Number) float64 {
		if u.US() {
			return q.Celsius(c).Fahrenheit()
		}
		return float64(c)
	}
	ys := []float64{scale(l.RollFromC), scale(l.RollToC)}
	for _, p := range l.Curve {
		ys = append(ys, scale(p.LowC), scale(p.HighC))
	}
	read := slices.DeleteFunc(slices.Clone(at.Readings), func(x app.SlabReading) bool { return x.At.Before(first) || x.At.After(last) })
	for _, x := range read {
		ys = append(ys, scale(x.TrueC))
	}
	deg, _ := unitsOf(u)
	frame, _, y := newFrame("", "time of day", deg, u, []float64{0, 1}, ys)
	ticks := clockTicks(first.In(loc), last.In(loc))
	from, to := ticks[0], ticks[len(ticks)-1]
	if first.Before(from) {
		from = first
	}
	if last.After(to) {
		to = last
	}
	x := func(t time.Time) float64 {
		return round1(float64(frame.X0) + float64(t.Sub(from))/float64(to.Sub(from))*float64(frame.X1-frame.X0))
	}
	frame.XTicks = nil
	for _, t := range ticks {
		frame.XTicks = append(frame.XTicks, curveTick{x(t), clock(t)})
	}
	var line, upper, lower strings.Builder
	for i, p := range l.Curve {
		verb := "L"
		if i == 0 {
			verb = "M"
		}
		fmt.Fprintf(&line, "%s%g %g", verb, x(p.At), round1(y(scale(p.C))))
		fmt.Fprintf(&upper, "%s%g %g", verb, x(p.At), round1(y(scale(p.HighC))))
	}
	for _, p := range slices.Backward(l.Curve) {
		fmt.Fprintf(&lower, "L%g %g", x(p.At), round1(y(scale(p.LowC))))
	}
	frame.Path = line.String()
	frame.Title = fmt.Sprintf("Temperature of the batch as foreseen from %s to %s; it can be rolled from %s down to %s; %s", clock(first.In(loc)), clock(last.In(loc)),
		u.Temperature(q.Celsius(l.RollFromC), 0), u.Temperature(q.Celsius(l.RollToC), 0), count(len(read), "reading", "readings"))
	for _, r := range read {
		frame.Dots = append(frame.Dots, curveDot{X: x(r.At), Y: round1(y(scale(r.TrueC)))})
	}
	c := &slabCurve{curve: frame, Range: upper.String() + lower.String() + "Z", BandY: round1(y(scale(l.RollFromC))), From: from.UnixMilli(), To: to.UnixMilli(), Now: -1}
	c.BandH = round1(y(scale(l.RollToC)) - c.BandY)
	if !now.Before(from) && !now.After(to) {
		c.Now = x(now)
	}
	every := (len(l.Curve) + mostRows - 1) / mostRows
	for i := 0; i < len(l.Curve); i += every {
		p := l.Curve[i]
		c.Rows = append(c.Rows, slabCurveRow{clock(p.At.In(loc)), u.Temperature(q.Celsius(p.C), 0), u.TemperatureRange(q.Celsius(p.LowC), q.Celsius(p.HighC), 0)})
	}
	return c
}

// clockTicks returns about half a dozen round times of day that hold a stretch of time.
func clockTicks(from, to time.Time) []time.Time {
	step := time.Minute
	for _, m := range []time.Duration{1, 2, 5, 10, 15, 20, 30, 60, 120, 240} {
		if step = m * time.Minute; to.Sub(from) <= 7*step {
			break
		}
	}
	var out []time.Time
	midnight := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, from.Location())
	for t := midnight.Add(from.Sub(midnight).Truncate(step)); ; t = t.Add(step) {
		if out = append(out, t); !t.Before(to) {
			return out
		}
	}
}
