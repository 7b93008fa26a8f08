package verdict

import (
	"fmt"
	"math"

	q "slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// Bound says how a time is meant that its model has no figure for.
type Bound string

// The bounds.
const (
	About   Bound = "about"
	AtLeast Bound = "at least"
	AtMost  Bound = "at most"
	Never   Bound = "never"
	Unknown Bound = "not known"
)

// Open is how long bare pieces lie open in the room before their skin sticks.
type Open struct {
	Bound   Bound       `json:"bound"`
	TimeS   *q.Estimate `json:"time_s"` // null for never and not known
	Text    string      `json:"text"`
	Why     []string    `json:"why"`
	Sources []string    `json:"sources"`
}

// openRow is how long a skin of 20 µm takes at 25 °C and a humidity to take up 0.7
// and 2.2 points of water [h]: diffusion into a flat face under an air film of 4 mm/s,
// the diffusivity of source key zobrist2011 (price2016 agrees within 2.4 times).
type openRow struct{ humidity, little, much float64 }

func openRows() []openRow {
	return []openRow{
		{0.25, 72, math.Inf(1)}, {0.30, 30, 229}, {0.33, 20, 63}, {0.35, 16, 37}, {0.40, 8.8, 14},
		{0.45, 4.9, 6.3}, {0.50, 2.6, 3.0}, {0.55, 1.3, 1.4}, {0.60, 0.67, 0.71}, {0.75, 0.15, 0.16},
	}
}

const (
	openLittle = 0.007 // water the two columns take up, of the sweet
	openMuch   = 0.022
	openFactor = 3.0 // the model's error either way

	openAt       = 25.0 // °C, of the table
	openWarmest  = 30.0 // °C: the sweet softens sooner than the table has it
	openCoolest  = 20.0 // °C: cooler, water goes in more slowly than the table has it
	criticalHalf = 0.006
)

// OpenOf answers how long bare pieces lie open, alone.
func OpenOf(in Inputs) Open { return in.open(in.weakest()) }

// open works out the time open to the room. It is of an average piece's flat face: an
// edge or a thin web sticks before it.
func (in Inputs) open(s *sweet) Open {
	o := Open{Bound: Unknown, Why: []string{}, Sources: source.Strings(source.Zobrist2011, source.Price2016, source.Timmermann2001)}
	u, h := in.Units, in.Room.Humidity
	unknown := func(text string) Open {
		o.Text = text
		return o
	}
	switch {
	case s == nil:
		return unknown("what it stands up to is outside the range of its model")
	case s.hidden:
		return unknown("how much invert sugar the acid makes is not known")
	case in.Room.Air > openWarmest:
		return unknown(fmt.Sprintf("the model ends at %s of air", u.Temperature(openWarmest, 0)))
	}
	critical, err := in.waterAtGlass(s.solids, openAt, 0)
	if err != nil {
		return unknown("what it stands up to is outside the range of its model")
	}
	sticky := critical - criticalHalf
	room := sticky - s.water
	balance, err := sugar.RoomWater(q.Fraction(math.Min(float64(h), sugar.RoomMaxHumidity)))
	if err != nil {
		return unknown(fmt.Sprintf("the model has no figure for %s of humidity", u.Percent(h, 0)))
	}
	o.Why = append(o.Why, fmt.Sprintf("its skin sticks with %s of water at %s, a skin of 0.02 mm is taken; it has %s",
		u.Percent(q.Fraction(sticky), 1), u.Temperature(openAt, 0), u.Percent(q.Fraction(s.water), 1)))
	hours := 0.0
	switch {
	case room <= 0:
		o.Bound = About
		o.Text = "no time: it may stick at once"
		o.TimeS = &q.Estimate{Basis: q.Estimated}
		return o
	case float64(balance) <= sticky:
		o.Bound = Never
		o.Text = fmt.Sprintf("in air of %s it does not come to stick", u.Percent(h, 0))
		return o
	default:
		o.Bound, hours = openHours(float64(h), room)
	}
	if o.Bound == About && in.Room.Air < openCoolest {
		o.Bound = AtLeast
	}
	t := hours * 3600
	o.TimeS = &q.Estimate{Value: t, Low: t / openFactor, High: t * openFactor, Basis: q.Estimated}
	o.Text = fmt.Sprintf("in air of %s %s %s", u.Percent(h, 0), o.Bound, u.SayTime(*o.TimeS))
	o.Why = append(o.Why, "good to a factor of three; the order of sweets and of days is surer than the time")
	return o
}

// openHours reads the table: the logarithm of the time, straight in humidity and in
// the water there is room for. Outside the table it gives the nearest end and says
// on which side of it the time lies.
func openHours(humidity, room float64) (Bound, float64) {
	bound := About
	f := (math.Max(openLittle, math.Min(openMuch, room)) - openLittle) / (openMuch - openLittle)
	at := func(h float64) float64 {
		little := interpolate(h, func(r openRow) float64 { return r.little })
		if f == 0 {
			return little // the other column may be without end
		}
		much := interpolate(h, func(r openRow) float64 { return r.much })
		return math.Exp((1-f)*math.Log(little) + f*math.Log(much))
	}
	switch {
	case room > openMuch:
		bound = AtLeast
	case room < openLittle:
		bound = AtMost
	}
	rows := openRows()
	switch first, last := rows[0].humidity, rows[len(rows)-1].humidity; {
	case humidity < first:
		bound, humidity = AtLeast, first
	case humidity > last:
		bound, humidity = AtMost, last
	}
	// With much room the dry end has no time: less room, or less dry, gives the least
	// it can be.
	if second := rows[1].humidity; humidity < second && room > openLittle {
		return AtLeast, math.Max(interpolate(humidity, func(r openRow) float64 { return r.little }), at(second))
	}
	return bound, at(humidity)
}

// interpolate returns a column at a humidity inside the table.
func interpolate(h float64, column func(openRow) float64) float64 {
	rows := openRows()
	i := 1
	for i < len(rows)-1 && h > rows[i].humidity {
		i++
	}
	a, b := rows[i-1], rows[i]
	f := (h - a.humidity) / (b.humidity - a.humidity)
	if f == 1 { // the row before may be without end
		return column(b)
	}
	return math.Exp((1-f)*math.Log(column(a)) + f*math.Log(column(b)))
}

// Air is what the air of the room asks of the slab.
type Air struct {
	DewC       q.Number `json:"dew_c"`
	SlabWaterC q.Number `json:"slab_water_c"` // the coldest that water in the slab may be
	Text       string   `json:"text"`
	Sources    []string `json:"sources"`
}

// aboveDew keeps the slab dry: colder it sweats and wets the batch (source key practice).
const aboveDew = 2 // K

// air works out the dew point of the room's usual air; nil outside its range.
func (in Inputs) air() *Air {
	dew, err := sugar.DewPoint(in.Room.Air, in.Room.Humidity)
	if err != nil {
		return nil
	}
	u, slab := in.Units, dew+aboveDew
	return &Air{DewC: q.Number(dew), SlabWaterC: q.Number(slab), Sources: source.Strings(source.IAPWSIF97, source.Practice),
		Text: fmt.Sprintf("slab water %s or warmer: the air's dew point is %s, at %s and %s of humidity, and a colder slab sweats",
			u.Temperature(slab, 0), u.Temperature(dew, 0), u.Temperature(in.Room.Air, 0), u.Percent(in.Room.Humidity, 0))}
}
