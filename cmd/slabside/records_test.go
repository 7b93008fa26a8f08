package main

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/app"
	"slabside/internal/cli"
	"slabside/internal/web"
)

// checks is what is known of the last glass of the demo shop: good, then off.
const checks = `
[[glass.check]]
on = "2026-03-01"
against = "reference"
read = "150.1 C"
true = "150 C"

[[glass.check]]
on = "2026-03-20"
against = "reference"
read = "160 C"
true = "150 C"
`

// What a program reads of records is what a script reads of the command line, byte by
// byte, with figures, cautions and batches to hold; it meets its schema; and what the
// command refuses has the exit status of its kind, and the API the like.
func TestRecords_CommandAndProgramAgree(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	db, toml := filepath.Join(dir, "demo.db"), filepath.Join(dir, "demo.toml")
	now := func() time.Time { return time.Date(2026, 11, 28, 7, 0, 0, 0, time.UTC) }
	run := func(args ...string) (out []byte, status int) {
		var stdout, stderr bytes.Buffer
		env := wire()
		env.Args, env.Stdout, env.Stderr, env.Now = append([]string{"--book", db, "--json"}, args...), &stdout, &stderr, now
		status = cli.Run(context.Background(), env)
		return stdout.Bytes(), status
	}
	done := func(line string) {
		t.Helper()
		if _, status := run(strings.Fields(line)...); status != cli.ExitDone {
			t.Fatalf("%s: exit %d", line, status)
		}
	}
	text := bytes.Replace(wire().DemoBook(), []byte(`store_most = "26 C"`), []byte(`store_most = "48 C"`), 1)
	if err := os.WriteFile(toml, append(text, checks...), 0o644); err != nil {
		t.Fatal(err)
	}
	done("import " + toml)
	done("begin --recipe barley-barrels --glass probe --batch 2026-03-02-1")
	done("note 2026-03-02-1 --read 152C --gross 15.5kg --empty 6kg --scale floor --flame 25min --pressure 1004hPa --moisture 2.4% --sure 0.3% --of sugar --pull 85C --probe 2C")
	done("begin --recipe barley-barrels --glass probe --batch 2026-03-02-2")
	k, err := open(context.Background(), db, false)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	site := web.New(app.New(k, now), web.Options{Now: now})
	send := func(method, target, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, "/api/v1"+target, strings.NewReader(body))
		r.Host = "127.0.0.1:7373"
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		site.ServeHTTP(w, r)
		return w
	}
	// A program writes beside the command.
	if w := send("PUT", "/records/2026-03-02-2/lifted", `{"read_c":151,"why":"by a program"}`); w.Code != http.StatusOK {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	for _, c := range []struct {
		line, target string
		exit         int
	}{
		{"learn", "/learned", cli.ExitDone},
		{"records", "/records", cli.ExitDone},
		{"records --limit 1 --recipe barley-barrels --from 2026-03-01 --to 2026-03-02", "/records?limit=1&recipe=barley-barrels&from=2026-03-01&to=2026-03-02", cli.ExitDone},
		{"records --before 2026-03-02-2", "/records?before=2026-03-02-2", cli.ExitDone},
		{"record 2026-03-02-1", "/records/2026-03-02-1", cli.ExitDone},
		{"record 2026-03-02-2", "/records/2026-03-02-2", cli.ExitDone},
		{"look-back probe", "/look-back/probe", cli.ExitNo},
		{"look-back copper-case", "/look-back/copper-case", cli.ExitDone},
		{"records --from May", "/records?from=May", cli.ExitInput},
		{"records --limit 501", "/records?limit=501", cli.ExitInput},
		{"records --recipe none", "/records?recipe=none", cli.ExitNotFound},
		{"record 2026-03-02-9", "/records/2026-03-02-9", cli.ExitNotFound},
		{"record nine", "/records/nine", cli.ExitInput},
		{"look-back none", "/look-back/none", cli.ExitNotFound},
	} {
		want, exit := run(strings.Fields(c.line)...)
		w := send("GET", c.target, "")
		status := map[int]int{cli.ExitDone: 200, cli.ExitNo: 200, cli.ExitInput: http.StatusUnprocessableEntity, cli.ExitNotFound: 404}[c.exit]
		if exit != c.exit || w.Code != status {
			t.Errorf("%s: exit %d, want %d; status %d", c.line, exit, c.exit, w.Code)
			continue
		}
		if status != 200 {
			continue
		}
		meets(t, strings.Fields(c.line)[0], want)
		if !bytes.Equal(want, w.Body.Bytes()) {
			t.Errorf("%s -command +api:\n%s", c.line, cmp.Diff(string(want), w.Body.String()))
		}
	}
	for line, exit := range map[string]int{
		"begin": cli.ExitInput, "begin --recipe none": cli.ExitNotFound, "begin --recipe barley-barrels --charge 100kg": cli.ExitInput,
		"begin --recipe barley-barrels --batch 2026-03-02-1": cli.ExitRefused, "begin --batch 2026-03-02-1 --corrects 77": cli.ExitNotFound,
		"note 2026-03-02-2": cli.ExitInput, "note 2026-03-02-9 --read 150C": cli.ExitNotFound, "note 2026-03-02-2 --read 150C": cli.ExitRefused,
		"note 2026-03-02-2 --pressure 1090hPa --corrects 7": cli.ExitInput, "note 2026-03-02-1 --take-back 77": cli.ExitNotFound, "note 2026-03-02-1 --take-back 2": cli.ExitRefused,
		"note 2026-03-02-2 --moisture 2% --sure 0.3% --of tea": cli.ExitInput,
	} {
		if _, got := run(strings.Fields(line)...); got != exit {
			t.Errorf("%s: exit %d, want %d", line, got, exit)
		}
	}
	// What is exported is every entry of every record, in one line each.
	lines, status := run("export", "batches")
	var written struct {
		Batch   string            `json:"batch"`
		Entries []json.RawMessage `json:"entries"`
	}
	dec := json.NewDecoder(bytes.NewReader(lines))
	entries := map[string]int{}
	for dec.More() {
		if err := dec.Decode(&written); err != nil {
			t.Fatal(err)
		}
		entries[written.Batch] = len(written.Entries)
	}
	if d := cmp.Diff(map[string]int{"2026-03-02-1": 4, "2026-03-02-2": 2}, entries); d != "" || status != cli.ExitDone || bytes.Count(lines, []byte("\n")) != 2 {
		t.Errorf("exported, exit %d (-want +got):\n%s", status, d)
	}
}
