package cli

import (
	"bytes"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/store"
)

type proofCmd struct {
	File string `arg:"" help:"Shop-book file."`
}

// ProofResult answers the proof command.
type ProofResult struct {
	OK       bool      `json:"ok"`
	Problems []Problem `json:"problems"`
}

// Run proofs a file.
func (c *proofCmd) Run(s *session) error {
	data, err := readFile(c.File)
	if err != nil {
		return err
	}
	_, problems, err := s.Decode(c.File, data)
	if err != nil {
		return err
	}
	r := ProofResult{OK: true, Problems: problems}
	if r.Problems == nil {
		r.Problems = []Problem{}
	}
	for _, p := range problems {
		r.OK = r.OK && p.Caution
	}
	err = s.print(r, func(p *printer) {
		for _, pr := range problems {
			if !pr.Caution {
				p.line("%s", problemLine(c.File, pr))
			}
		}
		p.standing(c.File, problems, !r.OK)
		switch {
		case !r.OK:
			p.line("%s has problems; nothing was changed.", c.File)
		case len(problems) > 0:
			p.line("%s can be used; mind the cautions.", c.File)
		default:
			p.line("%s is in order.", c.File)
		}
	})
	if err == nil && !r.OK {
		return errNo
	}
	return err
}

// standing prints the cautions of a proof, apart from its mistakes: those must be
// put right, these need only be known.
func (p *printer) standing(file string, problems []Problem, apart bool) {
	for _, pr := range problems {
		if !pr.Caution {
			continue
		}
		if apart {
			p.line("")
			apart = false
		}
		p.line("%s", problemLine(file, pr))
	}
}

func problemLine(file string, p Problem) string {
	s := fmt.Sprintf("%s:%d: ", file, p.Line)
	if p.Caution {
		s += "caution: "
	}
	return s + placed(p)
}

// placed says what is wrong, its place in front, its hint behind.
func placed(p Problem) string {
	s := p.Text
	if p.Place != "" {
		// A caution names what it concerns; that need not be said twice.
		thing, _, _ := strings.Cut(p.Place, ", ")
		if rest, ok := strings.CutPrefix(s, thing); ok && len(rest) > 2 && (rest[:2] == ", " || rest[:2] == ": ") {
			s = rest[2:]
		}
		s = p.Place + ": " + s
	}
	if p.Hint != "" {
		s += " (" + p.Hint + ")"
	}
	return s
}

type importCmd struct {
	File string `arg:"" help:"A shop-book file (.toml) or a whole book (.jsonl)."`
	Why  string `help:"Why, for the book's log." default:"imported from a file" eg:"'new kettle'"`
	Who  string `help:"Who imports." default:"owner" eg:"Odile"`
}

// Run imports definitions, or a whole book into an empty database.
func (c *importCmd) Run(s *session) error {
	data, err := readFile(c.File)
	if err != nil {
		return err
	}
	if strings.EqualFold(filepath.Ext(c.File), ".jsonl") {
		err := s.withKeeper(true, func(k store.Keeper) error {
			_, err := k.ImportAll(s.ctx, bytes.NewReader(data))
			return err
		})
		if err != nil {
			return err
		}
		return s.print(struct {
			OK bool `json:"ok"`
		}{true}, func(p *printer) { p.line("The whole book of %s is now in %s.", c.File, s.book) })
	}
	ch, err := importTOML(s, c.File, data, c.Who, c.Why)
	if err != nil {
		return err
	}
	return s.print(ch, func(p *printer) {
		p.line("%d new, %d changed, %d as they were, %d in the book only.", len(ch.Added), len(ch.Revised), ch.Unchanged, len(ch.Kept))
		for _, n := range ch.Added {
			p.line("  new      %s", n)
		}
		for _, n := range ch.Revised {
			p.line("  changed  %s", n)
		}
	})
}

// importTOML proofs the file whole before it touches the book.
func importTOML(s *session, name string, data []byte, who, why string) (ch store.Changes, err error) {
	b, problems, err := s.Decode(name, data)
	if err != nil {
		return store.Changes{}, err
	}
	var bad app.Problems
	for _, p := range problems {
		if !p.Caution {
			bad = append(bad, &fault.Error{Kind: fault.KindInvalid, Text: placed(Problem{Place: p.Place, Text: p.Text}), Hint: p.Hint, Field: fmt.Sprintf("%s:%d", name, p.Line)})
		}
	}
	if len(bad) > 0 {
		return store.Changes{}, bad
	}
	err = s.withBook(true, func(a *app.App) error {
		ch, err = a.Import(s.ctx, b, who, why)
		return err
	})
	return ch, err
}

type exportCmd struct {
	Kind string `arg:"" help:"definitions: a shop-book file; recipes, batches, lots, acts: JSON lines of these; all: the whole book as JSON lines." enum:"definitions,recipes,batches,lots,acts,all"`
	Out  string `help:"File to write; default standard output." short:"o" placeholder:"FILE" eg:"shop.toml"`
}

// Run exports.
func (c *exportCmd) Run(s *session) error {
	var buf bytes.Buffer
	err := s.withKeeper(false, func(k store.Keeper) error {
		switch c.Kind {
		case "all":
			return k.ExportAll(s.ctx, &buf)
		case "acts":
			return exportActs(s.ctx, k, &buf)
		case "batches":
			return exportRecords(s.ctx, k, &buf)
		case "lots":
			return exportLots(s.ctx, k, &buf)
		}
		b, _, err := app.New(k, s.Now).Book(s.ctx)
		if err != nil {
			return err
		}
		if c.Kind == "recipes" {
			return exportRecipes(&b, &buf)
		}
		text, err := s.Encode(b)
		buf.Write(text)
		return err
	})
	if err != nil {
		return err
	}
	if c.Out != "" {
		return writeFile(c.Out, buf.Bytes())
	}
	if _, err := s.Stdout.Write(buf.Bytes()); err != nil {
		return fault.Internal(err, "the export could not be written")
	}
	return nil
}

type demoCmd struct {
	Date    string `help:"The day to plan; default today." placeholder:"DATE" eg:"2026-11-28"`
	Listen  string `help:"Address on this machine." default:"127.0.0.1:7373" placeholder:"HOST:PORT" eg:"127.0.0.1:7374"`
	NoServe bool   `help:"Stop after printing."`
}

// Run makes the demo shop, plans its day and serves it.
func (c *demoCmd) Run(s *session) error {
	var ln net.Listener
	if !c.NoServe {
		var err error
		if ln, err = s.Listen(s.ctx, c.Listen, true); err != nil {
			return err
		}
		defer ln.Close()
	}
	if _, err := os.Stat(s.book); os.IsNotExist(err) {
		if _, err := importTOML(s, "demo.toml", s.DemoBook(), "demo", "the demo shop"); err != nil {
			return err
		}
		if err := demoRecords(s, c.Date); err != nil {
			return err
		}
		if !s.json {
			fmt.Fprintf(s.Stderr, "Made the demo shop book %s\n", s.book)
		}
	}
	return s.withBook(false, func(a *app.App) error {
		p, err := a.Plan(s.ctx, app.PlanRequest{Date: c.Date})
		if err != nil {
			return flagged(err, "date")
		}
		if err := s.print(p, func(pr *printer) { printPlan(pr, p) }); err != nil {
			return err
		}
		if c.NoServe {
			return nil
		}
		return serve(s, a, Entrances{Local: ln})
	})
}
