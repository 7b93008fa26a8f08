package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
)

type packCmd struct {
	Day     packDayCmd     `cmd:"" default:"1" help:"What there is to pack and what is packed."`
	Window  packWindowCmd  `cmd:"" help:"What the scale may show of a bag."`
	Bags    packBagsCmd    `cmd:"" help:"Write down bags that were filled; prints the number of their lot."`
	Lots    packLotsCmd    `cmd:"" help:"List bag lots, the newest first."`
	Show    packShowCmd    `cmd:"" help:"One bag lot, jar, or what is left loose of a batch; takes an entry back."`
	Out     packOutCmd     `cmd:"" help:"Take bags out of a lot: over the counter, for an order, into a jar."`
	Count   packCountCmd   `cmd:"" help:"Write down what a count of a bag lot found."`
	Fill    packFillCmd    `cmd:"" help:"Put loose sweets of a batch into a jar."`
	Take    packTakeCmd    `cmd:"" help:"Take something of a jar, or of the loose sweets of a batch, without a bag."`
	Left    packLeftCmd    `cmd:"" help:"Write down what the scale found left in a jar, or loose of a batch."`
	Empty   packEmptyCmd   `cmd:"" help:"Say that a jar is empty, or washed."`
	Hold    packHoldCmd    `cmd:"" help:"Freeze a bag lot or a jar."`
	Release packReleaseCmd `cmd:"" help:"Release a bag lot or a jar, or condemn it."`
	Read    packReadCmd    `cmd:"" help:"Say that a note is read: what was tapped while nobody heard and could not be written."`
}

type packDayCmd struct{}

// Run lists what there is to pack and what is packed.
func (c *packDayCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.PackingDay(s.ctx)
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printPacking(p, r) })
	})
}

func printPacking(p *printer, r *app.PackingResult) {
	u := r.Units
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "product\tto make\tasked\tthere\tpacked today\tloose sweets fill")
		for _, x := range r.Lines {
			fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%d\n", x.Name, x.Left, x.Asked, x.Stock, x.Today, x.Fills)
		}
	})
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "batch\tof\tleft loose")
		for _, x := range r.Batches {
			left := massOf(u, x.LeftMg)
			if !x.Weighed {
				left = "not weighed"
			}
			if !x.Place.Packs() {
				left += ", " + strings.ToUpper(string(x.Place))
			}
			fmt.Fprintf(w, "%s\t%s\t%s\n", x.Batch, x.Name, left)
		}
	})
	p.line("")
	printBags(p, r.Lots)
	for _, x := range r.Jars {
		p.line("%s  %s%s", x.Jar, massOf(u, x.OnHandMg), jarWords(x))
	}
	for _, x := range r.Notes {
		p.line("To be read: act %d of %s, tapped by %s at %s and not written: %s", x.Act, x.Ledger, x.Person, x.At.Format("2006-01-02 15:04"), x.Why)
		p.line("  %s", x.Tried)
	}
	p.cautions(r.Cautions)
}

type packReadCmd struct {
	Day string `arg:"" help:"Day of the note."`
	Act int64  `help:"Act that wrote it." required:"" placeholder:"ACT" eg:"31"`
	Why string `help:"What was done about it." placeholder:"TEXT" eg:"'ten bags written to b2026-11-28-2'"`
	Who string `help:"Who reads it." default:"owner" eg:"Odile"`
}

// Run takes a note out of those that are to be read.
func (c *packReadCmd) Run(s *session) error {
	id := packing.NotesID(c.Day)
	if !packing.IsNotes(id) {
		return fault.Invalid("%q is no day", fault.Clip(c.Day, fault.Echo)).WithHint("as 2026-11-28")
	}
	return s.withBook(false, func(a *app.App) error {
		if err := a.WritePacking(s.ctx, packing.Entry{Ledger: id}, c.Act, c.Who, c.Why); err != nil {
			return packFault(err)
		}
		r, err := a.PackingDay(s.ctx)
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printPacking(p, r) })
	})
}

func jarWords(x app.JarLine) string {
	out := ""
	switch {
	case x.Washed:
		out += ", washed"
	case x.Emptied:
		out += ", not washed"
	}
	if x.Blend {
		out += fmt.Sprintf(", a blend of %d batches", len(x.Of))
	}
	if x.Status != packing.Usable {
		out += ", " + strings.ToUpper(string(x.Status))
	}
	return out
}

func printBags(p *printer, list []app.BagLine) {
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "lot\tof\tpacked\ton hand\tbatches")
		for _, x := range list {
			fmt.Fprintf(w, "%s\t%s\t%d\t%d%s\t%s\n", x.Lot, x.Name, x.Balance.Packed, x.OnHand, bagLotWords(x), batchesOf(x.Of))
		}
	})
}

// bagLotWords says what is to be known of a bag lot.
func bagLotWords(x app.BagLine) string {
	out := ""
	if x.Status != packing.Usable {
		out += ", " + strings.ToUpper(string(x.Status))
	}
	if len(x.Aside) > 0 {
		out += ", of a batch that is put aside"
	}
	if x.Unaccounted != 0 {
		out += fmt.Sprintf(", %d unaccounted", x.Unaccounted)
	}
	return out
}

func batchesOf(of []packing.Share) string {
	var out []string
	for _, x := range of {
		out = append(out, x.Batch)
	}
	return strings.Join(out, " ")
}

type packWindowCmd struct {
	Product string       `help:"Which product." required:"" placeholder:"ID" eg:"rhubarb-fish-113"`
	Tare    *q.Kilograms `help:"Of an empty bag; left out: the scale is set to nothing with the bag on it." placeholder:"MASS" eg:"5g"`
	Scale   string       `help:"Which scale; default the one that is taken for this weight." placeholder:"ID" eg:"counter"`
}

// Run prints what the scale may show.
func (c *packWindowCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		w, err := a.PackWindow(s.ctx, c.Product, massOr0(c.Tare), c.Scale)
		if err != nil {
			return packFault(err)
		}
		return s.print(w, func(p *printer) {
			u := w.Units
			p.line("%s  accept %s to %s g on %s", w.Name, u.Number(float64(w.FromMg)/1e3, 3), u.Number(float64(w.ToMg)/1e3, 3), orNone(w.ScaleName))
			p.line("%s", w.Basis)
			p.cautions(w.Cautions)
			p.sources(w.Sources)
		})
	})
}

func massOr0(m *q.Kilograms) q.Kilograms {
	if m == nil {
		return 0
	}
	return *m
}

func orNone(name string) string {
	if name == "" {
		return "no scale of the book"
	}
	return name
}

type packBagsCmd struct {
	Product    string        `help:"Which product; default that of --lot." placeholder:"ID" eg:"rhubarb-fish-113"`
	Bags       int64         `help:"How many." required:"" placeholder:"N" eg:"12"`
	Batch      []string      `help:"Batches that went in, one of each sweet at least." placeholder:"A,B" eg:"2026-11-28-2"`
	Lot        string        `help:"Add to this lot; default a new one." placeholder:"LOT" eg:"b2026-11-28-1"`
	Tare       *q.Kilograms  `help:"Of an empty bag; left out: the scale was set to nothing with the bag on it." placeholder:"MASS" eg:"5g"`
	Scale      string        `help:"Which scale; default the one that is taken for this weight." placeholder:"ID" eg:"counter"`
	BestBefore string        `help:"Date on the label; left out: that of the lot, else none." placeholder:"DATE" eg:"2027-11-28"`
	Weighed    []q.Kilograms `help:"What the scale showed of bags that were weighed once more." placeholder:"A,B" eg:"233g,234g"`
	Mass       *q.Kilograms  `help:"All that went in, if it was weighed; default bags by what one usually holds." placeholder:"MASS" eg:"2.75kg"`
	Open       []string      `help:"Lots of bags, labels and the like that were opened for them; left out: nobody says." placeholder:"A,B" eg:"s2026-11-28-1"`
	Corrects   int64         `help:"Put right how many bags this act packed." placeholder:"ACT" eg:"13"`
	Why        string        `help:"Why there was more than is left, or why it is put right." eg:"'weighed short'"`
	Who        string        `help:"Who packs." default:"owner" eg:"Wilma"`
}

// Run writes down bags and prints the number of their lot.
func (c *packBagsCmd) Run(s *session) error {
	if c.Corrects != 0 && c.Lot == "" {
		return fault.Invalid("--corrects without --lot").WithHint("name the lot whose bags are put right")
	}
	req := app.PackRequest{Lot: c.Lot, Product: c.Product, Batches: c.Batch, Bags: c.Bags, Tare: massOr0(c.Tare), Scale: c.Scale, BestBefore: c.BestBefore, Weighed: c.Weighed, Mass: massOr0(c.Mass), Packaging: c.Open, Corrects: c.Corrects}
	why := c.Why
	if c.Corrects == 0 {
		req.Why, why = c.Why, ""
	}
	return s.withBook(false, func(a *app.App) error {
		id, err := a.Pack(s.ctx, req, c.Who, why)
		if err != nil {
			return packFault(err)
		}
		if s.json {
			return s.showPacked(a, id)
		}
		p := &printer{w: s.Stdout}
		p.line("%s", id)
		return p.err
	})
}

type packLotsCmd struct {
	Product string `help:"Those of one product." placeholder:"ID" eg:"rhubarb-fish-113"`
	From    string `help:"Packed on this day or later." placeholder:"DATE" eg:"2026-11-01"`
	To      string `help:"Packed on this day or earlier." placeholder:"DATE" eg:"2026-11-28"`
	Live    bool   `help:"Those of which bags are left."`
	Before  string `help:"Go on after this lot." placeholder:"LOT" eg:"b2026-11-28-2"`
	Limit   int    `help:"How many at most." default:"50" placeholder:"N" eg:"50"`
}

// Run lists bag lots.
func (c *packLotsCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.BagLots(s.ctx, app.BagQuery{Product: c.Product, From: c.From, To: c.To, Live: c.Live, Before: c.Before, Limit: c.Limit})
		if err != nil {
			return packFault(err)
		}
		return s.print(r, func(p *printer) {
			printBags(p, r.Lots)
			if r.Next != "" {
				p.line("There are more: slabside pack lots --before %s", r.Next)
			}
		})
	})
}

type packShowCmd struct {
	Ledger   string `arg:"" help:"Number of a bag lot or a batch, or a jar."`
	TakeBack int64  `help:"Take back what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'another lot'"`
	Who      string `help:"Who takes it back." default:"owner" eg:"Odile"`
}

// Run shows a ledger of the packing, or takes an entry of it back.
func (c *packShowCmd) Run(s *session) error {
	if c.TakeBack == 0 {
		return s.withBook(false, func(a *app.App) error { return s.showPacked(a, ledgerName(c.Ledger)) })
	}
	return s.writePacked(packing.Entry{Ledger: ledgerName(c.Ledger)}, c.TakeBack, c.Who, c.Why)
}

// ledgerName is the ledger that a lot, a jar or a batch names.
func ledgerName(id string) string {
	if loose := packing.LooseID(id); packing.IsLoose(loose) {
		return loose
	}
	return id
}

type packOutCmd struct {
	Lot      string `arg:"" help:"Number of the bag lot."`
	Bags     int64  `help:"How many." required:"" placeholder:"N" eg:"6"`
	To       string `help:"Where to: counter sale, order, parcel, sample, tasting, gift, waste; --jar opens them." default:"counter sale" placeholder:"WHERE" eg:"order"`
	For      string `help:"Number of the order or parcel, or why; no names, for what is written is never erased." placeholder:"TEXT" eg:"1207"`
	Jar      string `help:"Open them into this jar." placeholder:"JAR" eg:"j-counter-3"`
	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'miscounted'"`
	Who      string `help:"Who takes them." default:"owner" eg:"Wilma"`
}

// Run takes bags out of a lot.
func (c *packOutCmd) Run(s *session) error {
	if c.Jar != "" && c.Corrects == 0 {
		return s.withBook(false, func(a *app.App) error {
			if err := a.OpenBags(s.ctx, c.Lot, c.Bags, c.Jar, c.Who, c.Why); err != nil {
				return packFault(err)
			}
			return s.showPacked(a, c.Lot)
		})
	}
	return s.onDay(func(day string) packing.Entry {
		return packing.Entry{Ledger: c.Lot, Moved: &packing.Moved{On: day, Bags: c.Bags, To: packing.Out(c.To), For: c.For}}
	}, c.Corrects, c.Who, c.Why)
}

type packCountCmd struct {
	Lot      string `arg:"" help:"Number of the bag lot."`
	Found    int64  `help:"Bags that are there." required:"" placeholder:"N" eg:"19"`
	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'miscounted'"`
	Who      string `help:"Who counts." default:"owner" eg:"Wilma"`
}

// Run writes down a count.
func (c *packCountCmd) Run(s *session) error {
	return s.writePacked(packing.Entry{Ledger: c.Lot, Counted: &packing.Counted{Bags: c.Found}}, c.Corrects, c.Who, c.Why)
}

type packFillCmd struct {
	Jar   string       `arg:"" help:"The jar, as j-counter-3."`
	Batch string       `help:"Of which batch." required:"" placeholder:"BATCH" eg:"2026-11-28-2"`
	Mass  *q.Kilograms `help:"How much." required:"" placeholder:"MASS" eg:"1.5kg"`
	Why   string       `help:"Why there was more than is left." eg:"'weighed short'"`
	Who   string       `help:"Who fills it." default:"owner" eg:"Wilma"`
}

// Run fills a jar.
func (c *packFillCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		if err := a.FillJar(s.ctx, app.FillRequest{Jar: c.Jar, Batch: c.Batch, Mass: *c.Mass, Why: c.Why}, c.Who, ""); err != nil {
			return packFault(err)
		}
		return s.showPacked(a, c.Jar)
	})
}

type packTakeCmd struct {
	Ledger   string       `arg:"" help:"The jar, or number of the batch."`
	Mass     *q.Kilograms `help:"How much." required:"" placeholder:"MASS" eg:"60g"`
	To       string       `help:"Where to: counter sale, sample, tasting, gift, waste, cooked back." default:"tasting" placeholder:"WHERE" eg:"sample"`
	For      string       `help:"What for, or why." placeholder:"TEXT" eg:"'a school'"`
	Corrects int64        `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string       `help:"Why, for the record." eg:"'misread'"`
	Who      string       `help:"Who takes it." default:"owner" eg:"Wilma"`
}

// Run takes something without a bag.
func (c *packTakeCmd) Run(s *session) error {
	return s.onDay(func(day string) packing.Entry {
		return packing.Entry{Ledger: ledgerName(c.Ledger), Taken: &packing.Taken{On: day, MassMg: c.Mass.Milligrams(), To: packing.Out(c.To), For: c.For}}
	}, c.Corrects, c.Who, c.Why)
}

type packLeftCmd struct {
	Ledger   string       `arg:"" help:"The jar, or number of the batch."`
	Found    *q.Kilograms `help:"What is there." required:"" placeholder:"MASS" eg:"2.4kg"`
	Sure     *q.Kilograms `help:"How sure, plus or minus." placeholder:"MASS" eg:"5g"`
	Corrects int64        `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string       `help:"Why, for the record." eg:"'misread'"`
	Who      string       `help:"Who weighs it." default:"owner" eg:"Wilma"`
}

// Run writes down what is left.
func (c *packLeftCmd) Run(s *session) error {
	return s.writePacked(packing.Entry{Ledger: ledgerName(c.Ledger), Left: &packing.Left{FoundMg: c.Found.Milligrams(), SureMg: massOr0(c.Sure).Milligrams()}}, c.Corrects, c.Who, c.Why)
}

type packEmptyCmd struct {
	Jar    string `arg:"" help:"The jar, as j-counter-3."`
	Washed bool   `help:"It is empty already, and washed now."`
	Why    string `help:"How, for the record." eg:"'hot, two minutes'"`
	Who    string `help:"Who does it." default:"owner" eg:"Wilma"`
}

// Run empties a jar or says that it is washed.
func (c *packEmptyCmd) Run(s *session) error {
	return s.onDay(func(day string) packing.Entry {
		if c.Washed {
			return packing.Entry{Ledger: c.Jar, Washed: &packing.Washed{On: day}}
		}
		return packing.Entry{Ledger: c.Jar, Emptied: &packing.Emptied{On: day}}
	}, 0, c.Who, c.Why)
}

type packHoldCmd struct {
	Ledger string `arg:"" help:"Number of the bag lot, or the jar."`
	Why    string `help:"Why; may come later." placeholder:"TEXT" eg:"'glass beside the sieve'"`
	Who    string `help:"Who holds it." default:"owner" eg:"Wilma"`
}

// Run freezes a bag lot or a jar.
func (c *packHoldCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		if err := a.HoldPacked(s.ctx, c.Ledger, c.Why, c.Who); err != nil {
			return packFault(err)
		}
		return s.showPacked(a, c.Ledger)
	})
}

type packReleaseCmd struct {
	Ledger  string `arg:"" help:"Number of the bag lot, or the jar."`
	Why     string `help:"What was looked at, and what was found." required:"" placeholder:"TEXT" eg:"'all looked through'"`
	Condemn bool   `help:"It goes out as waste only."`
	Who     string `help:"Who decides." default:"owner" eg:"Odile"`
}

// Run releases a bag lot or a jar, or condemns it.
func (c *packReleaseCmd) Run(s *session) error {
	as := packing.Usable
	if c.Condemn {
		as = packing.Condemned
	}
	return s.writePacked(packing.Entry{Ledger: c.Ledger, Placed: &packing.Placed{As: as, Why: c.Why}}, 0, c.Who, "")
}

// onDay writes an entry of today.
func (s *session) onDay(make func(day string) packing.Entry, corrects int64, who, why string) error {
	return s.withBook(false, func(a *app.App) error {
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		return s.enterPacked(a, make(a.Today(b)), corrects, who, why)
	})
}

func (s *session) writePacked(e packing.Entry, corrects int64, who, why string) error {
	return s.withBook(false, func(a *app.App) error { return s.enterPacked(a, e, corrects, who, why) })
}

// enterPacked writes an entry and shows its ledger.
func (s *session) enterPacked(a *app.App, e packing.Entry, corrects int64, who, why string) error {
	if err := a.WritePacking(s.ctx, e, corrects, who, why); err != nil {
		return packFault(err)
	}
	return s.showPacked(a, e.Ledger)
}

// packFlags are the flags that fill the fields of entries.
var packFlags = map[string]string{
	"packed.product": "product", "packed.bags": "bags", "packed.of": "batch", "packed.why": "why", "packed.best_before": "best-before", "packed.mass": "mass", "packed.weighed_mg": "weighed", "packed.opened": "open",
	"moved.bags": "bags", "moved.to": "to", "moved.for": "for", "moved.jar": "jar", "counted.bags": "found", "placed.why": "why", "filled.of": "batch", "filled.why": "why",
	"taken.mass_mg": "mass", "taken.to": "to", "taken.for": "for", "left.found_mg": "found", "corrects": "corrects", "product": "product", "bags": "bags", "scale": "scale", "tare": "tare",
}

// packFault names the flag instead of the field that it fills.
func packFault(err error) error {
	var f *fault.Error
	if errors.As(err, &f) {
		if name, ok := packFlags[f.Field]; ok {
			return f.At("--" + name)
		}
		return f.At("")
	}
	return err
}

// showPacked prints a ledger of the packing.
func (s *session) showPacked(a *app.App, id string) error {
	switch {
	case packing.IsJar(id):
		r, err := a.Jar(s.ctx, id)
		if err != nil {
			return packFault(err)
		}
		return s.print(r, func(p *printer) { printJar(p, r) })
	case packing.IsLoose(id):
		r, err := a.BatchLeft(s.ctx, id[1:])
		if err != nil {
			return packFault(err)
		}
		return s.print(r, func(p *printer) { printLoose(p, r) })
	}
	r, err := a.BagLot(s.ctx, id)
	if err != nil {
		return packFault(err)
	}
	return s.print(r, func(p *printer) { printBagLot(p, r) })
}

func printBagLot(p *printer, r *app.BagLot) {
	u := r.Units
	if r.Product == "" {
		p.line("%s  taken back", r.Lot)
	} else {
		p.line("%s  %s, packed %s%s", r.Lot, r.Name, r.On, bagLotWords(r.BagLine))
	}
	if r.Why != "" {
		p.line("%s: %s", r.Status, r.Why)
	}
	for _, x := range r.Of {
		p.line("  batch %s, %s", x.Batch, massOf(u, x.MassMg))
	}
	if c := r.Check; c != nil {
		p.line("%d bags weighed once more: %s on the average, %d below the label", c.Bags, massOf(u, c.MeanMg), c.Short)
	}
	printPackedEntries(p, r.Entries, u)
	p.line("packed %d − out %d − unaccounted %d = on hand %d", r.Balance.Packed, r.Out.Sum(), r.Unaccounted, r.OnHand)
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

func printJar(p *printer, r *app.JarResult) {
	u := r.Units
	p.line("%s%s", r.Jar, jarWords(r.JarLine))
	for _, x := range r.Of {
		p.line("  batch %s, %s", x.Batch, massOf(u, x.MassMg))
	}
	printPackedEntries(p, r.Entries, u)
	p.line("filled %s − out %s − unaccounted %s = on hand %s", massOf(u, r.FilledMg), massOf(u, r.OutMg.Sum()), massOf(u, r.UnaccountedMg), massOf(u, r.OnHandMg))
	p.cautions(r.Cautions)
}

func printLoose(p *printer, r *app.BatchLeft) {
	u := r.Units
	p.line("%s  %s", r.Batch, r.Name)
	if len(r.In) > 0 {
		p.line("in %s", strings.Join(r.In, ", "))
	}
	printPackedEntries(p, r.Entries, u)
	p.line("made %s − packed %s − jars %s − out %s − unaccounted %s = left %s", massOf(u, r.MadeMg), massOf(u, r.PackedMg), massOf(u, r.JarsMg), massOf(u, r.OutMg.Sum()), massOf(u, r.UnaccountedMg), massOf(u, r.LeftMg))
	p.cautions(r.Cautions)
}

func printPackedEntries(p *printer, list []app.BagEntry, u q.Reader) {
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "act\tday\twho\twhat")
		for _, e := range list {
			what := packedWords(e, u)
			if e.Corrected {
				what = "corrected: " + what
			}
			if e.Reason != "" {
				what += " (" + e.Reason + ")"
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", e.Act, e.At.Format(time.DateOnly), e.Person, what)
		}
	})
	p.line("")
}

// packedWords says what an entry writes down.
func packedWords(k app.BagEntry, u q.Reader) string {
	e, text := k.Entry, ""
	switch {
	case e.Packed != nil:
		text = fmt.Sprintf("packed %d of %s", e.Packed.Bags, batchesOf(e.Packed.Of))
	case e.Moved != nil:
		text = strings.TrimSpace(fmt.Sprintf("%d out: %s %s%s", e.Moved.Bags, e.Moved.To, e.Moved.For, e.Moved.Jar))
	case e.Counted != nil:
		text = fmt.Sprintf("counted %d", e.Counted.Bags)
	case e.Placed != nil:
		text = strings.TrimSuffix(string(e.Placed.As)+": "+e.Placed.Why, ": ")
	case e.Filled != nil && e.Filled.Lot != "":
		text = fmt.Sprintf("%d bags of %s opened into it", e.Filled.Bags, e.Filled.Lot)
	case e.Filled != nil:
		text = fmt.Sprintf("filled with %s of %s", massOf(u, e.Filled.Of[0].MassMg), batchesOf(e.Filled.Of))
	case e.Taken != nil:
		text = strings.TrimSpace(fmt.Sprintf("taken %s: %s %s", massOf(u, e.Taken.MassMg), e.Taken.To, e.Taken.For))
	case e.Left != nil:
		text = massOf(u, e.Left.FoundMg) + " left"
	case e.Emptied != nil:
		text = "emptied"
	case e.Washed != nil:
		text = "washed"
	default:
		return fmt.Sprintf("act %d taken back", k.Corrects)
	}
	if k.Corrects != 0 {
		text += fmt.Sprintf(", in place of act %d", k.Corrects)
	}
	return text
}

type whenCmd struct {
	Product string `help:"Which product." required:"" placeholder:"ID" eg:"rhubarb-fish-113"`
	Bags    int    `help:"How many." required:"" placeholder:"N" eg:"40"`
}

// Run answers when somebody can have bags.
func (c *whenCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		r, err := a.When(s.ctx, c.Product, c.Bags)
		if err != nil {
			return packFault(err)
		}
		return s.print(r, func(p *printer) { printWhen(p, r, b.Shop.TimeZone) })
	})
}

func printWhen(p *printer, r *app.WhenResult, zone string) {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	p.line("%d of %s: %s", r.Bags, r.Name, r.Says)
	if r.At != nil && !r.Today && r.NotToday != "" {
		p.line("Not today: %s", r.NotToday)
	}
	if r.Promised > 0 {
		p.line("Orders still wait for %d of them; those go first", r.Promised)
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "by\tbags\tit rests on")
		for _, x := range r.Steps {
			bags := r.Units.Number(x.Bags.Value, 0)
			if x.Bags.Low != x.Bags.High {
				bags = fmt.Sprintf("%s (%s–%s), %s", bags, r.Units.Number(x.Bags.Low, 0), r.Units.Number(x.Bags.High, 0), x.Bags.Basis)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\n", x.At.In(loc).Format("2006-01-02 15:04"), bags, x.Text)
		}
	})
	p.cautions(r.Cautions)
}
