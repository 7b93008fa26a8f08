package sqlite_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/store/sqlite"
)

// TestDamage_gross cuts a book short and writes rubbish over its pages.
func TestDamage_gross(t *testing.T) {
	t.Parallel()
	good, err := os.ReadFile(filled(t))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "book.db")
	rubbish := make([]byte, 4096)
	rnd := rand.New(rand.NewPCG(5, 6))
	for i := range rubbish {
		rubbish[i] = byte(rnd.Uint32())
	}
	try := func(name string, opens bool, data []byte) {
		t.Helper()
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		if opens {
			// Found out by the sums of what is read, if not by the pages' form.
			if _, err := readAndAudit(context.Background(), path); err == nil {
				t.Errorf("%s: not noticed", name)
			}
			return
		}
		f := refused(t, path, sqlite.Options{}, fault.KindInternal)
		if f != nil && f.Hint != "restore a backup; nothing was changed" {
			t.Errorf("%s: hint %q", name, f.Hint)
		}
	}
	for _, size := range []int{1, 50, 100, 512, 4095, 4096, 4097, len(good) / 2, len(good) - 4096, len(good) - 1} {
		try(fmt.Sprintf("cut to %d bytes", size), false, good[:size])
	}
	for i := 0; i < len(good); i += len(rubbish) {
		bad := bytes.Clone(good)
		copy(bad[i:], rubbish)
		try(fmt.Sprintf("rubbish on page %d", i/4096+1), false, bad)
		clear(bad[i : i+len(rubbish)])
		// An overflow page of nothing has the form of a page.
		try(fmt.Sprintf("nothing on page %d", i/4096+1), i > 0, bad)
	}
	bad := bytes.Clone(good)
	copy(bad, rubbish[:16])
	try("rubbish for the first 16 bytes", false, bad)
}

// TestDamage_anyBit turns single bits over. Whatever the bit, the book does not
// open, or reading or auditing it tells, or it is the same book: a bit in
// unused space. A silent change would be the one thing that may not happen.
func TestDamage_anyBit(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	from := filled(t)
	good, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	k := open(t, from, sqlite.Options{})
	want, _, err := k.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "book.db")
	rnd := rand.New(rand.NewPCG(7, 8))
	told, same := 0, 0
	for range 250 {
		at, bit := rnd.IntN(len(good)), byte(1)<<rnd.IntN(8)
		bad := bytes.Clone(good)
		bad[at] ^= bit
		if err := os.WriteFile(path, bad, 0o644); err != nil {
			t.Fatal(err)
		}
		got, err := readAndAudit(ctx, path)
		if err != nil {
			told++
			continue
		}
		same++
		want.ToMake[0].For = got.ToMake[0].For // kept outside the chain, on purpose
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("byte %d, bit %08b: another book, and nothing told (-want +got):\n%s", at, bit, d)
		}
		os.Remove(path + "-wal")
		os.Remove(path + "-shm")
	}
	if told < 30 || same < 5 {
		t.Errorf("%d told, %d the same: the bits did not try enough", told, same)
	}
}

func readAndAudit(ctx context.Context, path string) (book.Book, error) {
	k, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return book.Book{}, err
	}
	defer k.Close()
	if _, newer := k.Newer(); newer {
		return book.Book{}, errors.New("told to be of a newer program")
	}
	b, _, err := k.Book(ctx)
	if err != nil {
		return b, err
	}
	a, err := k.Verify(ctx)
	if err == nil && len(a.Problems) > 0 {
		err = fmt.Errorf("%v", a.Problems)
	}
	return b, err
}
