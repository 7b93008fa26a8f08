package web

import (
	"cmp"
	"fmt"
	"net/http"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// roomView is the boiling room, read only.
type roomView struct {
	Base   base
	First  *firstStep
	Room   []pair
	Times  []pair
	Groups []roomGroup
	Hands  []handView
	Old    []oldMetal
	Day    []pair

	Stopped []faultRow // what is out of use
	Due     []dueRow   // what is overdue, due or soon
	Care    string     // what else is to be known of the care; empty: nothing
}

// roomGroup is one kind of thing in the room.
type roomGroup struct {
	Name  string
	Add   string // address of the form for one more
	Items []linkedItem
}

// linkedItem is a thing with the address of its form.
type linkedItem struct {
	roomItem
	Href string
	Care string // address of its ledger
	Out  bool   // out of use
}

type roomItem struct {
	Name  string
	Mark  string // "for trials only"
	Facts []pair
}

type handView struct{ Name, Age, Hours, May, Href string }

// oldMetal is a surface whose metal asks for a test.
type oldMetal struct {
	What, Metal, Test string
	Missing           bool
}

func (s *server) room(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "room", roomView{Base: frame("Boiling room", "/room"), First: noBook()})
	}
	if err != nil {
		return err
	}
	v := roomOf(&b)
	if err := s.careInRoom(r, &v); err != nil {
		return err
	}
	v.Base = s.base(r, "Boiling room", "/room")
	return s.render(w, http.StatusOK, "room", v)
}

// careInRoom puts what is out of use and what is due on the page of the room.
func (s *server) careInRoom(r *http.Request, v *roomView) error {
	res, err := s.shop.Care(r.Context(), "")
	if err != nil {
		return err
	}
	out, open := map[string]bool{}, 0
	for _, f := range res.Faults {
		if row := faultOf(f); f.Stops {
			v.Stopped = append(v.Stopped, row)
			out[row.Href] = true
		} else {
			open++
		}
	}
	for _, d := range res.Due {
		if d.Urgency != app.Later {
			v.Due = append(v.Due, dueOf(d))
		}
	}
	var more []string
	if open > 0 {
		more = append(more, count(open, "fault that does not stop anything", "faults that do not stop anything"))
	}
	if n := len(res.Offered); n > 0 {
		more = append(more, count(n, "fault in a record that nobody has written down", "faults in records that nobody has written down"))
	}
	v.Care = app.Listed(more)
	for i := range v.Groups {
		for j := range v.Groups[i].Items {
			x := &v.Groups[i].Items[j]
			x.Care = strings.Replace(x.Href, "/book/", "/care/", 1)
			x.Out = out[x.Care]
		}
	}
	return nil
}

func roomOf(b *book.Book) roomView {
	u := b.Shop.Units
	v := roomView{Room: airOf(u, b.Room), Times: timesOf(u, b.Room.Times), Day: dayOf(b)}
	v.Groups = append(v.Groups, rigOf(u, b)...)
	for _, h := range b.Hands {
		age := "adult"
		if !h.Adult {
			age = "not an adult: no hot work"
		}
		hours := "all day"
		if h.From != "" || h.To != "" {
			hours = or(h.From, b.Day.Opens) + "–" + or(h.To, b.Day.Ends)
		}
		may := make([]string, len(h.May))
		for i, t := range h.May {
			may[i] = string(t)
		}
		v.Hands = append(v.Hands, handView{h.Name, age, hours, strings.Join(may, ", "), thingHref("hand", h.ID)})
	}
	for _, k := range b.Kettles {
		v.Old = append(v.Old, metalOf(k.Name, k.Touches(), k.Tested)...)
	}
	for _, x := range b.Rolls {
		v.Old = append(v.Old, metalOf(x.Name, x.Material, x.Tested)...)
	}
	if len(b.Kettles) == 0 && len(b.Rolls) == 0 {
		v.First = &firstStep{Text: "The shop book has no kettle and no rolls yet. Import a shop-book file that names what stands in the room.", Code: "slabside import FILE.toml"}
	}
	return v
}

func airOf(u q.Reader, r rig.Room) []pair {
	out := []pair{{"height above the sea", u.Altitude(r.Altitude)}}
	if r.StationPressure > 0 {
		out = append(out, pair{"pressure of the air, read here", u.Pressure(r.StationPressure)})
	} else {
		out = append(out, pair{"pressure of the air", "from the height"})
	}
	return append(out,
		pair{"air", u.Temperature(r.Air, 1)},
		pair{"humidity", u.Percent(r.Humidity, 0)},
		pair{"alkalinity of the water", alkalinityText(u, r.WaterAlkalinity)},
		pair{"two people pour above", u.Mass(r.PourAlone)},
		pair{"watched from", u.Temperature(r.HoldPoint, 0)},
		pair{"the store gets as warm as", u.Temperature(cmp.Or(r.StoreMost, rig.UsualStoreMost), 0)},
		pair{"the post gets as warm as", u.Temperature(cmp.Or(r.PostMost, rig.UsualPostMost), 0)})
}

// alkalinityText says a water's alkalinity [mg/L of calcium carbonate], or that
// nobody has read it off the report.
func alkalinityText(u q.Reader, mgPerLitre float64) string {
	if mgPerLitre == 0 {
		return fmt.Sprintf("not known: %d mg/L of calcium carbonate are taken, nothing to %d", rig.UsualAlkalinity, rig.MostAlkalinity)
	}
	return u.Number(mgPerLitre, 0) + " mg/L of calcium carbonate"
}

func timesOf(u q.Reader, t rig.Times) []pair {
	min := func(name string, d q.Duration) pair { return pair{name, u.Number(d.Minutes(), 1) + " min"} }
	rate := func(name string, kg float64) pair { return pair{name, u.Rate(kg)} }
	return []pair{
		min("load the kettle", t.Charge), min("lift and pour", t.Pour), min("rinse the kettle", t.Rinse), min("until the first turn", t.FirstTurn),
		min("turn and fold", t.Turn), rate("pull, one person", t.PullRate), rate("roll", t.RollRate),
		min("in condition without a board", t.RollBand), min("in condition on the board", t.RollBandBoard),
		min("wipe", t.Wipe), min("wash", t.Wash), min("allergen clean", t.AllergenClean), min("wipe the rolls", t.RollsWipe),
		min("wash the rolls", t.RollsWash), min("allergen clean of the rolls", t.RollsAllergen), min("allergen clean of the kettle", t.KettleClean), min("weigh in, to begin", t.WeighBase),
		min("weigh in, a line", t.WeighLine), min("sheets cool", t.Cool), rate("break and sieve, one person", t.SieveRate),
		rate("finish, one person", t.FinishRate), {"pack a bag", u.Number(t.PackBag.Std().Seconds(), 0) + " s"}, min("clean down at the end", t.Closing),
	}
}

func dayOf(b *book.Book) []pair {
	u := b.Shop.Units
	out := []pair{{"opens", b.Day.Opens}, {"ends", b.Day.Ends}}
	for _, x := range b.Day.Breaks {
		out = append(out, pair{x.Name, fmt.Sprintf("%s min, begins %s to %s", u.Number(x.Duration.Minutes(), 0), x.From, x.To)})
	}
	for _, x := range b.Day.Pours {
		out = append(out, pair{x.Name, fmt.Sprintf("announced pour at %s, up to %s min early or %s min late", x.At, u.Number(x.Early.Minutes(), 0), u.Number(x.Late.Minutes(), 0))})
	}
	for _, x := range b.Day.Rules {
		if x.Why != "" {
			out = append(out, pair{"rule", x.Why})
		}
	}
	return out
}

// metalOf lists a surface that carries a question: bare copper and its alloys,
// tin, and anything that has been tested.
func metalOf(name string, m rig.Material, t rig.Test) []oldMetal {
	old := m.Bare() || m == rig.TinnedCopper || m == rig.TinnedSteel
	if !old && !t.Done() {
		return nil
	}
	o := oldMetal{What: name, Metal: string(m), Missing: !t.Done(), Test: "no test for lead and copper on record: ask the inspector"}
	if t.Done() {
		o.Test = "tested by " + t.By + ", " + t.On
	}
	return []oldMetal{o}
}

func or(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
