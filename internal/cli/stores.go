package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/store"
)

type storesCmd struct {
	Date   string `help:"The day; default today." placeholder:"DATE" eg:"2026-11-28"`
	TakeIn bool   `help:"First take in what the shop book lists of ingredients of which nothing ever came in."`
	Who    string `help:"Who takes it in." default:"owner" eg:"Odile"`
}

// Run lists what is in the stores.
func (c *storesCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		if c.TakeIn {
			if _, err := a.ReceiveListed(s.ctx, c.Who); err != nil {
				return lotFault(err)
			}
		}
		r, err := a.Stores(s.ctx, c.Date)
		if err != nil {
			return flagged(err, "date")
		}
		return s.print(r, func(p *printer) { printStores(p, r) })
	})
}

func printStores(p *printer, r *app.StoresResult) {
	u := r.Units
	any := false
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "ingredient\ton hand\tmay be used\tthe day needs\tlasts")
		for _, x := range r.Shelves {
			if len(x.Lots) == 0 && x.NeededMg == 0 {
				continue
			}
			any = true
			lasts := "–"
			if e := x.CoverDays; e != nil {
				lasts = fmt.Sprintf("%s d (%s–%s), %s", u.Number(e.Value, 1), u.Number(e.Low, 1), u.Number(e.High, 1), e.Basis)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", x.Name, massOf(u, x.OnHandMg), massOf(u, x.FreeMg), massOf(u, x.NeededMg), lasts)
			for _, l := range x.Lots {
				fmt.Fprintf(w, "  %s %s\t%s\t%s\t\t\n", l.Lot, l.SupplierLot, massOf(u, l.OnHandMg), lotWords(l, u))
			}
		}
	})
	if !any {
		p.line("Nothing was taken in yet: slabside receive")
	}
	for _, x := range r.Short {
		p.line("")
		p.line("Short of %s for %s: %s; %s needed, %s may be used", x.Name, r.On, massOf(u, x.ShortMg), massOf(u, x.NeededMg), massOf(u, x.FreeMg))
		for _, i := range x.Instead {
			p.line("  instead %s, %s there: %s", i.Name, massOf(u, i.FreeMg), strings.Join(append([]string{"another name on the label"}, i.Changes...), "; "))
		}
	}
	for _, x := range r.Reorder {
		p.line("Order %s: %s", x.Name, x.Why)
	}
	p.cautions(r.Cautions)
}

// lotWords says what is to be known of a lot.
func lotWords(l app.LotLine, u q.Reader) string {
	var out []string
	if l.Status != lot.Usable {
		out = append(out, strings.ToUpper(string(l.Status)))
	}
	switch {
	case l.DaysLeft == nil:
		out = append(out, "no date")
	case *l.DaysLeft < 0:
		out = append(out, "best before passed "+l.BestBefore)
	default:
		out = append(out, "best before "+l.BestBefore)
	}
	if l.UnaccountedMg != 0 {
		out = append(out, massOf(u, l.UnaccountedMg)+" unaccounted")
	}
	if m := l.Made; m != nil && m.Strength < 1 {
		out = append(out, u.Percent(q.Fraction(m.Strength), 2)+" in "+m.Carrier)
	}
	return strings.Join(out, ", ")
}

type lotCmd struct {
	Lot      string `arg:"" help:"Number of the lot."`
	TakeBack int64  `help:"Take back what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'another lot'"`
	Who      string `help:"Who takes it back." default:"owner" eg:"Odile"`
}

// Run shows the ledger of a lot, or takes an entry back.
func (c *lotCmd) Run(s *session) error {
	if c.TakeBack == 0 {
		return s.withBook(false, func(a *app.App) error { return s.showLot(a, c.Lot) })
	}
	return s.writeLot(lot.Entry{Lot: c.Lot}, c.TakeBack, c.Who, c.Why)
}

type receiveCmd struct {
	Ingredient  string       `help:"What came." placeholder:"ID" eg:"sugar"`
	Mass        *q.Kilograms `help:"How much." placeholder:"MASS" eg:"25kg"`
	Supplier    string       `help:"Who delivered it." placeholder:"TEXT" eg:"'Fenwold Sugar'"`
	Mark        string       `help:"The lot mark on the sack." placeholder:"TEXT" eg:"GS-2304"`
	BestBefore  string       `help:"Best before; left out: it has no date." placeholder:"DATE" eg:"2028-10-01"`
	On          string       `help:"Day it came; default that of --lot, else today." placeholder:"DATE" eg:"2026-11-28"`
	Lot         string       `help:"Number of the lot; default the next of the day." placeholder:"LOT" eg:"r2026-11-28-2"`
	StatementOn string       `help:"Date of the supplier's allergen statement; left out: none came, which is not none." placeholder:"DATE" eg:"2026-08-03"`
	MayContain  []string     `help:"Allergens that the statement says it may contain." placeholder:"A,B" eg:"milk,soy"`
	Certificate string       `help:"What paper came with it." placeholder:"TEXT" eg:"'CoA 2304'"`
	Note        string       `help:"Anything to remember." placeholder:"TEXT" eg:"'two sacks torn'"`
	Waits       string       `help:"Why it waits in quarantine; left out: it may be used at once." placeholder:"TEXT" eg:"'no certificate'"`
	Corrects    int64        `help:"Put right the delivery that this act wrote; what is left out stays." placeholder:"ACT" eg:"12"`
	Why         string       `help:"Why, for the record." eg:"'weighed again'"`
	Who         string       `help:"Who takes it in." default:"owner" eg:"Odile"`
}

// Run takes in a delivery and prints the number of its lot.
func (c *receiveCmd) Run(s *session) error {
	if c.Corrects != 0 && c.Lot == "" {
		return fault.Invalid("--corrects without --lot").WithHint("name the lot whose delivery is put right")
	}
	req := app.ReceiveRequest{Lot: c.Lot, On: c.On, Ingredient: c.Ingredient, Supplier: c.Supplier, SupplierLot: c.Mark, BestBefore: c.BestBefore,
		StatementOn: c.StatementOn, MayContain: c.MayContain, Certificate: c.Certificate, Note: c.Note, Waits: c.Waits, Corrects: c.Corrects}
	if c.Mass != nil {
		req.Mass = *c.Mass
	}
	return s.withBook(false, func(a *app.App) error {
		id, err := a.Receive(s.ctx, req, c.Who, c.Why)
		if err != nil {
			return lotFault(err)
		}
		if s.json {
			return s.showLot(a, id)
		}
		p := &printer{w: s.Stdout}
		p.line("%s", id)
		return p.err
	})
}

type countCmd struct {
	Lot      string       `arg:"" help:"Number of the lot."`
	Found    *q.Kilograms `help:"What is there." required:"" placeholder:"MASS" eg:"12.4kg"`
	Sure     *q.Kilograms `help:"How sure, plus or minus." placeholder:"MASS" eg:"50g"`
	Corrects int64        `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string       `help:"Why, for the record." eg:"'misread'"`
	Who      string       `help:"Who counts." default:"owner" eg:"Odile"`
}

// Run writes down what a count found.
func (c *countCmd) Run(s *session) error {
	e := lot.Entry{Lot: c.Lot, Counted: &lot.Counted{FoundMg: c.Found.Milligrams()}}
	if c.Sure != nil {
		e.Counted.SureMg = c.Sure.Milligrams()
	}
	return s.writeLot(e, c.Corrects, c.Who, c.Why)
}

type useCmd struct {
	Lot      string       `arg:"" help:"Number of the lot."`
	Mass     *q.Kilograms `help:"How much." required:"" placeholder:"MASS" eg:"6.35kg"`
	Batch    string       `help:"Batch it goes into." placeholder:"BATCH" eg:"2026-11-28-2"`
	For      string       `help:"What else it is for." placeholder:"TEXT" eg:"'a trial'"`
	Corrects int64        `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string       `help:"Why, for the record." eg:"'misread'"`
	Who      string       `help:"Who takes it." default:"owner" eg:"Odile"`
}

// Run takes something of a lot.
func (c *useCmd) Run(s *session) error {
	return s.writeLot(lot.Entry{Lot: c.Lot, Used: &lot.Used{MassMg: c.Mass.Milligrams(), Batch: c.Batch, For: c.For}}, c.Corrects, c.Who, c.Why)
}

type wasteCmd struct {
	Lot      string       `arg:"" help:"Number of the lot."`
	Mass     *q.Kilograms `help:"How much." required:"" placeholder:"MASS" eg:"250g"`
	Why      string       `help:"Why it is thrown away or sent back." required:"" placeholder:"TEXT" eg:"spilt"`
	Corrects int64        `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Who      string       `help:"Who throws it away." default:"owner" eg:"Odile"`
}

// Run throws something of a lot away.
func (c *wasteCmd) Run(s *session) error {
	return s.writeLot(lot.Entry{Lot: c.Lot, Wasted: &lot.Wasted{MassMg: c.Mass.Milligrams(), Why: c.Why}}, c.Corrects, c.Who, "")
}

type holdCmd struct {
	Lot        string `arg:"" help:"Number of the lot."`
	Why        string `help:"Why; may come later." placeholder:"TEXT" eg:"'glass in the next sack'"`
	Quarantine bool   `help:"Into quarantine only, for a paper or a look; needs --why."`
	Who        string `help:"Who holds it." default:"owner" eg:"Odile"`
}

// Run freezes a lot.
func (c *holdCmd) Run(s *session) error {
	if c.Quarantine {
		return s.writeLot(lot.Entry{Lot: c.Lot, Placed: &lot.Placed{As: lot.Quarantine, Why: c.Why}}, 0, c.Who, "")
	}
	return s.withBook(false, func(a *app.App) error {
		if err := a.HoldLot(s.ctx, c.Lot, c.Why, c.Who); err != nil {
			return lotFault(err)
		}
		return s.showLot(a, c.Lot)
	})
}

type releaseCmd struct {
	Lot     string `arg:"" help:"Number of the lot."`
	Why     string `help:"What was looked at, and what was found." required:"" placeholder:"TEXT" eg:"'looked through: another mill'"`
	Condemn bool   `help:"Not for use: it may be thrown away or sent back only."`
	Who     string `help:"Who decides." default:"owner" eg:"Odile"`
}

// Run releases a lot, or condemns it.
func (c *releaseCmd) Run(s *session) error {
	as := lot.Usable
	if c.Condemn {
		as = lot.Condemned
	}
	return s.writeLot(lot.Entry{Lot: c.Lot, Placed: &lot.Placed{As: as, Why: c.Why}}, 0, c.Who, "")
}

// writeLot writes an entry and shows the ledger.
func (s *session) writeLot(e lot.Entry, corrects int64, who, why string) error {
	return s.withBook(false, func(a *app.App) error {
		if err := a.WriteLot(s.ctx, e, corrects, who, why); err != nil {
			return lotFault(err)
		}
		return s.showLot(a, e.Lot)
	})
}

// lotFlags are the flags that fill the fields of entries.
var lotFlags = map[string]string{
	"received.on": "on", "received.ingredient": "ingredient", "received.supplier": "supplier", "received.best_before": "best-before", "received.mass_mg": "mass",
	"received.statement_on": "statement-on", "received.may_contain": "may-contain", "placed.why": "why", "used.mass_mg": "mass", "used.batch": "batch", "wasted.mass_mg": "mass", "wasted.why": "why",
	"counted.found_mg": "found", "counted.sure_mg": "sure", "corrects": "corrects",
	"received.made.of": "of", "received.made.carrier": "carrier", "received.made.carrier_mg": "carrier-mass", "received.made.strength_frac": "strength", "received.made.packets": "packets",
}

// lotFault names the flag instead of the field that it fills.
func lotFault(err error) error {
	var f *fault.Error
	if errors.As(err, &f) {
		if name, ok := lotFlags[f.Field]; ok {
			return f.At("--" + name)
		}
		return f.At("")
	}
	return err
}

// showLot prints the ledger of a lot.
func (s *session) showLot(a *app.App, id string) error {
	r, err := a.Lot(s.ctx, id)
	if err != nil {
		return lotFault(err)
	}
	return s.print(r, func(p *printer) { printLot(p, r) })
}

func printLot(p *printer, r *app.LotResult) {
	u := r.Units
	if r.Ingredient == "" {
		p.line("%s  taken back", r.Lot)
	} else {
		p.line("%s  %s, %s %s, received %s, %s", r.Lot, r.Name, r.Supplier, r.SupplierLot, r.On, lotWords(r.LotLine, u))
	}
	if r.Why != "" {
		p.line("%s: %s", r.Status, r.Why)
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "act\tday\twho\twhat\tleft")
		for _, e := range r.Entries {
			what, left := lotEntryWords(e, u), ""
			if e.Corrected {
				what = "corrected: " + what
			}
			if e.Reason != "" {
				what += " (" + e.Reason + ")"
			}
			if e.Moved {
				left = massOf(u, e.OnHandMg)
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\n", e.Act, e.At.Format("2006-01-02"), e.Person, what, left)
		}
	})
	p.line("")
	p.line("received %s − used %s − wasted %s − unaccounted %s = on hand %s", massOf(u, r.ReceivedMg), massOf(u, r.UsedMg), massOf(u, r.WastedMg), massOf(u, r.UnaccountedMg), massOf(u, r.OnHandMg))
}

// lotEntryWords says what an entry writes down.
func lotEntryWords(e app.LotEntry, u q.Reader) string {
	text := ""
	switch {
	case e.Received != nil:
		text = fmt.Sprintf("received %s from %s", massOf(u, e.Received.MassMg), e.Received.Supplier)
		if e.Received.Made != nil {
			text = makingWords(e.Received, u)
		}
		if e.Received.Waits != "" {
			text += ", waits: " + e.Received.Waits
		}
	case e.Placed != nil:
		if text = string(e.Placed.As); e.Placed.Why != "" {
			text += ": " + e.Placed.Why
		}
	case e.Used != nil:
		text = strings.TrimSpace(fmt.Sprintf("used %s %s %s", massOf(u, e.Used.MassMg), e.Used.Batch, e.Used.For))
		if e.Used.Into != "" {
			text += " in lot " + e.Used.Into
		}
	case e.Wasted != nil:
		text = fmt.Sprintf("wasted %s: %s", massOf(u, e.Wasted.MassMg), e.Wasted.Why)
	case e.Counted != nil:
		text = "counted " + massOf(u, e.Counted.FoundMg)
	default:
		return fmt.Sprintf("act %d taken back", e.Corrects)
	}
	if e.UnaccountedMg != 0 {
		text += ", unaccounted " + massOf(u, e.UnaccountedMg)
	}
	if e.Corrects != 0 {
		text += fmt.Sprintf(", in place of act %d", e.Corrects)
	}
	return text
}

// exportLots writes every ledger as a JSON line, as the lots go out.
func exportLots(ctx context.Context, k store.Keeper, w io.Writer) error {
	const page = 500
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for after := ""; ; {
		list, err := k.Lots(ctx, store.FindLots{After: after, Limit: page})
		if err != nil {
			return err
		}
		for _, l := range list {
			if err := enc.Encode(l); err != nil {
				return fault.Internal(err, "the lots could not be written")
			}
			after = l.ID
		}
		if len(list) < page {
			return nil
		}
	}
}
