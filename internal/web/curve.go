package web

import (
	"fmt"
	"math"
	"strings"

	q "slabside/internal/quantity"
)

// curve is a line drawn over two axes. What it shows stands in a table beside it.
type curve struct {
	W, H           int
	Title          string // for who cannot see it
	XName, YName   string // with their units
	XTicks, YTicks []curveTick
	Path           string
	Dots           []curveDot
	X0, X1, Y0, Y1 int // the frame; Y0 below
}

type curveTick struct {
	At    float64
	Label string
}

type curveDot struct {
	X, Y  float64
	Label string
	Left  bool // the label stands left of the dot
}

// curvePoint is a point of a curve, or with a label a dot on it.
type curvePoint struct {
	x, y  float64
	label string
}

// Measures of a curve's drawing, in its own units.
const (
	curveWide, curveHigh  = 640, 300
	curveLeft, curveRight = 58, 16
	curveTop, curveBottom = 14, 44
)

// newFrame draws a frame whose axes begin and end at whole ticks and hold all values,
// and returns where on it they lie.
func newFrame(title, xName, yName string, u q.Reader, xs, ys []float64) (c curve, x, y func(float64) float64) {
	c = curve{W: curveWide, H: curveHigh, Title: title, XName: xName, YName: yName,
		X0: curveLeft, X1: curveWide - curveRight, Y0: curveHigh - curveBottom, Y1: curveTop}
	xTicks, yTicks := niceTicks(xs, 7), niceTicks(ys, 5)
	x = axis(xTicks, float64(c.X0), float64(c.X1))
	y = axis(yTicks, float64(c.Y0), float64(c.Y1))
	for _, v := range xTicks {
		c.XTicks = append(c.XTicks, curveTick{x(v), u.Digits(v, 4)})
	}
	for _, v := range yTicks {
		c.YTicks = append(c.YTicks, curveTick{y(v), u.Digits(v, 4)})
	}
	return c, x, y
}

// drawCurve draws points in order of x, and dots.
func drawCurve(title, xName, yName string, u q.Reader, line, dots []curvePoint) curve {
	xs, ys := make([]float64, len(line)), make([]float64, len(line))
	for i, p := range line {
		xs[i], ys[i] = p.x, p.y
	}
	c, x, y := newFrame(title, xName, yName, u, xs, ys)
	var path strings.Builder
	for i, p := range line {
		verb := "L"
		if i == 0 {
			verb = "M"
		}
		fmt.Fprintf(&path, "%s%g %g", verb, round1(x(p.x)), round1(y(p.y)))
	}
	c.Path = path.String()
	for _, d := range dots {
		c.Dots = append(c.Dots, curveDot{X: round1(x(d.x)), Y: round1(y(d.y)), Label: d.label,
			Left: x(d.x)+textWide(d.label) > float64(c.X1)})
	}
	return c
}

// axis maps the span of the ticks onto the drawing.
func axis(ticks []float64, from, to float64) func(float64) float64 {
	low, high := ticks[0], ticks[len(ticks)-1]
	return func(v float64) float64 { return from + (v-low)/(high-low)*(to-from) }
}

// niceTicks returns about so many round values that hold all of the values
// between the first and the last.
func niceTicks(values []float64, about int) []float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	if !(high > low) {
		high, low = low+1, low-1
		if len(values) == 0 {
			low, high = 0, 1
		}
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(about))))
	for _, m := range []float64{1, 2, 5, 10} {
		if (high-low)/(m*step) <= float64(about) {
			step *= m
			break
		}
	}
	var out []float64
	for i := math.Floor(low/step + 1e-9); i*step < high+step*(1-1e-9); i++ {
		out = append(out, i*step)
	}
	return out
}

// Mid is the middle of the frame, for the names of the axes.
func (c curve) Mid() int { return (c.X0 + c.X1) / 2 }
