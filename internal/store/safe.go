package store

import (
	"context"
	"strings"
	"time"
)

// Copier is a Keeper whose book can be copied while it is in use.
type Copier interface {
	// Backup copies the book as it stands into a new file, which is there whole or not
	// at all: it is on the disk, was opened and audited, and its last act is one of this
	// book's when the call returns. Conflict if the file exists already, NotFound
	// without its folder, Internal if the copy does not pass its audit.
	Backup(ctx context.Context, file string) (Copy, error)
	// BackupIn is Backup into a folder, under a name that tells the book and the time.
	BackupIn(ctx context.Context, dir string, at time.Time) (Copy, error)
	// Backups lists what BackupIn made of this book in a folder, the newest first. It
	// goes by the names and by the mark of a shop book in the files; others are left out.
	Backups(dir string) ([]Kept, error)
	// Prune deletes all that Backups lists but the newest so many, at least one.
	Prune(dir string, keep int) ([]Kept, error)
	// Look audits a copy without changing it.
	Look(ctx context.Context, file string) (Audit, error)
}

// Copy is a backup that was made.
type Copy struct {
	File  string
	Bytes int64
	Audit Audit
}

// Kept is a backup that lies in a folder.
type Kept struct {
	File  string
	At    time.Time // when it was made, by its name; whole seconds UTC
	Bytes int64
}

// RestoreOptions says how a backup is restored.
type RestoreOptions struct {
	// Replace moves a book that is there aside first; without it that is a Conflict.
	Replace bool
	// At dates the name of what is moved aside.
	At time.Time
}

// Restored is a backup that was put in the place of a book.
type Restored struct {
	Audit Audit
	Aside []string // files that were moved out of the way, as they are called now
}

// shortHash is how many hexadecimal digits of a hash are printed on paper: 80 bits.
// Whoever rewrites the log behind it needs some 2^80 tries to come out at the same.
const shortHash = 20

// Spoken returns a hash in groups of four, to be compared by eye; short, the first
// five of them, as they stand on the day sheet.
func Spoken(hash string, short bool) string {
	if short && len(hash) > shortHash {
		hash = hash[:shortHash]
	}
	var groups []string
	for ; len(hash) > 4; hash = hash[4:] {
		groups = append(groups, hash[:4])
	}
	return strings.Join(append(groups, hash), " ")
}
