//go:build unix

package sqlite_test

import (
	"context"
	"database/sql/driver"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"testing"

	engine "modernc.org/sqlite"

	"slabside/internal/demand"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

// shopEnv describes the book that the test program keeps when it runs as a child.
const shopEnv = "SLABSIDE_TEST_SHOP"

// shopSpec is how a child keeps a book.
type shopSpec struct {
	Book    string
	Pragmas []string // of every connection, after the program's own
	Record  bool     // tell every change of a file
}

// request is what a child is asked to do.
type request struct {
	Verb string // act, again, arm, calm, audit, backup, restore
	Seq  int64  // of the act

	What     trouble // arm
	In, Span int
	Share    float64

	File string // backup
	To   string // of a restore
}

func TestMain(m *testing.M) {
	if text := os.Getenv(shopEnv); text != "" {
		if err := shop(text); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// shop keeps a book and does what it is asked on standard input. What it did, and
// what happened to its files, goes to standard output in one order.
func shop(text string) error {
	var spec shopSpec
	if err := json.Unmarshal([]byte(text), &spec); err != nil {
		return err
	}
	engine.RegisterConnectionHook(func(conn engine.ExecQuerierContext, _ string) error {
		for _, p := range spec.Pragmas {
			if _, err := conn.ExecContext(context.Background(), "PRAGMA "+p, []driver.NamedValue{}); err != nil {
				return err
			}
		}
		return nil
	})
	var mu sync.Mutex
	out := gob.NewEncoder(os.Stdout)
	say := func(c change) {
		mu.Lock()
		defer mu.Unlock()
		if out.Encode(c) != nil {
			os.Exit(1) // nobody listens
		}
	}
	files := &tap{}
	if spec.Record {
		files.record = say
	}
	files.install()
	s := &child{book: spec.Book, files: files}
	if err := s.open(); err != nil {
		return err
	}
	for in := gob.NewDecoder(os.Stdin); ; {
		var r request
		if err := in.Decode(&r); errors.Is(err, io.EOF) {
			return s.k.Close()
		} else if err != nil {
			return err
		}
		text, err := s.do(r)
		if err != nil {
			text = "fault: " + err.Error()
		}
		say(change{Kind: told, Seq: r.Seq, Text: text})
	}
}

type child struct {
	book  string
	files *tap
	k     *sqlite.Keeper
}

func (s *child) open() (err error) {
	s.k, err = sqlite.Open(context.Background(), s.book, sqlite.Options{MustExist: true})
	return err
}

// do does what is asked and answers "done", or something else where it is said.
func (s *child) do(r request) (string, error) {
	ctx := context.Background()
	switch r.Verb {
	case "act":
		return "done", doAct(ctx, s.k, r.Seq)
	case "again":
		if err := s.k.Close(); err != nil {
			return "", err
		}
		return "done", s.open()
	case "arm":
		s.files.arm(r.What, r.In, r.Span, r.Share)
		return "done", nil
	case "calm":
		return fmt.Sprint(s.files.calm()), nil
	case "audit":
		a, err := s.k.Verify(ctx)
		if err == nil && len(a.Problems) > 0 {
			err = fmt.Errorf("%v", a.Problems)
		}
		return fmt.Sprintf("%d %s", a.Head, a.Hash), err
	case "backup":
		_, err := s.k.Backup(ctx, r.File)
		return "done", err
	case "restore":
		_, err := sqlite.Restore(ctx, r.File, r.To, store.RestoreOptions{Replace: true, At: storetest.Noon(0)})
		return "done", err
	}
	return "", fmt.Errorf("what is %q?", r.Verb)
}

// doAct does the shop's n-th act, the same every time, unless the book has it
// already: a client that got no answer asks again. Acts of all sizes: definitions,
// lines to make, a batch begun, what was read of it.
func doAct(ctx context.Context, k store.Keeper, n int64) error {
	head, err := k.Head(ctx)
	if err != nil || int64(head) >= n {
		return err
	}
	b := storetest.Full()
	switch n % 4 {
	case 1:
		b.Shop.Name = fmt.Sprint("act ", n)
		b.Recipes[0].Note = strings.Repeat("n", int(n)*977%20_000)
		b.ToMake = nil
		_, _, err = k.Import(ctx, b, head, at(int(n)))
	case 2:
		_, err = k.SetToMake(ctx, []demand.Line{{Product: b.Products[0].ID, Bags: int(n)}}, head, at(int(n)))
	case 3:
		_, err = k.Enter(ctx, record.Entry{Batch: batchOf(n), Begun: &record.Begun{On: "2026-03-14", Book: 1, Recipe: b.Recipes[0].ID,
			ChargeMg: 7e6, Kettle: b.Kettles[0].ID, Glass: b.Glasses[0].ID}}, 0, at(int(n)))
	default:
		_, err = k.Enter(ctx, record.Entry{Batch: batchOf(n - 1), Lifted: &record.Lifted{ReadC: 151}}, 0, at(int(n)))
	}
	return err
}

func batchOf(n int64) string { return fmt.Sprintf("2026-03-14-%d", n) }
