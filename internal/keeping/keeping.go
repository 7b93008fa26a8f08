package keeping

import (
	"fmt"
	"math"

	"slabside/internal/bag"
	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// The limit (common practice, source key practice).
const (
	Margin q.Kelvins  = 5    // between the warmest place and where the sweets soften
	Gain   q.Fraction = 0.01 // most water they may take up: a point
)

// Horizon is the longest time that is told apart [days]: three years. Flavour and colour
// go before then (judgement, source key practice).
const Horizon = 3 * 365.0

// criticalHalf is the ± of the water at the limit, as the glass transition has it.
const criticalHalf = 0.006

// The stores that the isotherm and the steam tables have a figure for.
const (
	isothermCool = 20 // °C
	isothermWarm = 30
	storeCool    = 0
	storeWarm    = 60
)

// Sweet is what is in the pack.
type Sweet struct {
	Solids     sugar.Solids // the sugar phase, dry
	Water      float64      // of the sugar phase, as a share of it with its water
	WaterDraws []float64    // the same, a draw each; nil: it is known
	Phase      q.Fraction   // dry sugar phase, as a share of the sweet

	// Stands is how far what the sweet stands up to is off the model, and one standard
	// deviation of that, both in [sugar.GlassSD]; nil: by 0 ± 1.
	Stands *Stands
}

// Stands is what a room has learned of the glass transition of its sweets.
type Stands struct{ Mean, SD float64 }

// Step is a place of storage.
type Step struct {
	Days     float64 // the last: until the limit, whatever it says
	At       q.Celsius
	Humidity q.Fraction
}

// Inputs is one pack and where it goes.
type Inputs struct {
	Sweet Sweet
	Net   q.Kilograms
	Pack  bag.Pack
	Steps []Step
	Units q.Reader // for whom the texts are printed

	ScaleStep q.Kilograms // of the scale that the pack was weighed on; 0: a tenth of a gram

	Ensemble numeric.Ensemble // the zero value stands for numeric.Draws of seed 0
}

// Bound says how a time is meant.
type Bound string

// The bounds.
const (
	About   Bound = "about"
	AtLeast Bound = "at least" // beyond [Horizon]
	Never   Bound = "never"    // it never comes to stick by water
	None    Bound = "none"     // no time: it is soft there, or all but
)

// Keeps is how long a pack keeps.
type Keeps struct {
	Bound Bound
	Days  *q.Estimate // nil for never
	Limit q.Estimate  // water at the limit, of the sugar phase
	Text  string
	Why   []string

	// What the time is made of, by the middle figures in the last place: see [Log].
	Log Log

	Weighed  int // weighings that its P A is from
	Cautions []caution.Caution
	Sources  []source.Key
}

// Log is the log equation with the figures that give the time: with them it is exact
// where there is one place, since Slope is the mean slope over the stretch.
type Log struct {
	DryG         float64    // dry sugars in the pack
	Slope        float64    // mean slope of the isotherm [g/g]
	Start, End   float64    // activity at the start and at the limit
	Humidity     float64    // of the place
	Passes       q.Estimate // P A [g/(day kPa)]
	PressureKPa  float64    // of saturated steam there
	StartWater   q.Estimate // of the sugar phase
	BalanceWater float64    // what it would come to there in the end, of the sugar phase
}

// Days returns what the equation gives.
func (l Log) Days() float64 {
	return l.DryG * l.Slope / (l.Passes.Value * l.PressureKPa) * math.Log((l.Humidity-l.Start)/(l.Humidity-l.End))
}

// Codes of the cautions given here.
const (
	CodeAverage   caution.Code = "keeping-average"   // the surface is sooner at the limit
	CodeUnweighed caution.Code = "keeping-unweighed" // the wall is from a table
	CodeIsotherm  caution.Code = "keeping-isotherm"  // the isotherm is for 20 to 30 °C and 10 % of humidity upwards
	CodeLeaky     caution.Code = "keeping-leaky"     // weighed, it takes up more than films of its kind do
	CodeSeals     caution.Code = "keeping-seals"     // seals without holes are taken
)

// Of works out how long a pack keeps.
//
// Drawn are, 5 % to 95 %: what each film passes, the published range of its kind and no
// less than ±40 %; the area, ±5 % measured or ±25 % from the net weight; a lid's leak; or,
// weighed, P A itself, ±15 % and no less than the weighings scatter; the activity over
// the sweets ±0.07; the water they begin with, as the boil has it; the limit ±0.6 point,
// with the same draw as the glass transition's.
//
// Faults: invalid for a pack that is tied (it is open: ask how long bare pieces lie), for
// one of nothing known and for no place; out of range for a store outside 0 to 60 °C or
// 10 to 90 % of humidity and for sugars without a glass transition.
func Of(in Inputs) (Keeps, error) {
	if in.Ensemble.Len() == 0 {
		in.Ensemble = numeric.NewEnsemble(numeric.Draws, 0)
	}
	r, err := in.run()
	if err != nil {
		return Keeps{}, err
	}
	k := Keeps{Weighed: r.fitted.n, Sources: once(append([]source.Key{source.Labuza1981, source.Robertson, source.Timmermann2001, source.SloanLabuza1975, source.Roos1993, source.Practice}, r.wall.keys...))}
	if len(in.Steps) > 1 {
		k.Sources = append(k.Sources, source.Kliment1979)
	}
	if err := r.summarise(&k); err != nil {
		return Keeps{}, err
	}
	r.say(&k)
	return k, nil
}

// Middle returns the time by the middle figures alone [days], infinite if the pack never
// comes to stick by water; to tell which of several is the first to.
//
// Faults: those of [Of].
func Middle(in Inputs) (float64, error) {
	r, err := in.run()
	if err != nil {
		return 0, err
	}
	return r.middle(), nil
}

// place is a step as the kernel wants it.
type place struct {
	days, humidity, pressureKPa float64
	passes                      float64 // P A there by the middle figures [g/(day kPa)]
	at                          q.Celsius
}

// run is a pack ready to be carried through the ensemble.
type run struct {
	in       Inputs
	wall     wall
	places   []place
	dryG     float64
	softens  float64 // water of the sugar phase at which it is a glass up to the warmest place and the margin; 0: not even dry
	warmest  q.Celsius
	stands   q.Celsius // glass transition at the start
	stepG    float64   // of the scale
	heldG    float64   // dry sugars in the pack that was weighed
	weighed  []weighed
	fitted   fit
	isFitted bool
}

func (in Inputs) run() (*run, error) {
	switch {
	case in.Pack.Closure == bag.Tied:
		return nil, fault.Invalid("%s is tied: air goes in and out, and it keeps no longer than bare pieces", in.Pack.Name)
	case len(in.Steps) == 0:
		return nil, fault.Invalid("no place to keep it is named").At("at")
	case !(in.Net > 0):
		return nil, fault.Invalid("a pack of nothing").At("net")
	}
	r := &run{in: in, dryG: 1e3 * float64(in.Net) * float64(in.Sweet.Phase), warmest: in.Steps[0].At}
	var err error
	if r.wall, err = wallOf(in.Pack, in.Net); err != nil {
		return nil, err
	}
	for i, s := range in.Steps {
		if err := s.check(i == len(in.Steps)-1); err != nil {
			return nil, err
		}
		p0, err := pressureKPa(s.At)
		if err != nil {
			return nil, err
		}
		r.places = append(r.places, place{s.Days, float64(s.Humidity), p0, r.wall.passes(s.At, nil), s.At})
		r.warmest = max(r.warmest, s.At)
	}
	mix := sugar.Mix(in.Sweet.Solids, q.Fraction(in.Sweet.Water))
	if r.stands, err = sugar.GlassTransition(mix); err != nil {
		return nil, err
	}
	off := q.Celsius(in.Sweet.held().Mean) * q.Celsius(sugar.GlassSD(mix))
	r.stands += off
	// Beyond the dry sugars' own glass transition there is no such water: none is left.
	if w, err := sugar.WaterAtGlass(in.Sweet.Solids, r.warmest+q.Celsius(Margin)-off); err == nil {
		r.softens = float64(w)
	}
	r.heldG, r.stepG = r.dryG, scaleStep
	if in.ScaleStep > 0 {
		r.stepG = 1e3 * float64(in.ScaleStep)
	}
	if in.Pack.Held > 0 {
		r.heldG *= float64(in.Pack.Held / in.Net)
	}
	if r.weighed, err = weighingsOf(r.wall, in.Pack.Weighed, r.heldG); err != nil {
		return nil, err
	}
	r.fitted, r.isFitted = fitOf(r.weighed, r.heldG, r.stepG, r.start(in.Sweet.Water), 0)
	if !r.isFitted && r.wall.unknown() {
		return nil, fault.Invalid("what %s is made of is not stated", in.Pack.Name).At("layer").WithHint("name its film in the shop book, or weigh a filled one for some weeks until it has gained")
	}
	return r, nil
}

// held is what is held of the glass transition of the sweet.
func (s Sweet) held() Stands {
	if s.Stands == nil {
		return Stands{SD: 1}
	}
	return *s.Stands
}

func (s Step) check(last bool) error {
	switch {
	case !(s.At >= storeCool && s.At <= storeWarm):
		return fault.OutOfRange("temperature", float64(s.At), storeCool, storeWarm, "°C", string(source.IAPWSIF97)).At("at")
	case !(s.Humidity >= sugar.RoomMinHumidity && s.Humidity <= sugar.RoomMaxHumidity):
		return fault.OutOfRange("relative humidity", s.Humidity.Percent(), 100*sugar.RoomMinHumidity, 100*sugar.RoomMaxHumidity, "%", string(source.SloanLabuza1975)).At("rh")
	case !last && !(s.Days > 0 && s.Days <= Horizon):
		return fault.Invalid("%g days in a place cannot be meant", s.Days).At("step").WithHint("write up to %g days", Horizon)
	}
	return nil
}

// start returns the activity of a water share by the isotherm.
func (r *run) start(water float64) float64 { return sugar.SorbedActivity(water / (1 - water)) }

// limit returns the water at the limit of a sweet that begins with some, with the
// softening moved by off.
func (r *run) limit(water, off float64) float64 {
	return math.Max(water, math.Min(water+float64(Gain), r.softens+off))
}

// days carries a sweet from one activity to another through the places, with the
// isotherm read shift too low and P A times factor in each; infinite if it never gets there.
func (r *run) days(from, to, shift float64, passes func(p *place) float64) float64 {
	if from >= to {
		return 0
	}
	sum := 0.0
	for i := range r.places {
		p := &r.places[i]
		rate := passes(p) * p.pressureKPa / r.dryG // 1/day
		h, last := p.humidity-shift, i == len(r.places)-1
		need := math.Inf(1)
		if h > to {
			need = uptake(from, to, h) / rate
		}
		if last || need <= p.days {
			return sum + need
		}
		from = after(from, h, p.days*rate)
		sum += p.days
	}
	return math.Inf(1)
}

// middle is the time by the middle figures.
func (r *run) middle() float64 {
	w := r.in.Sweet.Water
	factor := 1.0
	if r.isFitted {
		factor = r.fitted.factor
	}
	return r.days(r.start(w), r.start(r.limit(w, 0)), 0, func(p *place) float64 { return factor * p.passes })
}

// draws is a pack carried through the ensemble.
type draws struct{ days, limit, start, passes []float64 }

func (r *run) draw() draws {
	e, id := r.in.Ensemble, "pack:"+r.in.Pack.ID
	n := e.Len()
	d := draws{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	sorption, softens := e.Normal("shop:room-isotherm"), e.Normal("shop:glass-transition")
	var parts [][]float64 // errors of each sheet, of the area and of the lid; or of the weighing
	if r.isFitted {
		parts = append(parts, e.Normal(id+":weighed"))
	} else {
		for i := range r.wall.sheets {
			parts = append(parts, e.Normal(fmt.Sprintf("%s:film:%d", id, i)))
		}
		parts = append(parts, e.Normal(id+":area"), e.Normal(id+":lid"))
	}
	last, held := len(r.places)-1, r.in.Sweet.held()
	for i := range n {
		w := r.in.Sweet.Water
		if r.in.Sweet.WaterDraws != nil {
			w = math.Max(0, r.in.Sweet.WaterDraws[i])
		}
		from := r.start(w)
		shift := math.Max(-from, sugar.RoomActivitySD*sorption[i]) // air is never below dry
		passes := func(p *place) float64 {
			return r.wall.passes(p.at, func(part int) float64 { return parts[part][i] })
		}
		if r.isFitted {
			factor := r.fitted.factor
			if f, ok := fitOf(r.weighed, r.heldG, r.stepG, from, shift); ok {
				factor = f.factor
			}
			factor *= math.Exp(r.fitted.spread * parts[0][i])
			passes = func(p *place) float64 { return factor * p.passes }
		}
		limit := r.limit(w, held.SD*criticalHalf/ninety*softens[i])
		d.days[i] = math.Min(Horizon, r.days(from, r.start(limit), shift, passes))
		d.limit[i], d.start[i], d.passes[i] = limit, w, passes(&r.places[last])
	}
	return d
}

// summarise fills in the figures.
func (r *run) summarise(k *Keeps) error {
	d, w := r.draw(), r.in.Sweet.Water
	last := r.places[len(r.places)-1]
	passes := last.passes
	if r.isFitted {
		passes *= r.fitted.factor
	}
	limit := r.limit(w, 0)
	middle := r.middle()
	var err error
	of := func(column []float64, value float64) q.Estimate {
		s, e := numeric.Summarise(column)
		if e != nil && err == nil {
			err = e
		}
		return q.Estimate{Value: value, Low: math.Min(s.Low, value), High: math.Max(s.High, value), Basis: q.Estimated}
	}
	days := of(d.days, math.Min(Horizon, middle))
	k.Limit = of(d.limit, limit)
	k.Log = Log{DryG: r.dryG, Start: r.start(w), End: r.start(limit), Humidity: last.humidity, Passes: of(d.passes, passes),
		PressureKPa: last.pressureKPa, StartWater: of(d.start, w)}
	if err != nil {
		return fault.Internal(err, "the time a pack keeps could not be summarised")
	}
	balance := sorbed(last.humidity)
	k.Log.BalanceWater = balance / (1 + balance)
	if gap := math.Log((last.humidity - k.Log.Start) / (last.humidity - k.Log.End)); gap > 0 && !math.IsInf(gap, 0) {
		k.Log.Slope = uptake(k.Log.Start, k.Log.End, last.humidity) / gap
	}
	k.Days = &days
	switch {
	case middle == 0:
		k.Bound = None
	case math.IsInf(middle, 1) && days.Low >= Horizon:
		k.Bound, k.Days = Never, nil
	case middle >= Horizon:
		k.Bound = AtLeast
	default:
		k.Bound = About
	}
	return nil
}
