package cli

import (
	"bufio"
	"fmt"
	"io"
	"math/big"
	"strings"
	"text/tabwriter"
	"time"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/fault"
)

type peopleCmd struct {
	List   peopleListCmd   `cmd:"" default:"1" help:"List who may do what."`
	Add    peopleAddCmd    `cmd:"" help:"Add a person; prints a PIN unless one comes in."`
	PIN    peoplePINCmd    `cmd:"" name:"pin" help:"Give a person another PIN; prints it unless one comes in."`
	Remove peopleRemoveCmd `cmd:"" help:"Take a person out."`
}

// PeopleResult answers the people command.
type PeopleResult struct {
	People  []PersonLine `json:"people"`
	Tablets []TabletLine `json:"tablets"`
	Tokens  []TokenLine  `json:"tokens"`
}

// PersonLine is a person of the list.
type PersonLine struct {
	ID   string      `json:"id"`
	Name string      `json:"name"`
	Role access.Role `json:"role"`
}

// TabletLine is a paired tablet of the list.
type TabletLine struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Paired time.Time `json:"paired"`
	Seen   time.Time `json:"seen"`
}

// TokenLine is a program's token of the list.
type TokenLine struct {
	ID   string      `json:"id"`
	Name string      `json:"name"`
	Role access.Role `json:"role"`
	Made time.Time   `json:"made"`
	Used *time.Time  `json:"used"` // null: never

	Probe string `json:"probe,omitempty"` // the one thermometer it brings readings of
}

type peopleListCmd struct{}

// Run lists people, tablets and tokens.
func (c *peopleListCmd) Run(s *session) error {
	return s.withAccess(func(_ *app.App, st access.State) error {
		r := PeopleResult{People: []PersonLine{}, Tablets: []TabletLine{}, Tokens: []TokenLine{}}
		for _, p := range st.People {
			r.People = append(r.People, PersonLine{p.ID, p.Name, p.Role})
		}
		for _, t := range st.Tablets {
			r.Tablets = append(r.Tablets, TabletLine{t.ID, t.Name, t.Paired, t.Seen})
		}
		for _, t := range st.Tokens {
			l := TokenLine{ID: t.ID, Name: t.Name, Role: t.Role, Made: t.Made, Probe: t.Probe}
			if !t.Used.IsZero() {
				l.Used = &t.Used
			}
			r.Tokens = append(r.Tokens, l)
		}
		return s.print(r, func(p *printer) { printPeople(p, r, st.Open()) })
	})
}

func printPeople(p *printer, r PeopleResult, open bool) {
	if open {
		p.line("Nobody has to sign in: there is no owner with a PIN. Only this machine shows the pages.")
		return
	}
	day := func(t time.Time) string { return t.Format(time.DateOnly) }
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "person\trole")
		for _, x := range r.People {
			fmt.Fprintf(w, "%s\t%s\n", x.Name, x.Role)
		}
		if len(r.Tablets) > 0 {
			fmt.Fprintln(w, "\ntablet\tpaired\tlast seen")
			for _, x := range r.Tablets {
				fmt.Fprintf(w, "%s\t%s\t%s\n", x.Name, day(x.Paired), day(x.Seen))
			}
		}
		if len(r.Tokens) > 0 {
			fmt.Fprintln(w, "\nprogram\trole\tmade\tlast used")
			for _, x := range r.Tokens {
				used := "never"
				if x.Used != nil {
					used = day(*x.Used)
				}
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", x.Name, strings.TrimSpace(string(x.Role)+" "+x.Probe), day(x.Made), used)
			}
		}
	})
}

type peopleAddCmd struct {
	Name  string      `arg:"" help:"Name on the pages and in the log."`
	Role  access.Role `help:"owner, maker or helper." default:"maker" eg:"owner"`
	Stdin bool        `help:"Read the PIN from standard input instead of making one up."`
}

// Run adds a person.
func (c *peopleAddCmd) Run(s *session) error {
	if _, err := access.ParseRole(string(c.Role)); err != nil {
		return flagged(err, "role")
	}
	return s.withBook(false, func(a *app.App) error {
		pin, err := s.pin(c.Stdin)
		if err != nil {
			return err
		}
		if err := a.AddPerson(s.ctx, c.Name, c.Role, pin, s.Random); err != nil {
			return err
		}
		return s.tellPIN(c.Name, pin, c.Stdin)
	})
}

type peoplePINCmd struct {
	Name  string `arg:"" help:"Who."`
	Stdin bool   `help:"Read the PIN from standard input instead of making one up."`
}

// Run gives a person another PIN.
func (c *peoplePINCmd) Run(s *session) error {
	return s.withPerson(c.Name, func(do *app.App, id string) error {
		pin, err := s.pin(c.Stdin)
		if err != nil {
			return err
		}
		if err := do.SetPIN(s.ctx, id, pin, s.Random); err != nil {
			return err
		}
		return s.tellPIN(c.Name, pin, c.Stdin)
	})
}

type peopleRemoveCmd struct {
	Name string `arg:"" help:"Who."`
}

// Run takes a person out.
func (c *peopleRemoveCmd) Run(s *session) error {
	return s.withPerson(c.Name, func(do *app.App, id string) error {
		if err := do.RemovePerson(s.ctx, id); err != nil {
			return err
		}
		fmt.Fprintf(s.Stdout, "%s is out. What was done by that name keeps it.\n", c.Name)
		return nil
	})
}

// withAccess opens the book and reads who may do what.
func (s *session) withAccess(do func(a *app.App, st access.State) error) error {
	return s.withBook(false, func(a *app.App) error {
		st, err := a.Access(s.ctx)
		if err != nil {
			return err
		}
		return do(a, st)
	})
}

// withPerson opens the book and finds a person by name.
func (s *session) withPerson(name string, do func(a *app.App, id string) error) error {
	return s.withAccess(func(a *app.App, st access.State) error {
		for _, p := range st.People {
			if strings.EqualFold(p.Name, name) {
				return do(a, p.ID)
			}
		}
		return fault.NotFound("there is nobody called %q", name).WithHint("slabside people lists who there is")
	})
}

// pin reads a PIN, or makes one up.
func (s *session) pin(stdin bool) (string, error) {
	if !stdin {
		return newPIN(s.Random)
	}
	if s.Stdin == nil {
		return "", fault.Invalid("there is no standard input to read a PIN from")
	}
	line, err := bufio.NewReader(io.LimitReader(s.Stdin, 100)).ReadString('\n')
	if err != nil && err != io.EOF {
		return "", fault.Invalid("the PIN could not be read").WithCause(err)
	}
	return strings.TrimSpace(line), nil
}

// newPIN makes up a PIN that is none of those anybody would try first.
func newPIN(random io.Reader) (string, error) {
	for {
		b := make([]byte, 16)
		if _, err := io.ReadFull(random, b); err != nil {
			return "", fault.Internal(err, "no PIN could be made up")
		}
		n := new(big.Int).Mod(new(big.Int).SetBytes(b), big.NewInt(1_000_000))
		if pin := fmt.Sprintf("%06d", n); access.CheckPIN(pin) == nil {
			return pin, nil
		}
	}
}

func (s *session) tellPIN(name, pin string, stdin bool) error {
	if stdin {
		_, err := fmt.Fprintf(s.Stdout, "%s signs in with the PIN that was read.\n", name)
		return err
	}
	_, err := fmt.Fprintf(s.Stdout, "%s signs in with PIN %s; it is not shown again. The name at the foot of the pages changes it.\n", name, pin)
	return err
}

type tokenCmd struct {
	Add    tokenAddCmd    `cmd:"" help:"Make a token for a program and print it, once."`
	Remove tokenRemoveCmd `cmd:"" help:"Take a program's token back."`
}

type tokenAddCmd struct {
	Name string      `arg:"" help:"Program it is for."`
	Role access.Role `help:"owner, maker or helper: what the program may do; probe: bring readings of thermometers in, and nothing else." default:"helper" eg:"probe"`

	Probe string `help:"With --role probe: the one thermometer it brings readings of." placeholder:"ID" eg:"brass"`
}

// Run makes a token.
func (c *tokenAddCmd) Run(s *session) error {
	if c.Probe != "" && c.Role != access.Probe {
		return fault.Invalid("a program with the role %s is not held to one thermometer", c.Role).At("--probe").WithHint("--role probe is")
	}
	return s.withBook(false, func(a *app.App) error {
		var token string
		var err error
		if c.Role == access.Probe {
			token, err = a.NewProbeToken(s.ctx, c.Name, c.Probe, s.Random)
		} else {
			token, err = a.NewToken(s.ctx, c.Name, c.Role, s.Random)
		}
		if err != nil {
			return flagged(err, "role", "probe")
		}
		_, err = fmt.Fprintln(s.Stdout, token)
		return err
	})
}

type tokenRemoveCmd struct {
	Name string `arg:"" help:"Program whose token is taken back."`
}

// Run takes a token back.
func (c *tokenRemoveCmd) Run(s *session) error {
	return s.withAccess(func(a *app.App, st access.State) error {
		for _, t := range st.Tokens {
			if strings.EqualFold(t.Name, c.Name) {
				if err := a.RemoveToken(s.ctx, t.ID); err != nil {
					return err
				}
				fmt.Fprintf(s.Stdout, "%s is not let in any more.\n", t.Name)
				return nil
			}
		}
		return fault.NotFound("no program called %q has a token", c.Name).WithHint("slabside people lists them")
	})
}
