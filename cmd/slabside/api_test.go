package main

import (
	"bytes"
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/app"
	"slabside/internal/cli"
	"slabside/internal/web"
)

// A program that asks the API reads what a script reads of the command line, byte
// by byte, and is refused what the command line refuses.
func TestAPI_SaysWhatTheCommandSays(t *testing.T) {
	t.Parallel()
	db := filepath.Join(t.TempDir(), "demo.db")
	now := func() time.Time { return time.Date(2026, 11, 28, 7, 0, 0, 0, time.UTC) }
	run := func(args ...string) (out []byte, status int) {
		var stdout, stderr bytes.Buffer
		env := wire()
		env.Args, env.Stdout, env.Stderr, env.Now = append([]string{"--book", db, "--json"}, args...), &stdout, &stderr, now
		status = cli.Run(context.Background(), env)
		return stdout.Bytes(), status
	}
	if _, status := run("demo", "--no-serve", "--date", "2026-11-28"); status != 0 {
		t.Fatalf("demo: exit %d", status)
	}
	k, err := open(context.Background(), db, false)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	a := app.New(k, now)
	b, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	recipe := b.Recipes[0].ID
	line, boiled := b.ToMake[0], ""
	for _, p := range b.Products {
		if p.ID == line.Product {
			boiled = p.Parts[0].Recipe
		}
	}
	site := web.New(a, web.Options{Now: now})

	for _, line := range []string{
		"plan",
		"plan --date 2026-11-28",
		"plan --date 2026-11-30 --start 09:15",
		"plan --date tomorrow",
		"plan --end 18:00",
		"plan --end noon",
		"plan --first " + boiled + " --without " + line.Product + " --first " + boiled,
		"plan --last " + boiled + " --bags " + line.Product + "=12",
		"plan --without " + line.Product,
		"plan --break tea",
		"boil --recipe " + recipe,
		"boil --recipe " + recipe + " --charge 14lb --altitude 600m",
		"boil --recipe " + recipe + " --water-left 2.5% --pressure 950hPa",
		"boil --recipe none",
		"boil --recipe " + recipe + " --sugar 3kg",
		"boil --sugar 6.35kg --syrup 1.36kg --to 149C",
		"boil --sugar 14lb --syrup 3lb --syrup-de 38 --syrup-solids 81% --water 2kg --tartar 10g --to 300F",
		"boil --sugar 14lb --charge 3kg --to 300F",
		"boil --sugar 14lb --to 0C",
		"boil --sugar 14lb --water=-1kg --to 300F",
		"sugar --solids 97% --syrup-share 40% --at 100C",
		"sugar --solids 30% --at 20C --pressure 950hPa --syrup-de 60",
		"sugar --solids 130% --at 20C",
		"sugar --at 20C",
		"slab --mass 10kg --pour 140C --depth 20mm",
		"slab --mass 10kg --pour 140C --depth 2m",
		"slab --mass 8lb --pour 290F --water-left 2.6% --syrup-share 25% --syrup-de 38 --pulled 40%",
		"slab --mass 10kg --pour 40C",
		"slab --pour 140C",
		"pieces --mass 9.5kg --piece 2.4g",
		"pieces --mass 9.5kg --pieces-per-lb 200 --loss 5%",
		"pieces --mass 9.5kg",
		"mix --bag 40 --shares 1,1,1 --least 8 --pool 5000",
		"mix --bag 40 --shares 2,2,1 --least 5,5,3",
		"mix --bag 40 --shares 2,2,1 --least 5,5",
		"mix --bag forty --shares 2,2,1",
	} {
		t.Run(line, func(t *testing.T) {
			args := strings.Fields(strings.Replace(line, "--water=", "--water ", 1))
			query := url.Values{}
			for i := 1; i+1 < len(args); i += 2 {
				query.Add(strings.TrimPrefix(args[i], "--"), args[i+1])
			}
			want, exit := run(strings.Fields(line)...)
			r := httptest.NewRequest("GET", "/api/v1/"+args[0]+"?"+query.Encode(), nil)
			r.Host = "127.0.0.1:7373"
			w := httptest.NewRecorder()
			site.ServeHTTP(w, r)
			// A computed no is an answer like another: it stands in the object.
			status := map[int]int{cli.ExitDone: 200, cli.ExitNo: 200, cli.ExitInput: http.StatusUnprocessableEntity, cli.ExitNotFound: 404}[exit]
			if w.Code != status {
				t.Fatalf("exit %d, status %d\n%s", exit, w.Code, w.Body)
			}
			if status == 200 && !bytes.Equal(want, w.Body.Bytes()) {
				t.Errorf("-command +api:\n%s", cmp.Diff(string(want), w.Body.String()))
			}
		})
	}
}
