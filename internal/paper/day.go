package paper

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// density is how closely a day sheet is set: type in points, lines in millimetres.
type density struct{ pt, lead float64 }

// densities are tried from the widest on.
var densities = []density{{8.8, 4.4}, {8, 3.9}, {7.2, 3.5}, {6.4, 3.1}}

// footRoom is what the foot of a page keeps free [mm].
const footRoom = 10

// dayPage prints the whole day on one page, set as widely as it fits: what stands
// in doubt is tried on a sheet that is thrown away. A day too long for one page
// is set to be read well and goes on on the next.
func (s *sheet) dayPage() error {
	fits := densities[1]
	for _, d := range densities {
		try, err := newSheet(s.day)
		if err != nil {
			return err
		}
		try.dayBody(d)
		if try.PageCount() == 1 {
			fits = d
			break
		}
	}
	s.dayBody(fits)
	return nil
}

func (s *sheet) dayBody(set density) {
	d := s.day
	s.begin("Making day, "+longDay(d), "Slabside · "+d.Shop+", "+d.Place+" · figures with a range are estimates; the thermometer decides")
	s.y += 5
	s.face("B", 17)
	s.text(margin, s.y, "Making day")
	s.face("", 11)
	s.right(s.w-margin, s.y, longDay(d))
	s.y += 5.5
	s.face("", 9)
	s.colour(quiet)
	s.text(margin, s.y, s.fit(fmt.Sprintf("%s, %s · %s above the sea, %s · %s · read on %s", d.Shop, d.Place,
		d.Units.Altitude(q.Metres(d.AltitudeM)), d.Units.Pressure(q.Pascals(d.PressurePa.Value)), d.Kettle, d.Glass), s.inner()))
	s.colour(ink)
	s.y += 2

	if len(d.Batches) == 0 {
		s.y += 8
		s.face("", 11)
		s.text(margin, s.y, "Nothing to boil.")
	} else {
		s.boils(set.pt, set.lead)
		s.timetable()
	}
	s.bags(set.pt, set.lead)
	s.notPlaced(set.pt, set.lead)
	s.changeovers(set.pt, set.lead)
	s.dayCautions()
}

func (s *sheet) boils(pt, lead float64) {
	d := s.day
	cols := []column{{"", 6, false}, {"boil", 40, false}, {"charge", 25, false}, {"light", 12, true}, {"read", 16, true},
		{"pour", 13, true}, {"", 3, false}, {"rolls", 24, false}, {"packed", 14, true}, {"pieces", 0, true}}
	used := 0.0
	for _, c := range cols {
		used += c.width
	}
	cols[len(cols)-1].width = s.inner() - used
	var rows [][]string
	for _, b := range d.Batches {
		rows = append(rows, []string{fmt.Sprint(b.N), b.Name, b.Size + " " + d.Units.Mass(q.Kilograms(b.ChargeKg)), clock(b.FlameUp),
			b.Sheet.Read, clock(b.Pour), "", clock(b.RollStart) + " " + b.RollsName, clock(b.Done),
			counted(b.Pieces)})
	}
	s.table(cols, rows, pt, lead+0.5)
	s.y += 1
}

// counted prints a number of things with its range, if it has one.
func counted(e q.Estimate) string {
	if !e.Spread() {
		return fmt.Sprintf("%.0f", e.Value)
	}
	return fmt.Sprintf("%.0f (%.0f–%.0f)", e.Value, e.Low, e.High)
}

// stageInk is the tint of a stage on the timetable; the hatch tells them apart without colour.
func stageInk(stage string) (c [3]int, hatch float64) {
	switch stage {
	case "boil":
		return [3]int{0xE9, 0xDC, 0xBE}, 0
	case "watch", "pour":
		return [3]int{0xC9, 0xA8, 0x5A}, 0
	case "turn", "pull", "tend", "hold_slab":
		return [3]int{0xCB, 0xDD, 0xD7}, 0
	case "roll":
		return [3]int{0x8F, 0xBA, 0xAF}, 0
	case "wipe", "wash", "allergen", "change":
		return [3]int{0xF4, 0xF6, 0xF3}, 2.2
	case "break":
		return [3]int{0xFF, 0xFF, 0xFF}, 1.2
	}
	return pale, 0
}

const rowH = 5.2 // of the timetable [mm]

// timetable draws a row a resource, minutes across, as many to a page as it holds.
func (s *sheet) timetable() {
	const frame = 10 // mm, the hours above and the announced pours below
	for rows := s.day.Rows; len(rows) > 0; {
		s.room(frame + rowH*float64(min(len(rows), 8)))
		n := min(len(rows), max(1, int((s.low()-s.y-frame)/rowH)))
		s.timeRows(rows[:n])
		rows = rows[n:]
	}
}

func (s *sheet) timeRows(rows []app.Row) {
	d := s.day
	from, to := d.Opens, d.Closed
	if to.Before(d.WorkEnd) || !to.After(from) {
		to = d.WorkEnd
	}
	to = to.Add(5 * time.Minute)
	left := margin + 20
	width := s.w - margin - left
	x := func(t time.Time) float64 {
		f := t.Sub(from).Minutes() / to.Sub(from).Minutes()
		return left + width*min(max(f, 0), 1)
	}
	top := s.y + 5
	bottom := top + rowH*float64(len(rows))
	s.face("", 6.5)
	s.colour(quiet)
	s.stroke(rule, 0.1)
	step := time.Hour
	if to.Sub(from) < 3*time.Hour {
		step = 30 * time.Minute
	}
	for t := from.Truncate(step); !t.After(to); t = t.Add(step) {
		if t.Before(from) {
			continue
		}
		s.Line(x(t), top, x(t), bottom)
		s.text(x(t)-3, top-1, clock(t))
	}
	for i, r := range rows {
		y := top + rowH*float64(i)
		s.face("", 7)
		s.colour(ink)
		s.text(margin, y+rowH-1.6, s.fit(r.Name, 19))
		var numbered []float64
		for _, b := range r.Bars {
			c, hatch := stageInk(b.Stage)
			x0, x1 := x(b.From), x(b.To)
			s.fill(c)
			s.stroke(quiet, 0.1)
			if b.Hot {
				s.stroke(ink, 0.35)
			}
			s.Rect(x0, y+0.5, max(x1-x0, 0.3), rowH-1, "FD")
			if hatch > 0 {
				s.stroke(rule, 0.1)
				s.ClipRect(x0, y+0.5, max(x1-x0, 0.3), rowH-1, false)
				for h := x0 - rowH; h < x1; h += hatch {
					s.Line(h, y+rowH-0.5, h+rowH, y+0.5)
				}
				s.ClipEnd()
			}
			if b.N > 0 {
				s.face("B", 6.5)
				n := fmt.Sprint(b.N)
				wide := s.GetStringWidth(n)
				at := x0 + (x1-x0-wide)/2
				// Who watches a flame may do what can be dropped meanwhile: two bars lie on
				// one another then, and the upper one's number would fall on the other's.
				taken := slices.ContainsFunc(numbered, func(o float64) bool { return at < o+wide && o < at+wide })
				if wide+0.6 < x1-x0 && !taken {
					s.text(at, y+rowH-1.7, n)
					numbered = append(numbered, at)
				}
			}
		}
	}
	for _, p := range d.Pours {
		s.stroke(danger, 0.3)
		s.Line(x(p.At), top-0.5, x(p.At), bottom)
		s.face("", 6)
		s.colour(danger)
		s.text(x(p.At)+0.5, bottom+2.2, s.fit(p.Name, 40))
		s.colour(ink)
	}
	s.y = bottom + 2
}

func (s *sheet) changeovers(pt, lead float64) {
	if len(s.day.Changeovers) == 0 {
		return
	}
	s.heading("Between boils", 2*lead)
	var list []app.SetUp
	for _, c := range s.day.Changeovers {
		list = append(list, c.SetUps...)
	}
	for _, c := range list {
		text := c.Why + " (" + c.Hand + ")"
		s.face("B", pt)
		s.room(float64(s.lines(s.inner()-13, text)) * lead)
		s.text(margin, s.y+lead, clock(c.Begin))
		s.face("", pt)
		s.wrap(margin+13, s.inner()-13, lead, text)
	}
}

func (s *sheet) bags(pt, lead float64) {
	d := s.day
	if len(d.Bags) == 0 {
		return
	}
	s.heading("Bags", 3*lead)
	cols := []column{{"product", 62, false}, {"", 15, false}, {"asked", 16, true}, {"shelf", 16, true}, {"filled today", 34, true}, {"chance it is whole", s.inner() - 143, true}}
	var rows [][]string
	for _, b := range d.Bags {
		kind := "should"
		if b.Must {
			kind = "must"
		}
		filled, chance := counted(b.Made), d.Units.SayChance(q.Fraction(b.Chance), 0)
		if !b.Planned {
			filled, chance = "not in this day", ""
		}
		rows = append(rows, []string{b.Name, kind, fmt.Sprint(b.Asked), fmt.Sprint(b.FromStock), filled, chance})
	}
	s.table(cols, rows, pt, lead)
	if len(d.LeftOver) > 0 {
		parts := make([]string, len(d.LeftOver))
		for i, l := range d.LeftOver {
			parts[i] = l.Name + " " + d.Units.SayMass(l.Kg)
		}
		s.y += 1
		s.face("", pt-0.6)
		s.colour(quiet)
		s.wrap(margin, s.inner(), lead-0.4, "Left over: "+strings.Join(parts, "; "))
		s.colour(ink)
	}
}

func (s *sheet) notPlaced(pt, lead float64) {
	d := s.day
	if len(d.Unplaced) == 0 && len(d.Offers) == 0 {
		return
	}
	head := "Not in this day, and what would help"
	if len(d.Unplaced) == 0 {
		head = "It could leave less over"
	}
	s.heading(head, lead)
	s.face("", pt)
	for _, u := range d.Unplaced {
		s.wrap(margin, s.inner(), lead, u.Name+", "+d.Units.Mass(q.Kilograms(u.ChargeKg))+": "+u.Why)
	}
	for _, o := range d.Offers {
		s.wrap(margin, s.inner(), lead, "– "+o)
	}
}

// dayCautions prints the day's cautions in two columns.
func (s *sheet) dayCautions() {
	list := s.day.Cautions
	if len(list) == 0 {
		return
	}
	const lead, least = 3.0, 12.0 // least [mm] is worth a heading
	s.heading("Mind", least)
	colW := (s.inner() - 6) / 2
	x := margin
	top, deepest := s.y, s.y
	for _, c := range list {
		s.face("", 7)
		need := float64(s.lines(colW-3, c.Text)) * lead
		if s.y+need > s.low() && x == margin {
			x, s.y = margin+colW+6, top
		}
		if s.room(need) {
			x, top, deepest = margin, s.y, s.y
		}
		s.text(x, s.y+lead, "•")
		s.wrap(x+3, colW-3, lead, c.Text)
		deepest = max(deepest, s.y)
	}
	s.y = deepest
}
