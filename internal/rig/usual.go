package rig

import (
	"time"

	q "slabside/internal/quantity"
)

func minutes(m float64) q.Duration {
	return q.Duration(time.Duration(m * float64(time.Minute)))
}

// UsualTimes returns how long the usual jobs take before a shop has put its own
// figures in: a full boil of about 10 kg, worked by hand. All are common
// practice, no source (key practice).
func UsualTimes() Times {
	return Times{
		Charge:        minutes(5),
		Pour:          minutes(2),
		Rinse:         minutes(8),
		FirstTurn:     minutes(2.5), // 1–2 min on cooled steel, 2–3 min on marble
		Turn:          minutes(8),
		PullRate:      0.5,
		RollRate:      1.0, // 0.6–1.5, cutting, feeding and carrying sheets included
		RollBand:      minutes(3),
		RollBandBoard: minutes(14),
		Wipe:          minutes(5),
		Wash:          minutes(15),
		AllergenClean: minutes(40),
		RollsWipe:     minutes(3),
		RollsWash:     minutes(10),
		RollsAllergen: minutes(25),
		KettleClean:   minutes(20),
		WeighBase:     minutes(5),
		WeighLine:     minutes(1),
		Cool:          minutes(15),
		SieveRate:     1.5,
		FinishRate:    1.0,
		PackBag:       minutes(0.75),
		Closing:       minutes(30),
	}
}

// The usual figures of a room that has not stated its own (common practice, no
// source). The hold point and the weight one person pours are also the most a
// room may state for planning: see the checks of package book.
const (
	UsualAir       q.Celsius   = 21
	UsualHumidity  q.Fraction  = 0.45
	UsualPourAlone q.Kilograms = 8
	UsualHoldPoint q.Celsius   = 115
	UsualStoreMost q.Celsius   = 25
	UsualPostMost  q.Celsius   = 40 // a summer's day; a van in the sun gets hotter
)

// What is taken of a tap's alkalinity that nobody has read off the water report, and
// the most of it with it (95 %) [mg/L of calcium carbonate]; the waters of towns have
// 10 to 300 (common practice, no source).
const (
	UsualAlkalinity = 100
	MostAlkalinity  = 215
)

// UsualRollHands work at a drop machine while it rolls: one who feeds and turns
// and one who takes the sheets off (common practice, no source).
const UsualRollHands = 2

// RollHands returns how many people work at the machine while it rolls. No
// machine is worked by the usual number.
func (m *Machine) RollHands() int {
	if m == nil || m.Hands == 0 {
		return UsualRollHands
	}
	return m.Hands
}

// UsualRoom returns a room at an altitude with the usual figures.
func UsualRoom(altitude q.Metres) Room {
	return Room{
		Altitude:  altitude,
		Air:       UsualAir,
		Humidity:  UsualHumidity,
		PourAlone: UsualPourAlone,
		HoldPoint: UsualHoldPoint,
		Times:     UsualTimes(),
	}
}
