package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/supply"
)

type suppliesCmd struct {
	List    supplyListCmd    `cmd:"" default:"withargs" help:"What there is, how long it lasts, what is to be ordered."`
	Receive supplyReceiveCmd `cmd:"" help:"Take in a delivery; prints the number of its lot."`
	Lot     supplyLotCmd     `cmd:"" help:"One lot: its ledger, and the bags packed in it; takes an entry back."`
	Use     supplyUseCmd     `cmd:"" help:"Take something of a lot; bags take theirs where they are packed."`
	Waste   supplyWasteCmd   `cmd:"" help:"Throw something of a lot away, or send it back."`
	Count   supplyCountCmd   `cmd:"" help:"Write down what a count found."`
	Hold    supplyHoldCmd    `cmd:"" help:"Freeze a lot and all bags packed in it, or put it into quarantine."`
	Release supplyReleaseCmd `cmd:"" help:"Release a lot, or condemn it."`
	Open    supplyOpenCmd    `cmd:"" help:"The packaging that goes with a product, and the lots of it to open."`
}

type supplyListCmd struct {
	Date string `help:"The day; default today." placeholder:"DATE" eg:"2026-11-28"`
}

// Run lists what there is.
func (c *supplyListCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Supplies(s.ctx, c.Date)
		if err != nil {
			return flagged(err, "date")
		}
		return s.print(r, func(p *printer) { printSupplies(p, r) })
	})
}

func printSupplies(p *printer, r *app.SuppliesResult) {
	u := r.Units
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "supply\ton hand\tmay be used\tlasts\tby")
		for _, x := range r.Shelves {
			lasts := "–"
			if e := x.CoverDays; e != nil {
				lasts = fmt.Sprintf("%s d (%s–%s), %s", u.Number(e.Value, 1), u.Number(e.Low, 1), u.Number(e.High, 1), e.Basis)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", x.Name, app.SayAmount(u, x.Unit, x.OnHand), app.SayAmount(u, x.Unit, x.Free), lasts, x.UsedBy)
			for _, l := range x.Lots {
				fmt.Fprintf(w, "  %s %s\t%s\t%s\t\t\n", l.Lot, l.SupplierLot, app.SayAmount(u, l.Unit, l.OnHand), supplyWords(u, l))
			}
		}
	})
	if len(r.Shelves) == 0 {
		p.line("The shop book has no supplies.")
	}
	for _, x := range r.Reorder {
		p.line("Order %s: %s", x.Name, x.Why)
	}
	p.cautions(r.Cautions)
}

// supplyWords says what is to be known of a lot.
func supplyWords(u q.Reader, l app.SupplyLine) string {
	var out []string
	if l.Status != lot.Usable {
		out = append(out, strings.ToUpper(string(l.Status)))
	}
	switch {
	case l.DaysLeft == nil:
	case *l.DaysLeft < 0:
		out = append(out, "best before passed "+l.BestBefore)
	default:
		out = append(out, "best before "+l.BestBefore)
	}
	if l.Unaccounted != 0 {
		out = append(out, app.SayAmount(u, l.Unit, l.Unaccounted)+" unaccounted")
	}
	return strings.Join(out, ", ")
}

// amountOf reads pieces, or a mass of what goes by mass.
func amountOf(text, flag string, unit supply.Unit) (int64, error) {
	if unit == supply.ByMass {
		m, err := q.ParseMass(text)
		var f *fault.Error
		if errors.As(err, &f) {
			return 0, f.At("--" + flag)
		}
		return m.Milligrams(), err
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 {
		return 0, fault.Invalid("%q is no number of pieces", fault.Clip(text, fault.Echo)).At("--" + flag).WithHint("write a whole number")
	}
	return n, nil
}

type supplyReceiveCmd struct {
	Supply      string `help:"What came." placeholder:"ID" eg:"bags-small"`
	Amount      string `help:"How much: pieces, or a mass of what goes by mass." placeholder:"N" eg:"1000"`
	Supplier    string `help:"Who delivered it; default the shop book's." placeholder:"TEXT" eg:"'Saltmarsh Packaging'"`
	Mark        string `help:"The lot mark on the box." placeholder:"TEXT" eg:"B-7"`
	BestBefore  string `help:"Best before; left out: it has no date." placeholder:"DATE" eg:"2028-10-01"`
	On          string `help:"Day it came; default that of --lot, else today." placeholder:"DATE" eg:"2026-11-28"`
	Lot         string `help:"Number of the lot; default the next of the day." placeholder:"LOT" eg:"s2026-11-28-2"`
	DeclaredOn  string `help:"Date of the declaration that came with it, that it may touch food." placeholder:"DATE" eg:"2026-02-16"`
	Certificate string `help:"What paper came with it." placeholder:"TEXT" eg:"'DoC 16'"`
	Note        string `help:"Anything to remember." placeholder:"TEXT" eg:"'one box open'"`
	Waits       string `help:"Why it waits in quarantine; left out: it may be used at once." placeholder:"TEXT" eg:"'printed wrong?'"`
	Corrects    int64  `help:"Put right the delivery that this act wrote; what is left out stays." placeholder:"ACT" eg:"12"`
	Why         string `help:"Why, for the record." eg:"'counted again'"`
	Who         string `help:"Who takes it in." default:"owner" eg:"Odile"`
}

// Run takes in a delivery and prints the number of its lot.
func (c *supplyReceiveCmd) Run(s *session) error {
	if c.Corrects != 0 && c.Lot == "" {
		return fault.Invalid("--corrects without --lot").WithHint("name the lot whose delivery is put right")
	}
	return s.withBook(false, func(a *app.App) error {
		req := app.SupplyReceipt{Lot: c.Lot, On: c.On, Supply: c.Supply, Supplier: c.Supplier, SupplierLot: c.Mark, BestBefore: c.BestBefore, DeclaredOn: c.DeclaredOn, Certificate: c.Certificate, Note: c.Note, Waits: c.Waits, Corrects: c.Corrects}
		unit := supply.Pieces
		if c.Corrects != 0 {
			l, err := a.SupplyLot(s.ctx, c.Lot)
			if err != nil {
				return supplyFault(err)
			}
			unit = l.Unit
		} else if b, _, err := a.Book(s.ctx); err == nil {
			x, _ := b.Supply(c.Supply)
			unit = x.In()
		}
		var err error
		if c.Amount != "" {
			if req.Amount, err = amountOf(c.Amount, "amount", unit); err != nil {
				return err
			}
		}
		id, err := a.ReceiveSupply(s.ctx, req, c.Who, c.Why)
		if err != nil {
			return supplyFault(err)
		}
		if s.json {
			return s.showSupply(a, id)
		}
		p := &printer{w: s.Stdout}
		p.line("%s", id)
		return p.err
	})
}

type supplyLotCmd struct {
	Lot      string `arg:"" help:"Number of the lot."`
	TakeBack int64  `help:"Take back what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'another lot'"`
	Who      string `help:"Who takes it back." default:"owner" eg:"Odile"`
}

// Run shows the ledger of a lot, or takes an entry back.
func (c *supplyLotCmd) Run(s *session) error {
	if c.TakeBack == 0 {
		return s.withBook(false, func(a *app.App) error { return s.showSupply(a, c.Lot) })
	}
	return s.writeSupply(c.Lot, func(supply.Unit) (supply.Entry, error) { return supply.Entry{}, nil }, c.TakeBack, c.Who, c.Why)
}

type supplyUseCmd struct {
	Lot      string `arg:"" help:"Number of the lot."`
	Amount   string `help:"How much." required:"" placeholder:"N" eg:"20"`
	For      string `help:"What it is for." placeholder:"TEXT" eg:"'samples'"`
	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'misread'"`
	Who      string `help:"Who takes it." default:"owner" eg:"Odile"`
}

// Run takes something of a lot.
func (c *supplyUseCmd) Run(s *session) error {
	return s.writeSupply(c.Lot, func(u supply.Unit) (supply.Entry, error) {
		n, err := amountOf(c.Amount, "amount", u)
		return supply.Entry{Used: &supply.Used{Amount: n, For: c.For}}, err
	}, c.Corrects, c.Who, c.Why)
}

type supplyWasteCmd struct {
	Lot      string `arg:"" help:"Number of the lot."`
	Amount   string `help:"How much." required:"" placeholder:"N" eg:"20"`
	Why      string `help:"Why it is thrown away or sent back." required:"" placeholder:"TEXT" eg:"torn"`
	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Who      string `help:"Who throws it away." default:"owner" eg:"Odile"`
}

// Run throws something of a lot away.
func (c *supplyWasteCmd) Run(s *session) error {
	return s.writeSupply(c.Lot, func(u supply.Unit) (supply.Entry, error) {
		n, err := amountOf(c.Amount, "amount", u)
		return supply.Entry{Wasted: &supply.Wasted{Amount: n, Why: c.Why}}, err
	}, c.Corrects, c.Who, "")
}

type supplyCountCmd struct {
	Lot      string `arg:"" help:"Number of the lot."`
	Found    string `help:"What is there." required:"" placeholder:"N" eg:"575"`
	Sure     string `help:"How sure, plus or minus." placeholder:"N" eg:"5"`
	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'misread'"`
	Who      string `help:"Who counts." default:"owner" eg:"Odile"`
}

// Run writes down what a count found.
func (c *supplyCountCmd) Run(s *session) error {
	return s.writeSupply(c.Lot, func(u supply.Unit) (supply.Entry, error) {
		e := supply.Entry{Counted: &supply.Counted{}}
		var err error
		if e.Counted.Found, err = amountOf(c.Found, "found", u); err == nil && c.Sure != "" {
			e.Counted.Sure, err = amountOf(c.Sure, "sure", u)
		}
		return e, err
	}, c.Corrects, c.Who, c.Why)
}

type supplyHoldCmd struct {
	Lot        string `arg:"" help:"Number of the lot."`
	Why        string `help:"Why; may come later." placeholder:"TEXT" eg:"'seams open'"`
	Quarantine bool   `help:"Into quarantine only, for a paper or a look; needs --why."`
	Who        string `help:"Who holds it." default:"owner" eg:"Odile"`
}

// Run freezes a lot.
func (c *supplyHoldCmd) Run(s *session) error {
	if c.Quarantine {
		return s.placeSupply(c.Lot, lot.Quarantine, c.Why, c.Who)
	}
	return s.withBook(false, func(a *app.App) error {
		if err := a.HoldSupply(s.ctx, c.Lot, c.Why, c.Who); err != nil {
			return supplyFault(err)
		}
		return s.showSupply(a, c.Lot)
	})
}

type supplyReleaseCmd struct {
	Lot     string `arg:"" help:"Number of the lot."`
	Why     string `help:"What was looked at, and what was found." required:"" placeholder:"TEXT" eg:"'another roll'"`
	Condemn bool   `help:"Not for use: it may be thrown away or sent back only."`
	Who     string `help:"Who decides." default:"owner" eg:"Odile"`
}

// Run releases a lot, or condemns it.
func (c *supplyReleaseCmd) Run(s *session) error {
	as := lot.Usable
	if c.Condemn {
		as = lot.Condemned
	}
	return s.placeSupply(c.Lot, as, c.Why, c.Who)
}

type supplyOpenCmd struct {
	Product string `arg:"" help:"Which product."`
}

// Run lists the packaging of a product.
func (c *supplyOpenCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		list, err := a.OpenFor(s.ctx, c.Product)
		if err != nil {
			return supplyFault(err)
		}
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		return s.print(app.OpenList{Open: list}, func(p *printer) {
			for _, x := range list {
				p.line("%s, %d a bag", x.Name, x.Each)
				for i, l := range x.Lots {
					first := ""
					if i == 0 {
						first = ", take this first"
					}
					p.line("  %s %s, %s%s", l.Lot, l.SupplierLot, app.SayAmount(b.Shop.Units, l.Unit, l.OnHand), first)
				}
				if len(x.Lots) == 0 {
					p.line("  none may be used")
				}
			}
			if len(list) == 0 {
				p.line("Nothing in the shop book goes with it.")
			}
		})
	})
}

func (s *session) placeSupply(id string, as lot.Status, why, who string) error {
	return s.writeSupply(id, func(supply.Unit) (supply.Entry, error) {
		return supply.Entry{Placed: &supply.Placed{As: as, Why: why}}, nil
	}, 0, who, "")
}

// writeSupply writes an entry, made in the unit of its lot, and shows the ledger.
func (s *session) writeSupply(id string, entry func(supply.Unit) (supply.Entry, error), corrects int64, who, why string) error {
	return s.withBook(false, func(a *app.App) error {
		l, err := a.SupplyLot(s.ctx, id)
		if err != nil {
			return supplyFault(err)
		}
		e, err := entry(l.Unit)
		if err != nil {
			return err
		}
		e.Lot = id
		if err := a.WriteSupply(s.ctx, e, corrects, who, why); err != nil {
			return supplyFault(err)
		}
		return s.showSupply(a, id)
	})
}

// supplyFlags are the flags that fill the fields of entries.
var supplyFlags = map[string]string{
	"received.on": "on", "received.supply": "supply", "received.supplier": "supplier", "received.best_before": "best-before", "received.amount": "amount", "received.declared_on": "declared-on",
	"placed.why": "why", "used.amount": "amount", "wasted.amount": "amount", "wasted.why": "why", "counted.found": "found", "counted.sure": "sure", "corrects": "corrects",
}

// supplyFault names the flag instead of the field that it fills.
func supplyFault(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	if name, ok := supplyFlags[f.Field]; ok {
		return f.At("--" + name)
	}
	return f.At("")
}

// showSupply prints the ledger of a lot.
func (s *session) showSupply(a *app.App, id string) error {
	r, err := a.SupplyLot(s.ctx, id)
	if err != nil {
		return supplyFault(err)
	}
	return s.print(r, func(p *printer) { printSupply(p, r) })
}

func printSupply(p *printer, r *app.SupplyResult) {
	u := r.Units
	say := func(n int64) string { return app.SayAmount(u, r.Unit, n) }
	if r.Supply == "" {
		p.line("%s  taken back", r.Lot)
	} else {
		p.line("%s  %s, %s %s, received %s, %s", r.Lot, r.Name, r.Supplier, r.SupplierLot, r.On, supplyWords(u, r.SupplyLine))
	}
	if r.Why != "" {
		p.line("%s: %s", r.Status, r.Why)
	}
	for _, x := range r.Bags {
		frozen := ""
		if r.Frozen > 0 {
			frozen = ", FROZEN"
		}
		p.line("packed in it: %s %s, %d bags, %d here%s", x.Lot, x.Name, x.Bags, x.OnHand, frozen)
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "act\tday\twho\twhat\tleft")
		for _, e := range r.Entries {
			what, left := app.SaySupply(u, r.Unit, e), ""
			if e.Corrected {
				what = "corrected: " + what
			}
			if e.Reason != "" {
				what += " (" + e.Reason + ")"
			}
			if e.Stands {
				left = say(e.OnHand)
				if e.Unaccounted != 0 {
					what += ", unaccounted " + say(e.Unaccounted)
				}
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\n", e.Act, e.At.Format("2006-01-02"), e.Person, what, left)
		}
	})
	p.line("")
	p.line("received %s − packed %s − used %s − wasted %s − unaccounted %s = on hand %s", say(r.Received), say(r.Packed), say(r.Used), say(r.Wasted), say(r.Unaccounted), say(r.OnHand))
}
