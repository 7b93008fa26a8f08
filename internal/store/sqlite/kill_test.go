package sqlite_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"slabside/internal/demand"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

// childEnv names the book the test program writes to when it runs as a child.
const childEnv = "SLABSIDE_TEST_CHILD_BOOK"

func TestMain(m *testing.M) {
	if path := os.Getenv(childEnv); path != "" {
		if err := child(path); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// child writes acts without end and tells of each when it is done.
func child(path string) error {
	ctx := context.Background()
	k, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return err
	}
	head, err := k.Head(ctx)
	if err != nil {
		return err
	}
	b := storetest.Full()
	for {
		i := int(head) + 1
		if i%2 == 1 {
			b.Shop.Name = fmt.Sprint("act ", i)
			b.Recipes[0].Note = strings.Repeat("n", i*97%5000)
			b.ToMake = nil
			head, _, err = k.Import(ctx, b, head, at(i))
		} else {
			head, err = k.SetToMake(ctx, []demand.Line{{Product: b.Products[0].ID, Bags: i}}, head, at(i))
		}
		if err != nil {
			return err
		}
		fmt.Println("done", head)
	}
}

// TestKill lets a child write and kills it without warning, six times over. What
// the child told of before its end, through a pipe to this process, is in the
// book; the book opens, is whole, and at most the one act in hand came on top.
func TestKill(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	told := int64(0)
	for round := range 6 {
		cmd := exec.Command(exe)
		cmd.Env = append(os.Environ(), childEnv+"="+path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		stop := told + 5 + int64(round)*7
		lines := bufio.NewScanner(out)
		for killed := false; lines.Scan(); {
			// What is still in the pipe after the kill was told too.
			if _, err := fmt.Sscanf(lines.Text(), "done %d", &told); err != nil {
				t.Errorf("round %d: the child says %q", round, lines.Text())
			}
			if told >= stop && !killed {
				killed = true
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := cmd.Wait(); err == nil || told < stop {
			t.Fatalf("round %d: the child ended by itself after act %d: %v", round, told, err)
		}
		k := open(t, path, sqlite.Options{MustExist: true})
		a, err := k.Verify(context.Background())
		if err != nil || len(a.Problems) > 0 {
			t.Fatalf("round %d: %+v, %v", round, a, err)
		}
		if a.Head < store.Head(told) || a.Head > store.Head(told)+1 {
			t.Fatalf("round %d: the last act is %d, the child told of %d", round, a.Head, told)
		}
		acts, err := k.Acts(context.Background(), 0, 10_000)
		if err != nil || len(acts) != int(a.Head) {
			t.Fatalf("round %d: %d acts of %d, %v", round, len(acts), a.Head, err)
		}
		for i, act := range acts {
			if !act.At.Equal(storetest.Noon(i + 1)) {
				t.Errorf("round %d: act %d is another: %+v", round, i+1, act)
			}
		}
		told = int64(a.Head)
		if err := k.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
