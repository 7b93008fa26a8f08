package store

import (
	"context"
	"io"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/lot"
	"slabside/internal/reading"
	"slabside/internal/record"
)

// Head identifies a state of the book: the sequence number of the last act, 0
// for an empty book.
type Head int64

// Meta says who does an act, when and why. Times are kept as whole
// milliseconds UTC; what is below a millisecond is cut off.
type Meta struct {
	Person string
	At     time.Time
	Reason string

	Tap // by a device of its own; the zero value: by the program
}

// Tap is the place of an act among those of the device that it was tapped on. A tablet
// counts what is tapped on it, and keeps it until it is taken in: so nothing is lost when
// the network is, and nothing done twice.
type Tap struct {
	Device string        // as "tap-3f2a"; empty: the program itself
	N      int64         // the act's number on the device, from 1 on
	Offset time.Duration // of the book's clock from the device's, as it was estimated
}

// The kinds of act.
const (
	ActImport = "import"
	ActToMake = "to_make"
	ActRetire = "retire"
	ActBatch  = "batch" // an entry of a batch's record
	ActLot    = "lot"   // an entry of a lot's ledger
	ActJot    = "jot"   // an entry of one of the journals
	ActAttach = "attach"
)

// Act is one entry of the log.
type Act struct {
	Seq       int64     `json:"seq"`
	ID        string    `json:"id"`
	Device    string    `json:"device"`
	DeviceSeq int64     `json:"device_seq"`
	Person    string    `json:"person"`
	At        time.Time `json:"at"`
	Received  time.Time `json:"received"`
	Kind      string    `json:"kind"`
	Reason    string    `json:"reason,omitempty"`
	Corrects  int64     `json:"corrects_seq,omitempty"`
	Body      []byte    `json:"-"` // JSON of an ActBody
	PrevHash  string    `json:"prev_hash"`
	Hash      string    `json:"hash"`
}

// Revision is one immutable version of a thing.
type Revision struct {
	ID     int64  `json:"id"`
	Kind   string `json:"kind"`
	Slug   string `json:"slug"`
	N      int    `json:"n"`
	SHA256 string `json:"sha256"`
	Act    int64  `json:"act"`
	Body   []byte `json:"-"` // canonical JSON of the definition
}

// Version is a revision with who made it, when and why.
type Version struct {
	Revision
	Meta
}

// Change is what one act does to the definitions.
type Change struct {
	Put book.Book // what is new or differs; what is absent stays
	Out []Name    // taken out
}

// Changes counts what an import or a save did.
type Changes struct {
	Added     []string `json:"added,omitempty"`   // "recipe damson-leaves"
	Revised   []string `json:"revised,omitempty"` // a new revision was made
	Unchanged int      `json:"unchanged"`         // same content, no new revision
	Kept      []string `json:"kept,omitempty"`    // in the book but not in the file: kept as they are
}

// Problem is something an audit found wrong.
type Problem struct {
	Where string `json:"where"` // "act 12", "revision 40", "things"
	Text  string `json:"text"`
}

// Audit is the outcome of checking a whole book against its own log.
type Audit struct {
	Head      Head      `json:"head"`
	Hash      string    `json:"hash"` // of the last act
	Acts      int       `json:"acts"`
	Revisions int       `json:"revisions"`
	Batches   int       `json:"batches"` // begun, taken back or not
	Readings  int       `json:"readings"`
	Problems  []Problem `json:"problems,omitempty"`
}

// Find says which records are looked for; what is empty does not matter.
type Find struct {
	Batch    string // its number
	Recipe   string // id
	Glass    string // id: read at the lift
	From, To string // making days, both included
	Stopped  bool   // those of which nothing is to leave the house
	Before   string // number of a batch: those that come after it in the list
	Limit    int
}

// Keeper keeps one shop book. Errors are fault kinds: NotFound for an empty or
// missing book, Conflict when the head has moved from expect, Busy when another
// process holds it, Forbidden for a directory or file that may not be written
// (and for every write to a book of a newer schema), Internal for a damaged
// one, Invalid for a definition or line that cannot be kept. A call that
// returns an error has changed nothing.
type Keeper interface {
	// Book returns the head definitions, in the shop's order, and the head.
	// Retired things are left out. NotFound if nothing was ever put in.
	Book(ctx context.Context) (book.Book, Head, error)
	// Head returns the current head without reading the book; 0, and no error,
	// for an empty book.
	Head(ctx context.Context) (Head, error)
	// Import adds revisions for everything in b that is new or differs and
	// never deletes: things absent from b stay, and a shop, room or day that is
	// all zero counts as absent. b's lines to make and its stock replace the kept
	// ones if they are not nil. One act, or none if nothing changed. A retired thing
	// found in b comes back. The first import of a book must have a shop.
	Import(ctx context.Context, b book.Book, expect Head, m Meta) (Head, Changes, error)
	// SetToMake replaces the lines to make in one act, or none if they are the
	// kept ones already.
	SetToMake(ctx context.Context, lines []demand.Line, expect Head, m Meta) (Head, error)
	// Change puts things in as Import does and takes others out, all in one act.
	// What is taken out keeps its revisions. Conflict if something that stays in
	// the book uses it, NotFound if there is no such thing, Invalid for the shop,
	// the room, the day or the stock.
	Change(ctx context.Context, c Change, expect Head, m Meta) (Head, error)
	// ToMakeBefore returns the lines to make as they stood before the last act,
	// never nil. NotFound if that act left them alone, or if they are not known: no
	// export carries them, and the next act lets them go.
	ToMakeBefore(ctx context.Context) ([]demand.Line, error)
	// BookAt returns the definitions as they stood at a state of the book, with those
	// that have been taken out since, and the act that changed them last: as long as
	// that is the same, so are they. The lines to make are left out. NotFound if there
	// was no such state, or no history is kept.
	BookAt(ctx context.Context, at Head) (book.Book, Head, error)
	// Enter writes one entry of a batch's record, in an act of its own. What was tapped on
	// a device and is taken in already is not written again, and that is no fault; Conflict,
	// at "tap", for a tap before which another is missing. So it is with EnterLot and
	// EnterJot too. It goes by what
	// is kept of the batch, see [record.Follow], and not by the head: what happened is
	// not undone because the book has moved on. NotFound if what the batch is begun with
	// was never in the book. What is weighed out of a lot goes off the lot's ledger in the
	// same act, as [lot.Follow] lets it.
	Enter(ctx context.Context, e record.Entry, corrects int64, m Meta) (Head, error)
	// Records returns the records that are looked for, the newest making day first and
	// the last of a day first. What is begun and taken back again is left out unless it
	// is asked for by its number. Invalid for a limit below 1.
	Records(ctx context.Context, f Find) ([]record.Record, error)
	// EnterLot writes one entry of a lot's ledger, as Enter does for a batch; see
	// [lot.Follow]. What a lot is made of goes off the ledgers of those lots in the same
	// act, see [lot.FollowMade]. NotFound if its ingredient was never in the book.
	EnterLot(ctx context.Context, e lot.Entry, corrects int64, m Meta) (Head, error)
	// Lots returns the ledgers that are looked for as they go out, see [lot.FirstOut].
	// What was received and taken back again is left out unless it is asked for by its
	// number. Invalid for a limit below 1.
	Lots(ctx context.Context, f FindLots) ([]lot.Ledger, error)
	// NextLot returns the number that the next lot of a day has.
	NextLot(ctx context.Context, on string) (string, error)
	// EnterJot writes an entry to one of the journals, see [Journal.Enter].
	EnterJot(ctx context.Context, j Jot, corrects int64, m Meta) (Head, error)
	// Jots returns ledgers of a journal, the last day first and the highest number of a
	// day first; see [Journal.Find]. What was taken back is left out unless it is asked
	// for by its subject. Invalid for a limit below 1.
	Jots(ctx context.Context, f FindJots) ([]Jots, error)
	// NextJot returns the number that the next subject of a day has in a journal.
	NextJot(ctx context.Context, journal, on string) (int, error)
	// Attach keeps a picture or paper of a batch or a lot, in an act of its own; bytes that
	// are kept already are not kept twice. NotFound if there never was such a batch or lot,
	// Conflict if it has the same bytes already, Invalid for what [CheckData] refuses.
	Attach(ctx context.Context, a Attachment, data []byte, m Meta) (Head, error)
	// Attachments returns the pictures and papers of a batch or a lot, as they came.
	Attachments(ctx context.Context, of string) ([]KeptAttachment, error)
	// AttachmentData returns the bytes with a sum, and what they came as first. NotFound
	// if there are none, Internal if they do not have that sum.
	AttachmentData(ctx context.Context, sha256 string) (Attachment, []byte, error)
	// AddReadings keeps readings of thermometers, all or none, on the disk when it returns.
	// They are no acts, and the head stays. One that is there already with the same value
	// and place is passed over; another value at the time of one that is there is set aside
	// beside it. Invalid for what [reading.Reading.Check] refuses, NotFound for a thermometer
	// or a batch that never was, at "readings[i]." and the field.
	AddReadings(ctx context.Context, list []reading.Reading) (reading.Counts, error)
	// Readings returns the readings that are looked for, in the order of [reading.Compare].
	// Invalid for a limit below 1.
	Readings(ctx context.Context, f FindReadings) ([]reading.Kept, error)
	// Tapped returns the number of the last tap of a device that was taken in, 0 for none.
	Tapped(ctx context.Context, device string) (int64, error)
	// Acts returns up to limit acts with a sequence number above after, in
	// order. Invalid if limit is below 1.
	Acts(ctx context.Context, after int64, limit int) ([]Act, error)
	// Versions returns up to limit revisions of a thing, retired or not, the
	// newest first, each with the act that made it: those below the number
	// before, or the newest if before is 0. NotFound if there is no such thing or
	// no such version; Invalid if limit is below 1 or before below 0.
	Versions(ctx context.Context, kind, slug string, before, limit int) ([]Version, error)
	// ExportAll writes the whole book as JSON lines of acts, revisions and readings.
	// NotFound for an empty book.
	ExportAll(ctx context.Context, w io.Writer) error
	// ImportAll fills an empty book from what ExportAll wrote, checking the
	// chain and every sum on the way; ExportAll of the result is the same, byte
	// for byte. Invalid with the field "line N" for a line that is broken,
	// Conflict if the book is not empty.
	ImportAll(ctx context.Context, r io.Reader) (Head, error)
	// Verify checks the chain of acts, the sums of the revisions, and every
	// table kept beside them against what the log says. What is wrong with the
	// book is in the Audit; the error is for not having been able to look.
	Verify(ctx context.Context) (Audit, error)
	// Close lets the book go. No other method may be called after it.
	Close() error
}
