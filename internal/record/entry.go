package record

import (
	"math"
	"regexp"
	"strings"
	"time"

	"slabside/internal/fault"
)

// Kind says what an entry writes down.
type Kind string

// The kinds, in the order of the work.
const (
	Beginning   Kind = "begun"       // a batch gets its number: what is boiled, in what, by which book
	Weighing    Kind = "weighed"     // one thing that was weighed for it, and out of which lot
	CookingBack Kind = "cooked_back" // scraps of an earlier batch that went into the kettle
	Checking    Kind = "checked"     // what was looked at before the flame
	Timing      Kind = "moment"      // something happened, at the time of the act
	Lifting     Kind = "lifted"      // the moment the kettle leaves the fire
	Working     Kind = "worked"      // the temperatures at which it was pulled and rolled
	Troubling   Kind = "trouble"     // it went wrong
	Making      Kind = "made"        // what came of it, by count and by weight
	Finding     Kind = "found"       // metal, glass or the like, found in it or beside it
	Ending      Kind = "after"       // what was looked at after the last sheet
	Cleaning    Kind = "cleaned"     // a surface that was cleaned after it
	Moist       Kind = "moisture"    // a measured moisture
	Tasting     Kind = "tasted"      // what it tastes and looks like
	Noting      Kind = "noted"       // tapped on a tablet that nobody heard, and could not be written as it was meant
	Placing     Kind = "placed"      // it may be sold, or not, and what becomes of it
	Signing     Kind = "signed"      // the record was read and signed
	Taking      Kind = "taken back"
)

// Kinds lists the kinds that write something down, in the order of the work.
func Kinds() []Kind {
	return []Kind{Beginning, Weighing, CookingBack, Checking, Timing, Lifting, Working, Troubling, Making, Finding, Ending, Cleaning, Moist, Tasting, Noting, Placing, Signing}
}

// Single reports whether a kind is written once of a batch and corrected after that;
// the others are written as often as they happen.
func (k Kind) Single() bool {
	switch k {
	case Weighing, CookingBack, Timing, Troubling, Finding, Cleaning, Tasting, Noting, Placing:
		return false
	}
	return true
}

// Entry is one thing written down of one batch. One of its parts is there; with none
// it takes back the entry that it corrects.
type Entry struct {
	Batch      string      `json:"batch"`
	Begun      *Begun      `json:"begun,omitempty"`
	Weighed    *Weighed    `json:"weighed,omitempty"`
	CookedBack *CookedBack `json:"cooked_back,omitempty"`
	Checked    *Checked    `json:"checked,omitempty"`
	Moment     *Moment     `json:"moment,omitempty"`
	Lifted     *Lifted     `json:"lifted,omitempty"`
	Worked     *Worked     `json:"worked,omitempty"`
	Troubled   *Troubled   `json:"trouble,omitempty"`
	Made       *Made       `json:"made,omitempty"`
	Found      *Found      `json:"found,omitempty"`
	After      *After      `json:"after,omitempty"`
	Cleaned    *Cleaned    `json:"cleaned,omitempty"`
	Moisture   *Moisture   `json:"moisture,omitempty"`
	Tasted     *Tasted     `json:"tasted,omitempty"`
	Noted      *Noted      `json:"noted,omitempty"`
	Placed     *Placed     `json:"placed,omitempty"`
	Signed     *Signed     `json:"signed,omitempty"`
}

// Begun opens the record of a batch.
type Begun struct {
	On       string `json:"on"`        // the making day
	Book     int64  `json:"book"`      // state of the shop book it is made by: an act
	Recipe   string `json:"recipe"`    // id
	ChargeMg int64  `json:"charge_mg"` // all that goes into the kettle
	Kettle   string `json:"kettle"`    // id
	Glass    string `json:"glass"`     // id
}

// Lifted is the moment the kettle leaves the fire. What was not looked at is 0.
type Lifted struct {
	ReadC     float64 `json:"read_c,omitempty"`     // on the glass
	GrossMg   int64   `json:"gross_mg,omitempty"`   // kettle and sugar on the scale
	EmptyMg   int64   `json:"empty_mg,omitempty"`   // the kettle alone
	Scale     string  `json:"scale,omitempty"`      // id
	FlameS    int64   `json:"flame_s,omitempty"`    // how long the flame burned
	StationPa float64 `json:"station_pa,omitempty"` // read on a barometer
	LitAt     string  `json:"lit_at,omitempty"`     // time of day, "09:42"
	LiftedAt  string  `json:"lifted_at,omitempty"`  // time of day
}

// NetKg returns what the kettle held [kg]; false if it was not weighed.
func (l Lifted) NetKg() (float64, bool) {
	return float64(l.GrossMg-l.EmptyMg) / 1e6, l.GrossMg > 0
}

// Sample says what a moisture was measured of.
type Sample string

// The samples.
const (
	OfSweet Sample = "sweet" // finished pieces
	OfSugar Sample = "sugar" // plain sugar from the kettle, before colours and flavours
)

// Samples lists the samples.
func Samples() []Sample { return []Sample{OfSweet, OfSugar} }

// Moisture is a measured moisture.
type Moisture struct {
	Of        Sample  `json:"of"`
	WaterFrac float64 `json:"water_frac"`       // of the whole
	SureFrac  float64 `json:"sure_frac"`        // ±, taken as 90 % limits
	Method    string  `json:"method,omitempty"` // how, in the maker's words
}

// Worked is at what temperatures the batch was pulled and rolled. What was not looked
// at is 0.
type Worked struct {
	PullC float64 `json:"pull_c,omitempty"` // at which it could first be pulled
	RollC float64 `json:"roll_c,omitempty"` // of the first good sheet
	LastC float64 `json:"last_c,omitempty"` // of the last good sheet
	SureK float64 `json:"sure_k"`           // ± of the thermometer
}

// Kept is an entry as it is kept: the act that wrote it, who, when and why.
type Kept struct {
	Entry
	Act      int64     `json:"act"`
	At       time.Time `json:"at"`
	Received time.Time `json:"received"`
	Person   string    `json:"person"`
	Reason   string    `json:"reason,omitempty"`
	Corrects int64     `json:"corrects_act,omitempty"`
}

// part is what an entry writes down.
type part interface{ check() error }

// parts returns the parts that are there, each by its kind.
func (e Entry) parts() map[Kind]part {
	all := map[Kind]part{}
	add := func(kind Kind, there bool, p part) {
		if there {
			all[kind] = p
		}
	}
	add(Beginning, e.Begun != nil, e.Begun)
	add(Weighing, e.Weighed != nil, e.Weighed)
	add(CookingBack, e.CookedBack != nil, e.CookedBack)
	add(Checking, e.Checked != nil, e.Checked)
	add(Timing, e.Moment != nil, e.Moment)
	add(Lifting, e.Lifted != nil, e.Lifted)
	add(Working, e.Worked != nil, e.Worked)
	add(Troubling, e.Troubled != nil, e.Troubled)
	add(Making, e.Made != nil, e.Made)
	add(Finding, e.Found != nil, e.Found)
	add(Ending, e.After != nil, e.After)
	add(Cleaning, e.Cleaned != nil, e.Cleaned)
	add(Moist, e.Moisture != nil, e.Moisture)
	add(Tasting, e.Tasted != nil, e.Tasted)
	add(Noting, e.Noted != nil, e.Noted)
	add(Placing, e.Placed != nil, e.Placed)
	add(Signing, e.Signed != nil, e.Signed)
	return all
}

// Kind returns what the entry writes down.
func (e Entry) Kind() Kind {
	all := e.parts()
	for _, kind := range Kinds() {
		if all[kind] != nil {
			return kind
		}
	}
	return Taking
}

// batchID is a making day and a number: "2026-11-28-2".
var batchID = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{1,3}$`)

// CheckID refuses what is no number of a batch.
func CheckID(id string) error {
	if !batchID.MatchString(id) {
		return fault.Invalid("%q is no number of a batch", fault.Clip(id, fault.Echo)).At("batch").WithHint("it is a day and a number, as 2026-11-28-2")
	}
	return nil
}

// The widest figures that are meant; beyond them a slip of the pen is likely.
const (
	coldestRead = 60  // °C
	hottestRead = 200 // °C
	mostMg      = int64(500e6)
	mostFlame   = int64(6 * 3600)
	coldestWork = 30
	hottestWork = 160
)

// Check refuses what cannot be meant, naming the part and its field.
func (e Entry) Check() error {
	if err := CheckID(e.Batch); err != nil {
		return err
	}
	all := e.parts()
	if len(all) > 1 {
		return fault.Invalid("an entry writes down one thing")
	}
	for _, p := range all {
		if err := p.check(); err != nil {
			return err
		}
	}
	switch {
	case e.Begun != nil && !strings.HasPrefix(e.Batch, e.Begun.On+"-"):
		return fault.Invalid("batch %s is of another day than %s", e.Batch, e.Begun.On).At("begun.on").WithHint("its number begins with its making day")
	case e.CookedBack != nil && e.CookedBack.From == e.Batch:
		return fault.Invalid("a batch is not cooked back into itself").At("cooked_back.from")
	}
	return nil
}

func (b Begun) check() error {
	on, err := time.Parse(time.DateOnly, b.On)
	switch {
	case err != nil || on.Year() < 1900:
		return fault.Invalid("%q is no date", fault.Clip(b.On, fault.Echo)).At("begun.on").WithHint("write it as 2026-11-28")
	case b.Book < 1:
		return fault.Invalid("it is not said by which state of the shop book it is made").At("begun.book")
	case b.Recipe == "" || b.Kettle == "" || b.Glass == "":
		return fault.Invalid("recipe, kettle and glass must be named").At("begun.recipe")
	case b.ChargeMg <= 0 || b.ChargeMg > mostMg:
		return fault.Invalid("a charge of %g kg cannot be meant", float64(b.ChargeMg)/1e6).At("begun.charge_mg")
	}
	return fault.Texts("begun", b.Recipe, b.Kettle, b.Glass)
}

func (l Lifted) check() error {
	net, weighed := l.NetKg()
	switch {
	case l == (Lifted{}):
		return fault.Invalid("nothing is written down of the lift").At("lifted").WithHint("the reading on the glass, the kettle on the scale, or the time of flame")
	case l.ReadC != 0 && !within(l.ReadC, coldestRead, hottestRead):
		return fault.Invalid("no boil is lifted at %.4g °C", l.ReadC).At("lifted.read_c")
	case l.GrossMg < 0 || l.EmptyMg < 0 || l.GrossMg > mostMg:
		return fault.Invalid("a kettle does not weigh that").At("lifted.gross_mg")
	case weighed && net <= 0:
		return fault.Invalid("the kettle with its sugar weighs no more than the kettle alone").At("lifted.gross_mg")
	case !weighed && l.EmptyMg > 0:
		return fault.Invalid("the empty kettle is weighed, the full one is not").At("lifted.gross_mg")
	case l.FlameS < 0 || l.FlameS > mostFlame:
		return fault.Invalid("a flame does not burn %d s", l.FlameS).At("lifted.flame_s")
	case l.StationPa != 0 && !within(l.StationPa, 54_000, 110_000):
		return fault.Invalid("the air does not weigh %.5g hPa", l.StationPa/100).At("lifted.station_pa").WithHint("read the pressure at the place, not the one corrected to sea level")
	}
	if err := clocks("lifted", clock{"lit_at", l.LitAt}, clock{"lifted_at", l.LiftedAt}); err != nil {
		return err
	}
	return fault.Texts("lifted", l.Scale)
}

func (m Moisture) check() error {
	switch {
	case m.Of != OfSweet && m.Of != OfSugar:
		return fault.Invalid("it is not said what the moisture was measured of").At("moisture.of").WithHint("sweet or sugar")
	case !(m.WaterFrac > 0 && m.WaterFrac < 0.2):
		return fault.Invalid("a boiled sweet does not hold %.4g %% of water", 100*m.WaterFrac).At("moisture.water_frac").WithHint("write it as 2.4%%")
	case !(m.SureFrac > 0 && m.SureFrac < 0.1):
		return fault.Invalid("it is not said how sure the moisture is").At("moisture.sure_frac").WithHint("write it as 0.3%%")
	}
	return fault.Texts("moisture", m.Method)
}

func (w Worked) check() error {
	named := []struct {
		name string
		c    float64
	}{{"pull_c", w.PullC}, {"roll_c", w.RollC}, {"last_c", w.LastC}}
	seen := 0
	for _, x := range named {
		if x.c == 0 {
			continue
		}
		if seen++; !within(x.c, coldestWork, hottestWork) {
			return fault.Invalid("sugar is not worked at %.4g °C", x.c).At("worked." + x.name)
		}
	}
	switch {
	case seen == 0:
		return fault.Invalid("no temperature is written down").At("worked.pull_c")
	case w.RollC != 0 && w.LastC > w.RollC:
		return fault.Invalid("the last sheet was hotter than the first").At("worked.last_c").WithHint("the first good sheet is the hottest")
	case !(w.SureK > 0 && w.SureK <= 20):
		return fault.Invalid("it is not said how sure the thermometer is").At("worked.sure_k").WithHint("a stick probe is good to some 2 °C")
	}
	return nil
}

func within(v, low, high float64) bool { return !math.IsNaN(v) && v >= low && v <= high }

// clock is a time of day in a field.
type clock struct{ field, at string }

// clocks refuses what is no time of day.
func clocks(part string, list ...clock) error {
	for _, c := range list {
		if _, err := time.Parse("15:04", c.at); c.at != "" && (err != nil || len(c.at) != len("15:04")) {
			return fault.Invalid("%q is no time of day", fault.Clip(c.at, fault.Echo)).At(part + "." + c.field).WithHint("write it as 09:42")
		}
	}
	return nil
}
