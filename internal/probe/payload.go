package probe

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/reading"
)

// topicRoot begins every topic.
const topicRoot = "slabside"

// sent is a payload that is a JSON object.
type sent struct {
	Value *float64 `json:"value"`
	Unit  string   `json:"unit"`
	At    string   `json:"at"` // RFC 3339; empty: now
	Batch string   `json:"batch"`
	Ahead int64    `json:"clock_ahead_ms"`
}

// parseTopic reads the thermometer and the place of a topic.
func parseTopic(topic string) (probe string, in reading.Place, err error) {
	parts := strings.Split(topic, "/")
	if len(parts) != 3 || parts[0] != topicRoot || parts[1] == "" {
		return "", "", fault.Invalid("%q is no topic of a reading", fault.Clip(topic, fault.Echo)).WithHint("publish to %s/THERMOMETER/PLACE", topicRoot)
	}
	in, err = reading.ParsePlace(parts[2])
	return parts[1], in, err
}

// parsePayload reads what was published: a number with or without its unit, or a JSON
// object with the value, and perhaps the unit, the time, the batch and how far the clock
// of the sender is ahead.
func parsePayload(data []byte) (app.ReadingPost, error) {
	data = bytes.TrimSpace(data)
	if !bytes.HasPrefix(data, []byte("{")) {
		v, unit, err := reading.ParseValue(string(data))
		return app.ReadingPost{Value: v, Unit: string(unit)}, err
	}
	var x sent
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&x); err != nil {
		return app.ReadingPost{}, fault.Invalid("the payload cannot be read: %s", strings.TrimPrefix(err.Error(), "json: "))
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return app.ReadingPost{}, fault.Invalid("more text after the object")
	}
	if x.Value == nil {
		return app.ReadingPost{}, fault.Invalid("there is no value").At("value")
	}
	p := app.ReadingPost{Value: *x.Value, Unit: x.Unit, Batch: x.Batch, Ahead: time.Duration(x.Ahead) * time.Millisecond}
	if p.Ahead.Milliseconds() != x.Ahead {
		return p, fault.Invalid("no clock is that far ahead").At("clock_ahead_ms")
	}
	if x.At == "" {
		return p, nil
	}
	var err error
	if p.At, err = time.Parse(time.RFC3339, x.At); err != nil {
		return p, fault.Invalid("%q is no time", fault.Clip(x.At, fault.Echo)).At("at").WithHint("write it as 2026-11-28T10:02:03.5+13:00")
	}
	return p, nil
}
