package web

import (
	"strconv"

	"slabside/internal/book"
	"slabside/internal/entry"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// rigOf lists the things of the room by kind, leaving out kinds there are none of.
func rigOf(u q.Reader, b *book.Book) []roomGroup {
	groups := []struct {
		Name  string
		Items []roomItem
	}{
		{"Kettles", itemsOf(b.Kettles, func(k rig.Kettle) roomItem { return kettleItem(u, k) })},
		{"Slabs", itemsOf(b.Slabs, func(s rig.Slab) roomItem {
			return roomItem{s.Name, trials(s.TrialsOnly), []pair{{"size", u.Length(s.Length) + " × " + u.Length(s.Width)}, {"of", string(s.Material)}, {"cooling", or(s.Cooling, "none")}}}
		})},
		{"Hooks", itemsOf(b.Hooks, func(h rig.Hook) roomItem {
			return roomItem{h.Name, "", []pair{{"largest pull", u.Mass(h.MostOne)}}}
		})},
		{"Drop machines", itemsOf(b.Machines, func(m rig.Machine) roomItem {
			f := []pair{{"guard", or(m.Guard, "none on record")}, {"stop in reach", yesNo(m.Stop)}, {"people at it while it rolls", strconv.Itoa(m.RollHands())}}
			if m.RollRate > 0 {
				f = append(f, pair{"rolls", u.Rate(m.RollRate)})
			}
			return roomItem{m.Name, "", f}
		})},
		{"Rolls", itemsOf(b.Rolls, func(x rig.Rolls) roomItem {
			return roomItem{x.Name, "", []pair{{"a clear piece", u.Mass(x.PieceMass())}, {"of", string(x.Material)}, {"change to them", u.Number(x.Change.Minutes(), 0) + " min"}}}
		})},
		{"Boards", itemsOf(b.Boards, func(x rig.Board) roomItem {
			return roomItem{x.Name, "", []pair{{"keeps warm", u.Mass(x.Most)}, {"lamp", yesNo(x.Lamp)}}}
		})},
		{"Benches", itemsOf(b.Benches, func(x rig.Bench) roomItem {
			return roomItem{x.Name, "", []pair{{"holds sheets of", u.Mass(x.Most)}}}
		})},
		{"Sieves", itemsOf(b.Sieves, func(x rig.Sieve) roomItem {
			return roomItem{x.Name, "", []pair{{"opening", u.Length(x.Aperture)}}}
		})},
		{"Scales", itemsOf(b.Scales, func(x rig.Scale) roomItem {
			return roomItem{x.Name, "", []pair{{"up to", u.Mass(x.Capacity)}, {"reads to", q.Metric.With(u.Decimal()).Mass(x.Resolution)}, {"approved for trade", yesNo(x.Approved)}}}
		})},
		{"Glasses (thermometers)", itemsOf(b.Glasses, func(g rig.Glass) roomItem { return glassItem(u, g, b) })},
	}
	var out []roomGroup
	for _, g := range groups {
		if len(g.Items) == 0 {
			continue
		}
		linked := roomGroup{Name: g.Name}
		for _, kind := range entry.Kinds() {
			if manyOf(kind) == g.Name {
				linked.Add = newHref(kind)
				for i, t := range entry.List(b, kind) {
					linked.Items = append(linked.Items, linkedItem{roomItem: g.Items[i], Href: thingHref(kind, t.ID)})
				}
			}
		}
		out = append(out, linked)
	}
	return out
}

func itemsOf[T any](list []T, item func(T) roomItem) []roomItem {
	out := make([]roomItem, len(list))
	for i, x := range list {
		out[i] = item(x)
	}
	return out
}

func kettleItem(u q.Reader, k rig.Kettle) roomItem {
	metal := string(k.Material)
	if k.Lining != "" {
		metal += ", lined with " + string(k.Lining)
	}
	f := []pair{
		{"whole boil", u.Mass(k.UsualCharge)}, {"least charge", u.Mass(k.LeastCharge)}, {"holds", u.Volume(k.Volume)},
		{"kept free for foam", u.Percent(k.FoamRoom, 0)}, {"burner", u.Power(k.Burner)}, {"heat taken", efficiency(u, k)}, {"of", metal},
		{"stays on the wall", u.Mass(k.Smear)},
	}
	if k.TiltStand {
		f = append(f, pair{"tilt stand", "yes"})
	}
	return roomItem{k.Name, trials(k.TrialsOnly), f}
}

func efficiency(u q.Reader, k rig.Kettle) string {
	s := u.Percent(k.Efficiency, 0)
	if k.EfficiencyLow > 0 && k.EfficiencyHigh > 0 {
		s += " (" + u.Number(k.EfficiencyLow.Percent(), 0) + "–" + u.Number(k.EfficiencyHigh.Percent(), 0) + ")"
	}
	return s
}

// glassItem says what is known of a glass, its checks among it.
func glassItem(u q.Reader, g rig.Glass, b *book.Book) roomItem {
	checks := len(g.Checks)
	g = b.Checked(g)
	off := "reads true"
	switch {
	case g.Offset > 0:
		off = "reads " + u.Difference(g.Offset, 1) + " too high"
	case g.Offset < 0:
		off = "reads " + u.Difference(-g.Offset, 1) + " too low"
	}
	checked := "never"
	if g.CheckedOn != "" {
		checked = g.CheckedOn
		if g.CheckedAt > 0 {
			checked += ", up to " + u.Temperature(g.CheckedAt, 0)
		}
	}
	good := "± " + u.Difference(g.Class, 1)
	if checks > 0 {
		good += ", learned from " + count(checks, "check", "checks")
	}
	return roomItem{g.Name, "", []pair{{"at the end of the boil", off}, {"good to", good}, {"smallest step", u.Difference(g.Division, 1)}, {"checked", checked}}}
}

func trials(only bool) string {
	if only {
		return "for trials only"
	}
	return ""
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
