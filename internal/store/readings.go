package store

import (
	"fmt"
	"time"

	"slabside/internal/reading"
)

// FindReadings says which readings are looked for; what is empty does not matter.
type FindReadings struct {
	Probe    string
	Batch    string // said to be of it
	In       reading.Place
	From, To time.Time // measured from the first on and before the second
	After    *ReadingKey
	Standing bool // without those that are set aside
	Limit    int
}

// ReadingKey is the place of a reading in the list, and unique.
type ReadingKey struct {
	At    time.Time
	Probe string
	N     int
}

// KeyOf returns the place of a reading in the list.
func KeyOf(k reading.Kept) ReadingKey { return ReadingKey{k.At, k.Probe, k.N} }

// Reading takes the next reading of a book, in the order of [reading.Compare], once its
// acts have all been taken.
func (s *State) Reading(k reading.Kept) []string {
	var p []string
	say := func(format string, v ...any) { p = append(p, fmt.Sprintf(format, v...)) }
	if err := k.Check(); err != nil {
		say("%s", err)
	}
	if k.Reading != k.Rounded() {
		say("its times are not whole milliseconds in UTC, or its value not whole thousandths of a degree")
	}
	if t := s.things[Name{KindGlass, k.Probe}]; t == nil {
		say("it is of a thermometer that is not there")
	}
	if k.Batch != "" && len(s.records[k.Batch]) == 0 {
		say("it is of a batch that is not there")
	}
	at := ReadingKey{k.At, k.Probe, 0}
	if len(s.readings) == 0 || KeyOf(s.readings[0]) != at {
		if n := len(s.readings); n > 0 && reading.Compare(s.readings[n-1], k) >= 0 {
			say("it stands before the reading that comes before it")
		}
		s.readings = s.readings[:0]
	}
	if k.N != len(s.readings) {
		say("it is number %d of its time where %d were kept before it", k.N, len(s.readings))
	}
	for _, x := range s.readings {
		if x.Same(k.Reading) {
			say("it is kept twice")
		}
	}
	s.readings = append(s.readings, k)
	return p
}
