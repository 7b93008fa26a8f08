package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/store"
)

// commands is the whole command line.
type commands struct {
	Book string `help:"Shop book: a .db database or a .toml file." default:"./slabside.db" placeholder:"FILE" eg:"shop.db"`
	JSON bool   `help:"Print one JSON object instead of text." name:"json"`

	Demo           demoCmd           `cmd:"" eg:"slabside demo" help:"Make the demo shop book if there is none, plan its day, print it and serve the pages."`
	Plan           planCmd           `cmd:"" eg:"slabside plan --date 2026-11-28" help:"Plan a making day: bags to boils, order, timetable."`
	Boil           boilCmd           `cmd:"" eg:"slabside boil --sugar 6.35kg --syrup 1.36kg --to 149C" help:"One boil: water left, what to read on the glass, time, energy."`
	Limits         limitsCmd         `cmd:"" eg:"slabside limits --recipe damson-leaves" help:"Colours, acids and flavour compounds of a recipe against the law, as far as it is known."`
	Sugar          sugarCmd          `cmd:"" eg:"slabside sugar --solids 97% --syrup-share 40% --at 100C" help:"Properties of one sugar mixture."`
	Slab           slabCmd           `cmd:"" eg:"slabside slab --mass 10kg --pour 140C --depth 20mm" help:"A batch from the pour to its last sheet: when to turn, pull and roll, and how much these rolls can take."`
	Pieces         piecesCmd         `cmd:"" eg:"slabside pieces --mass 9.5kg --piece 2.4g" help:"How many pieces a mass makes."`
	Mix            mixCmd            `cmd:"" eg:"slabside mix --bag 40 --shares 2,2,1" help:"What a bag from a blended pool holds."`
	ShelfLife      shelfLifeCmd      `cmd:"" eg:"slabside shelf-life --product mint-beads-113 --rh 65% --at 25C" help:"How long a product keeps in its pack."`
	Begin          beginCmd          `cmd:"" eg:"slabside begin --recipe damson-leaves --charge 7kg" help:"Begin the record of a batch; prints its number."`
	WeighIn        weighInCmd        `cmd:"" eg:"slabside weigh-in 2026-11-28-2" help:"The sheet of a batch as it is weighed: what, how much, out of which lots, how far it is."`
	Weigh          weighCmd          `cmd:"" eg:"slabside weigh 2026-11-28-2 --ingredient sugar --mass 4500g --lot r2026-11-20-1" help:"Write down one thing that was weighed for a batch, correct it or take it back."`
	Scan           scanCmd           `cmd:"" eg:"slabside scan sugar GS-2304" help:"What a code on a pot is; exit status 1 if it is not what the sheet asks for."`
	Note           noteCmd           `cmd:"" eg:"slabside note 2026-11-28-2 --read 151C --flame 25min" help:"Write down what was seen of a batch, correct it or take it back."`
	Records        recordsCmd        `cmd:"" eg:"slabside records --recipe damson-leaves" help:"List the records of batches, the newest first."`
	Record         recordCmd         `cmd:"" eg:"slabside record 2026-11-28-2" help:"One record: what is written, what was planned, what became of it."`
	Trouble        troubleCmd        `cmd:"" eg:"slabside trouble 2026-11-28-2 --what grained" help:"A batch went wrong: the next thirty seconds, what may become of it, bags short, until when to remake it, why."`
	Decide         decideCmd         `cmd:"" eg:"slabside decide 2026-11-28-2 --as bin --because scorched" help:"Say what becomes of a batch; refused where its trouble closes it."`
	Learn          learnCmd          `cmd:"" eg:"slabside learn" help:"What the records teach of this room."`
	LookBack       lookBackCmd       `cmd:"" eg:"slabside look-back brass" help:"Look back from a check that found a thermometer off; exit status 1 if a batch is to be held."`
	Stores         storesCmd         `cmd:"" eg:"slabside stores" help:"What is in the stores: lots by first expiry, what the day needs, what is short and to be ordered."`
	Supplies       suppliesCmd       `cmd:"" eg:"slabside supplies" help:"Packaging, gas and consumables: what there is, how long it lasts, what is to be ordered."`
	Lot            lotCmd            `cmd:"" eg:"slabside lot r2026-11-28-2" help:"The ledger of one lot: what came, what became of it, what nobody wrote down."`
	MakeStock      makeStockCmd      `cmd:"" eg:"slabside make-stock --of r2026-11-20-3=50g --carrier water --strength 20% --best-before 2026-12-05" help:"Make a stock solution, or packets weighed beforehand, out of lots; prints the number of the new lot."`
	Receive        receiveCmd        `cmd:"" eg:"slabside receive --ingredient sugar --mass 25kg --supplier 'Fenwold Sugar'" help:"Take in a delivery; prints the number of its lot."`
	Count          countCmd          `cmd:"" eg:"slabside count r2026-11-28-2 --found 12.4kg" help:"Write down what a count found of a lot."`
	Use            useCmd            `cmd:"" eg:"slabside use r2026-11-28-2 --mass 6.35kg --batch 2026-11-28-2" help:"Take something of a lot."`
	Waste          wasteCmd          `cmd:"" eg:"slabside waste r2026-11-28-2 --mass 250g --why spilt" help:"Throw something of a lot away, or send it back."`
	Hold           holdCmd           `cmd:"" eg:"slabside hold r2026-11-28-2" help:"Freeze a lot everywhere at once."`
	Held           heldCmd           `cmd:"" eg:"slabside held" help:"What is stopped, and what is frozen with it; exit status 1 if anything is."`
	Trace          traceCmd          `cmd:"" eg:"slabside trace b2026-11-28-2" help:"What went into a lot, a batch, bags or a jar and what it went into, and the answer for an allergy; exit status 1 if nothing of it may leave."`
	Release        releaseCmd        `cmd:"" eg:"slabside release r2026-11-28-2 --why 'looked through'" help:"Release a lot that is stopped, or condemn it."`
	Pack           packCmd           `cmd:"" eg:"slabside pack bags --product rhubarb-fish-113 --batch 2026-11-28-2 --bags 12" help:"What there is to pack; pack bags, take them out, count and hold them; jars."`
	When           whenCmd           `cmd:"" eg:"slabside when --product rhubarb-fish-113 --bags 40" help:"When somebody can have so many bags, and what that rests on."`
	Attach         attachCmd         `cmd:"" eg:"slabside attach r2026-11-28-2 certificate.pdf" help:"Attach a photo or a paper to a batch or a lot, or list what is attached."`
	Readings       readingsCmd       `cmd:"" eg:"slabside readings --batch 2026-11-28-2" help:"What thermometers showed, by time."`
	ImportReadings importReadingsCmd `cmd:"" eg:"slabside import-readings logger.csv --probe brass --in slab --dry-run" help:"Take in the file of a temperature logger; prints what it is taken for."`
	Care           careCmd           `cmd:"" eg:"slabside care" help:"The care of the room: faults found, what was done, what is due."`
	Rolls          rollsCmd          `cmd:"" eg:"slabside rolls --instead-of leaf" help:"What other pairs of rolls come to: pieces, bags, what changes on the label."`
	Proof          proofCmd          `cmd:"" eg:"slabside proof shop.toml" help:"Read a shop-book file and report every problem with its line."`
	Import         importCmd         `cmd:"" eg:"slabside import shop.toml" help:"Take definitions or a whole book from a file."`
	Export         exportCmd         `cmd:"" eg:"slabside export definitions -o shop.toml" help:"Write definitions or the whole book."`
	Audit          auditCmd          `cmd:"" eg:"slabside audit" help:"Check the book against its own log, and the log against a printed hash; exit status 1 if something is wrong."`
	Backup         backupCmd         `cmd:"" eg:"slabside backup --dir backups --keep 30" help:"Copy the book while it is in use; the copy is opened and audited."`
	Restore        restoreCmd        `cmd:"" eg:"slabside restore backups/slabside-20261128T060000Z.db --drill" help:"Put a backup in the place of the book, or try whether that could be done."`
	Serve          serveCmd          `cmd:"" eg:"slabside serve" help:"Serve the pages on this machine."`
	People         peopleCmd         `cmd:"" eg:"slabside people add Odile --role owner" help:"Who may do what: people, their PINs, paired tablets."`
	Token          tokenCmd          `cmd:"" eg:"slabside token add 'label printer'" help:"Tokens for programs that ask over the API."`
	Help           helpCmd           `cmd:"" eg:"slabside help plan" help:"Explain a command, as --help does."`
}

// session is what a command runs with.
type session struct {
	Env
	ctx  context.Context
	book string
	json bool

	decimal q.Decimal // of whoever reads the text
}

// reader is whom a command without a shop book prints for.
func (s *session) reader() q.Reader { return q.Metric.With(s.decimal) }

// exited carries kong's own wish to stop, after --help.
type exited int

// Run parses the arguments, runs one command and returns the exit status.
func Run(ctx context.Context, env Env) (status int) {
	var c commands
	defer func() {
		if r := recover(); r != nil {
			code, ok := r.(exited)
			if !ok {
				panic(r)
			}
			status = int(code)
		}
	}()
	parser, err := kong.New(&c,
		kong.Name("slabside"),
		kong.Description("The working book of a room where sugar is boiled. Quantities carry their unit: 6.35kg, 14lb, 154C, 310F, 1013hPa, 35m, 5%. "+exitHelp),
		kong.Writers(env.Stdout, env.Stderr),
		kong.Exit(func(code int) { panic(exited(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
	)
	if err != nil {
		report(env.Stderr, fault.Internal(err, "the command line could not be set up"))
		return ExitInternal
	}
	k, err := parser.Parse(env.Args)
	if err != nil {
		report(env.Stderr, usage(err))
		return ExitInput
	}
	s := &session{Env: env, ctx: ctx, book: c.Book, json: c.JSON}
	if !s.json { // programs read one mark everywhere
		s.decimal = q.DecimalOf(env.Language)
		s.ctx = app.ReadWith(ctx, s.decimal)
	}
	err = k.Run(s)
	report(env.Stderr, err)
	return exitOf(err)
}

// print writes v as JSON, or calls text.
func (s *session) print(v any, text func(p *printer)) error {
	if s.json {
		enc := json.NewEncoder(s.Stdout)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		if err := enc.Encode(v); err != nil {
			return fault.Internal(err, "the answer could not be written")
		}
		return nil
	}
	p := &printer{w: s.Stdout}
	text(p)
	return p.err
}

// withBook opens the shop book, with create making a missing database, does something
// with its use cases and closes it.
func (s *session) withBook(create bool, do func(*app.App) error) error {
	return s.withKeeper(create, func(k store.Keeper) error { return do(app.New(k, s.Now)) })
}

// withKeeper is withBook for what is done with the keeper itself.
func (s *session) withKeeper(create bool, do func(store.Keeper) error) error {
	k, err := s.Open(s.ctx, s.book, create)
	if err != nil {
		return err
	}
	defer k.Close()
	return do(k)
}

// printer writes text and keeps the first error.
type printer struct {
	w   interface{ Write([]byte) (int, error) }
	err error
}

func (p *printer) line(format string, a ...any) {
	if p.err == nil {
		if _, err := fmt.Fprintf(p.w, format+"\n", a...); err != nil {
			p.err = fault.Internal(err, "the answer could not be written")
		}
	}
}

func (p *printer) cautions(list []app.Caution) {
	if len(list) == 0 {
		return
	}
	p.line("")
	p.line("Cautions")
	for _, c := range list {
		p.line("  ! %s", c.Text)
	}
}

func (p *printer) sources(list []string) {
	if len(list) > 0 {
		p.line("")
		p.line("Sources: %s", strings.Join(list, ", "))
	}
}
