package reading

import (
	"cmp"
	"math"
	"strconv"
	"time"

	"slabside/internal/fault"
)

// Reading is what one thermometer showed at one time.
type Reading struct {
	Probe    string    `json:"probe"`           // id of the thermometer in the shop book
	At       time.Time `json:"at"`              // when it was measured, to the millisecond
	C        float64   `json:"c"`               // what it showed [°C], to the thousandth
	In       Place     `json:"in"`              // where it looked
	Batch    string    `json:"batch,omitempty"` // number of the batch it is said to be of
	Source   Source    `json:"source"`
	By       string    `json:"by"`       // who or what brought it in
	Received time.Time `json:"received"` // by the clock of the book
}

// Kept is a reading as it is kept. A thermometer shows one value at a time: the first
// that came stands, another value for the same time is set aside beside it.
type Kept struct {
	Reading
	N int `json:"n"` // 0: it stands; from 1 on: set aside
}

// Counts is what became of readings that came in.
type Counts struct {
	Kept     int `json:"kept"`      // new ones
	Repeated int `json:"repeated"`  // there already, with the same value
	SetAside int `json:"set_aside"` // new, and another value than the one that stands
}

// Source is how a reading came.
type Source string

// The sources.
const (
	Typed  Source = "typed"  // read by eye
	Posted Source = "posted" // sent by a program
	Logged Source = "logger" // out of a logger's file
	MQTT   Source = "mqtt"   // sent by a device to the broker
)

// Sources lists the sources.
func Sources() []Source { return []Source{Typed, Posted, Logged, MQTT} }

// The range in which a reading can be meant [°C]: from below a deep freezer to above any
// sugar that has not caught fire. Common practice, no source.
const (
	LeastC = -40
	MostC  = 400
)

// MostAhead is how far a time may lie ahead of the book's clock: clocks of a shop differ.
const MostAhead = 5 * time.Minute

// MostClock is the largest offset of a clock that can be stated.
const MostClock = 100 * 365 * 24 * time.Hour

// earliest is before the first reading that can be meant. A logger whose clock was never
// set counts from 1970, 1980 or 2000 on.
var earliest = time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC)

// Rounded returns the reading as it is kept: times in UTC to the millisecond, the value to
// the thousandth of a degree.
func (r Reading) Rounded() Reading {
	r.At, r.Received = r.At.UTC().Truncate(time.Millisecond), r.Received.UTC().Truncate(time.Millisecond)
	r.C = FromMilli(r.MilliC())
	return r
}

// MilliC returns the value in thousandths of a degree, as it is kept.
func (r Reading) MilliC() int64 { return int64(math.Round(r.C * 1000)) }

// FromMilli returns a value that is kept in thousandths of a degree [°C].
func FromMilli(m int64) float64 { return float64(m) / 1000 }

// Same reports whether two readings of one thermometer at one time say the same.
func (r Reading) Same(x Reading) bool { return r.MilliC() == x.MilliC() && r.In == x.In }

// Compare orders readings by time, then thermometer, then as they came.
func Compare(a, b Kept) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Probe, b.Probe), cmp.Compare(a.N, b.N))
}

// Check refuses what cannot be meant. Whether there is such a thermometer or batch is not
// looked at. The fault's field is "probe", "in", "value", "at", "source" or "by".
func (r Reading) Check() error {
	switch {
	case r.Probe == "":
		return fault.Invalid("it is not said which thermometer showed it").At("probe").WithHint("name it by its id in the shop book")
	case !r.In.known():
		return notPlace(string(r.In))
	case math.IsNaN(r.C) || math.IsInf(r.C, 0):
		return fault.Invalid("the value is no number").At("value").WithHint("leave out what was not measured")
	case r.C < LeastC || r.C > MostC:
		return fault.Invalid("%s °C is outside %d to %d °C, which a thermometer here can show", short(r.C), LeastC, MostC).At("value").
			WithHint("is the unit right, and is the probe plugged in?")
	case r.Source != Typed && r.Source != Posted && r.Source != Logged && r.Source != MQTT:
		return fault.Invalid("%q is no way in which a reading comes", fault.Clip(string(r.Source), fault.Echo)).At("source")
	case r.By == "" || len(r.By) > mostBy:
		return fault.Invalid("it is not said who brought it in").At("by")
	case r.At.Before(earliest):
		return fault.Invalid("%s is before there were readings", r.At.UTC().Format(time.RFC3339)).At("at").WithHint("set the clock of the thermometer, or state how far off it was")
	case r.At.Sub(r.Received) > MostAhead:
		return fault.Invalid("%s has not come yet: it is %s, and a clock may be %s ahead", r.At.UTC().Format(time.RFC3339), r.Received.UTC().Format(time.RFC3339), short(MostAhead.Minutes())+" min").At("at").
			WithHint("set the clock of the thermometer, or state how far ahead it is")
	}
	return nil
}

// mostBy is the longest name of who brought a reading in [bytes].
const mostBy = 300

// short prints a number with no more digits than it needs.
func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
