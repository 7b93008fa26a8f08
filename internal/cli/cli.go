package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// commands is the whole command line.
type commands struct {
	Book string `help:"Shop book: a .db database or a .toml file." default:"./slabside.db" placeholder:"FILE"`
	JSON bool   `help:"Print one JSON object instead of text." name:"json"`

	Demo   demoCmd   `cmd:"" help:"Make the demo shop book if there is none, plan its day, print it and serve the pages."`
	Plan   planCmd   `cmd:"" help:"Plan a making day: bags to boils, order, timetable."`
	Boil   boilCmd   `cmd:"" help:"One boil: water left, what to read on the glass, time, energy."`
	Sugar  sugarCmd  `cmd:"" help:"Properties of one sugar mixture."`
	Pieces piecesCmd `cmd:"" help:"How many pieces a mass makes."`
	Mix    mixCmd    `cmd:"" help:"What a bag from a blended pool holds."`
	Proof  proofCmd  `cmd:"" help:"Read a shop-book file and report every problem with its line."`
	Import importCmd `cmd:"" help:"Take definitions or a whole book from a file."`
	Export exportCmd `cmd:"" help:"Write definitions or the whole book."`
	Serve  serveCmd  `cmd:"" help:"Serve the pages on this machine."`
}

// session is what a command runs with.
type session struct {
	Env
	ctx  context.Context
	book string
	json bool
}

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
	err = k.Run(s)
	report(env.Stderr, err)
	return exitOf(err)
}

// usage turns a parse error into a fault; one of our own, from a quantity, keeps its hint.
func usage(err error) error {
	var f *fault.Error
	if errors.As(err, &f) {
		text, _, _ := strings.Cut(err.Error(), " (")
		return fault.Invalid("%s", text).WithHint("%s", f.Hint)
	}
	return fault.Invalid("%s", err.Error()).WithHint("slabside --help lists the commands, slabside COMMAND --help its flags")
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

// open opens the shop book and its use cases; the caller closes the keeper.
func (s *session) open(create bool) (*app.App, store.Keeper, error) {
	k, err := s.Open(s.ctx, s.book, create)
	if err != nil {
		return nil, nil, err
	}
	return app.New(k, s.Now), k, nil
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
