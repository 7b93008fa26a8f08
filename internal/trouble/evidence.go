package trouble

import (
	q "slabside/internal/quantity"
)

// Evidence is what the record, the prediction and the book say of a batch that went wrong.
// What is nil, zero or empty is not written, and speaks neither for nor against.
type Evidence struct {
	Units q.Reader // for whom the texts are printed

	Read      *q.Celsius  // on the glass at the lift
	Sheet     *q.Estimate // what the sheet says to read [°C]
	Glass     string      // name of the glass
	GlassOff  *q.Kelvins  // it read too high by, at its last check
	GlassSure q.Kelvins   // ± that the check was held to

	Water   *q.Estimate // in the kettle at the lift, by what was seen, of the whole
	Planned *q.Estimate // the same as planned
	Flame   *q.Duration // the flame burned
	Lit     *q.Estimate // the same as planned [s]
	Waited  *q.Duration // from the lift to the pour
	Slab    *q.Duration // from the pour to the first sheet

	Grain    Risk        // of graining, by the bands of syrup or invert sugar
	Says     string      // the same with its figures
	Invert   *q.Estimate // invert sugar on the slab, of the whole
	Sticky   q.Fraction  // of invert sugar, from where a boil doctored by acid alone draws damp; 0: it has another doctor
	Coloured *q.Fraction // water that the additions bring, of the sweet
	Browns   []string    // names of what browns in it sooner than sugar

	Back     []Back   // scraps that went in
	Unwashed []string // earlier batches of the day that left grain lying
	Charge   q.Kilograms
	Whole    q.Kilograms // the kettle's usual charge
	Least    q.Kilograms // the least that the kettle is used for; 0: not stated
	Acids    []string    // acids weighed into the charge that the sheet does not have there
	Put      []Put       // weighed in the place of something else, or not on the sheet
	Picked   []string    // names of white powders whose lot was picked from a list, not read off the pot

	Humidity q.Fraction // of the room; 0: not stated

	RollsBad []string // answers and finds that speak of the rolls
	GlassBad []string // the same of glass
	Metal    []string // finds of metal: of the rolls or of something else
	OtherBad []string // finds that speak of neither
	Unlooked []string // what was not looked at, before or after
	StopBad  []string // answers that speak of machine, guards and stop

	Heavy     q.Kilograms // in the kettle at the lift
	PourAlone q.Kilograms // more is poured by two
	TiltStand bool
}

// Risk is how near the bands a boil is.
type Risk string

// The risks, as verdicts have them.
const (
	RiskNone  Risk = "no"
	RiskNear  Risk = "borderline"
	RiskHigh  Risk = "likely"
	RiskBlank Risk = ""
)

// Back is scraps that went in.
type Back struct {
	Mass    q.Kilograms
	From    string // batch; empty: not said
	Grained bool   // that batch did
}

// Put is one thing that went in and is not on the sheet.
type Put struct {
	Name, Instead, Why string // Instead and Why empty: it is for nothing on the sheet
}

// From where on a figure speaks for a cause, and from where outright. Each is judgement
// (source key practice).
const (
	GlassHint  = 1.0   // K beside the sheet: a division of a glass
	GlassTells = 2.0   // K: two divisions
	FlameTells = 1.25  // times the middle of the planned flame, and beyond its range
	WaitHint   = 5.0   // min from the lift to the pour: at 0.05 K/s some 15 K
	SlabHint   = 15.0  // min from the pour to the first sheet: the rolling time of a warm board
	BackHint   = 0.05  // of the charge: the low end of what cook-back is capped at
	BackTells  = 0.10  // the high end
	WetHint    = 0.003 // of the sweet: some 3 mL/kg of watery colours
	WetTells   = 0.005 // some 5 mL/kg, which cost 4 K
	DampHint   = 0.45  // of relative humidity: the most of a work room
	DampTells  = 0.55
	SmallHint  = 0.5 // of the usual charge: a thin layer in a wide pan
	FullEnough = 0.9 // of the usual charge: no thin layer
)
