package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
)

type recordsCmd struct {
	Recipe string `help:"Those of one recipe." placeholder:"ID" eg:"damson-leaves"`
	From   string `help:"Made on this day or later." placeholder:"DATE" eg:"2026-11-01"`
	To     string `help:"Made on this day or earlier." placeholder:"DATE" eg:"2026-11-28"`
	Limit  int    `help:"How many at most, 1 to 500." default:"50" placeholder:"N" eg:"20"`
	Before string `help:"Go on after this batch of the list." placeholder:"BATCH" eg:"2026-11-28-2"`
}

// Run lists records.
func (c *recordsCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Records(s.ctx, app.RecordQuery{Recipe: c.Recipe, From: c.From, To: c.To, Before: c.Before, Limit: c.Limit})
		if err != nil {
			return flagged(err, "recipe", "from", "to", "limit", "before")
		}
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printRecords(p, r, b.Shop.Units) })
	})
}

func printRecords(p *printer, r app.RecordList, u q.Reader) {
	if len(r.Records) == 0 {
		p.line("There is no such record.")
		return
	}
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "batch\tsweet\tcharge\twritten down")
		for _, x := range r.Records {
			said := app.KindNames(x.Seen)
			if x.Marked {
				said = "LOOK: " + said
			}
			if x.Place != record.Free {
				said = app.SayPlace(x.Place) + ": " + said
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", x.Batch, x.Name, u.Mass(q.Kilograms(x.ChargeKg)), said)
		}
	})
	if r.Next != "" {
		p.line("There are more: slabside records --before %s", r.Next)
	}
}

// exportRecords writes every record as a JSON line, the newest first.
func exportRecords(ctx context.Context, k store.Keeper, w io.Writer) error {
	const page = 500
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for before := ""; ; {
		list, err := k.Records(ctx, store.Find{Before: before, Limit: page})
		if err != nil {
			return err
		}
		for _, r := range list {
			if err := enc.Encode(r); err != nil {
				return fault.Internal(err, "the records could not be written")
			}
			before = r.ID
		}
		if len(list) < page {
			return nil
		}
	}
}
