package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"slabside": main})
}

// TestScripts runs the commands as a person types them: each with success,
// misuse and --json, and with every kind of bad surroundings.
func TestScripts(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			return os.WriteFile(e.WorkDir+"/demo.toml", wire().DemoBook(), 0o644)
		},
	})
}
