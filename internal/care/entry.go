package care

import (
	"slices"
	"strings"
	"time"

	"slabside/internal/fault"
	"slabside/internal/journal"
)

// Thing is a thing of the room in the shop book.
type Thing struct {
	Kind string `json:"kind"`
	ID   string `json:"id"`
}

// The kinds of thing that are cared for, as the shop book calls them.
const (
	Rolls   = "rolls"
	Machine = "machine"
	Kettle  = "kettle"
	Slab    = "slab"
	Hook    = "hook"
	Board   = "board"
	Bench   = "bench"
	Sieve   = "sieve"
	Scale   = "scale"
	Glass   = "glass"
)

// Kinds lists the kinds, those that hurt or spoil most first.
func Kinds() []string {
	return []string{Rolls, Machine, Kettle, Slab, Hook, Board, Bench, Sieve, Scale, Glass}
}

// String returns "rolls pebble", which is also what its ledger is called.
func (t Thing) String() string { return t.Kind + " " + t.ID }

// Check refuses what is no thing of the room.
func (t Thing) Check() error {
	switch {
	case !slices.Contains(Kinds(), t.Kind):
		return fault.Invalid("%q is no kind of thing that is cared for", fault.Clip(t.Kind, fault.Echo)).At("thing").WithHint("one of %s", strings.Join(Kinds(), ", "))
	case t.ID == "" || strings.ContainsAny(t.ID, " \t"):
		return fault.Invalid("%q is no id", fault.Clip(t.ID, fault.Echo)).At("thing").WithHint("the id it has in the shop book")
	}
	return fault.Texts("thing", t.ID)
}

// Kind says what an entry writes down.
type Kind string

// The kinds.
const (
	Finding Kind = "found" // a fault
	Doing   Kind = "done"  // what was done to it
	Falling Kind = "due"   // what is to be done, and how often
)

// Entry is one thing written down of one thing of the room. One of its parts is there;
// with none it takes back the entry that it corrects.
type Entry struct {
	Thing Thing  `json:"thing"`
	Found *Found `json:"found,omitempty"`
	Done  *Done  `json:"done,omitempty"`
	Due   *Due   `json:"due,omitempty"`
}

// Trouble is what kind of fault it is.
type Trouble string

// The kinds of fault.
const (
	Cracked  Trouble = "cracked"
	Chipped  Trouble = "chipped"
	Loose    Trouble = "loose"
	Worn     Trouble = "worn"
	Leaks    Trouble = "leaks"
	Sticks   Trouble = "sticks"
	Guard    Trouble = "guard"     // missing or broken
	Stop     Trouble = "stop"      // does not stop it
	Metal    Trouble = "metal"     // lead suspected, plating or lining worn through
	ReadsOff Trouble = "reads off" // a glass or a scale
	Other    Trouble = "other"
)

// Troubles lists the kinds of fault.
func Troubles() []Trouble {
	return []Trouble{Cracked, Chipped, Loose, Worn, Leaks, Sticks, Guard, Stop, Metal, ReadsOff, Other}
}

// MustStop reports whether a fault of the kind stops the thing whoever writes it down: a
// crack or a chip ends up in a sweet, and nobody feeds rolls without guard or stop.
func (t Trouble) MustStop() bool {
	return t == Cracked || t == Chipped || t == Guard || t == Stop
}

// Found is a fault.
type Found struct {
	On    string  `json:"on"` // day it was found
	Kind  Trouble `json:"kind"`
	What  string  `json:"what"`            // what was seen
	Where string  `json:"where,omitempty"` // on the thing: which groove, which bearing
	Stops bool    `json:"stops,omitempty"` // it is not to be used until this is done
	Batch string  `json:"batch,omitempty"` // in whose record it was seen first; empty: in none
}

// Work is what is done to a thing.
type Work string

// The kinds of work.
const (
	Oiled     Work = "oiled"
	Greased   Work = "greased"
	Tightened Work = "tightened"
	Adjusted  Work = "adjusted"
	Sharpened Work = "sharpened"
	Polished  Work = "polished"
	Tinned    Work = "tinned" // the lining made new
	Repaired  Work = "repaired"
	Replaced  Work = "replaced"
	Tested    Work = "tested"
	LookedAt  Work = "looked at"
	OtherWork Work = "other"
)

// Works lists the kinds of work.
func Works() []Work {
	return []Work{Oiled, Greased, Tightened, Adjusted, Sharpened, Polished, Tinned, Repaired, Replaced, Tested, LookedAt, OtherWork}
}

// Lubricates reports whether something is put on that may get into sweets.
func (w Work) Lubricates() bool { return w == Oiled || w == Greased }

// Done is what was done to a thing.
type Done struct {
	On   string `json:"on"` // day
	Work Work   `json:"work"`
	By   string `json:"by"`             // who did it
	With string `json:"with,omitempty"` // lubricant or part, by its name
	// FoodGrade says that the lubricant's own label allows it where it may touch food.
	FoodGrade bool   `json:"food_grade,omitempty"`
	For       string `json:"for,omitempty"`     // what was due, in the words of its [Due]
	Settles   int64  `json:"settles,omitempty"` // act of the fault that is done with; 0: none
	Note      string `json:"note,omitempty"`
}

// Due is what is to be done: every so many days, every so many batches, whichever comes
// first, or once by a date. A later one of the same What takes its place.
type Due struct {
	What         string `json:"what"` // "oil the bearings"
	EveryDays    int    `json:"every_days,omitempty"`
	EveryBatches int    `json:"every_batches,omitempty"`
	By           string `json:"by,omitempty"`   // date; once
	From         string `json:"from,omitempty"` // date from which it is counted until it is done
	Ends         bool   `json:"ends,omitempty"` // it is due no more
}

// Kept is an entry as it is kept.
type Kept = journal.Kept[Entry]

var _ journal.Entry = Entry{}

// Subject returns the name of the thing's ledger.
func (e Entry) Subject() string { return e.Thing.String() }

// Kind returns what the entry writes down, [journal.Taking] if nothing.
func (e Entry) Kind() string {
	switch {
	case e.Found != nil:
		return string(Finding)
	case e.Done != nil:
		return string(Doing)
	case e.Due != nil:
		return string(Falling)
	}
	return journal.Taking
}

// Check refuses what cannot be meant, naming the part and its field.
func (e Entry) Check() error {
	if err := e.Thing.Check(); err != nil {
		return err
	}
	n := 0
	for _, there := range []bool{e.Found != nil, e.Done != nil, e.Due != nil} {
		if there {
			n++
		}
	}
	switch {
	case n > 1:
		return fault.Invalid("an entry writes down one thing")
	case e.Found != nil:
		return e.Found.check()
	case e.Done != nil:
		return e.Done.check()
	case e.Due != nil:
		return e.Due.check()
	}
	return nil
}

func (f Found) check() error {
	switch {
	case !isDate(f.On):
		return noDate("found.on", f.On)
	case !slices.Contains(Troubles(), f.Kind):
		return fault.Invalid("%q is no kind of fault", fault.Clip(string(f.Kind), fault.Echo)).At("found.kind").WithHint("one of %s", listed(Troubles()))
	case strings.TrimSpace(f.What) == "":
		return fault.Invalid("it is not said what was found").At("found.what").WithHint("as it was seen: a hair crack, a tooth out, oil at the seal")
	case f.Kind.MustStop() && !f.Stops:
		return fault.Invalid("what is %s stops the thing until it is done", f.Kind.says()).At("found.stops").WithHint("say that it stops")
	}
	return fault.Texts("found", f.What, f.Where, f.Batch)
}

// says puts a kind of fault into a sentence.
func (t Trouble) says() string {
	switch t {
	case Guard:
		return "wrong with a guard"
	case Stop:
		return "wrong with the stop"
	}
	return string(t)
}

func (d Done) check() error {
	switch {
	case !isDate(d.On):
		return noDate("done.on", d.On)
	case !slices.Contains(Works(), d.Work):
		return fault.Invalid("%q is no work that is known", fault.Clip(string(d.Work), fault.Echo)).At("done.work").WithHint("one of %s", listed(Works()))
	case strings.TrimSpace(d.By) == "":
		return fault.Invalid("it is not said who did it").At("done.by").WithHint("the person, or the firm and its fitter")
	case d.Work.Lubricates() && strings.TrimSpace(d.With) == "":
		return fault.Invalid("it is not said with what it was %s", d.Work).At("done.with").WithHint("the name on the tin, food-grade where it can reach the sugar")
	case d.FoodGrade && strings.TrimSpace(d.With) == "":
		return fault.Invalid("nothing is named that could be food-grade").At("done.with").WithHint("the name on the tin")
	case d.Work == OtherWork && strings.TrimSpace(d.Note) == "":
		return fault.Invalid("it is not said what was done").At("done.note").WithHint("a few words")
	case d.Settles < 0:
		return fault.Invalid("act %d is none", d.Settles).At("done.settles")
	}
	return fault.Texts("done", d.By, d.With, d.For, d.Note)
}

// The longest spans that are meant; beyond them a slip of the pen is likely.
const (
	mostDays    = 3660
	mostBatches = 10000
)

func (d Due) check() error {
	every := d.EveryDays != 0 || d.EveryBatches != 0
	switch {
	case strings.TrimSpace(d.What) == "":
		return fault.Invalid("it is not said what is due").At("due.what").WithHint("in a few words: oil the bearings")
	case d.Ends && (every || d.By != "" || d.From != ""):
		return fault.Invalid("what ends has no next time").At("due.ends").WithHint("say either when it is due, or that it ends")
	case d.Ends:
		return fault.Texts("due", d.What)
	case d.EveryDays < 0 || d.EveryDays > mostDays:
		return fault.Invalid("every %d days cannot be meant", d.EveryDays).At("due.every_days").WithHint("1 to %d", mostDays)
	case d.EveryBatches < 0 || d.EveryBatches > mostBatches:
		return fault.Invalid("every %d batches cannot be meant", d.EveryBatches).At("due.every_batches").WithHint("1 to %d", mostBatches)
	case !every && d.By == "":
		return fault.Invalid("it is not said when it is due").At("due.every_days").WithHint("every so many days or batches, or by a date")
	case every && d.By != "":
		return fault.Invalid("it is due again and again, and once").At("due.by").WithHint("say one of the two")
	case d.By != "" && !isDate(d.By):
		return noDate("due.by", d.By)
	case every && !isDate(d.From):
		return noDate("due.from", d.From)
	}
	return fault.Texts("due", d.What)
}

func isDate(text string) bool {
	on, err := time.Parse(time.DateOnly, text)
	return err == nil && on.Year() >= 1900 && on.Year() < 3000
}

func noDate(field, text string) error {
	return fault.Invalid("%q is no date", fault.Clip(text, fault.Echo)).At(field).WithHint("write it as 2026-11-28")
}

// listed writes words one after the other.
func listed[T ~string](all []T) string {
	texts := make([]string, len(all))
	for i, w := range all {
		texts[i] = string(w)
	}
	return strings.Join(texts, ", ")
}
