package cli_test

import (
	"bytes"
	"context"
	"net"
	"path/filepath"
	"strings"
	"testing"

	"slabside/internal/cli"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// A port in use is said before a book is made or a day is planned and printed.
func TestPortFirst(t *testing.T) {
	t.Parallel()
	for _, command := range []string{"demo", "serve"} {
		var out, errs bytes.Buffer
		env := cli.Env{Args: []string{"--book", filepath.Join(t.TempDir(), "shop.db"), command}, Stdout: &out, Stderr: &errs,
			Listen: func(context.Context, string, bool) (net.Listener, error) {
				return nil, fault.Busy("port 7373 is in use")
			},
			Open: func(context.Context, string, bool) (store.Keeper, error) {
				t.Errorf("%s opens the book", command)
				return nil, fault.NotFound("no book")
			},
		}
		if got := cli.Run(context.Background(), env); got != cli.ExitRefused || out.Len() > 0 || !strings.Contains(errs.String(), "port 7373") {
			t.Errorf("%s: status %d, printed %q and %q", command, got, out.String(), errs.String())
		}
	}
}
