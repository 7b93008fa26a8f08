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
	"slabside/internal/supply"
)

// demoRecord is what the demo shop has written down of one batch.
type demoRecord struct {
	DaysBefore int              `json:"days_before"` // the day that is planned
	Recipe     string           `json:"recipe"`
	Lifted     *record.Lifted   `json:"lifted"`
	Moisture   *record.Moisture `json:"moisture"`
	Worked     *record.Worked   `json:"worked"`
	Supply     *demoSupply      `json:"supply"` // in place of a batch: what came in
}

// demoSupply is a delivery of packaging, gas or consumables, and what a count found of it.
type demoSupply struct {
	ID             string `json:"id"`
	Amount         int64  `json:"amount"`
	Mark           string `json:"mark"`
	BestBeforeDays int    `json:"best_before_days"` // from the day of the plan; 0: it has none
	DeclaredDays   int    `json:"declared_days"`    // before it; 0: no declaration came with it
	Found          int64  `json:"found"`            // 0: not counted
}

// take takes in the delivery, so many days before a day.
func (d demoSupply) take(s *session, a *app.App, day time.Time, before int, who string) error {
	r := app.SupplyReceipt{On: day.AddDate(0, 0, -before).Format(time.DateOnly), Supply: d.ID, Amount: d.Amount, SupplierLot: d.Mark}
	if d.BestBeforeDays > 0 {
		r.BestBefore = day.AddDate(0, 0, d.BestBeforeDays).Format(time.DateOnly)
	}
	if d.DeclaredDays > 0 {
		r.DeclaredOn = day.AddDate(0, 0, -d.DeclaredDays).Format(time.DateOnly)
	}
	id, err := a.ReceiveSupply(s.ctx, r, who, "")
	if err != nil || d.Found == 0 {
		return err
	}
	return a.WriteSupply(s.ctx, supply.Entry{Lot: id, Counted: &supply.Counted{Found: d.Found}}, 0, who, "")
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
			if r.Supply != nil {
				if err := r.Supply.take(s, a, day, r.DaysBefore, who); err != nil {
					return err
				}
				continue
			}
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
