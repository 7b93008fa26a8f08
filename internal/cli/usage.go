package cli

import (
	"errors"
	"regexp"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"slabside/internal/fault"
)

// helpCmd is --help for those who write it as a word.
type helpCmd struct {
	Command []string `arg:"" optional:"" help:"The command to explain." placeholder:"COMMAND"`
}

// Run prints the help; kong ends the run then.
func (c *helpCmd) Run(parser *kong.Kong) error {
	_, err := parser.Parse(append(slices.Clone(c.Command), "--help"))
	if err != nil {
		return usage(err)
	}
	return nil
}

// slip is a kind of misuse: what the parser says of it, and what a person is told.
type slip struct {
	parser *regexp.Regexp
	say    func(m []string, at *misused) *fault.Error
}

// misused is the command a slip happened in.
type misused struct {
	node *kong.Node // the whole program if no command was read
}

// bare reports whether no command was read.
func (u *misused) bare() bool { return u.node.Type == kong.ApplicationNode }

// example shows the command as it is written.
func (u *misused) example() string { return "write it as: " + u.node.Tag.Get("eg") }

// flag shows a flag as it is written.
func (u *misused) flag(name string) string {
	for _, group := range u.node.AllFlags(false) {
		for _, f := range group {
			if eg := f.Tag.Get("eg"); "--"+f.Name == name && eg != "" {
				return "write it as " + name + " " + eg
			}
		}
	}
	return u.list()
}

// list says where the flags are listed.
func (u *misused) list() string {
	if u.bare() {
		return "slabside help lists what can be written"
	}
	return "slabside help " + u.node.Name + " lists what can be written"
}

// slips is the whole of the parser's misuse messages; TestUsage holds each.
func slips() []slip {
	re := regexp.MustCompile
	return []slip{
		{re(`^expected one of "`), func(_ []string, _ *misused) *fault.Error {
			return fault.Invalid("no command").WithHint("slabside help lists them; slabside demo shows a whole day")
		}},
		{re(`^unexpected argument (.*?)(?:, did you mean "(.*)"\?)?$`), func(m []string, u *misused) *fault.Error {
			switch {
			case !u.bare():
				return fault.Invalid("%q is a word too many", m[1]).WithHint("%s", u.example())
			case m[2] != "":
				return fault.Invalid("there is no command %q", m[1]).WithHint("did you mean slabside %s?", m[2])
			}
			return fault.Invalid("there is no command %q", m[1]).WithHint("slabside help lists the commands")
		}},
		{re(`^unknown flag (-\S+?)(?:, did you mean (?:one of )?(.*)\?)?$`), func(m []string, u *misused) *fault.Error {
			f := fault.Invalid("%s has no flag %s", u.node.Name, m[1])
			if m[2] != "" {
				return f.WithHint("did you mean %s?", strings.ReplaceAll(m[2], `"`, ""))
			}
			return f.WithHint("%s", u.list())
		}},
		{re(`^missing flags: (.*)$`), func(m []string, u *misused) *fault.Error {
			names := strings.ReplaceAll(strings.ReplaceAll(m[1], ",...", ""), "=", " ")
			return fault.Invalid("%s needs %s", u.node.Name, strings.ReplaceAll(names, ", --", " and --")).WithHint("%s", u.example())
		}},
		{re(`^expected "<(.*)>"$`), func(m []string, u *misused) *fault.Error {
			return fault.Invalid("%s needs a %s", u.node.Name, m[1]).WithHint("%s", u.example())
		}},
		{re(`^(--\S+) and (--\S+) can't be used together$`), func(m []string, u *misused) *fault.Error {
			return fault.Invalid("%s and %s together", m[1], m[2]).WithHint("give one of the two; %s", u.example())
		}},
		{re(`^<(.*)> must be one of (.*) but got (".*")$`), func(m []string, u *misused) *fault.Error {
			known := strings.ReplaceAll(strings.ReplaceAll(m[2], `"`, ""), ",", ", ")
			return fault.Invalid("no %s is called %s", m[1], m[3]).WithHint("one of %s; %s", known, u.example())
		}},
		{re(`^(--\S+): expected .* value but got "EOL" \(<EOL>\)$`), func(m []string, u *misused) *fault.Error {
			return fault.Invalid("nothing stands after it").At(m[1]).WithHint("%s", u.flag(m[1]))
		}},
		{re(`^(--\S+): expected .* but got "(-.*)" \(.*\); perhaps`), func(m []string, _ *misused) *fault.Error {
			return fault.Invalid("%q looks like a flag", m[2]).At(m[1]).WithHint("if it is meant, write %s=%s", m[1], m[2])
		}},
		{re(`^(--\S+): expected a valid \d+ bit int but got (".*")$`), func(m []string, u *misused) *fault.Error {
			return fault.Invalid("%s is not a whole number", m[2]).At(m[1]).WithHint("%s", u.flag(m[1]))
		}},
		{re(`^(--\S+): expected a float but got (".*") \(`), func(m []string, u *misused) *fault.Error {
			return fault.Invalid("%s is not a number", m[2]).At(m[1]).WithHint("%s", u.flag(m[1]))
		}},
		{re(`^(--\S+): bool value must be .* but got (".*")$`), func(m []string, _ *misused) *fault.Error {
			return fault.Invalid("%s is neither yes nor no", m[2]).At(m[1]).WithHint("write %s alone, or leave it out", m[1])
		}},
	}
}

// usage turns a parse error into a fault that names the flag, what was wrong and
// what to write instead. One of our own, from a quantity, has its hint already.
func usage(err error) error {
	var f *fault.Error
	if errors.As(err, &f) {
		flag, _, _ := strings.Cut(err.Error(), ": ")
		return f.At(flag)
	}
	var p *kong.ParseError
	if !errors.As(err, &p) {
		return fault.Internal(err, "the command line could not be read")
	}
	at := &misused{node: p.Context.Model.Node}
	if n := p.Context.Selected(); n != nil {
		at.node = n
	}
	for _, s := range slips() {
		if m := s.parser.FindStringSubmatch(err.Error()); m != nil {
			return s.say(m, at)
		}
	}
	return fault.Invalid("%s", err.Error()).WithHint("%s", at.list())
}

// flagged names the flag instead of the field of a request that it fills.
func flagged(err error, flags ...string) error {
	var f *fault.Error
	if errors.As(err, &f) && slices.Contains(flags, f.Field) {
		return f.At("--" + f.Field)
	}
	return err
}
