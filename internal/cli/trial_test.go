package cli

import (
	"reflect"
	"testing"

	"github.com/alecthomas/kong"

	"slabside/internal/app"
)

// Every kind of change has a flag of its name that says and takes what the kind does.
func TestTrialFlags(t *testing.T) {
	t.Parallel()
	var c commands
	parser, err := kong.New(&c)
	if err != nil {
		t.Fatal(err)
	}
	flags := map[string]*kong.Flag{}
	for _, n := range parser.Model.Children {
		if n.Name == "plan" {
			for _, f := range n.Flags {
				flags[f.Name] = f
			}
		}
	}
	for _, k := range app.ChangeKinds() {
		f := flags[k.Name]
		if f == nil {
			t.Errorf("no flag --%s", k.Name)
			continue
		}
		if f.Help != k.Help || f.PlaceHolder != k.Form {
			t.Errorf("--%s %s: %q; the change is %s: %q", k.Name, f.PlaceHolder, f.Help, k.Form, k.Help)
		}
		c = commands{}
		if _, err := parser.Parse([]string{"plan", "--" + k.Name, k.Example, "--" + k.Name, "two, words"}); err != nil {
			t.Errorf("--%s: %v", k.Name, err)
		}
		if got := c.Plan.given(k.Name); !reflect.DeepEqual(got, []string{k.Example, "two, words"}) {
			t.Errorf("--%s gives %q", k.Name, got)
		}
	}
}
