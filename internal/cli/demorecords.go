package cli

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/record"
)

// demoRecord is what the demo shop has written down of one batch.
type demoRecord struct {
	DaysBefore int              `json:"days_before"` // the day that is planned
	Recipe     string           `json:"recipe"`
	Lifted     *record.Lifted   `json:"lifted"`
	Moisture   *record.Moisture `json:"moisture"`
	Worked     *record.Worked   `json:"worked"`
}

// demoRecords writes the demo shop's batches into its new book, and takes in what stands
// on its shelves. A book that is a file
// keeps no records.
func demoRecords(s *session, date string) error {
	if strings.EqualFold(filepath.Ext(s.book), ".toml") {
		return nil
	}
	return s.withBook(false, func(a *app.App) error {
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		if date == "" {
			date = a.Today(b)
		}
		day, err := time.Parse(time.DateOnly, date)
		if err != nil {
			return nil // the plan will say so, and the book is made all the same
		}
		dec := json.NewDecoder(bytes.NewReader(s.DemoRecords()))
		for dec.More() {
			var r demoRecord
			if err := dec.Decode(&r); err != nil {
				return fault.Internal(err, "the demo shop's records cannot be read")
			}
			const who, why = "demo", "typed in from paper"
			id, err := a.Begin(s.ctx, app.BeginRequest{On: day.AddDate(0, 0, -r.DaysBefore).Format(time.DateOnly), Recipe: r.Recipe}, who, why)
			if err != nil {
				return err
			}
			for _, e := range []record.Entry{{Lifted: r.Lifted}, {Moisture: r.Moisture}, {Worked: r.Worked}} {
				if e.Kind() == record.Taking {
					continue
				}
				e.Batch = id
				if err := a.Enter(s.ctx, e, 0, who, why); err != nil {
					return err
				}
			}
		}
		_, err = a.ReceiveListed(s.ctx, "demo")
		return err
	})
}
