package day

// Options bounds a search. The zero value asks for the proved optimum with the
// default budget.
type Options struct {
	MaxLabels int  // states looked at before the search gives up its proof; 0: 40,000,000
	Beam      int  // states kept at each count in the first, quick pass; 0: default
	OnlyBeam  bool // the quick pass alone: a plan at once, with bounds and no proof unless they meet
	// Upper is an objective vector already reached elsewhere, in the order of
	// the objectives, nil none. States that cannot beat it are dropped; when nothing
	// beats it, a plan without boils comes back, not proved and not stopped early.
	Upper []int
}

// passes returns the widths of the search's passes, 0 for all labels.
func (o Options) passes() []int {
	widths := []int{defaultBeam, 4 * defaultBeam, 16 * defaultBeam}
	if o.Beam > 0 {
		widths = []int{o.Beam}
	}
	if o.OnlyBeam {
		return widths
	}
	return append(widths, 0)
}

const (
	defaultLabels = 40_000_000
	defaultBeam   = 3
	beamLate      = 8 // minutes a pour may wait in a quick pass
)

// Slot is a stretch of elastic work done by the same number of hands.
type Slot struct {
	Kind     string // SlotWeigh or SlotAfter
	Boil     int    // index into Problem.Boils
	From, To int
	Hands    int
}

// The kinds of elastic work.
const (
	SlotWeigh = "weigh"
	SlotAfter = "after"
)

// Duty is a stretch of one person's day.
type Duty struct {
	Hand     int    // index into Problem.Hands
	Kind     string // see the Duty constants
	Boil     int    // index into Problem.Boils, −1 none
	From, To int
}

// The kinds of duty. DutyFlame, the adult named for a lit flame, may coexist
// with other duties of that person below the hold point; DutyWatch with
// weighing and after-work.
const (
	DutyFlame    = "flame"
	DutyCharge   = "charge"
	DutyWatch    = "watch"
	DutyPour     = "pour"
	DutyTurn     = "turn"
	DutyPull     = "pull"
	DutyTend     = "tend"
	DutyRoll     = "roll"
	DutyWipe     = "wipe"
	DutyWash     = "wash"
	DutyAllergen = "allergen clean"
	DutyRolls    = "rolls"
	DutyKettle   = "kettle"
	DutyWeigh    = "weigh"
	DutyAfter    = "after"
)

// CauseKind names a reason.
type CauseKind string

// Why an act is done, why rolls are changed, why a pour is not earlier.
const (
	CauseLevel    CauseKind = "level"      // residue on Channel is Level before the act, or in the kettle before its clean; Limit is allowed
	CauseLater    CauseKind = "later"      // the act or clean is more than this boil needs; a later boil gains from it
	CauseRule     CauseKind = "rule"       // rule Other demands it
	CausePair     CauseKind = "pair"       // other rolls (pair Other) are on the machine
	CauseSoiled   CauseKind = "soiled"     // so are they, and those that go on came off with an allergen
	CauseAct      CauseKind = "act"        // the cleaning act is not finished
	CauseRollsAct CauseKind = "rolls act"  // the rolls stay on and are cleaned with the act
	CauseOpening  CauseKind = "opening"    // the day opens
	CauseKettle   CauseKind = "kettle"     // boil Other has the kettle, or it is being cleaned before the charge
	CauseSlab     CauseKind = "slab"       // boil Other has the slab
	CauseHook     CauseKind = "hook"       // boil Other has the hook
	CauseRolls    CauseKind = "rolls"      // boil Other has the rolls
	CauseRollsSet CauseKind = "rolls work" // the change or cleaning of the rolls is not finished
	CauseHot      CauseKind = "hot hands"  // too few hot hands in minute Minute
	CauseClean    CauseKind = "clean hands"
	CauseBenchers CauseKind = "bench hands"
	CauseWeigh    CauseKind = "weighing" // weighing of boil Other would be late
	CauseBreak    CauseKind = "break"    // break Other runs
	CauseAdult    CauseKind = "adult"    // no adult in the room in minute Minute
	CauseBench    CauseKind = "bench"    // the bench would hold Level grams, Limit is its room
	CauseAppoint  CauseKind = "appointment"
	CausePurpose  CauseKind = "on purpose" // nothing stands in the way alone; what follows would be worse
	CauseDayEnd   CauseKind = "day end"    // it would run Minutes past the end of the day
	CauseNoTime   CauseKind = "no time"    // it can be made, not with the others
	CauseOrder    CauseKind = "order"      // boil Other of the same recipe comes first and is not made
)

// Cause is one reason. Fields that do not belong to the kind are −1 or 0.
type Cause struct {
	Kind         CauseKind
	Channel      int // index into Problem.Channels
	Level, Limit int
	Other        int // a boil, rule, break, pair or appointment, by kind
	Minute       int // the minute in which it shows
	Minutes      int // how many minutes it costs
}

// Reasons says why a placed boil stands where it stands.
type Reasons struct {
	Act    []Cause // why this act; empty for None
	Kettle []Cause // why the kettle is cleaned of allergens; empty if not
	Rolls  *Cause  // why the rolls are changed or cleaned; nil if not
	Wait   []Cause // why the pour could not be a minute earlier with all else unchanged
}

// Blocker says why a boil is not made.
type Blocker struct {
	Boil  int
	Alone bool // it could be made in a day of its own
	Cause []Cause
}

func noCause(k CauseKind) Cause { return Cause{Kind: k, Channel: -1, Other: -1, Minute: -1} }
