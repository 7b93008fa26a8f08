package verdict

import (
	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
)

// Question is what a verdict answers.
type Question string

// The questions, in the order they are answered.
const (
	Sticks Question = "sticks"
	Grains Question = "grains"
	Browns Question = "browns"
)

// Answer is how a verdict answers its question.
type Answer string

// The answers. Borderline is a range that crosses its limit.
const (
	No         Answer = "no"
	Borderline Answer = "borderline"
	Likely     Answer = "likely"
	NotKnown   Answer = "not known"
)

// rank orders the answers from none to worst; what is not known has none.
func (a Answer) rank() int {
	switch a {
	case Borderline:
		return 1
	case Likely:
		return 2
	}
	return 0
}

// Verdict is the answer to one question. Figures and limits are temperatures
// ([°C], FigureC) or shares (FigureFrac), one of the two; neither where it is not
// known.
type Verdict struct {
	Question   Question    `json:"question"`
	Answer     Answer      `json:"answer"`
	Text       string      `json:"text"` // figure, range and limit in one line, without the answer
	FigureC    *q.Estimate `json:"figure_c"`
	FigureFrac *q.Estimate `json:"figure_frac"`
	Limits     []Limit     `json:"limits"`
	Decides    []string    `json:"decides"` // what decides it and what is not in it, a sentence each
	Moves      []string    `json:"moves"`   // ways to a "no", in the maker's words; any one of them does
	Sources    []string    `json:"sources"`
}

// Limit is what a figure is held against.
type Limit struct {
	Name   string     `json:"name"`
	C      *q.Number  `json:"limit_c"`
	Frac   *q.Number  `json:"limit_frac"`
	Answer Answer     `json:"answer"` // against this limit alone
	Chance *q.Number  `json:"chance"` // that it is passed, over the draws; null without draws
	Source source.Key `json:"source"`
	Usual  bool       `json:"usual"` // the shop has not stated it
}

// Inputs is one boil and where its sweets go.
type Inputs struct {
	Boil  boil.Result
	Room  rig.Room
	Units q.Reader // for whom the texts are printed

	Portions map[string]string // names of portions by id, where there are several
}

// Verdicts is all there is to say of one boil.
type Verdicts struct {
	List []Verdict `json:"list"` // sticks, grains, browns
	Open Open      `json:"open"`
	Air  *Air      `json:"air"` // null where the room's air is outside the steam tables' range
	Map  *Map      `json:"map"` // null without a glass transition
}

// Of answers all questions of a boil.
func Of(in Inputs) Verdicts {
	sweet := in.weakest()
	stick := in.sticks(sweet)
	return Verdicts{
		List: []Verdict{stick.Verdict, in.grains(), in.browns()},
		Open: in.open(sweet), Air: in.air(), Map: in.mapOf(sweet, stick),
	}
}

// over answers whether e lies above a limit, by its range.
func over(e q.Estimate, limit float64) Answer {
	switch {
	case e.High <= limit:
		return No
	case e.Low > limit:
		return Likely
	}
	return Borderline
}

// under answers whether e lies below a limit, by its range.
func under(e q.Estimate, limit float64) Answer {
	switch {
	case e.Low >= limit:
		return No
	case e.High < limit:
		return Likely
	}
	return Borderline
}

// worse returns the worse of two answers, both known.
func worse(a, b Answer) Answer {
	if b.rank() > a.rank() {
		return b
	}
	return a
}

// better returns the better of two answers, both known.
func better(a, b Answer) Answer {
	if b.rank() < a.rank() {
		return b
	}
	return a
}

// number returns a figure that may be missing in JSON.
func number(v float64) *q.Number {
	n := q.Number(v)
	return &n
}
