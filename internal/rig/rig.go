package rig

import q "slabside/internal/quantity"

// Material is what a surface that touches sugar is made of.
type Material string

// The materials the trade uses.
const (
	Copper       Material = "copper"
	TinnedCopper Material = "tinned copper"
	TinnedSteel  Material = "tinned steel"
	Steel        Material = "steel"
	Stainless    Material = "stainless steel"
	Brass        Material = "brass"
	Bronze       Material = "bronze"
	Aluminium    Material = "aluminium"
	Marble       Material = "marble"
	Granite      Material = "granite"
	Wood         Material = "wood"
	Silicone     Material = "silicone"
)

// Materials lists the known materials.
func Materials() []Material {
	return []Material{Copper, TinnedCopper, TinnedSteel, Steel, Stainless, Brass, Bronze, Aluminium, Marble, Granite, Wood, Silicone}
}

// Bare reports whether food touches copper or a copper alloy: with acid that is
// a caution every time.
func (m Material) Bare() bool { return m == Copper || m == Brass || m == Bronze }

// Test records who tested an old metal for lead and copper, and when.
type Test struct {
	By string `toml:"by,omitempty" json:"by,omitempty"`
	On string `toml:"on,omitempty" json:"on,omitempty"` // date, 2026-03-14
}

// Done reports whether a test is on record.
func (t Test) Done() bool { return t.By != "" && t.On != "" }

// Room is the boiling room itself.
type Room struct {
	Altitude        q.Metres    `toml:"altitude" json:"altitude"`
	StationPressure q.Pascals   `toml:"station_pressure,omitempty" json:"station_pressure,omitempty"` // 0: from the altitude
	Air             q.Celsius   `toml:"air" json:"air"`
	Humidity        q.Fraction  `toml:"humidity" json:"humidity"`
	WaterAlkalinity float64     `toml:"water_alkalinity,omitempty" json:"water_alkalinity,omitempty"` // of the tap, as mg/L of calcium carbonate; 0: not known
	PourAlone       q.Kilograms `toml:"pour_alone" json:"pour_alone"`                                 // above it two people pour
	HoldPoint       q.Celsius   `toml:"hold_point" json:"hold_point"`                                 // from here up a boil is watched
	StoreMost       q.Celsius   `toml:"store_most,omitempty" json:"store_most,omitempty"`             // the warmest that packed sweets get on the shelf; 0: [UsualStoreMost]
	Learning        string      `toml:"learning,omitempty" json:"learning,omitempty"`                 // whether boils go by what records teach: "on" (empty) or [LearningOff]
	LearnFrom       string      `toml:"learn_from,omitempty" json:"learn_from,omitempty"`             // date: what was made before teaches nothing; empty: all does
	PostMost        q.Celsius   `toml:"post_most,omitempty" json:"post_most,omitempty"`               // the warmest that they get on their way; 0: [UsualPostMost]
	Times           Times       `toml:"times" json:"times"`
}

// LearningOff is the word for a room that goes by its models alone.
const LearningOff = "off"

// Times are how long the usual jobs take in this room. Defaults are the trade's
// judgement (key practice); a shop puts its own in.
type Times struct {
	Charge        q.Duration `toml:"charge" json:"charge"`                   // loading the kettle
	Pour          q.Duration `toml:"pour" json:"pour"`                       // lift, carry, pour, scrape
	Rinse         q.Duration `toml:"rinse" json:"rinse"`                     // kettle soaked and rinsed after the pour
	FirstTurn     q.Duration `toml:"first_turn" json:"first_turn"`           // from the pour's end until the edge lifts clean
	Turn          q.Duration `toml:"turn" json:"turn"`                       // turning, folding, kneading a full boil
	PullRate      float64    `toml:"pull_kg_min" json:"pull_kg_min"`         // kg pulled a minute by one person
	RollRate      float64    `toml:"roll_kg_min" json:"roll_kg_min"`         // overall rolling rate, hand-fed [kg/min]
	RollBand      q.Duration `toml:"roll_band" json:"roll_band"`             // how long the batch stays in condition without board or lamp
	RollBandBoard q.Duration `toml:"roll_band_board" json:"roll_band_board"` // with a feeding board or lamp
	Wipe          q.Duration `toml:"wipe" json:"wipe"`
	Wash          q.Duration `toml:"wash" json:"wash"`
	AllergenClean q.Duration `toml:"allergen_clean" json:"allergen_clean"`
	RollsWipe     q.Duration `toml:"rolls_wipe" json:"rolls_wipe"`
	RollsWash     q.Duration `toml:"rolls_wash" json:"rolls_wash"`
	RollsAllergen q.Duration `toml:"rolls_allergen_clean" json:"rolls_allergen_clean"`
	KettleClean   q.Duration `toml:"kettle_allergen_clean" json:"kettle_allergen_clean"`
	WeighBase     q.Duration `toml:"weigh_base" json:"weigh_base"`       // getting out, checking, recording
	WeighLine     q.Duration `toml:"weigh_line" json:"weigh_line"`       // a line of the batch sheet
	Cool          q.Duration `toml:"cool" json:"cool"`                   // last sheet until sheets break
	SieveRate     float64    `toml:"sieve_kg_min" json:"sieve_kg_min"`   // break and sieve [kg/min a hand]
	FinishRate    float64    `toml:"finish_kg_min" json:"finish_kg_min"` // dust or sand [kg/min a hand]
	PackBag       q.Duration `toml:"pack_bag" json:"pack_bag"`           // a bag filled, weighed, sealed, labelled
	Closing       q.Duration `toml:"closing" json:"closing"`             // clean-down at the end of the day
}

// Kettle is a boiling pan with its fire.
type Kettle struct {
	ID   string `toml:"id" json:"id"`
	Name string `toml:"name" json:"name"`

	Volume         q.Litres    `toml:"volume" json:"volume"`
	FoamRoom       q.Fraction  `toml:"foam_room" json:"foam_room"` // share of the volume kept free for foam
	LeastCharge    q.Kilograms `toml:"least_charge" json:"least_charge"`
	UsualCharge    q.Kilograms `toml:"usual_charge" json:"usual_charge"` // a whole boil
	Burner         q.Watts     `toml:"burner" json:"burner"`
	Efficiency     q.Fraction  `toml:"efficiency" json:"efficiency"`
	EfficiencyLow  q.Fraction  `toml:"efficiency_low,omitempty" json:"efficiency_low,omitempty"`   // 5 % point; 0 with High: ±10 points are assumed
	EfficiencyHigh q.Fraction  `toml:"efficiency_high,omitempty" json:"efficiency_high,omitempty"` // 95 % point
	Mass           q.Kilograms `toml:"mass" json:"mass"`                                           // of the pan itself
	Smear          q.Kilograms `toml:"smear" json:"smear"`                                         // left in it after scraping
	Material       Material    `toml:"material" json:"material"`
	Lining         Material    `toml:"lining,omitempty" json:"lining,omitempty"`
	Tested         Test        `toml:"tested,omitempty" json:"tested,omitzero"`
	TiltStand      bool        `toml:"tilt_stand,omitempty" json:"tilt_stand,omitempty"`
	TrialsOnly     bool        `toml:"trials_only,omitempty" json:"trials_only,omitempty"` // outside the day's plan
}

// Touches returns the metal the sugar touches.
func (k Kettle) Touches() Material {
	if k.Lining != "" {
		return k.Lining
	}
	return k.Material
}

// Slab is a cooling table.
type Slab struct {
	ID         string   `toml:"id" json:"id"`
	Name       string   `toml:"name" json:"name"`
	Length     q.Metres `toml:"length" json:"length"`
	Width      q.Metres `toml:"width" json:"width"`
	Material   Material `toml:"material" json:"material"`
	Cooling    string   `toml:"cooling,omitempty" json:"cooling,omitempty"` // "", [Channels] or [Tank]
	TrialsOnly bool     `toml:"trials_only,omitempty" json:"trials_only,omitempty"`

	Thickness q.Metres  `toml:"thickness,omitempty" json:"thickness,omitempty"` // of the plate; 0: as usual for what it is of
	Water     q.Celsius `toml:"water,omitempty" json:"water,omitempty"`         // of the cooling water as it comes; 0: as usual
}

// What cools a slab from below.
const (
	Channels = "channels" // water in channels of 12 to 20 mm
	Tank     = "tank"     // a shallow open tank with a slow flow
)

// Hook is a pulling hook or machine.
type Hook struct {
	ID      string      `toml:"id" json:"id"`
	Name    string      `toml:"name" json:"name"`
	MostOne q.Kilograms `toml:"most" json:"most"` // largest pull at once
}

// Machine is a drop machine that takes pairs of rolls.
type Machine struct {
	ID       string  `toml:"id" json:"id"`
	Name     string  `toml:"name" json:"name"`
	RollRate float64 `toml:"roll_kg_min,omitempty" json:"roll_kg_min,omitempty"` // 0: the room's rate
	Hands    int     `toml:"hands,omitempty" json:"hands,omitempty"`             // who work at it while it rolls; 0: [UsualRollHands]
	Guard    string  `toml:"guard,omitempty" json:"guard,omitempty"`             // what guards the nip, and who judged it
	Stop     bool    `toml:"stop_in_reach" json:"stop_in_reach"`
}

// Rolls is a pair of engraved rolls. Exactly one of Piece and PerPound is set.
type Rolls struct {
	ID       string      `toml:"id" json:"id"`
	Name     string      `toml:"name" json:"name"`
	Piece    q.Kilograms `toml:"piece,omitempty" json:"piece,omitempty"` // mass of a solid, clear piece
	PerPound float64     `toml:"pieces_per_lb,omitempty" json:"pieces_per_lb,omitempty"`
	PieceSD  q.Fraction  `toml:"piece_sd,omitempty" json:"piece_sd,omitempty"` // spread of the mean piece mass from setting and sheet; 0: 3 %
	Material Material    `toml:"material" json:"material"`
	Tested   Test        `toml:"tested,omitempty" json:"tested,omitzero"`
	Change   q.Duration  `toml:"change" json:"change"`                 // to change to this pair
	Mass     q.Kilograms `toml:"mass,omitempty" json:"mass,omitempty"` // of the pair itself; 0: as usual
}

// PieceMass returns the mass of one clear piece.
func (r Rolls) PieceMass() q.Kilograms {
	if r.PerPound > 0 {
		return q.Kilograms(q.KilogramsPerPound / r.PerPound)
	}
	return r.Piece
}

// Board is a feeding board that keeps a batch warm beside the rolls.
type Board struct {
	ID   string      `toml:"id" json:"id"`
	Name string      `toml:"name" json:"name"`
	Lamp bool        `toml:"lamp,omitempty" json:"lamp,omitempty"`
	Most q.Kilograms `toml:"most" json:"most"`
}

// Bench is where sheets cool and are broken.
type Bench struct {
	ID   string      `toml:"id" json:"id"`
	Name string      `toml:"name" json:"name"`
	Most q.Kilograms `toml:"most" json:"most"` // sheets it holds
}

// Sieve takes out chips and dust.
type Sieve struct {
	ID       string   `toml:"id" json:"id"`
	Name     string   `toml:"name" json:"name"`
	Aperture q.Metres `toml:"aperture" json:"aperture"`
}

// Scale weighs.
type Scale struct {
	ID         string      `toml:"id" json:"id"`
	Name       string      `toml:"name" json:"name"`
	Capacity   q.Kilograms `toml:"capacity" json:"capacity"`
	Resolution q.Kilograms `toml:"resolution" json:"resolution"`
	Approved   bool        `toml:"trade_approved,omitempty" json:"trade_approved,omitempty"`
}

// Glass is a thermometer. Read = true + Offset.
type Glass struct {
	ID        string    `toml:"id" json:"id"`
	Name      string    `toml:"name" json:"name"`
	Offset    q.Kelvins `toml:"offset" json:"offset"`     // reads too high by this much at the boil's end
	Class     q.Kelvins `toml:"class" json:"class"`       // ± tolerance at 150 °C, taken as 90 % limits
	Division  q.Kelvins `toml:"division" json:"division"` // smallest step that can be read
	CheckedOn string    `toml:"checked_on,omitempty" json:"checked_on,omitempty"`
	CheckedAt q.Celsius `toml:"checked_at,omitempty" json:"checked_at,omitempty"` // highest temperature it was checked at; 0: never

	Checks []GlassCheck `toml:"check,omitempty" json:"checks,omitempty"` // offset and class are those before them
}

// GlassCheck is one comparison of a glass with something that is known.
type GlassCheck struct {
	On       string    `toml:"on" json:"on"` // date
	Against  Known     `toml:"against" json:"against"`
	Read     q.Celsius `toml:"read" json:"read"`                             // on the glass
	True     q.Celsius `toml:"true,omitempty" json:"true,omitempty"`         // of a reference
	Sure     q.Kelvins `toml:"sure,omitempty" json:"sure,omitempty"`         // ± of a reference; 0: [UsualReference]
	Pressure q.Pascals `toml:"pressure,omitempty" json:"pressure,omitempty"` // of the air at a boiling-water check; 0: the altitude's
}

// Known is what a glass is checked against.
type Known string

// What is known.
const (
	AgainstIce       Known = "melting ice"
	AgainstBoiling   Known = "boiling water"
	AgainstReference Known = "reference" // a probe that is known, side by side in the same pan
	AgainstCrack     Known = "crack"     // syrup that has just come to the hard crack: a thread of it in cold water snaps
)

// Knowns lists what a glass can be checked against.
func Knowns() []Known { return []Known{AgainstIce, AgainstBoiling, AgainstReference, AgainstCrack} }

// UsualReference is how far a reference probe may be off where nobody has said: a
// Pt100 of class A at 150 °C (IEC 60751).
const UsualReference q.Kelvins = 0.45

// Hand is a person who works in the room.
type Hand struct {
	ID    string `toml:"id" json:"id"`
	Name  string `toml:"name" json:"name"`
	Adult bool   `toml:"adult" json:"adult"`
	May   []Task `toml:"may" json:"may"`
	From  string `toml:"from,omitempty" json:"from,omitempty"` // clock, "09:00"; empty: the day's opening
	To    string `toml:"to,omitempty" json:"to,omitempty"`     // empty: the day's end
}

// Task is what a hand may do.
type Task string

// The tasks, and the class of hand each asks for in a plan.
const (
	MayBoil  Task = "boil"  // light, watch and lift a kettle, pour
	MaySlab  Task = "slab"  // turn, fold, pull
	MayRoll  Task = "roll"  // feed the rolls
	MayClean Task = "clean" // wipe, wash, change rolls
	MayWeigh Task = "weigh"
	MayPack  Task = "pack" // break, sieve, finish, pack
)

// Tasks lists the known tasks.
func Tasks() []Task { return []Task{MayBoil, MaySlab, MayRoll, MayClean, MayWeigh, MayPack} }

// MayDo reports whether the hand may do the task.
func (h Hand) MayDo(t Task) bool {
	for _, m := range h.May {
		if m == t {
			return true
		}
	}
	return false
}
