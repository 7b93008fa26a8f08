package app

import (
	"context"
	"fmt"
	"strings"
	"time"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// BookMark names a state of the book: its last act, and that act's hash.
type BookMark struct {
	Act  int64
	Hash string
}

// String is the mark as it stands on paper.
func (m BookMark) String() string {
	return fmt.Sprintf("act %d: %s", m.Act, store.Spoken(m.Hash, true))
}

// mark names a state of the book; nil for a book without a history.
func (a *App) mark(ctx context.Context, head store.Head) *BookMark {
	if head < 1 {
		return nil
	}
	acts, err := a.keeper.Acts(ctx, int64(head)-1, 1)
	if err != nil || len(acts) != 1 || acts[0].Seq != int64(head) {
		return nil
	}
	return &BookMark{Act: acts[0].Seq, Hash: acts[0].Hash}
}

// AuditRequest says what an audit is held against besides the book's own log.
type AuditRequest struct {
	Against string        // a hash that was printed, whole or its first groups; empty: none
	Act     int64         // the act it was printed for; 0: any
	Backups string        // folder of backups; empty: not looked at
	Within  time.Duration // how old the newest backup may be if the book has gone on; 0: any age
}

// AuditResult answers an audit.
type AuditResult struct {
	OK        bool            `json:"ok"`
	Head      int64           `json:"head"` // number of the last act
	Hash      string          `json:"hash"` // of the last act; of a shop-book file, of its content
	Printed   string          `json:"printed"`
	Acts      int             `json:"acts"`
	Revisions int             `json:"revisions"`
	Batches   int             `json:"batches"`
	Readings  int             `json:"readings"`
	Against   *Against        `json:"against,omitempty"`
	Backup    *BackupSeen     `json:"backup,omitempty"`
	Problems  []store.Problem `json:"problems"`
}

// Against is a printed hash and whether the chain has it.
type Against struct {
	Hash  string `json:"hash"` // as it was given, without blanks
	Act   int64  `json:"act"`  // that has it; 0 for none
	Found bool   `json:"found"`
}

// BackupSeen is the newest backup of a folder.
type BackupSeen struct {
	File   string    `json:"file"`
	At     time.Time `json:"at"`
	Head   int64     `json:"head"`
	Behind int64     `json:"behind_acts"` // how many acts the book has gone on since
}

func (r *AuditResult) say(where, format string, a ...any) {
	r.Problems = append(r.Problems, store.Problem{Where: where, Text: fmt.Sprintf(format, a...)})
}

// Audit checks the whole book against its own log, and the log against a hash that
// was printed while it was shorter. Whoever rewrites the log whole can make it agree
// with itself, but not with paper.
//
// Faults: invalid for a hash that is too short or none, or an act without one; what
// is wrong with the book is in the result.
func (a *App) Audit(ctx context.Context, req AuditRequest) (*AuditResult, error) {
	printed, err := readHash(req.Against)
	if err != nil {
		return nil, err
	}
	if req.Act != 0 && (printed == "" || req.Act < 0) {
		return nil, fault.Invalid("an act alone says nothing").At("act").WithHint("give the hash printed beside it with --against")
	}
	v, err := a.keeper.Verify(ctx)
	if err != nil {
		return nil, err
	}
	r := &AuditResult{Head: int64(v.Head), Hash: v.Hash, Printed: store.Spoken(v.Hash, true), Acts: v.Acts, Revisions: v.Revisions,
		Batches: v.Batches, Readings: v.Readings, Problems: append([]store.Problem{}, v.Problems...)}
	if printed != "" {
		if err := a.against(ctx, r, printed, req.Act); err != nil {
			return nil, err
		}
	}
	if req.Backups != "" {
		if err := a.newest(ctx, r, req); err != nil {
			return nil, err
		}
	}
	r.OK = len(r.Problems) == 0
	return r, nil
}

// leastHash is how many hexadecimal digits of a hash are worth comparing: 64 bits.
const leastHash = 16

// readHash reads a hash as a person copies it from paper.
func readHash(text string) (string, error) {
	h := strings.ToLower(strings.Join(strings.Fields(text), ""))
	switch {
	case h == "" && text == "":
		return "", nil
	case strings.Trim(h, "0123456789abcdef") != "":
		return "", fault.Invalid("%q is no hash", text).At("against").WithHint("copy the groups of digits and letters a to f from the foot of the day sheet")
	case len(h) < leastHash || len(h) > len(store.FirstHash):
		return "", fault.Invalid("%d digits are no printed hash", len(h)).At("against").WithHint("give all groups from the foot of the day sheet, at least four")
	}
	return h, nil
}

// against looks for a printed hash in the chain.
func (a *App) against(ctx context.Context, r *AuditResult, printed string, act int64) error {
	r.Against = &Against{Hash: printed}
	from, to := int64(0), r.Head
	if act > 0 {
		from, to = act-1, min(act, r.Head)
	}
	for from < to {
		acts, err := a.keeper.Acts(ctx, from, int(min(1000, to-from)))
		if err != nil {
			return err
		}
		if len(acts) == 0 {
			break
		}
		for _, x := range acts {
			if strings.HasPrefix(x.Hash, printed) {
				r.Against.Act, r.Against.Found = x.Seq, true
				return nil
			}
			from = x.Seq
		}
	}
	switch {
	case act > r.Head:
		r.say("printed hash", "the book ends at act %d, before act %d was printed: what came after is gone, or the paper is of another book", r.Head, act)
	case act > 0:
		r.say("printed hash", "act %d has another hash than was printed: the log up to it was rewritten, or the paper is of another book", act)
	default:
		r.say("printed hash", "no act has it: the log was rewritten, or the paper is of another book")
	}
	return nil
}

// copier is the keeper as one that can be copied.
func (a *App) copier() (store.Copier, error) {
	k, ok := a.keeper.Keeper.(store.Copier)
	if !ok {
		return nil, fault.Invalid("a shop book that is a file is copied like any file").WithHint("backups are of a database: slabside --book shop.db backup")
	}
	return k, nil
}

// newest looks at the newest backup of a folder.
func (a *App) newest(ctx context.Context, r *AuditResult, req AuditRequest) error {
	k, err := a.copier()
	if err != nil {
		return err
	}
	all, err := k.Backups(req.Backups)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		r.say("backups", "there is none of this book in %s", req.Backups)
		return nil
	}
	b := all[0]
	seen := BackupSeen{File: b.File, At: b.At}
	r.Backup = &seen
	v, err := k.Look(ctx, b.File)
	if err != nil {
		r.say("backup "+b.File, "it cannot be used: %s", err)
		return nil
	}
	for _, p := range v.Problems {
		r.say("backup "+b.File, "%s: %s", p.Where, p.Text)
	}
	seen.Head, seen.Behind = int64(v.Head), r.Head-int64(v.Head)
	if held, err := a.Holds(ctx, v); err != nil {
		return err
	} else if !held {
		r.say("backup "+b.File, "its last act, %d, is none of this book", v.Head)
	}
	if age := a.now().Sub(b.At); req.Within > 0 && seen.Behind > 0 && age > req.Within {
		r.say("backups", "the newest is %s old, and the book has gone on by %d acts", age.Round(time.Minute), seen.Behind)
	}
	return nil
}

// Holds reports whether the last act of an audited copy is one of this book's.
func (a *App) Holds(ctx context.Context, copied store.Audit) (bool, error) {
	if copied.Head == 0 {
		return true, nil
	}
	acts, err := a.keeper.Acts(ctx, int64(copied.Head)-1, 1)
	if err != nil {
		return false, err
	}
	return len(acts) == 1 && acts[0].Hash == copied.Hash, nil
}
