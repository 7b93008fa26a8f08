package app

import (
	"time"

	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// AtSlab is a batch under way as it is followed beside kettle and slab: what was done,
// what comes next, when, and how long there is.
type AtSlab struct {
	Batch  string `json:"batch"`
	Recipe string `json:"recipe"` // id
	Name   string `json:"name"`
	Paint  string `json:"paint,omitempty"` // of its first portion, "#rrggbb"

	At  time.Time `json:"at"`  // for which all this holds
	Act int64     `json:"act"` // last act that it goes by

	Ready bool       `json:"ready"`           // all is looked at before the flame
	Open  []string   `json:"open,omitempty"`  // what is not
	Ended *time.Time `json:"ended,omitempty"` // the last sheet is through, or it went wrong
	Stop  string     `json:"stop,omitempty"`  // trouble that was written, in words
	Steps []SlabStep `json:"steps"`           // in the order of the work; see Next
	Next  int        `json:"next"`            // of Steps, what is to be done now; their number: all is done
	Live  *SlabLive  `json:"forecast"`        // nil: the shop has no slab, or it is beyond the models
	Why   string     `json:"why_no_forecast,omitempty"`

	Readings []SlabReading `json:"readings"`
	Glasses  []SlabGlass   `json:"glasses"`
	Cautions []Caution     `json:"cautions"`
}

// SlabStep is one thing to be done, or that was.
type SlabStep struct {
	Tap  record.Happening `json:"tap"`  // written when it is done
	Verb string           `json:"verb"` // one word, to be read from two metres
	Do   string           `json:"do"`
	Look string           `json:"look"` // what to watch for: it goes before the clock

	Due   *time.Time `json:"due"`   // nil: nobody can say
	Early *time.Time `json:"early"` // 90 % range
	Late  *time.Time `json:"late"`
	Until *time.Time `json:"until,omitempty"` // after it, it is too late
	Basis string     `json:"basis,omitempty"` // "estimated", "learned from 3 batches", "by the readings of this batch"

	Figure   string     `json:"figure,omitempty"` // of it, "154.5 °C on this glass"
	Of       string     `json:"of,omitempty"`     // what the figure is
	DoneAt   *time.Time `json:"done_at"`
	Loud     bool       `json:"loud"` // it cannot wait: flash and sound
	Cautions []Caution  `json:"cautions,omitempty"`
}

// SlabLive is what is foreseen of the hot run, by all that was tapped and read of it.
type SlabLive struct {
	NeedsMin q.Number `json:"needs_min"` // that the rolls take for what is left
	HasMin   q.Number `json:"has_min"`   // that it stays in condition from when it goes to them, or from now
	Fits     q.Number `json:"fits_frac"` // chance that all is rolled in condition
	Say      string   `json:"say"`       // "14 min of sugar, 11 min of time"
	Advice   string   `json:"advice,omitempty"`

	State string    `json:"state"` // "on the fire", "on the slab", "too soft", "in condition", "gone short", "done"
	NowC  *q.Number `json:"now_c"` // what the batch is at, as far as is known; nil: not poured
	LowC  *q.Number `json:"low_c"`
	HighC *q.Number `json:"high_c"`

	RollFromC q.Number    `json:"roll_from_c"` // hotter, it is too soft
	RollToC   q.Number    `json:"roll_to_c"`   // colder, it has gone short
	Curve     []SlabPoint `json:"curve"`
	Opens     *time.Time  `json:"opens"` // when the rolls can take it, and when it has gone short; nil: not poured and not lit
	Closes    *time.Time  `json:"closes"`
	Basis     string      `json:"basis"`
	Matters   []string    `json:"matters"` // what the time hangs on most
}

// SlabPoint is a point of the curve that is foreseen.
type SlabPoint struct {
	At    time.Time `json:"at"`
	C     q.Number  `json:"c"`
	LowC  q.Number  `json:"low_c"`
	HighC q.Number  `json:"high_c"`
}

// SlabReading is a thermometer that was read.
type SlabReading struct {
	At    time.Time   `json:"at"`
	Where record.Spot `json:"where"`
	Glass string      `json:"glass,omitempty"`
	C     q.Number    `json:"c"`    // as it read
	TrueC q.Number    `json:"true"` // its checks laid over it
}

// SlabGlass is a thermometer that can be read at the slab.
type SlabGlass struct {
	ID   string   `json:"id"`
	Name string   `json:"name"`
	Step q.Number `json:"step_k"` // of the steppers: its division
}

// SlabLine is a batch under way, in the list.
type SlabLine struct {
	Batch string    `json:"batch"`
	Name  string    `json:"name"`
	Paint string    `json:"paint,omitempty"`
	Step  *SlabStep `json:"step"` // that is next; nil: all is done
	Stop  string    `json:"stop,omitempty"`
}
