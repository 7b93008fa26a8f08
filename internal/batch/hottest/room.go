package hottest

import (
	"math"

	"slabside/internal/rig"
)

// Room is one possible room of a shop: what is the same in all of its batches, as it
// truly is. Nobody is told of it but by [Log].
type Room struct {
	Shop  Shop
	seed  uint64
	still bool

	contact float64 // W/(m² K)
	loses   float64 // K between lift and slab
	edge    float64 // decades
	habit   float64 // decades
	keeps   float64 // factor of what a board loses
	rate    float64 // kg/s
	pull    float64 // kg/s

	thick, glass    float64 // decades; K
	heat, conducts  float64 // factors
	water           float64 // off the model
	density         float64
	below, top, bar float64 // factors
	emits           float64

	folds              int
	every, lifted      float64 // s between folds, and of it in the air
	mixed              float64 // by a fold
	depth              float64 // factor of the worked depth
	period, touch      float64 // of the kneading: s a turn, share of it on the table
	kneads             float64 // mixed by a turn of it
	places             int
	tends              float64 // s between two turns of the heap on the board
	corner             float64 // of the batch, that stays together to the last
	ropes              float64 // factor of what ropes lose
	probe, slackPerson float64 // K the thermometer is off; factor of how late people tap
}

// NewRoom draws a room of a shop; each number is another one.
//
// The middles and spreads are those that are told of the trade and of sugar, see the
// comment of the package: contact 300 W/(m² K) and a factor of e, loss 3 K (−1 to −6 of
// the lift), rolls of 0.6 to 1.5 kg/min around 1, five to eight folds half a minute
// apart, viscosity by a factor of three, the glass transition of a mixture by 5 K and by
// 8 K of its syrup, heat capacity 5 %, conductivity 15 %, water in channels 800 to 4000,
// in a tank 50 to 250 W/(m² K).
func NewRoom(s Shop, number uint64) *Room { return draw(s, number, newChance(number, 0xca9d4)) }

// Middle is the room of a shop in which every figure is in the middle of what it may be.
func Middle(s Shop) *Room {
	c := newChance(0, 0)
	c.still = true
	return draw(s, 0, c)
}

func draw(s Shop, number uint64, c chance) *Room {
	r := &Room{Shop: s, seed: number, still: c.still}
	r.contact = within(300*c.factor(1), 10, 20000)
	r.loses = within(3+c.off(1.5), -2, 15)
	r.edge, r.habit = c.off(0.3), c.off(0.4)
	r.keeps = within(c.factor(0.3), 0.3, 4)
	r.rate = float64(s.room().Times.RollRate) / 60 * within(c.factor(0.27), 0.2, 4)
	r.pull = float64(s.room().Times.PullRate) / 60 * within(c.factor(0.2), 0.3, 3)
	r.thick = c.off(math.Hypot(math.Log(3), 0.4*s.Syrup) / normalPoint / math.Ln10)
	r.glass = within(c.off(math.Hypot(5, 8*s.Syrup)/normalPoint), -18, 18)
	r.heat, r.conducts = c.factor(0.05/normalPoint), c.factor(0.15/normalPoint)
	r.water = c.off(waterSD)
	r.density = 1440 * c.factor(0.02/normalPoint)
	_, _, sd := s.under()
	r.below, r.top, r.bar = c.factor(sd), c.factor(0.2), c.factor(0.6)
	r.emits = c.between(0.89, 0.95)

	r.folds = c.one(5, 8)
	r.every, r.lifted = 30*c.factor(0.15), c.between(2, 6)
	r.mixed = c.between(0.15, 0.5)
	r.depth = c.factor(0.10)
	r.period, r.touch = c.between(15, 25), within(0.6*c.factor(0.15), 0.2, 0.95)
	r.kneads = c.between(0.4, 0.8)
	r.places = c.one(1, 3)
	r.tends, r.corner = c.between(60, 180), c.between(0.10, 0.20)
	r.ropes = c.factor(0.15)
	r.probe, r.slackPerson = c.off(0.8), c.factor(0.4)
	return r
}

func within(x, low, high float64) float64 { return math.Min(math.Max(x, low), high) }

// plateOf is the matter of a slab and its thickness [m] (source key incropera, from
// memory).
func (s Shop) plateOf() (solid, float64) {
	switch s.Material {
	case rig.Steel:
		return solid{50, 7850, 470}, 0.010
	case rig.Stainless:
		return solid{15, 7900, 490}, 0.010
	case rig.Granite:
		return solid{2.8, 2630, 775}, 0.050
	}
	return solid{2.8, 2680, 830}, 0.050
}

// under is what is below a slab: film [W/(m² K)], temperature and the spread of the film.
func (s Shop) under() (film, ambientC, sd float64) {
	air := float64(s.room().Air)
	switch s.Cooling {
	case rig.Channels:
		return 1400, s.WaterC, 0.45
	case rig.Tank:
		return 100, s.WaterC, 0.45
	}
	return 8, air, 0.20
}

// tableM2 is the area of the slab.
func (s Shop) tableM2() float64 { return float64(s.slab().Length) * float64(s.slab().Width) }

// The thicknesses at which work is done, as log10 of Pa s (source key model-sugar, its
// working windows, and what the program takes for its own middle of the edge).
const (
	edgeLifts = 4.8
	pullsFrom = 4.2
	rollsFrom = 5.0
	rollsTo   = 6.3
)
