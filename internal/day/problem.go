package day

// Act is a cleaning act on everything the sugar touches, from least to most.
type Act int

// The acts.
const (
	None Act = iota
	Wipe
	Wash
	AllergenClean
	nActs
)

// NumActs is the number of acts, None included.
const NumActs = int(nActs)

// String returns the act as a screen says it.
func (a Act) String() string {
	return [...]string{"none", "wipe", "wash", "allergen clean"}[a]
}

// Problem is one making day to be planned. All times are whole minutes from the
// opening of the room. The package comment says what every field means.
type Problem struct {
	End     int // E + Closing may not exceed it
	Closing int // clean-down after the work, no hands counted

	Recipes  []string // names of the recipes, for messages
	Boils    []Boil
	Hands    []Hand
	Breaks   []Break
	Appoint  []Appointment
	Channels []Channel
	Pairs    []Pair
	Rules    []Rule
	Lines    []Line

	ActMin   [NumActs]int // minutes of each act; ActMin[None] is 0
	RollsMin [NumActs]int // minutes to clean rolls that stay mounted, by act; RollsMin[None] is 0
	Mounted  int          // pair on the machine at opening, −1 none
	Levels   []int        // residue on the line at opening, one a channel; nil: clean

	KettleMin    int   // minutes of an allergen clean of the kettle
	KettleLevels []int // residue in the kettle at opening, one a channel, allergen channels alone count; nil: clean

	BenchG int // grams of sheets the benches hold; 0: no limit
}

// Boil is one charge to be made.
type Boil struct {
	ID     string
	Recipe int // index into Problem.Recipes
	Weigh  int // hand-minutes
	Charge int // minutes
	Lit    int // minutes of flame before the pour
	Watch  int // minutes from the hold point to the pour, ≤ Lit
	Pour   int // minutes, ≥ 1
	// PourHands is 2 above the room's limit for one person, else 1.
	PourHands int
	Rinse     int // minutes the kettle stays busy after the pour
	Shapes    []Shape
	Rolls     int   // index into Problem.Pairs
	BenchG    int   // grams of sheets
	Cool      int   // minutes from the last sheet to sheets that can be broken
	After     int   // hand-minutes
	Emit      []int // left on the line, one a channel
	Limit     []int // borne on the line and in the kettle, one a channel
	// KettleEmit is left in the kettle, one a channel, allergen channels alone
	// count; nil: nothing.
	KettleEmit []int
}

// Shape is one way to work a boil between pour and last sheet: rolling early,
// in the middle or late in the rolling time. Offsets are minutes from the pour.
type Shape struct {
	Name             string
	Steps            []Step
	SlabFree         int
	HookFrom, HookTo int // equal: the hook is not used
	RollFrom, RollTo int
}

// StepKind names a stretch of hot work.
type StepKind string

// The hot work between pour and last sheet.
const (
	Turn StepKind = "turn"
	Pull StepKind = "pull"
	Tend StepKind = "tend" // keep the batch even until the rolls take it
	Roll StepKind = "roll"
)

// Step is hot work that needs Hands people in every minute of [From, To) after the pour.
type Step struct {
	Kind     StepKind
	From, To int
	Hands    int
}

// Hand is a person.
type Hand struct {
	Name  string
	Adult bool
	Hot   bool // pours, turns, pulls, rolls, watches above the hold point; implies Adult and Clean
	Clean bool // cleans and changes rolls
	// Present holds the person's hours, disjoint and in order.
	Present []Span
}

// Span is the half-open interval [From, To) in minutes.
type Span struct{ From, To int }

// Break stops the whole room for Minutes, starting in [From, To].
type Break struct {
	Name     string
	From, To int
	Minutes  int
}

// Appointment is an announced pour.
type Appointment struct {
	Name            string
	At, Early, Late int
	Recipe          int // −1: any
}

// Channel is something that stays on slab, hook and rolls, and in the kettle if
// it is an allergen.
type Channel struct {
	Name     string
	Allergen bool
}

// Pair is a pair of rolls.
type Pair struct {
	Name  string
	Mount int // minutes to change to this pair, the old one off, this one cleaned, seated and locked
}

// RuleKind sorts rules.
type RuleKind int

// The rules a person can set.
const (
	First   RuleKind = iota // the day's first boil is of recipe A
	Last                    // the day's last boil is of recipe A
	Next                    // the first boil of recipe B directly follows a boil of recipe A
	NotNext                 // no boil of recipe B directly follows a boil of recipe A
	AtLeast                 // before a boil of recipe B directly after recipe A (−1: after any other recipe, or as the first), at least Act
	Before                  // no boil of recipe A comes after a boil of recipe B
)

// Rule is a pinned or forbidden neighbour or a demanded act. Next with A or B
// not made at all is broken only if B is made.
type Rule struct {
	Kind RuleKind
	A, B int // indices into Problem.Recipes
	Act  Act
}

// Line is something to make; it is made when counts reach Needs.
type Line struct {
	Name string
	Must bool
	// Needs is the number of boils of each recipe it waits for; 0 for recipes it does not hold.
	Needs []int
}

// Plan is what was decided. Everything else (flame up, hands, who does what)
// follows from it and the problem.
type Plan struct {
	Made   []Placed // in pour order
	Breaks []int    // start of each break, −1: not needed
	Kept   []int    // per appointment: index into Made, −1 missed

	End        int // end of the work, E
	Cleaning   int // minutes
	Objectives []Objective

	ProvedBest   bool
	StoppedEarly bool // by the caller's clock or budget
	Labels       int  // states looked at
}

// Placed is one boil with the set-ups before it.
type Placed struct {
	Boil      int // index into Problem.Boils
	Pour      int
	Shape     int
	Act       Act
	ActFrom   int // start of the act; meaningless if its minutes are 0
	RollsFrom int // start of the change or cleaning of rolls
	RollsMin  int // its minutes; 0: nothing to do
	// KettleClean tells whether the kettle is cleaned of allergens directly before the charge.
	KettleClean bool
}

// Objective is one level of the lexicographic objective. Bound never exceeds
// the least value possible given the levels above it at their best.
type Objective struct {
	Name         string
	Value, Bound int
}

// The objective names, in order of rank.
const (
	ObjMust    = "must_lines_not_made"
	ObjAppoint = "appointments_missed"
	ObjShould  = "should_lines_not_made"
	ObjEnd     = "end_min"
	ObjClean   = "cleaning_min"
)
