//go:build unix

package sqlite_test

import (
	"context"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"slabside/internal/fault"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/store/storetest"
)

// The tests of this file break the machine under the book: they kill the program,
// fill the disk, let syncs fail and cut the power, 1,240 times. The acts are asked for
// by this process, which keeps the acknowledgements, and done by another one. After
// every fault the book must open and pass its audit (SQLite's integrity check among
// it), and its last act must be the last acknowledged or the one in hand, with the
// hash that a run without faults gives it. The hash holds every act before, and the
// audit holds every table to the acts: so nothing is lost and nothing half done.

// faultsOf is how many faults of a kind are tried: all, or a twentieth with -short.
func faultsOf(n int) int {
	if testing.Short() {
		return n / 20
	}
	return n
}

// shopActs is how many acts the shop does at most.
const shopActs = 120

// undisturbed is what comes out without faults.
type undisturbed struct {
	book   []byte   // after the first act, closed
	hashes []string // of the acts, from 1 on
}

var calmly = sync.OnceValues(func() (u undisturbed, err error) {
	dir, err := os.MkdirTemp("", "slabside-undisturbed-")
	if err != nil {
		return u, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "book.db")
	ctx := context.Background()
	for _, upTo := range []int64{1, shopActs} {
		k, err := sqlite.Open(ctx, path, sqlite.Options{})
		if err != nil {
			return u, err
		}
		for i := int64(1); i <= upTo; i++ {
			if err := doAct(ctx, k, i); err != nil {
				return u, err
			}
		}
		acts, err := k.Acts(ctx, 0, shopActs)
		if err := errors.Join(err, k.Close()); err != nil {
			return u, err
		}
		if u.hashes = []string{store.FirstHash}; upTo == 1 {
			if u.book, err = os.ReadFile(path); err != nil {
				return u, err
			}
		}
		for _, a := range acts {
			u.hashes = append(u.hashes, a.Hash)
		}
	}
	return u, nil
})

func undisturbedShop(t *testing.T) undisturbed {
	t.Helper()
	u, err := calmly()
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// begin writes the book of the first act to a new folder.
func (u undisturbed) begin(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.db")
	if err := os.WriteFile(path, u.book, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// look opens a book as the program does after a fault and says what is wrong with
// it: nothing if its last act is the last acknowledged, or the one that was asked for.
func (u undisturbed) look(path string, acked, asked int64) (head int64, err error) {
	ctx := context.Background()
	k, err := sqlite.Open(ctx, path, sqlite.Options{MustExist: true})
	if err != nil {
		return 0, fmt.Errorf("does not open: %w (cause %v)", err, errors.Unwrap(err))
	}
	defer k.Close()
	a, err := k.Verify(ctx)
	head = int64(a.Head)
	switch {
	case err != nil:
		return head, fmt.Errorf("cannot be audited: %w (cause %v)", err, errors.Unwrap(err))
	case len(a.Problems) > 0:
		return head, fmt.Errorf("half done: %v", a.Problems)
	case head < acked:
		return head, fmt.Errorf("lost: the last act is %d, acknowledged was %d", head, acked)
	case head > asked:
		return head, fmt.Errorf("the last act is %d, asked for was %d", head, asked)
	case a.Hash != u.hashes[head]:
		return head, fmt.Errorf("act %d is another", head)
	}
	return head, nil
}

// client asks a child for acts and keeps what it acknowledged.
type client struct {
	t            *testing.T
	cmd          *exec.Cmd
	to           *gob.Encoder
	in           io.Closer
	from         *gob.Decoder
	acked, asked int64
	log          []change // all that was heard, with requests for acts in their places
}

func start(t *testing.T, spec shopSpec, head int64) *client {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(spec)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), shopEnv+"="+string(text))
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	c := &client{t: t, cmd: cmd, to: gob.NewEncoder(in), in: in, from: gob.NewDecoder(out), acked: head, asked: head}
	t.Cleanup(func() {
		if cmd.ProcessState == nil {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		}
	})
	return c
}

// ask sends a request and waits for the answer; false if the child is gone.
func (c *client) ask(r request) (string, bool) {
	if r.Verb == "act" {
		c.asked = r.Seq
	}
	if c.to.Encode(r) != nil {
		return "", false
	}
	return c.answer()
}

func (c *client) answer() (string, bool) {
	for {
		var heard change
		if err := c.from.Decode(&heard); err != nil {
			return "", false
		}
		if heard.Kind != told {
			c.log = append(c.log, heard)
			continue
		}
		if heard.Seq > 0 && heard.Text == "done" {
			c.acked = max(c.acked, heard.Seq)
			c.log = append(c.log, heard)
		}
		return heard.Text, true
	}
}

// must is ask for what does not go wrong.
func (c *client) must(r request) string {
	c.t.Helper()
	text, ok := c.ask(r)
	if !ok || strings.HasPrefix(text, "fault") {
		c.t.Fatalf("%+v: %q, %t", r, text, ok)
	}
	return text
}

// end lets the child close the book and go.
func (c *client) end() {
	c.t.Helper()
	c.in.Close()
	for ok := true; ok; {
		_, ok = c.answer()
	}
	if err := c.cmd.Wait(); err != nil {
		c.t.Fatalf("the child: %v", err)
	}
}

// small keeps the log of a child short, so that it is folded into the file often.
var small = []string{"wal_autocheckpoint = 24"}

// notUnderRace leaves the faults to the run without the race detector: the book is kept by
// another process, of which it would see nothing.
func notUnderRace(t *testing.T) {
	t.Helper()
	if underRace {
		t.Skip("without the race detector all faults are tried")
	}
}

// TestFaults_kill kills the program without warning: half the times at a moment of
// the clock, half the times in the middle of the n-th change of a file, or right
// after it. The same book is opened again each time, with all that lies beside it.
func TestFaults_kill(t *testing.T) {
	notUnderRace(t)
	t.Parallel()
	u := undisturbedShop(t)
	rnd := rand.New(rand.NewPCG(41, 1))
	n := faultsOf(240)
	path, head, hit := "", int64(shopActs), 0
	for i := range n {
		if head > shopActs-20 {
			path, head = u.begin(t), 1
		}
		c := start(t, shopSpec{Book: path, Pragmas: small}, head)
		if i%2 == 0 {
			c.must(request{Verb: "act", Seq: c.acked + 1})
			what := killed
			if rnd.IntN(3) == 0 {
				what = killAfter
			}
			c.must(request{Verb: "arm", What: what, In: 1 + rnd.IntN(60), Span: 1, Share: rnd.Float64()})
		} else {
			wait := time.Duration(rnd.IntN(25_000)) * time.Microsecond
			timer := time.AfterFunc(wait, func() { _ = c.cmd.Process.Kill() })
			defer timer.Stop()
		}
		ok := true
		for ok && c.acked < head+15 {
			_, ok = c.ask(request{Verb: "act", Seq: c.acked + 1})
		}
		_ = c.cmd.Process.Kill()
		_ = c.cmd.Wait()
		if !ok {
			hit++
		}
		var err error
		if head, err = u.look(path, c.acked, c.asked); err != nil {
			t.Fatalf("kill %d: %v", i, err)
		}
	}
	if hit < n*3/4 {
		t.Errorf("%d of %d kills met the program at work", hit, n)
	}
	t.Logf("%d kills, %d at work: nothing lost", n, hit)
}

// TestFaults_disk lets writes find no room or a bad disk, and syncs fail, once or for
// a while. What was not kept must be told, the book must be whole while the program
// goes on, and the same act must come in when there is room again.
func TestFaults_disk(t *testing.T) {
	notUnderRace(t)
	t.Parallel()
	u := undisturbedShop(t)
	rnd := rand.New(rand.NewPCG(41, 2))
	n, tried, refused := faultsOf(240), 0, 0
	for tried < n {
		path := u.begin(t)
		c := start(t, shopSpec{Book: path, Pragmas: small}, 1)
		for tried < n && c.acked < shopActs-1 {
			what := []trouble{diskFull, diskFull, badWrite, badSync}[rnd.IntN(4)]
			c.must(request{Verb: "arm", What: what, In: 1 + rnd.IntN(12), Span: 1 + rnd.IntN(8), Share: rnd.Float64()})
			text, ok := c.ask(request{Verb: "act", Seq: c.acked + 1})
			if !ok {
				t.Fatalf("after a %s fault the child is gone", what)
			}
			if c.must(request{Verb: "calm"}) == "0" {
				continue // the act was done before anything could go wrong
			}
			tried++
			if text != "done" {
				refused++
			}
			if err := u.beside(t, path, c); err != nil {
				t.Fatalf("fault %d (%s, answered %q): %v", tried, what, text, err)
			}
			// It goes on, though not always at once: a failed sync is not made good.
			if text, ok = c.ask(request{Verb: "act", Seq: c.asked}); !ok || text != "done" {
				t.Fatalf("fault %d (%s): the act does not come in afterwards: %q", tried, what, text)
			}
		}
		c.end()
		if _, err := u.look(path, c.acked, c.asked); err != nil {
			t.Fatal(err)
		}
	}
	if refused < n/4 {
		t.Errorf("only %d of %d faults met an act", refused, n)
	}
	t.Logf("%d faults, %d acts refused and told so: nothing lost", tried, refused)
}

// beside audits the book of a child that is at rest: in the child, and as a kill
// would leave its files.
func (u undisturbed) beside(t *testing.T, path string, c *client) error {
	t.Helper()
	text, ok := c.ask(request{Verb: "audit"})
	var head int64
	var hash string
	if _, err := fmt.Sscan(text, &head, &hash); !ok || err != nil {
		return fmt.Errorf("the child's audit: %q", text)
	}
	if head < c.acked || head > c.asked || hash != u.hashes[head] {
		return fmt.Errorf("the child has act %d, acknowledged was %d", head, c.acked)
	}
	left := filepath.Join(t.TempDir(), "book.db")
	for _, end := range []string{"", "-wal"} {
		data, err := os.ReadFile(path + end)
		if err != nil {
			return err
		}
		if err := os.WriteFile(left+end, data, 0o644); err != nil {
			return err
		}
	}
	_, err := u.look(left, c.acked, c.asked)
	return err
}

// recording is all a child did to its files, with what it acknowledged.
func (u undisturbed) recording(t *testing.T, acts int64, pragmas ...string) (path string, log []change) {
	t.Helper()
	path = u.begin(t)
	c := start(t, shopSpec{Book: path, Pragmas: append(pragmas, small...), Record: true}, 1)
	for c.acked < acts {
		c.must(request{Verb: "act", Seq: c.acked + 1})
		if c.acked%17 == 0 {
			c.must(request{Verb: "again"})
		}
	}
	c.end()
	return path, c.log
}

// cuts is what came of cutting the power many times.
type cuts struct {
	tried, lost int
	first       error
}

// cutPower cuts the power at random places of a recording and looks at what is left.
func (u undisturbed) cutPower(t *testing.T, n int, seed uint64, path string, log []change) cuts {
	t.Helper()
	type state struct {
		files        map[string][]byte
		acked, asked int64
		index        []byte // of the log, stale; nil: none
		what         string
	}
	states := make(chan state)
	var lost atomic.Int64
	var mu sync.Mutex
	var first error
	var group sync.WaitGroup
	dir := t.TempDir()
	for w := range 2 {
		group.Go(func() {
			for s := range states {
				base := filepath.Join(dir, fmt.Sprint(w))
				err := lay(base, s.files, s.index)
				if err == nil {
					_, err = u.look(filepath.Join(base, "book.db"), s.acked, s.asked)
				}
				if err != nil {
					lost.Add(1)
					mu.Lock()
					if first == nil {
						first = fmt.Errorf("%s: %w", s.what, err)
					}
					mu.Unlock()
				}
				os.RemoveAll(base)
			}
		})
	}
	rnd := rand.New(rand.NewPCG(seed, 3))
	at := map[int]int{} // how many cuts after so many changes
	for range n {
		at[1+rnd.IntN(len(log))]++
	}
	d := startOf(t, u, path)
	acked, k := int64(1), 0
	for i, c := range log {
		if d.apply(c); c.Kind == told {
			acked = c.Seq
		}
		for range at[i+1] {
			how := losses[k%len(losses)]
			k++
			var index []byte
			if k%2 == 0 {
				index = make([]byte, 32<<10)
				for i := range index {
					index[i] = byte(rnd.Uint32())
				}
			}
			states <- state{d.after(how, rnd), acked, acked + 1, index, fmt.Sprintf("cut %d after change %d of %d, of what was not synced %s", k, i+1, len(log), how)}
		}
	}
	close(states)
	group.Wait()
	return cuts{n, int(lost.Load()), first}
}

func startOf(t *testing.T, u undisturbed, path string) disk {
	t.Helper()
	p := filepath.Join(t.TempDir(), "was.db")
	if err := os.WriteFile(p, u.book, 0o644); err != nil {
		t.Fatal(err)
	}
	d := diskOf(t, p)
	return disk{path: d[p]}
}

// lay writes files to a new folder, and beside the book the index of its log, if there
// is one: it is memory that several programs share, and of no account after a power cut.
func lay(dir string, files map[string][]byte, index []byte) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(name)), data, 0o644); err != nil {
			return err
		}
	}
	if index == nil {
		return nil
	}
	return os.WriteFile(filepath.Join(dir, "book.db-shm"), index, 0o644)
}

// TestFaults_power cuts the power, with writes dropped, out of order and torn.
func TestFaults_power(t *testing.T) {
	notUnderRace(t)
	t.Parallel()
	u := undisturbedShop(t)
	path, log := u.recording(t, 60)
	kinds := map[changeKind]int{}
	folded := 0
	for _, c := range log {
		kinds[c.Kind]++
		if c.Kind == wrote && c.File == path {
			folded++
		}
	}
	if kinds[told] != 59 || kinds[synced] < 59 || kinds[gone] < 3 || folded < 50 {
		t.Fatalf("the recording has not what a cut could hit: %v, %d writes to the file itself", kinds, folded)
	}
	got := u.cutPower(t, faultsOf(640), 41, path, log)
	if got.lost > 0 {
		t.Errorf("%d of %d cuts lost something; the first: %v", got.lost, got.tried, got.first)
	}
	t.Logf("%d power cuts over %d changes of files: nothing lost", got.tried, len(log))
}

// TestFaults_canLose shows that the same harness finds losses where there are some:
// without syncs, and with those that SQLite makes do with when it is not told FULL.
func TestFaults_canLose(t *testing.T) {
	notUnderRace(t)
	t.Parallel()
	u := undisturbedShop(t)
	for _, mode := range []string{"OFF", "NORMAL"} {
		path, log := u.recording(t, 60, "synchronous = "+mode)
		got := u.cutPower(t, max(40, faultsOf(120)), 42, path, log)
		if got.lost == 0 {
			t.Errorf("synchronous %s: nothing lost in %d cuts: the harness is blind", mode, got.tried)
		}
		t.Logf("synchronous %s: %d of %d cuts lost acknowledged acts or the book; the first: %v", mode, got.lost, got.tried, got.first)
	}
}

// TestFaults_backup breaks a backup in its making. Under its name there is nothing
// then, or a good one; the book is as it was.
func TestFaults_backup(t *testing.T) {
	notUnderRace(t)
	t.Parallel()
	u := undisturbedShop(t)
	rnd := rand.New(rand.NewPCG(41, 4))
	path := u.begin(t)
	n, met := faultsOf(60), 0
	for i := range n {
		c := start(t, shopSpec{Book: path}, 1)
		copied := filepath.Join(t.TempDir(), "copy.db")
		what := []trouble{diskFull, badWrite, killed}[i%3]
		c.must(request{Verb: "arm", What: what, In: 1 + rnd.IntN(60), Span: 1, Share: rnd.Float64()})
		text, ok := c.ask(request{Verb: "backup", File: copied})
		if ok {
			c.must(request{Verb: "calm"})
			c.end()
		} else {
			_ = c.cmd.Wait()
		}
		if text != "done" {
			met++
		}
		_, err := os.Stat(copied)
		switch {
		case err == nil:
			if _, err := u.look(copied, 1, 1); err != nil {
				t.Errorf("backup %d (%s): %v", i, what, err)
			}
		case text == "done":
			t.Errorf("backup %d (%s): told to be made, and is not there", i, what)
		}
		left, _ := filepath.Glob(filepath.Join(filepath.Dir(copied), "*.new-*"))
		if ok && len(left) > 0 {
			t.Errorf("backup %d (%s): left over: %v", i, what, left)
		}
	}
	if _, err := u.look(path, 1, 1); err != nil {
		t.Errorf("the book: %v", err)
	}
	if met < n/3 {
		t.Errorf("only %d of %d faults met a backup", met, n)
	}
}

// TestFaults_restore breaks a restore. The book in the place is the old one, the
// restored one, or none, and then the old one is beside it under its dated name; the
// next restore goes through.
func TestFaults_restore(t *testing.T) {
	notUnderRace(t)
	t.Parallel()
	u := undisturbedShop(t)
	rnd := rand.New(rand.NewPCG(41, 5))
	old := u.begin(t)
	c := start(t, shopSpec{Book: old}, 1)
	for c.acked < 5 {
		c.must(request{Verb: "act", Seq: c.acked + 1})
	}
	c.end()
	copied := filepath.Join(t.TempDir(), "copy.db")
	if _, err := open(t, u.begin(t), sqlite.Options{}).Backup(context.Background(), copied); err != nil {
		t.Fatal(err)
	}
	n, met := faultsOf(60), 0
	for i := range n {
		path := filepath.Join(t.TempDir(), "book.db")
		copyFile(t, old, path)
		c := start(t, shopSpec{Book: u.begin(t)}, 1)
		if i%3 == 2 {
			c.must(request{Verb: "act", Seq: 2}) // it is awake
			time.AfterFunc(time.Duration(rnd.IntN(40_000))*time.Microsecond, func() { _ = c.cmd.Process.Kill() })
		} else {
			c.must(request{Verb: "arm", What: []trouble{killed, diskFull}[i%3], In: 1 + rnd.IntN(5), Span: 1, Share: rnd.Float64()})
		}
		text, _ := c.ask(request{Verb: "restore", File: copied, To: path})
		_ = c.cmd.Process.Kill()
		_ = c.cmd.Wait()
		if text != "done" {
			met++
		}
		aside := path + ".aside-" + storetest.Noon(0).Format("20060102T150405Z")
		if _, err := os.Stat(path); err == nil {
			head, err := u.look(path, 1, 5)
			if err != nil || head != 1 && head != 5 || text == "done" && head != 1 {
				t.Errorf("restore %d: %q, head %d, %v", i, text, head, err)
			}
		} else if _, err := u.look(aside, 5, 5); err != nil {
			t.Errorf("restore %d: no book, and the one of before: %v", i, err)
		}
		if _, err := sqlite.Restore(context.Background(), copied, path, store.RestoreOptions{Replace: true, At: storetest.Noon(1)}); err != nil {
			t.Errorf("restore %d, again: %v", i, err)
		} else if _, err := u.look(path, 1, 1); err != nil {
			t.Errorf("restore %d, again: %v", i, err)
		}
	}
	if met < n/3 {
		t.Errorf("only %d of %d faults met a restore", met, n)
	}
	t.Logf("%d faults, %d in the middle of a restore", n, met)
}

// TestRestore_together: a book is not taken from under a program that has it open.
func TestRestore_together(t *testing.T) {
	t.Parallel()
	u := undisturbedShop(t)
	path := u.begin(t)
	copied := u.begin(t)
	c := start(t, shopSpec{Book: path}, 1)
	c.must(request{Verb: "act", Seq: 2})
	all := store.RestoreOptions{Replace: true, At: time.Date(2026, 11, 28, 6, 0, 0, 0, time.UTC)}
	if _, err := sqlite.Restore(context.Background(), copied, path, all); fault.KindOf(err) != fault.KindBusy {
		t.Errorf("Restore: %v, want busy", err)
	}
	c.must(request{Verb: "act", Seq: 3})
	c.end()
	if head, err := u.look(path, 3, 3); err != nil {
		t.Errorf("head %d: %v", head, err)
	}
	if _, err := sqlite.Restore(context.Background(), copied, path, all); err != nil {
		t.Errorf("afterwards: %v", err)
	}
}
