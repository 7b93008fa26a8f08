package app

import (
	"context"
	"fmt"

	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/learn"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/store"
)

// LearnResult is what the records of batches teach of the room; JSON is the contract of
// the learn command.
type LearnResult struct {
	Figures  []LearnedFigure  `json:"figures"`
	Refused  []LearnedRefused `json:"refused"`
	Aside    []Aside          `json:"set_aside"`
	Seen     []LearnedSeen    `json:"seen"`    // the newest batch first
	Off      bool             `json:"off"`     // boils go by their models alone
	From     string           `json:"from"`    // what was made before this day teaches nothing; empty: all does
	Widened  q.Number         `json:"widened"` // by how much what was seen contradicts itself; 1: it does not
	Units    q.Reader         `json:"units"`
	Cautions []Caution        `json:"cautions"`
	Sources  []string         `json:"sources"`
}

// LearnedFigure is one figure beside what is held of it without records.
type LearnedFigure struct {
	Name    string     `json:"name"`
	Says    string     `json:"says"`              // the same in words
	Of      string     `json:"of,omitempty"`      // id of the glass or the kettle
	OfName  string     `json:"of_name,omitempty"` // its name
	Unit    string     `json:"unit"`              // K, frac, W/m2K, times or kg/min
	Before  q.Estimate `json:"before"`
	Value   q.Number   `json:"value"`
	Low     q.Number   `json:"low"`
	High    q.Number   `json:"high"`
	Batches int        `json:"batches"`
	By      []string   `json:"by"` // their numbers
}

// Now returns the figure as it is learned.
func (f LearnedFigure) Now() q.Estimate {
	return q.Estimate{Value: float64(f.Value), Low: float64(f.Low), High: float64(f.High), Basis: q.Learned, Batches: f.Batches}
}

// SayLearned prints a learned figure in its unit.
func SayLearned(u q.Reader, unit string, e q.Estimate) string {
	switch unit {
	case "frac":
		return u.SayPercent(e, 0)
	case "W/m2K":
		return u.SaySize(e, 2, "W/m²K")
	case "times":
		return u.SayTimes(e, 2)
	case "kg/min":
		return u.SayRate(e)
	}
	return u.SayDifference(e, 1)
}

// LearnedRefused is a figure that nothing has taught.
type LearnedRefused struct {
	Name string `json:"name"`
	Says string `json:"says"` // the same in words
	Why  string `json:"why"`
}

// LearnedSeen is what was seen of a batch beside what was to be expected.
type LearnedSeen struct {
	Batch string `json:"batch"`
	SeenLine
}

// Learned returns what the records teach of the room.
func (a *App) Learned(ctx context.Context) (*LearnResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	l, err := a.lessons(ctx, &b)
	if err != nil {
		return nil, err
	}
	out := &LearnResult{Figures: []LearnedFigure{}, Refused: []LearnedRefused{}, Aside: []Aside{}, Seen: []LearnedSeen{}, Off: b.Room.Learning == rig.LearningOff,
		From: b.Room.LearnFrom, Widened: q.Number(l.Widened), Units: b.Shop.Units, Cautions: []Caution{}, Sources: source.Strings(source.ModelSugar, source.ModelHeat, source.Practice)}
	var glasses []rig.Glass
	for _, g := range b.Glasses {
		glasses = append(glasses, b.Checked(g))
	}
	figures, refused := l.Figures()
	for _, f := range figures {
		if f.Holds(b.Kettles, glasses) {
			out.Figures = append(out.Figures, learnedFigure(&b, f))
		}
	}
	for _, r := range refused {
		out.Refused = append(out.Refused, LearnedRefused{string(r.Name), r.Name.Says(), r.Why})
	}
	out.Aside = append(out.Aside, l.aside...)
	for _, batch := range l.Batches() {
		for _, c := range l.Compare(batch) {
			out.Seen = append(out.Seen, LearnedSeen{batch.ID, SeenLine{What: string(c.What), Unit: unitOf(c.What), Seen: q.Number(c.Seen), Before: c.Before, Now: c.Now}})
		}
	}
	if err := a.slabLearned(ctx, &b, out); err != nil {
		return nil, err
	}
	if out.Off {
		out.Cautions = append(out.Cautions, Caution{Code: "learning-off", Text: "learning is switched off: boils go by their models alone"})
	}
	const much = 1.5
	if float64(out.Widened) > much {
		out.Cautions = append(out.Cautions, Caution{Code: "records-clash", Text: fmt.Sprintf(
			"the records contradict each other: what was seen is taken to be %s times less sure than it was said to be; look for a slip of the pen among them", b.Shop.Units.Number(float64(out.Widened), 1))})
	}
	for _, x := range out.Aside {
		out.Cautions = append(out.Cautions, Caution{Code: codeSetAside, Text: setAside(x)})
	}
	return out, nil
}

func setAside(x Aside) string {
	if len(x.Batches) == 1 {
		return "one batch is set aside: " + x.Why
	}
	return fmt.Sprintf("%d batches are set aside: %s", len(x.Batches), x.Why)
}

func learnedFigure(b *book.Book, f learn.Figure) LearnedFigure {
	out := LearnedFigure{Name: string(f.Name), Says: f.Name.Says(), Of: f.Of, Unit: "K", Before: f.Before, Value: q.Number(f.Now.Value), Low: q.Number(f.Now.Low), High: q.Number(f.Now.High),
		Batches: f.Now.Batches, By: f.Batches}
	switch f.Name {
	case learn.Fire:
		out.Unit, out.OfName = "frac", entry.NameOf(b, store.KindKettle, f.Of)
	case learn.Reads:
		out.OfName = entry.NameOf(b, store.KindGlass, f.Of)
	}
	return out
}
