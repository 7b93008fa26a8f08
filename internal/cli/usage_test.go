package cli_test

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/cli"
)

func run(args ...string) (status int, out, errs string) {
	var o, e bytes.Buffer
	status = cli.Run(context.Background(), cli.Env{Args: args, Stdout: &o, Stderr: &e})
	return status, o.String(), e.String()
}

// Every way to misuse the command line is told in the words of the house: what
// was wrong, and what to write instead.
func TestUsage(t *testing.T) {
	t.Parallel()
	for args, want := range map[string]string{
		"":                    "no command → slabside help lists them; slabside demo shows a whole day",
		"frob":                `there is no command "frob" → slabside help lists the commands`,
		"pln":                 `there is no command "pln" → did you mean slabside plan?`,
		"help frob":           `there is no command "frob" → slabside help lists the commands`,
		"plan now":            `"now" is a word too many → write it as: slabside plan --date 2026-11-28`,
		"plan --no-such":      "plan has no flag --no-such → slabside help plan lists what can be written",
		"plan --dat":          "plan has no flag --dat → did you mean --date, --last?",
		"--frob":              "slabside has no flag --frob → slabside help lists what can be written",
		"sugar":               "sugar needs --at TEMP and --solids SHARE → write it as: slabside sugar --solids 97% --syrup-share 40% --at 100C",
		"mix --bag 40":        "mix needs --shares A,B,… → write it as: slabside mix --bag 40 --shares 2,2,1",
		"pieces --mass 1kg":   "pieces needs --pieces-per-lb N or --piece MASS → write it as: slabside pieces --mass 9.5kg --piece 2.4g",
		"record":              "record needs a batch → write it as: slabside record 2026-11-28-2",
		"hold":                "hold needs a lot → write it as: slabside hold r2026-11-28-2",
		"count r2026-11-28-2": "count needs --found MASS → write it as: slabside count r2026-11-28-2 --found 12.4kg",
		"look-back":           "look-back needs a glass → write it as: slabside look-back brass",
		"note b --flame 25":   `--flame: duration "25" has no unit → write a duration with its unit, such as 12 min, 90 s or 1.5 h`,
		"note b --corrects x": `--corrects: "x" is not a whole number → write it as --corrects 13`,
		"restore":             "restore needs a file → write it as: slabside restore backups/slabside-20261128T060000Z.db --drill",
		"audit --within 24":   `--within: duration "24" has no unit → write a duration with its unit, such as 12 min, 90 s or 1.5 h`,
		"backup --keep many":  `--keep: "many" is not a whole number → write it as --keep 30`,
		"proof":               "proof needs a file → write it as: slabside proof shop.toml",
		"export labels":       `no kind is called "labels" → one of definitions, recipes, batches, lots, acts, all; write it as: slabside export definitions -o shop.toml`,
		"pieces --mass 1kg --piece 2g --pieces-per-lb 3": "--pieces-per-lb and --piece together → give one of the two; write it as: slabside pieces --mass 9.5kg --piece 2.4g",
		"mix --bag":            "--bag: nothing stands after it → write it as --bag 40",
		"sugar --at -5C":       `--at: "-5C" looks like a flag → if it is meant, write --at=-5C`,
		"mix --bag ten":        `--bag: "ten" is not a whole number → write it as --bag 40`,
		"mix --bag 4.5":        `--bag: "4.5" is not a whole number → write it as --bag 40`,
		"mix --shares 1,x":     `--shares: "x" is not a number → write it as --shares 2,2,1`,
		"boil --syrup-de many": `--syrup-de: "many" is not a number → write it as --syrup-de 42`,
		"--json=perhaps plan":  `--json: "perhaps" is neither yes nor no → write --json alone, or leave it out`,
		"boil --sugar 6":       `--sugar: mass "6" has no unit → write a mass with its unit, such as 6.35 kg, 240 g, 14 lb or 3 oz`,
	} {
		status, out, errs := run(strings.Fields(args)...)
		if d := cmp.Diff("slabside: "+want, strings.Join(strings.Fields(errs), " ")); d != "" {
			t.Errorf("slabside %s (-want +got):\n%s", args, d)
		}
		if status != cli.ExitInput || out != "" {
			t.Errorf("slabside %s: status %d, printed %q", args, status, out)
		}
	}
}

// The word help does what the flag does.
func TestHelp(t *testing.T) {
	t.Parallel()
	for _, command := range []string{"", "plan", "boil", "help"} {
		status, want, _ := run(append(strings.Fields(command), "--help")...)
		if status != cli.ExitDone || !strings.HasPrefix(want, "Usage: slabside") {
			t.Errorf("slabside %s --help: status %d\n%s", command, status, want)
		}
		status, got, errs := run(append([]string{"help"}, strings.Fields(command)...)...)
		if d := cmp.Diff(want, got); d != "" || status != cli.ExitDone || errs != "" {
			t.Errorf("slabside help %s: status %d %s (-flag +word):\n%s", command, status, errs, d)
		}
	}
}
