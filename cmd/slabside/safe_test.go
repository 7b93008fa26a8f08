package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/cli"
	"slabside/internal/store"
)

// TestPaperHoldsTheBook prints a day sheet, goes on with the book, then rewrites its
// log from one act on, with every hash after it: what a person with the file and the
// program's source can do. The book agrees with itself, but not with the sheet.
func TestPaperHoldsTheBook(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	run := func(db string, want int, args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		env := wire()
		env.Args, env.Stdout, env.Stderr = append([]string{"--book", filepath.Join(dir, db)}, args...), &out, &errs
		env.Now = func() time.Time { return time.Date(2026, 11, 28, 7, 0, 0, 0, time.UTC) }
		if got := cli.Run(context.Background(), env); got != want {
			t.Fatalf("%v: exit %d, want %d\n%s%s", args, got, want, out.String(), errs.String())
		}
		return out.String()
	}
	run("true.db", 0, "demo", "--no-serve", "--date", "2026-11-28")
	run("true.db", 0, "begin", "--recipe", "barley-barrels", "--glass", "probe", "--batch", "2026-11-26-91")
	run("true.db", 0, "note", "2026-11-26-91", "--moisture", "2.4%", "--sure", "0.3%", "--of", "sweet")
	pdf := filepath.Join(dir, "day.pdf")
	run("true.db", 0, "plan", "--date", "2026-11-28", "--pdf", pdf)
	text, err := exec.Command("pdftotext", "-layout", "-l", "1", pdf, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext (from Debian's poppler-utils; make test installs it): %v", err)
	}
	mark := regexp.MustCompile(`Book at act (\d+): ((?:[0-9a-f]{4} ?){5})`).FindStringSubmatch(string(text))
	if mark == nil {
		t.Fatalf("the day sheet does not tell the state of the book:\n%s", text)
	}
	act, hash := mark[1], strings.TrimSpace(mark[2])
	run("true.db", 0, "note", "2026-11-26-91", "--moisture", "2.5%", "--sure", "0.3%", "--of", "sweet", "--corrects", act)
	run("true.db", 0, "audit", "--against", hash, "--act", act)
	if out := run("true.db", 0, "audit", "--against", strings.ToUpper(strings.ReplaceAll(hash, " ", ""))); !strings.Contains(out, "that of act "+act) {
		t.Errorf("audit against the sheet: %s", out)
	}
	run("true.db", 1, "audit", "--against", hash, "--act", "3")
	run("true.db", 1, "audit", "--against", hash, "--act", "9999")

	all := filepath.Join(dir, "all.jsonl")
	run("true.db", 0, "export", "all", "-o", all)
	lines, err := os.ReadFile(all)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(all, rewritten(t, lines, act), 0o644); err != nil {
		t.Fatal(err)
	}
	run("false.db", 0, "import", all)
	run("false.db", 0, "audit")
	for _, args := range [][]string{{"audit", "--against", hash}, {"audit", "--against", hash, "--act", act}} {
		if out := run("false.db", 1, args...); !strings.Contains(out, "rewritten") {
			t.Errorf("%v: %s", args, out)
		}
	}
	// Paper of before the forgery still agrees: it holds what came before it only.
	var first store.Act
	if err := json.Unmarshal([]byte(strings.SplitN(run("true.db", 0, "export", "acts"), "\n", 2)[0]), &first); err != nil {
		t.Fatal(err)
	}
	run("false.db", 0, "audit", "--against", first.Hash)
}

// TestServe_backupFails: a backup that nobody waits for and that fails is told.
func TestServe_backupFails(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	env := wire()
	env.Now, env.Stdout = time.Now, io.Discard
	toml := filepath.Join(dir, "demo.toml")
	if err := os.WriteFile(toml, env.DemoBook(), 0o644); err != nil {
		t.Fatal(err)
	}
	heard := &lines{at: make(chan string, 100)}
	env.Stderr = heard
	env.Serve = func(ctx context.Context, a *app.App, _ cli.Entrances) error {
		for {
			select {
			case text := <-heard.at:
				if strings.Contains(text, "there is no folder") {
					return nil
				}
			case <-ctx.Done():
				return ctx.Err()
			}
		}
	}
	for _, args := range [][]string{{"import", toml}, {"serve", "--listen", "127.0.0.1:0", "--backup-dir", filepath.Join(dir, "none")}} {
		env.Args = append([]string{"--book", filepath.Join(dir, "shop.db")}, args...)
		if got := cli.Run(t.Context(), env); got != 0 {
			t.Errorf("%v: exit %d", args, got)
		}
	}
}

// lines passes on what is written.
type lines struct{ at chan string }

func (l *lines) Write(p []byte) (int, error) {
	l.at <- string(p)
	return len(p), nil
}

// rewritten is a whole book with another person in one act, and every hash from there
// on made anew.
func rewritten(t *testing.T, lines []byte, act string) []byte {
	t.Helper()
	var out [][]byte
	prev, forged := "", 0
	for _, line := range bytes.Split(bytes.TrimSpace(lines), []byte("\n")) {
		switch {
		case bytes.HasPrefix(line, []byte(`{"line":"act"`)):
			var a struct {
				store.Act
				At       time.Time       `json:"at"`
				Received time.Time       `json:"received"`
				Body     json.RawMessage `json:"body"`
			}
			if err := json.Unmarshal(line, &a); err != nil {
				t.Fatal(err)
			}
			kept := a.Act
			kept.At, kept.Received, kept.Body, kept.Hash = a.At, a.Received, a.Body, ""
			if store.HashAct(kept) != a.Hash {
				t.Fatalf("act %d is not read as it was written", a.Seq)
			}
			if fmt.Sprint(a.Seq) == act {
				kept.Person = "Eve"
				line = bytes.Replace(line, []byte(`"person":"`+a.Person+`"`), []byte(`"person":"Eve"`), 1)
				forged++
			}
			if forged > 0 {
				if prev != "" {
					kept.PrevHash = prev
					line = bytes.Replace(line, []byte(a.PrevHash), []byte(prev), 1)
				}
				prev = store.HashAct(kept)
				line = bytes.Replace(line, []byte(a.Hash), []byte(prev), 1)
			}
		case bytes.HasPrefix(line, []byte(`{"line":"end"`)):
			line = regexp.MustCompile(`[0-9a-f]{64}`).ReplaceAll(line, []byte(prev))
		}
		out = append(out, line)
	}
	if forged != 1 {
		t.Fatalf("act %s was forged %d times", act, forged)
	}
	return append(bytes.Join(out, []byte("\n")), '\n')
}
