package slab

import (
	"math"

	"slabside/internal/numeric"
)

// Unknown is a figure of a room, a table or a pair of hands that nobody can look up.
type Unknown int

// The unknowns, in the order of a [Figures]. All but the first are as they stand; what is
// a factor is a logarithm.
const (
	Lies     Unknown = iota // ln of the contact of candy and table over its middle
	Loses                   // K between lift and slab
	Edges                   // decades: the edge lifts when it is so much thicker than [EdgeLifts]
	Habit                   // decades: rolls are fed when it is so much thicker than [RollsFrom] and [RollsTo]
	Keeps                   // ln of what the board loses over its middle
	Rate                    // ln of the rolling rate over what is stated
	Works                   // ln of what these hands' kneading takes over its middle
	Unknowns                // how many there are
)

// Figures is a value of each unknown.
type Figures [Unknowns]float64

// Prior returns what is held of an unknown without records, its mean and one standard
// deviation (judgement, source keys practice and model-heat):
//
//	contact   300 W/(m² K), a factor of e either way
//	loss      3 K (−1 to −6 of the lift)
//	edge      0.45 decades: 0.3 of the trade, the rest what the model of the edge is off
//	habit     0.4 decades, about 3 K
//	board     a factor of 1.35 either way
//	rate      a factor of 1.3 either way (0.6 to 1.5 kg/min around 1)
//	kneading  a factor of 1.3 either way, with what the model of it is off
//
// What the models are off is told by another, finer one of the same slab, see package
// hottest of batch: a tenth of the time until the edge lifts, and in the middle of all a
// twentieth of that to the rolls.
func (u Unknown) Prior() (mean, sd float64) {
	switch u {
	case Lies:
		return 0, 1
	case Loses:
		return 3, 1.5
	case Edges:
		return 0, 0.45
	case Habit:
		return 0, 0.4
	case Keeps:
		return 0, 0.3
	case Rate:
		return 0, 0.27
	case Works:
		return 0, 0.26
	}
	return math.NaN(), math.NaN()
}

// String names an unknown.
func (u Unknown) String() string {
	return [...]string{"contact", "pour_loss", "edge", "habit", "board", "rate", "kneading", "unknowns"}[u]
}

// middleContact is the middle of the contact of candy and an oiled table [W/(m² K)]
// (source key model-heat).
const middleContact = 300.0

// Contact returns the contact of candy and table [W/(m² K)].
func (f Figures) Contact() float64 { return middleContact * math.Exp(f[Lies]) }

// Hands is what is the same in no two batches, and how a batch is worked.
type Hands struct {
	Folds   int     // turns before it is kneaded
	Every   float64 // s between two
	Mixed   float64 // how far a turn mixes: 0 folds it only, 1 kneads it through
	Touch   float64 // of the kneading, the share of the time it lies on the table
	Renewed float64 // s: so often another side of it does
	Spread  float64 // area it is kneaded over, by what it covers at a time
	Deep    float64 // factor of the depth it is worked at
	Ropes   float64 // factor of what pulled sugar loses
}

// UsualHands are the trade's (source key practice: five to eight folds, then kneading;
// the rest judgement).
func UsualHands() Hands {
	return Hands{Folds: 6, Every: 30, Mixed: 0.3, Touch: 0.6, Renewed: 20, Spread: 2, Deep: 1, Ropes: 1}
}

// Learned is what is held of the unknowns: jointly normal.
type Learned struct {
	Mean    Figures
	Root    [Unknowns]Figures // lower triangle: figures = Mean + Root · independent draws
	Batches [Unknowns]int     // how many taught it; 0: none
}

// Untaught is what is held without records.
func Untaught() Learned {
	var l Learned
	for u := range Unknowns {
		l.Mean[u], l.Root[u][u] = u.Prior()
	}
	return l
}

// With returns what is held of figures that are off these by so much besides, each one
// standard deviation and each for itself.
func (l Learned) With(scatter Figures) Learned {
	var b numeric.Belief
	for u := range Unknowns {
		cov := make([]float64, u+1)
		for v := range u + 1 {
			for k := range v + 1 {
				cov[v] += l.Root[u][k] * l.Root[v][k]
			}
		}
		cov[u] += scatter[u] * scatter[u]
		b.Join(l.Mean[u], cov)
	}
	return Believed(b, l.Batches)
}

// Believed is what a belief holds of the unknowns, in their order.
func Believed(b numeric.Belief, batches [Unknowns]int) Learned {
	l := Learned{Batches: batches}
	all := make([]int, Unknowns)
	for u := range all {
		all[u], l.Mean[u] = u, b.Mean(u)
	}
	for u, row := range b.Root(all) {
		copy(l.Root[u][:], row)
	}
	return l
}

// At returns figures for independent standard-normal draws.
func (l Learned) At(z Figures) Figures {
	f := l.Mean
	for u := range Unknowns {
		for k := range u + 1 {
			f[u] += l.Root[u][k] * z[k]
		}
	}
	return f
}

// SD returns one standard deviation of an unknown.
func (l Learned) SD(u Unknown) float64 {
	sum := 0.0
	for _, r := range l.Root[u] {
		sum += r * r
	}
	return math.Sqrt(sum)
}

// Widened returns the same with every standard deviation so many times as large, though
// never beyond what is held without records.
func (l Learned) Widened(times float64) Learned {
	for u := range Unknowns {
		_, prior := u.Prior()
		k := math.Max(1, math.Min(times, prior/math.Max(l.SD(u), 1e-12)))
		for i := range l.Root[u] {
			l.Root[u][i] *= k
		}
	}
	return l
}
