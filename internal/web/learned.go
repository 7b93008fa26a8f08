package web

import (
	"net/http"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// learnedView is what the records teach of the room.
type learnedView struct {
	Base     base
	Off      bool
	From     string
	Figures  []learnedFigure
	Refused  []pair
	Plots    []learnedPlot
	Cautions []cautionView
}

type learnedFigure struct {
	Name, Of    string
	Before, Now figure
	Slip        *slip
	Batches     []recordLink
}

type recordLink struct{ ID, Href string }

// learnedPlot is what was seen of every batch beside what was to be expected.
type learnedPlot struct {
	What string
	Rows []learnedRow
	plotView
}

type learnedRow struct {
	recordLink
	seenRow
}

// learnedMeans says what a figure means.
var learnedMeans = map[string]string{
	"boils_hotter":     "How much hotter the sugar here is, when it is as dry as was asked, than the boiling equation has it. Less than nothing: cooler.",
	"glass_reads_high": "At the end of the boil, beyond nothing: take it off what is read. Less than nothing: it reads too low.",
	"stands_up_higher": "How much warmer than the glass transition has it the sweets of this room stay hard, by when they could be pulled and rolled.",
	"slab_takes":       "How well sugar lies on the slab: it sets how soon the edge lifts and how fast a batch cools. Oil, a skin that lifts and air under it lower it.",
	"pour_loses":       "From the reading at the lift until the sugar lies on the slab, by way of the pan's own heat and the air.",
	"edge_lifts":       "When these hands turn the edge, by how thick the sugar is then. Above one: they wait longer than is held.",
	"rolls_fed":        "At how much lower a temperature these hands first roll than is held. Less than nothing: hotter.",
	"board_loses":      "How fast what waits for the rolls cools. Above one: faster than is held.",
	"kneading_takes":   "How fast a batch cools in these hands once the folds are made. Above one: faster than is held.",
	"rolling_rate":     "From the first bar or good sheet to the last, cutting, feeding and carrying included. It is not raised by feeding faster.",
	"kettle_gets":      "Share of the burner's heat, by how long the flame burned. The rest goes past the pan.",
}

func (s *server) learned(w http.ResponseWriter, r *http.Request) error {
	res, err := s.shop.Learned(r.Context())
	if err != nil {
		return err
	}
	v := learnedView{Base: s.base(r, "What this room has taught", "/records"), Off: res.Off, From: res.From}
	u := res.Units
	for _, f := range res.Figures {
		say := func(e q.Estimate) figure { return figureOf(app.SayLearned(u, f.Unit, e)) }
		x := learnedFigure{Name: capital(f.Says), Of: f.OfName, Before: say(f.Before), Now: say(f.Now()),
			Slip: &slip{Of: f.Says, Text: learnedMeans[f.Name] + " It starts from what is held without records and is moved by each of them, the surer the more.", Sources: sourcesOf(res.Sources)}}
		for _, id := range f.By {
			x.Batches = append(x.Batches, recordLink{id, recordHref(id)})
		}
		v.Figures = append(v.Figures, x)
	}
	for _, x := range res.Refused {
		v.Refused = append(v.Refused, pair{capital(x.Says), x.Why})
	}
	for _, c := range res.Cautions {
		v.Cautions = append(v.Cautions, cautionView{Text: sentence(c.Text) + "."})
	}
	v.Plots = plotsOf(u, res)
	return s.render(w, http.StatusOK, "learned", v)
}

// plotsOf puts every batch in its place, the oldest left, by what was seen.
func plotsOf(u q.Reader, res *app.LearnResult) []learnedPlot {
	var out []learnedPlot
	for _, what := range []string{"weighed", "measured", "burned", "pulled", "rolled", "last", "edge lifts", "pull begun", "first sheet", "rolling", "gone short", "read"} {
		p := learnedPlot{What: capital(seenWords[what])}
		var seen []app.LearnedSeen
		for _, x := range res.Seen {
			if x.What == what {
				seen = append(seen, x)
				p.Rows = append(p.Rows, learnedRow{recordLink{x.Batch, recordHref(x.Batch)}, seenOf(u, x.SeenLine)})
			}
		}
		if len(seen) == 0 {
			continue
		}
		p.plotView = plotOf(u, p.What, seen)
		out = append(out, p)
	}
	return out
}

// plotView is a drawing of batches in a row: what was seen, within what was to be
// expected.
type plotView struct {
	curve
	Bars []plotBar
}

type plotBar struct{ X, Y, Y1, Y2 float64 }

func plotOf(u q.Reader, what string, seen []app.LearnedSeen) plotView {
	scale := func(v float64) float64 { return v }
	unit := "°C"
	switch {
	case seen[0].Unit == "frac":
		unit, scale = "%", func(v float64) float64 { return 100 * v }
	case seen[0].Unit == "s":
		unit, scale = "min", func(v float64) float64 { return v / 60 }
	case u.US():
		unit, scale = "°F", func(v float64) float64 { return q.Celsius(v).Fahrenheit() }
	}
	xs, ys := []float64{0, float64(len(seen)) + 1}, []float64{}
	for _, s := range seen {
		ys = append(ys, scale(float64(s.Seen)), scale(s.Now.Low), scale(s.Now.High))
	}
	frame, x, y := newFrame(what+": a dot what was seen of each batch, a line what was to be expected of it; the same stands in the table", "batch, the newest right", what+", "+unit, u, xs, ys)
	v := plotView{curve: frame}
	v.XTicks = nil // batches have no scale
	for i, s := range seen {
		at := round1(x(float64(len(seen) - i))) // the list has the newest first
		v.Bars = append(v.Bars, plotBar{at, round1(y(scale(float64(s.Seen)))), round1(y(scale(s.Now.High))), round1(y(scale(s.Now.Low)))})
	}
	return v
}
