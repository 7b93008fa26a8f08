package paper

import (
	"fmt"
	"strings"

	"github.com/boombuler/barcode/code128"

	"slabside/internal/app"
	"slabside/internal/caution"
	q "slabside/internal/quantity"
)

// batchPage prints one boil: what to weigh, what to read, when, with boxes for
// what really happened and each caution at its step.
func (s *sheet) batchPage(b *app.Batch) {
	d := s.day
	s.begin(fmt.Sprintf("%d  %s, batch %s", b.N, b.Name, b.ID),
		fmt.Sprintf("Slabside · %s · batch %s · figures with a range are estimates; the thermometer decides", d.Shop, b.ID))
	s.y += 7
	s.face("B", 22)
	s.text(margin, s.y, s.fit(fmt.Sprintf("%d  %s", b.N, b.Name), s.inner()-62))
	s.barcode(s.w-margin-58, margin-2, 58, 9, b.ID)
	s.y += 6
	s.face("", 11)
	s.text(margin, s.y, s.fit(fmt.Sprintf("%s boil, %s in %s · %s · rolls: %s", b.Size, d.Units.Mass(q.Kilograms(b.ChargeKg)), b.Sheet.Kettle, longDay(d), b.RollsName), s.inner()))
	s.y += 2

	s.weigh(b)
	s.before(b)
	s.boil(b)
	s.slab(b)
	s.pack(b)
}

// cautionsAt draws the cautions of some steps.
func (s *sheet) cautionsAt(b *app.Batch, steps ...string) {
	for _, c := range b.Cautions {
		for _, at := range steps {
			if c.At != at {
				continue
			}
			// A danger in red with its mark; what a model cannot say, quietly.
			s.face("", 7.6)
			s.room(float64(s.lines(s.inner()-4, c.Text)) * 3.3)
			s.colour(brass)
			mark := s.y
			red := caution.Known(caution.Code(c.Code))
			if red {
				s.colour(danger)
			}
			s.wrap(margin+4, s.inner()-4, 3.3, c.Text)
			if red {
				s.face("B", 8)
				s.text(margin+0.6, mark+3.3, "!")
			}
			s.colour(ink)
		}
	}
}

func (s *sheet) weigh(b *app.Batch) {
	const lead = 6.4
	s.heading("Weigh, by "+clock(b.WeighBy), 2*lead)
	xs := []float64{margin, margin + 15, margin + 72, margin + 104, s.w - margin - 52, s.w - margin - 26}
	head := func() {
		s.face("", 7)
		s.colour(quiet)
		s.y += 4
		for i, h := range []string{"when", "what", "mass", "scale", "lot", "weighed"} {
			s.text(xs[i], s.y, h)
		}
		s.colour(ink)
		s.y -= 1.5
	}
	head()
	for _, l := range b.Sheet.Weigh {
		lots := strings.Join(l.Lots, ", ")
		s.face("", 6.5)
		inBox := s.GetStringWidth(clean(lots)) <= 22
		need := lead + 2
		if !inBox {
			need += lotLead * float64(s.lines(s.w-margin-xs[1], lotsOn(lots)))
		}
		if s.room(need) {
			head()
		}
		s.y += lead
		s.face("", 8)
		s.colour(quiet)
		s.text(xs[0], s.y, s.fit(l.Stage, 14))
		s.colour(ink)
		name := l.Name
		if l.Portion != "" {
			name += ", for " + l.Portion
		}
		mark := ""
		if len(l.Allergens) > 0 {
			mark = " [" + strings.ToUpper(strings.Join(l.Allergens, ", ")) + "]"
		}
		// A long name is shortened, the allergen mark never.
		s.face("B", 10)
		room := xs[2] - xs[1] - 1 - s.GetStringWidth(clean(mark))
		s.face("", 10)
		x := xs[1] + s.text(xs[1], s.y, s.fit(name, room))
		s.face("B", 10)
		s.text(x, s.y, mark)
		s.face("B", 11.5)
		s.text(xs[2], s.y, s.fit(l.Show, xs[3]-xs[2]-1))
		s.face("", 7.5)
		scale := l.Scale
		if !l.Fine {
			s.colour(danger)
			scale = "too coarse: " + scale
		}
		s.text(xs[3], s.y, s.fit(scale, xs[4]-xs[3]-1))
		s.colour(ink)
		s.box(xs[4], s.y-4.6, 24, 5.6, "")
		s.box(xs[5], s.y-4.6, 26, 5.6, "")
		s.face("", 6.5)
		if inBox {
			s.colour(rule)
			s.text(xs[4]+1, s.y-0.6, lots)
		} else {
			s.colour(quiet)
			s.y += 0.6
			s.wrap(xs[1], s.w-margin-xs[1], lotLead, lotsOn(lots))
		}
		s.colour(ink)
	}
	s.y += 1.5
	for _, st := range b.Sheet.Stock {
		s.face("", 8)
		s.colour(brass)
		s.wrap(margin, s.inner(), 3.6, st.Text)
		s.colour(ink)
	}
	s.cautionsAt(b, "weigh")
}

const lotLead = 2.8 // mm

// lotsOn lists lots that are too many for the box, first to expire first.
func lotsOn(lots string) string { return "lots on hand: " + lots }

// before prints what is cleaned and changed before a boil, with a box for who did it.
func (s *sheet) before(b *app.Batch) {
	list := s.day.Before(b.ID)
	if len(list) == 0 {
		return
	}
	const lead = 7.5
	s.heading("Clean and change first", 2*lead)
	s.y++
	for _, x := range list {
		s.room(lead)
		s.face("B", 10)
		s.text(margin, s.y+4.8, clock(x.Begin)+"–"+clock(x.End))
		s.face("", 10)
		s.text(margin+26, s.y+4.8, s.fit(x.Act+", "+x.Hand, s.inner()-26-72))
		box := "done by, at"
		if x.Verify {
			box = "verified by, at"
		}
		s.box(s.w-margin-68, s.y, 68, lead-1, box)
		s.y += lead
	}
}

func (s *sheet) boil(b *app.Batch) {
	sh := &b.Sheet
	s.heading("Boil: light at "+clock(b.FlameUp)+", "+b.Lead+" stays with it", 34)
	top := s.y + 1.5
	// The one figure of this page.
	s.face("", 8)
	s.colour(quiet)
	s.text(margin, top+4, "read on "+s.day.Glass)
	s.colour(ink)
	s.face("B", 32)
	s.text(margin, top+16, sh.Read)
	s.face("", 8)
	s.text(margin, top+20.5, s.units.TemperatureRange(q.Celsius(sh.DialC.Low), q.Celsius(sh.DialC.High), 0)+", estimated")
	x := margin + 62
	s.face("", 9)
	rows := []string{
		"true here " + s.units.SayTemperature(sh.BoilC, 1),
		"water left " + s.units.SayPercent(sh.WaterFrac, 1),
		"with the flame " + s.units.SayMinutes(sh.BoilTimeS) + "; watched from " + clock(b.Hold),
		"in the kettle at the lift " + s.units.SayMass(sh.LiftKg),
	}
	if sh.GlassC != nil {
		rows = append(rows, "stands up to "+s.units.SayTemperature(*sh.GlassC, 0))
	}
	s.y = top
	for _, r := range rows {
		s.y += 4.2
		s.text(x, s.y, s.fit(r, s.w-margin-x))
	}
	s.y = max(s.y, top+21) + 1.5
	w := (s.inner() - 9) / 4
	for i, l := range []string{"lit at", "hold point at", "lifted at, reading", "kettle weighed"} {
		s.box(margin+float64(i)*(w+3), s.y, w, 9, l)
	}
	s.y += 10
	s.cautionsAt(b, "flame", "hold", "end")
}

func (s *sheet) slab(b *app.Batch) {
	s.heading(fmt.Sprintf("Slab and rolls: pour at %s, roll %s to %s, %.0f min of rolling in %.0f min of condition",
		clock(b.Pour), clock(b.RollStart), clock(b.RollEnd), float64(b.Sheet.RollMin), float64(b.Sheet.RollBandMin)), 8)
	for _, p := range b.Portions {
		s.room(5.4 + 1)
		s.y += 5.4
		s.paint(p.Paint, margin, s.y-3.4)
		s.face("", 10)
		work := "folded clear"
		if p.Work == "pulled" {
			work = "pulled"
		}
		s.text(margin+7, s.y, s.fit(fmt.Sprintf("%s (%s): %s, %s: %s, %s", p.ID, p.Colour, s.units.Mass(q.Kilograms(p.MassKg)), work,
			s.units.SayCount(p.Pieces, "pieces"), s.units.SayMass(p.SoundKg)), s.inner()-7))
	}
	s.onSlab(b.OnSlab(s.units))
	s.room(12)
	s.y += 2
	w := (s.inner() - 12) / 5
	for i, l := range []string{"poured at, by", "edge lifts at", "first good sheet", "last good sheet", "rolls whole before / after"} {
		s.box(margin+float64(i)*(w+3), s.y, w, 9, l)
	}
	s.y += 10
	s.cautionsAt(b, "pour", "slab", "rolls")
}

// onSlab prints when a boil is turned, pulled and rolled, two to a line.
func (s *sheet) onSlab(on app.OnSlab) {
	if on.Cannot != "" {
		s.face("", 9)
		s.room(5)
		s.y += 5
		s.text(margin, s.y, s.fit("Its times on the slab cannot be worked out: "+on.Cannot, s.inner()))
		return
	}
	if len(on.Times) == 0 {
		return
	}
	s.face("", 7.5)
	s.room(5)
	s.y += 5
	s.colour(quiet)
	s.text(margin, s.y, "By the clock of the plan, and after the pour, "+on.Basis+":")
	s.colour(ink)
	half := s.inner() / 2
	for i, t := range on.Times {
		if i%2 == 0 {
			s.room(4.4)
			s.y += 4.4
		}
		x := margin + half*float64(i%2)
		s.face("B", 9)
		s.text(x, s.y, t.At)
		s.face("", 9)
		s.text(x+11, s.y, s.fit(t.What+": "+t.After, half-13))
	}
	s.room(4.6)
	s.y += 4.6
	s.text(margin, s.y, s.fit(on.Rolls, s.inner()))
}

func (s *sheet) pack(b *app.Batch) {
	s.heading("Break, sieve, pack: sheets break from "+clock(b.Cool)+", packed by "+clock(b.Done), 12)
	if len(b.Sheet.Allergens)+len(b.Sheet.MayContain)+len(b.Sheet.Unstated) > 0 {
		s.face("B", 9)
		t := ""
		if len(b.Sheet.Allergens) > 0 {
			t = "Contains: " + strings.Join(b.Sheet.Allergens, ", ") + ". "
		}
		if may := b.Sheet.MayContainText(); may != "" {
			t += "May contain: " + may + ". "
		}
		if len(b.Sheet.Unstated) > 0 {
			t += "Supplier has not said: " + strings.Join(b.Sheet.Unstated, ", ") + "."
		}
		s.wrap(margin, s.inner(), 4.2, t)
	}
	s.room(12)
	s.y += 2
	w := (s.inner() - 12) / 5
	for i, l := range []string{"sound pieces, mass", "chips and dust", "ends, cook-back", "bags", "signed"} {
		s.box(margin+float64(i)*(w+3), s.y, w, 9, l)
	}
	s.y += 10
	s.cautionsAt(b, "pack")
}

// paint draws the sweet's own colour as a small drop.
func (s *sheet) paint(hex string, x, y float64) {
	var c [3]int
	if n, err := fmt.Sscanf(strings.TrimPrefix(hex, "#"), "%02x%02x%02x", &c[0], &c[1], &c[2]); n != 3 || err != nil {
		return
	}
	s.fill(c)
	s.stroke(quiet, 0.2)
	s.Ellipse(x+2.4, y+1.8, 2.4, 1.8, 0, "FD")
}

// barcode draws Code 128 as vector bars with its quiet zones of ten modules
// (ISO/IEC 15417) and the text under it.
func (s *sheet) barcode(x, y, w, h float64, code string) {
	bc, err := code128.Encode(code)
	if err != nil {
		return // a batch id is always ASCII; nothing to draw otherwise
	}
	modules := bc.Bounds().Dx()
	m := w / float64(modules+20)
	s.fill([3]int{0, 0, 0})
	for i := 0; i < modules; i++ {
		j := i
		for j < modules {
			if r, _, _, _ := bc.At(j, 0).RGBA(); r != 0 {
				break
			}
			j++
		}
		if j > i {
			s.Rect(x+m*float64(10+i), y, m*float64(j-i), h, "F")
			i = j
		}
	}
	s.face("", 7)
	t := clean(code)
	s.text(x+(w-s.GetStringWidth(t))/2, y+h+2.8, t)
}
