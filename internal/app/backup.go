package app

import (
	"context"
	"time"

	"slabside/internal/fault"
	"slabside/internal/store"
)

// BackupRequest says where a backup goes: into a new file, or into a folder under a
// dated name, where Keep of them are kept, 0 for all.
type BackupRequest struct {
	File string
	Dir  string
	Keep int
}

// BackupResult answers a backup.
type BackupResult struct {
	File      string   `json:"file"`
	Bytes     int64    `json:"bytes"`
	Head      int64    `json:"head"` // number of the last act in it
	Hash      string   `json:"hash"`
	Printed   string   `json:"printed"`
	Acts      int      `json:"acts"`
	Revisions int      `json:"revisions"`
	Batches   int      `json:"batches"`
	Seconds   float64  `json:"took_s"`
	Deleted   []string `json:"deleted"` // older ones of the folder
}

// LastBackup is how the backups of this run of the program go.
type LastBackup struct {
	At     time.Time // of the last good one; zero: none
	Failed time.Time // of the last one, if it failed; else zero
	Why    string    // it failed
}

// Backup copies the book while it is in use. The copy is on the disk, was opened and
// audited when it returns; older ones of the folder go only then.
//
// Faults: invalid for no place or two, or a book that is a file; otherwise as
// [store.Copier].
func (a *App) Backup(ctx context.Context, req BackupRequest) (*BackupResult, error) {
	k, err := a.copier()
	if err != nil {
		return nil, err
	}
	switch {
	case (req.File == "") == (req.Dir == ""):
		return nil, fault.Invalid("a backup goes into a file or a folder").WithHint("slabside backup FILE, or slabside backup --dir FOLDER")
	case req.Keep < 0 || req.Keep > 0 && req.Dir == "":
		return nil, fault.Invalid("%d backups cannot be kept there", req.Keep).At("keep").WithHint("with --dir FOLDER the newest of that folder are kept, at least one")
	}
	began := a.now()
	r := &BackupResult{Deleted: []string{}}
	var c store.Copy
	if req.File != "" {
		c, err = k.Backup(ctx, req.File)
	} else {
		c, err = k.BackupIn(ctx, req.Dir, began)
	}
	a.noteBackup(began, err)
	if err != nil {
		return nil, err
	}
	r.File, r.Bytes, r.Seconds = c.File, c.Bytes, a.now().Sub(began).Seconds()
	r.Head, r.Hash, r.Printed = int64(c.Audit.Head), c.Audit.Hash, store.Spoken(c.Audit.Hash, true)
	r.Acts, r.Revisions, r.Batches = c.Audit.Acts, c.Audit.Revisions, c.Audit.Batches
	if req.Keep > 0 {
		gone, err := k.Prune(req.Dir, req.Keep)
		for _, g := range gone {
			r.Deleted = append(r.Deleted, g.File)
		}
		if err != nil {
			return r, err
		}
	}
	return r, nil
}

func (a *App) noteBackup(at time.Time, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if err != nil {
		a.lastBackup.Failed, a.lastBackup.Why = at, err.Error()
		return
	}
	a.lastBackup = LastBackup{At: at}
}

// Backups tells how the backups of this run of the program go.
func (a *App) Backups() LastBackup {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.lastBackup
}

// KeepBackups makes a backup in the request's folder every so often until ctx ends,
// the first when the newest there is that old; one that failed is tried again after a
// tenth of the time. Told hears of each.
func (a *App) KeepBackups(ctx context.Context, every time.Duration, req BackupRequest, told func(*BackupResult, error)) {
	wait := a.untilNext(req.Dir, every)
	for {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		r, err := a.Backup(ctx, req)
		if ctx.Err() != nil {
			return
		}
		told(r, err)
		if wait = every; r == nil {
			wait = every / 10
		}
	}
}

// untilNext says when the next backup of a folder is due.
func (a *App) untilNext(dir string, every time.Duration) time.Duration {
	k, err := a.copier()
	if err != nil {
		return 0
	}
	all, err := k.Backups(dir)
	if err != nil || len(all) == 0 {
		return 0
	}
	a.mu.Lock()
	a.lastBackup.At = all[0].At
	a.mu.Unlock()
	return min(every, max(0, every-a.now().Sub(all[0].At)))
}
