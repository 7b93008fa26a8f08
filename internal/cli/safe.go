package cli

import (
	"fmt"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/store"
)

type auditCmd struct {
	Against string     `help:"A hash as it was printed at the foot of a day sheet." placeholder:"HASH" eg:"'3f2a 91bc 77d0 5e18 c4a6'"`
	Act     int64      `help:"The act it was printed for; any if it is left out." placeholder:"N" eg:"41"`
	Backups string     `help:"Folder of backups; the newest is audited too." placeholder:"DIR" eg:"backups"`
	Within  q.Duration `help:"How old the newest may be when the book has gone on since." default:"24h" placeholder:"TIME" eg:"24h"`
}

// Run audits the book.
func (c *auditCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Audit(s.ctx, app.AuditRequest{Against: c.Against, Act: c.Act, Backups: c.Backups, Within: time.Duration(c.Within)})
		if err != nil {
			return flagged(err, "against", "act")
		}
		err = s.print(r, func(p *printer) { printAudit(p, s.book, r) })
		if err == nil && !r.OK {
			return errNo
		}
		return err
	})
}

func printAudit(p *printer, book string, r *app.AuditResult) {
	if r.Acts == 0 && r.Head > 0 {
		p.line("%s is a file and keeps no history; only its content was read.", book)
	} else {
		p.holds(book, r.Head, r.Hash, r.Acts, r.Revisions, r.Batches)
		p.line("  printed as  %s", r.Printed)
		if r.Readings > 0 {
			p.line("  beside it   %d readings of thermometers", r.Readings)
		}
	}
	if g := r.Against; g != nil && g.Found {
		p.line("The printed hash is that of act %d; the log up to it is as it was then.", g.Act)
	}
	if b := r.Backup; b != nil {
		p.line("Newest backup %s, of %s: ends at act %d, %d behind.", b.File, b.At.Format(time.RFC3339), b.Head, b.Behind)
	}
	p.problems(r.Problems)
	if r.OK {
		p.line("Nothing is wrong.")
	}
}

// holds says what is in a book.
func (p *printer) holds(book string, head int64, hash string, acts, revisions, batches int) {
	p.line("%s ends at act %d: %d acts, %d revisions, %d batches.", book, head, acts, revisions, batches)
	p.line("  its hash    %s", store.Spoken(hash, false))
}

func (p *printer) problems(list []store.Problem) {
	for _, x := range list {
		p.line("! %s: %s", x.Where, x.Text)
	}
}

type backupCmd struct {
	File string `arg:"" optional:"" help:"New file."`
	Dir  string `help:"Folder instead, for a file named by the time." placeholder:"DIR" eg:"backups"`
	Keep int    `help:"Then delete all but the newest so many of the book's backups there." placeholder:"N" eg:"30"`
}

// Run makes a backup.
func (c *backupCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Backup(s.ctx, app.BackupRequest{File: c.File, Dir: c.Dir, Keep: c.Keep})
		if err != nil {
			return flagged(err, "keep")
		}
		return s.print(r, func(p *printer) {
			p.holds(r.File, r.Head, r.Hash, r.Acts, r.Revisions, r.Batches)
			p.line("%s, %.1f s; opened and audited.", bytesOf(r.Bytes), r.Seconds)
			for _, g := range r.Deleted {
				p.line("  deleted  %s", g)
			}
		})
	})
}

// bytesOf prints a size.
func bytesOf(n int64) string {
	if n < 1e6 {
		return fmt.Sprintf("%.0f kB", float64(n)/1e3)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// toldBackup says how a backup went that nobody waited for. A good one is not news.
func (s *session) toldBackup(_ *app.BackupResult, err error) {
	if err != nil {
		fmt.Fprintf(s.Stderr, "%s: the backup was not made.\n", s.Now().UTC().Format(time.RFC3339))
		report(s.Stderr, err)
	}
}

type restoreCmd struct {
	File    string `arg:"" help:"Backup."`
	To      string `help:"Book to put it in the place of; default that of --book." placeholder:"BOOK" eg:"slabside.db"`
	Replace bool   `help:"Move the book that is there aside first, under a dated name; nothing is deleted."`
	Drill   bool   `help:"Restore to a scratch folder only, and compare with the book; exit status 1 if that cannot be done."`
}

// RestoreResult answers the restore command.
type RestoreResult struct {
	OK        bool            `json:"ok"`
	File      string          `json:"file"`
	Book      string          `json:"book"`
	Drill     bool            `json:"drill"`
	Head      int64           `json:"head"` // number of the last act in the backup
	Hash      string          `json:"hash"`
	Printed   string          `json:"printed"`
	Acts      int             `json:"acts"`
	Revisions int             `json:"revisions"`
	Batches   int             `json:"batches"`
	Behind    *int64          `json:"behind_acts"` // how many acts the book has gone on since; null without a book to compare with
	Aside     []string        `json:"aside"`       // what was in the place is now called so
	Seconds   float64         `json:"took_s"`
	Problems  []store.Problem `json:"problems"`
}

// Run restores a backup, or tries to.
func (c *restoreCmd) Run(s *session) error {
	r := RestoreResult{File: c.File, Book: c.To, Drill: c.Drill, Aside: []string{}, Problems: []store.Problem{}}
	if r.Book == "" {
		r.Book = s.book
	}
	if c.Drill && c.Replace {
		return fault.Invalid("--drill and --replace together").WithHint("a drill moves nothing; give one of the two")
	}
	began := s.Now()
	act := c.restore
	if c.Drill {
		act = c.drill
	}
	if err := act(s, &r); err != nil {
		return err
	}
	r.Seconds, r.OK = s.Now().Sub(began).Seconds(), len(r.Problems) == 0
	err := s.print(r, func(p *printer) { printRestore(p, r) })
	if err == nil && !r.OK {
		return errNo
	}
	return err
}

func (c *restoreCmd) restore(s *session, r *RestoreResult) error {
	done, err := s.Restore(s.ctx, c.File, r.Book, store.RestoreOptions{Replace: c.Replace, At: s.Now()})
	if err != nil {
		return err
	}
	r.found(done.Audit)
	r.Aside = append(r.Aside, done.Aside...)
	return nil
}

func (c *restoreCmd) drill(s *session, r *RestoreResult) error {
	a, err := s.Drill(s.ctx, c.File)
	switch {
	case err != nil && fault.KindOf(err) == fault.KindNotFound:
		return err
	case err != nil:
		r.Problems = append(r.Problems, store.Problem{Where: c.File, Text: err.Error()})
		return nil
	}
	r.found(a)
	k, err := s.Open(s.ctx, r.Book, false)
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		return nil
	}
	if err != nil {
		return err
	}
	defer k.Close()
	head, err := k.Head(s.ctx)
	if err != nil {
		return err
	}
	held, err := app.New(k, s.Now).Holds(s.ctx, a)
	if err != nil {
		return err
	}
	behind := int64(head) - r.Head
	r.Behind = &behind
	if !held {
		r.Problems = append(r.Problems, store.Problem{Where: c.File, Text: fmt.Sprintf("its last act, %d, is none of the book %s", r.Head, r.Book)})
	}
	return nil
}

func (r *RestoreResult) found(a store.Audit) {
	r.Head, r.Hash, r.Printed = int64(a.Head), a.Hash, store.Spoken(a.Hash, true)
	r.Acts, r.Revisions, r.Batches = a.Acts, a.Revisions, a.Batches
}

func printRestore(p *printer, r RestoreResult) {
	if r.Hash != "" {
		p.holds(r.File, r.Head, r.Hash, r.Acts, r.Revisions, r.Batches)
	}
	p.problems(r.Problems)
	switch {
	case !r.OK:
		p.line("The drill failed: %s cannot stand in for %s.", r.File, r.Book)
	case !r.Drill:
		for _, f := range r.Aside {
			p.line("  moved aside  %s", f)
		}
		p.line("It is now the book %s, opened and audited (%.1f s).", r.Book, r.Seconds)
	case r.Behind == nil:
		p.line("It can be restored (%.1f s); there is no book %s to compare it with.", r.Seconds, r.Book)
	default:
		p.line("It can be restored (%.1f s); the book %s has gone on by %d acts since.", r.Seconds, r.Book, *r.Behind)
	}
}
