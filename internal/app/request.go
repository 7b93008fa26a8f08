package app

import (
	"slabside/internal/batch"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/verdict"

	"slabside/internal/demand"
)

// PlanRequest asks for a making day.
type PlanRequest struct {
	Date  string        // ISO date; empty: today in the book's zone
	Start string        // clock "08:00"; empty: the book's opening
	End   string        // clock "17:30"; empty: the book's end of the day
	Lines []demand.Line // nil: the book's lines to make
	If    []Change      // a trial: what would be otherwise

	Taught  Taught    // by the records of batches; nil: nothing
	Stopped Stopped   // what is not to be used
	Grained []Grained // batches of the day that grained and of which no wash is written; nil: none
}

// BoilRequest asks for one boil: of a recipe of the book, or raw amounts.
type BoilRequest struct {
	Recipe string      // of the book; empty: raw
	Charge q.Kilograms // all that goes into the kettle; 0 with a recipe: as Pieces or Bags say, or a whole boil

	Pieces  int    // of a recipe: so many sound pieces; 0: not asked
	Bags    int    // of a recipe: so many bags of Product; 0: not asked
	Product string // empty: the only one made of the recipe
	Kettle  string // id; of a recipe: in this pan instead of its own

	Sugar, Syrup, Water, Tartar q.Kilograms // raw; Water < 0: a third of the sugar
	SyrupDE                     float64
	SyrupSolids                 q.Fraction

	To        q.Celsius // true temperature here; with WaterLeft and StandsUp 0: the recipe's end
	WaterLeft q.Fraction
	StandsUp  q.Celsius       // the end after which the finished sweet stands up to this
	Invert    q.Fraction      // of a recipe: its doctor is dosed to make so much of the finished sweet invert; 0: as written
	Switch    bool            // of a recipe: with its doctor changed, syrup for tartar or tartar for syrup
	SourAs    ingredient.Sour // of a recipe: with its acids changed for this one, as sour; empty: as written
	OilLeft   q.Fraction      // of a recipe: its oil is dosed so that so much of the sweet stays oil; 0: as written
	CookBack  q.Fraction      // of a recipe: the share of its sugar that is cooked back, in a long row of boils
	Altitude  *q.Metres       // nil: the book's, or sea level without a book
	Pressure  q.Pascals       // station pressure; 0: from the altitude

	Taught Taught `json:"-"` // by the records of batches; nil: nothing
}

// BoilResult answers a BoilRequest; JSON is the contract of the boil command.
type BoilResult struct {
	BoilC      *q.Estimate     `json:"boil_c"`
	DialC      *q.Estimate     `json:"dial_c"`
	MarkC      q.Number        `json:"mark_c"` // the division of the glass nearest to it
	Read       string          `json:"read"`   // the same, in the shop's units
	AfterHeatK *q.Estimate     `json:"after_heat_k"`
	LiftC      *q.Estimate     `json:"lift_c"` // on the glass, where the flame goes off; null without a kettle's fire, as all of the lift
	LiftMarkC  *q.Number       `json:"lift_mark_c"`
	Lift       string          `json:"lift"`   // the same, in the shop's units; empty without
	LateK      *q.Estimate     `json:"late_k"` // ten seconds late
	LateWater  *q.Estimate     `json:"late_water_frac"`
	Course     *Course         `json:"course"`
	WaterFrac  *q.Estimate     `json:"water_frac"`
	MassKg     *q.Estimate     `json:"mass_kg"`
	FinishedKg *q.Estimate     `json:"finished_kg"` // on the slab, additions in
	SolidsKg   *q.Estimate     `json:"solids_kg"`
	WaterOffKg *q.Estimate     `json:"water_off_kg"`
	InvertFrac *q.Estimate     `json:"invert_frac"`
	GlassC     *q.Estimate     `json:"glass_c"`
	BoilTimeS  *q.Estimate     `json:"boil_time_s"`
	EnergyKWh  *q.Estimate     `json:"energy_kwh"`
	Pieces     *q.Estimate     `json:"pieces"` // sound pieces; null without a recipe's rolls
	ChargeKg   q.Number        `json:"charge_kg"`
	PressurePa q.Number        `json:"pressure_pa"`
	Units      q.Reader        `json:"units"`
	Weigh      []WeighLine     `json:"weigh"`
	Stock      []StockSolution `json:"stock_solutions"`
	Cautions   []Caution       `json:"cautions"`
	Sources    []string        `json:"sources"`
	EndWater   q.Fraction      `json:"-"`                  // water left at which the boil ends, additions aside; 0: it ends at a temperature
	Switched   *Switched       `json:"switched,omitempty"` // if the doctor was changed
	Small      *SmallBoil      `json:"small"`              // what it tells of a whole boil; null for a whole one, and one that is no recipe's
	Soured     []Soured        `json:"soured,omitempty"`   // if the acids were changed
	Additions  []AdditionLine  `json:"additions"`          // in the order of the stages
	CookedBack *CookedBack     `json:"cooked_back,omitempty"`

	Verdicts verdict.Verdicts `json:"verdicts"` // will it stick, grain, brown
	Keeps    *Keeping         `json:"keeps"`    // in that of its products' packs in which it keeps least long; null where no pack is stated

	// What it was worked out from, for more to be asked of the same boil.
	settled   settled
	predicted batch.Prediction
}

// OpenAbout is the bound of a time that is meant as it stands.
const OpenAbout = verdict.About

// MapPoint is a point of a line on the map of a boil.
type MapPoint = verdict.MapPoint

// SugarRequest asks for the properties of one mixture.
type SugarRequest struct {
	Solids     q.Fraction
	SyrupShare q.Fraction
	SyrupDE    float64
	At         q.Celsius
	Pressure   q.Pascals // 0: 1013.25 hPa
}

// SugarResult answers a SugarRequest; a property outside its range is null, with a caution.
type SugarResult struct {
	BoilingC      *q.Estimate `json:"boiling_c"`
	WaterActivity *q.Estimate `json:"water_activity"`
	DensityKgL    *q.Estimate `json:"density_kg_l"`
	ViscosityPaS  *q.Estimate `json:"viscosity_pa_s"`
	HeatCapacity  *q.Estimate `json:"heat_capacity_kj_kgk"`
	Conductivity  *q.Estimate `json:"conductivity_w_mk"`
	GlassC        *q.Estimate `json:"glass_c"`
	Cautions      []Caution   `json:"cautions"`
	Sources       []string    `json:"sources"`
}

// SlabRequest asks for a slab and what comes after it. Slab and Rolls are ids of the shop
// book; without them none is read.
type SlabRequest struct {
	Mass       q.Kilograms
	Pour       q.Celsius
	Depth      q.Metres   // 0: as usual
	WaterLeft  q.Fraction // of the sugar
	SyrupShare q.Fraction
	SyrupDE    float64
	Pulled     q.Fraction
	Slab       string
	Rolls      string
}

// SlabResult answers a SlabRequest; times are seconds since the end of the pour.
type SlabResult struct {
	PourC         q.Estimate  `json:"pour_c"`
	FirstTurnS    q.Estimate  `json:"first_turn_s"`
	KneadS        q.Estimate  `json:"knead_s"`
	AcidFromS     q.Estimate  `json:"acid_from_s"`
	AcidToS       q.Estimate  `json:"acid_to_s"`
	PullFromS     *q.Estimate `json:"pull_from_s"`
	PullDoneS     *q.Estimate `json:"pull_done_s"`
	PullC         q.Estimate  `json:"pull_c"`
	Reach         []SlabReach `json:"reach_c"`
	Rolling       SlabRolling `json:"rolling"`
	LargestBoilKg q.Estimate  `json:"largest_boil_kg"`
	BreakS        *q.Estimate `json:"break_s"` // a sheet breaks clean, since it left the rolls; null: the room is too warm
	BagS          *q.Estimate `json:"bag_s"`   // hand-warm, since then; null likewise
	Matters       []string    `json:"matters"` // what the time to spare at the rolls hangs on most
	Units         q.Reader    `json:"units"`
	Cautions      []Caution   `json:"cautions"`
	Sources       []string    `json:"sources"`
}

// SlabReach is when a batch on the slab comes to a temperature; null: it has gone to the
// rolls by then.
type SlabReach struct {
	C     q.Number    `json:"c"`
	MeanS *q.Estimate `json:"mean_s"`
	CoreS *q.Estimate `json:"core_s"`
}

// SlabRolling is a batch at the rolls.
type SlabRolling struct {
	OpensS  q.Estimate `json:"opens_s"`
	ClosesS q.Estimate `json:"closes_s"`
	HasS    q.Estimate `json:"has_s"`     // time in condition
	NeedsS  q.Estimate `json:"needs_s"`   // time that the rolls take for all of it
	Fits    q.Number   `json:"fits_frac"` // chance that all is rolled in condition
	FromC   q.Estimate `json:"from_c"`    // hotter, it is too soft
	ToC     q.Estimate `json:"to_c"`      // colder, it has gone short
	LastC   q.Estimate `json:"last_c"`    // as the last bar is cut
	PairC   q.Estimate `json:"rolls_c"`   // of the rolls, at the last sheet
}

// PiecesRequest asks how many pieces a mass makes. One of PerPound and Piece is set.
type PiecesRequest struct {
	Mass     q.Kilograms
	PerPound float64
	Piece    q.Kilograms
	Loss     *q.Fraction // nil: by piece size
}

// PiecesResult answers a PiecesRequest.
type PiecesResult struct {
	Pieces   q.Estimate `json:"pieces"`
	Cautions []Caution  `json:"cautions"`
	Sources  []string   `json:"sources"`
}

// MixRequest asks what a blended bag holds.
type MixRequest struct {
	Bag    int
	Shares []float64
	Least  []int // one for all or one a share; nil: 1 each
	Pool   int   // 0: infinite
}

// MixResult answers a MixRequest.
type MixResult struct {
	PAllAtLeast q.Estimate  `json:"p_all_at_least"`
	PerColour   []MixColour `json:"per_colour"`
	Cautions    []Caution   `json:"cautions"`
	Sources     []string    `json:"sources"`
}

// MixColour is one colour of a blended bag.
type MixColour struct {
	Mean q.Number `json:"mean"`
	P05  int      `json:"p05"`
	P95  int      `json:"p95"`
}
