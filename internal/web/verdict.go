package web

import (
	"fmt"
	"math"
	"strings"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// verdictView is the answer to one question about a boil, with its slip.
type verdictView struct {
	Question string
	Answer   string
	Bad      bool
	Text     string
	Moves    string // any one of which would do; empty where there is no need
	Slip     verdictSlip
}

// verdictSlip says what decides a verdict.
type verdictSlip struct {
	Text    []string
	Rows    []limitRow // what the figure is held against
	Sources []sourceView
	Map     *mapView // of the first question alone
}

type limitRow struct{ Against, Limit, Answer, Chance string }

// questionWords asks the questions as a maker does.
var questionWords = map[string]string{"sticks": "Sticks?", "grains": "Grains?", "browns": "Browns?"}

// verdictsOf shows what a boil's figures mean for the sweet.
func verdictsOf(u q.Reader, res *app.BoilResult) []verdictView {
	var out []verdictView
	all := res.Verdicts
	for i, v := range all.List {
		bad := v.Answer != "no"
		x := verdictView{Question: questionWords[string(v.Question)], Answer: string(v.Answer), Bad: bad, Text: sentence(v.Text)}
		if moves := v.Line(); moves != "" {
			x.Moves = sentence("what would help: " + moves)
		}
		for _, d := range v.Decides {
			x.Slip.Text = append(x.Slip.Text, sentence(d)+".")
		}
		for _, l := range v.Limits {
			if v.Question == "grains" {
				break // its line says them
			}
			row := limitRow{Against: l.Name, Answer: string(l.Answer)}
			switch {
			case l.C != nil:
				row.Limit = u.Temperature(q.Celsius(*l.C), 0)
			case l.Frac != nil:
				row.Limit = u.Percent(q.Fraction(*l.Frac), 0)
			}
			if l.Usual {
				row.Against += ", usual"
			}
			if l.Chance != nil && *l.Chance > 0 {
				row.Chance = u.SayChance(q.Fraction(*l.Chance), 0)
			}
			x.Slip.Rows = append(x.Slip.Rows, row)
		}
		keys := v.Sources
		if i == 0 {
			x.Slip.Map = mapOf(u, res)
			x.Slip.Text = append(x.Slip.Text, "Open to the room: "+all.Open.Text+".")
			for _, w := range all.Open.Why {
				x.Slip.Text = append(x.Slip.Text, sentence(w)+".")
			}
			keys = append(keys[:len(keys):len(keys)], all.Open.Sources...)
			if a := all.Air; a != nil {
				x.Slip.Text = append(x.Slip.Text, sentence(a.Text)+".")
				keys = append(keys, a.Sources...)
			}
		}
		x.Slip.Sources = sourcesOf(app.Once(keys))
		out = append(out, x)
	}
	return out
}

// mapView is the map of a boil: its drawing, and the same as a table.
type mapView struct {
	curve            // frame and axes
	Lines  []mapLine // right of one it sticks
	Levels []mapLevel
	Dot    mapDot
	Arrows []string // paths
	Rows   []pair   // what the drawing shows
}

type mapLine struct {
	Path, Band string
	LabelX     float64
	LabelY     float64
	Label      string
}

type mapLevel struct {
	Y     float64
	Label string
	Below bool // the label stands below its line
}

// mapDot is the boil with its range; without Y it lies somewhere up the whole height.
type mapDot struct {
	X, Y, X1, X2, Y1, Y2 float64
	Known                bool
}

// mapOf draws the map; nil without one.
func mapOf(u q.Reader, res *app.BoilResult) *mapView {
	m := res.Verdicts.Map
	if m == nil || len(m.Lines) == 0 {
		return nil
	}
	pct := func(n q.Number) float64 { return 100 * float64(n) }
	xs, ys := []float64{0, 100 * m.Dot.WaterFrac.High}, []float64{0, pct(m.Top)}
	for _, l := range m.Lines {
		for _, p := range l.Points {
			xs = append(xs, 100*p.WaterFrac.High)
		}
	}
	if m.Dot.DoctorFrac != nil {
		ys = append(ys, 100*m.Dot.DoctorFrac.High)
	}
	frame, x, y := newFrame("Water left across, "+m.Doctor+" up: this boil, where it sticks and where it may grain; the same stands in the table",
		"water left in the sugar, %", m.Doctor+" in the "+m.Of+", %", u, xs, ys)
	v := &mapView{curve: frame}
	at := func(px, py float64) string { return fmt.Sprintf("%g %g", round1(x(px)), round1(y(py))) }
	doctor := "not known"
	if d := m.Dot.DoctorFrac; d != nil {
		doctor = u.SayPercent(*d, 0)
	}
	v.Rows = []pair{{"this boil, water in the sugar", u.SayPercent(m.Dot.WaterFrac, 1)}, {"this boil, " + m.Doctor + " in the " + m.Of, doctor}}
	for _, l := range m.Lines {
		var path, low, high []string
		for _, p := range l.Points {
			path = append(path, at(100*p.WaterFrac.Value, pct(p.DoctorFrac)))
			low = append(low, at(100*p.WaterFrac.Low, pct(p.DoctorFrac)))
			high = append([]string{at(100*p.WaterFrac.High, pct(p.DoctorFrac))}, high...)
		}
		first := l.Points[0]
		label := l.Name + ", " + u.Temperature(q.Celsius(l.LimitC), 0)
		v.Lines = append(v.Lines, mapLine{Path: "M" + strings.Join(path, "L"), Band: "M" + strings.Join(append(low, high...), "L") + "Z",
			LabelX: round1(x(100*first.WaterFrac.Value)) + 10, LabelY: float64(v.Y0 - 8), Label: label})
		v.Rows = append(v.Rows, pair{"most water for the " + label, u.SayPercent(alongside(l.Points, m.Dot.DoctorFrac), 1)})
	}
	for i, g := range []q.Number{m.RiskFrac, m.EasyFrac} {
		words := [...]string{"under it may grain", "from here it keeps easily"}
		v.Levels = append(v.Levels, mapLevel{Y: round1(y(pct(g))), Label: u.Number(pct(g), 0) + " %: " + words[i], Below: i == 0})
		v.Rows = append(v.Rows, pair{m.Doctor + " " + [...]string{"under which it may grain", "from which it keeps easily"}[i], u.Percent(q.Fraction(g), 0)})
	}
	v.dot(m.Dot.WaterFrac, m.Dot.DoctorFrac, x, y)
	if to := m.To; to != nil {
		if w := to.WaterFrac; w != nil {
			v.Arrows = append(v.Arrows, arrow(v.Dot.X, v.Dot.Y, x(pct(*w)), v.Dot.Y))
			v.Rows = append(v.Rows, pair{"drier would do, with at most", u.Percent(q.Fraction(*w), 1)})
		}
		if d := to.DoctorFrac; d != nil {
			v.Arrows = append(v.Arrows, arrow(v.Dot.X, v.Dot.Y, v.Dot.X, y(pct(*d))))
			v.Rows = append(v.Rows, pair{"more " + m.Doctor + " would do, at least", u.Percent(q.Fraction(*d), 0)})
		}
	}
	return v
}

// dot places the boil and its range.
func (v *mapView) dot(water q.Estimate, doctor *q.Estimate, x, y func(float64) float64) {
	v.Dot = mapDot{X: round1(x(100 * water.Value)), X1: round1(x(100 * water.Low)), X2: round1(x(100 * water.High)),
		Y1: float64(v.Y0), Y2: float64(v.Y1), Y: float64(v.Y0+v.Y1) / 2}
	if doctor != nil {
		v.Dot.Known = true
		v.Dot.Y, v.Dot.Y1, v.Dot.Y2 = round1(y(100*doctor.Value)), round1(y(100*doctor.Low)), round1(y(100*doctor.High))
	}
}

// alongside reads a line at a boil's doctor, straight between its points; where that
// is not known, at its lowest point, which is the surest.
func alongside(points []app.MapPoint, doctor *q.Estimate) q.Estimate {
	if doctor == nil {
		least := points[0].WaterFrac
		for _, p := range points {
			if p.WaterFrac.Value < least.Value {
				least = p.WaterFrac
			}
		}
		return least
	}
	i := 1
	for i < len(points)-1 && doctor.Value > float64(points[i].DoctorFrac) {
		i++
	}
	a, b := points[i-1], points[i]
	f := (doctor.Value - float64(a.DoctorFrac)) / float64(b.DoctorFrac-a.DoctorFrac)
	mix := func(p, r float64) float64 { return p + f*(r-p) }
	return q.Estimate{Value: mix(a.WaterFrac.Value, b.WaterFrac.Value), Low: mix(a.WaterFrac.Low, b.WaterFrac.Low),
		High: mix(a.WaterFrac.High, b.WaterFrac.High), Basis: q.Estimated}
}

// arrow draws an arrow along an axis of the frame; nothing where it would be
// shorter than its head.
func arrow(x1, y1, x2, y2 float64) string {
	const head = 7
	length := math.Hypot(x2-x1, y2-y1)
	if length < 2*head {
		return ""
	}
	dx, dy := (x2-x1)/length*head, (y2-y1)/length*head
	return fmt.Sprintf("M%g %gL%g %gM%g %gL%g %gL%g %g", round1(x1), round1(y1), round1(x2), round1(y2),
		round1(x2-dx-dy*0.6), round1(y2-dy+dx*0.6), round1(x2), round1(y2), round1(x2-dx+dy*0.6), round1(y2-dy-dx*0.6))
}
