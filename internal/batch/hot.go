package batch

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"slabside/internal/boil"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/roller"
	"slabside/internal/slab"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// HotInputs is a batch from the lift to its last sheet: the part of the hot run in which
// nothing waits.
type HotInputs struct {
	Batch  string // names the draws of this batch alone
	Recipe string // id; empty: of none

	Solids sugar.Solids
	Water  q.Fraction    // of the sugar on the slab, colours in
	Mass   q.Kilograms   // on the slab
	Lift   q.Celsius     // true, as the flame goes off
	Pour   q.Celsius     // on the slab, where somebody measured it; 0: the lift less what is lost
	Depth  q.Metres      // as poured; 0: as usual
	Pulled q.Fraction    // share that is pulled
	Draws  HotDraws      // of the same
	Own    *slab.Learned // what is held of the figures of this very batch, its scatter in; nil: as of any batch

	Room    rig.Room
	Slab    rig.Slab
	Board   *rig.Board   // nil: it waits on the slab
	Hook    *rig.Hook    // nil: pulled by hand
	Machine *rig.Machine // nil: the room's rate
	Rolls   *rig.Rolls   // nil: an ordinary pair
	Units   q.Reader

	Learned *slab.Learned // nil: nothing
	Seed    uint64
}

// HotDraws are the draws of what the boil hands over, index for index; an empty column
// stands for one figure that is exact.
type HotDraws struct{ Mass, Water, Lift, Stands []float64 }

// HotOf returns the hot run of a boil that was predicted. Without a slab in the shop there
// is none: ok is false.
func HotOf(in Inputs, p Prediction, table rig.Slab, hook *rig.Hook) HotInputs {
	h := HotInputs{Batch: in.name(), Recipe: in.Recipe.ID, Mass: q.Kilograms(p.Boil.FinishedKg.Value), Lift: q.Celsius(p.Boil.BoilC.Value),
		Room: in.Room, Slab: table, Board: in.Board, Hook: hook, Machine: in.Machine, Rolls: in.Rolls, Units: in.Units}
	if p.Boil.AfterHeatK != nil {
		h.Lift += q.Celsius(p.Boil.AfterHeatK.Value)
	}
	var whole boil.Makeup
	water := make([]float64, len(p.draws.Finished))
	for j, portion := range p.Boil.Portions {
		whole = whole.Plus(portion.Makeup)
		add(water, products(p.draws.Portions[j].WaterFrac, p.draws.Portions[j].Mass))
		if in.Recipe.Portions[j].Work == recipe.Pulled {
			h.Pulled += in.Recipe.Portions[j].Share
		}
	}
	for i := range water {
		water[i] /= p.draws.Finished[i]
	}
	h.Solids = whole.Solids()
	// Fat and nuts hold no water: the sugar is wetter than the whole.
	phase := (whole.Phase() + whole.Water) / whole.Mass()
	h.Water = q.Fraction(whole.Water / (whole.Phase() + whole.Water))
	for i := range water {
		water[i] /= phase
	}
	h.Draws = HotDraws{Mass: p.draws.Finished, Water: water, Lift: p.draws.LiftC, Stands: p.draws.Stands}
	return h
}

func products(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] * b[i]
	}
	return out
}

// HotMembers is how many possible outcomes a hot run is carried through.
const HotMembers = 200

// Run is one possible hot run, in seconds since the end of the pour.
type Run struct {
	slab.Course
	Fed     roller.Fed // counted from the first bar
	Rate    float64    // kg/s
	MassKg  float64
	Feeding roller.Feeding
}

// Closes returns when what is left goes short.
func (r Run) Closes() float64 { return r.Ready + r.Fed.GoneS }

// Last returns when the last sheet is through, if all is rolled.
func (r Run) Last() float64 { return r.Ready + r.Fed.LastS }

// TempAt returns the temperature of the batch at a moment [°C]: on the table, and then
// where it waits.
func (r Run) TempAt(s float64) float64 {
	if s <= r.Ready {
		return r.Path.At(s)
	}
	return r.Fed.TempAt(s - r.Ready)
}

// Probed returns what a thermometer in the middle of the batch shows at a moment [°C], and
// how far that can be out for not standing where it is hottest, one standard deviation [K]:
// while it lies the core is hotter than the mean, by some ten kelvins and more, while it is
// turned by less, and a probe that is stabbed in stands near it. Nobody taps to the second
// of a turn, so the turns are taken together and run into what is before and after them.
func (r Run) Probed(s float64) (tempC, sdK float64) {
	if s > r.Ready {
		return r.TempAt(s), 0
	}
	lying := 1 / (1 + math.Exp((s-r.FirstTurn)/turnsRun))
	mean, core := r.Path.Between(math.Min(s, r.FirstTurn))
	turned := r.Path.Excess(r.FirstTurn, r.Turned) * math.Exp(-math.Max(0, s-r.Turned)/mixedIn)
	excess := lying*(core-mean) + (1-lying)*turned
	return r.Path.At(s) + probedShare*excess, excess / 4
}

// How far from the mean towards the hottest part a probe in the middle stands, how soon
// kneading mixes the difference away, and how fast lying becomes turning [s] (judgement).
const (
	probedShare = 0.8
	mixedIn     = 40.0
	turnsRun    = 10.0
)

// Hot is a hot run made ready: what is the same in every outcome is worked out once.
type Hot struct {
	in    HotInputs
	table slab.Table
	rate  float64 // kg/min, as it is stated
	piece float64 // kg
}

// PrepareHot makes a hot run ready. Faults: Invalid for a slab that cools nothing, a mass
// that is none, a temperature outside the models.
func PrepareHot(in HotInputs) (*Hot, error) {
	table, err := slab.TableOf(in.Slab, in.Room)
	if err != nil {
		return nil, err
	}
	switch {
	case !(in.Mass > 0) || math.IsInf(float64(in.Mass), 0):
		return nil, fault.Invalid("a mass of %g kg is not above zero", float64(in.Mass)).At("mass")
	case !(in.Pulled >= 0 && in.Pulled <= 1):
		return nil, fault.Invalid("the share that is pulled is not between 0 and 100 %%").At("pulled")
	case in.Depth != 0 && !(in.Depth >= slab.ThinnestPour && in.Depth <= slab.ThickestPour):
		return nil, fault.OutOfRange("depth of the pour", float64(in.Depth)*1e3, float64(slab.ThinnestPour)*1e3, float64(slab.ThickestPour)*1e3, "mm", string(source.ModelHeat)).At("depth")
	}
	for field, t := range map[string]q.Celsius{"pour": in.Pour, "lift": in.Lift} {
		if t != 0 && !(t <= slab.HottestPour && t >= slab.ColdestPour) {
			return nil, fault.OutOfRange("temperature of the sugar", float64(t), float64(slab.ColdestPour), float64(slab.HottestPour), "°C", string(source.ModelSugar)).At(field)
		}
	}
	if in.Pour == 0 && in.Lift == 0 {
		return nil, fault.Invalid("neither the temperature at the lift nor that of the pour is given").At("pour")
	}
	h := &Hot{in: in, table: table, rate: roller.RollingOf(in.Room, in.Machine, in.Board).Rate, piece: usualPiece}
	if in.Rolls != nil && in.Rolls.PieceMass() > 0 {
		h.piece = float64(in.Rolls.PieceMass())
	}
	return h, nil
}

// usualPiece is that of rolls that are not named [kg].
const usualPiece = 0.0024

// world is what one outcome hangs on.
type world struct {
	mass, water, lift float64
	off               slab.Off
	figures           slab.Figures
	hands             slab.Hands
	below, top, side  float64 // factors
	depth, pulls      float64
}

// middle is the world in which nothing is off.
func (h *Hot) middle(f slab.Figures) world {
	return world{mass: float64(h.in.Mass), water: float64(h.in.Water), lift: float64(h.in.Lift), figures: f, hands: slab.UsualHands(), below: 1, top: 1, side: 1, depth: 1, pulls: 1}
}

// Held is what is held of the unknowns of any batch of the room, its own scatter apart.
func (h *Hot) Held() slab.Learned {
	if h.in.Learned != nil {
		return *h.in.Learned
	}
	return slab.Untaught()
}

// HeldOwn is what is held of the figures of this batch.
func (h *Hot) HeldOwn() slab.Learned {
	if h.in.Own != nil {
		return *h.in.Own
	}
	return h.Held().With(Scatter())
}

// Scatter is one standard deviation of what a batch is off its room's figures.
func Scatter() slab.Figures {
	var f slab.Figures
	f[slab.Lies], f[slab.Loses], f[slab.Rate], f[slab.Habit] = lieBatchSD, loseBatchSD, rateBatchSD, habitBatchSD
	return f
}

// Knowing returns the hot run with what is held of the figures of this very batch.
func (h *Hot) Knowing(own slab.Learned) *Hot {
	out := *h
	out.in.Own = &own
	return &out
}

// At returns the hot run with certain figures and nothing else off.
func (h *Hot) At(f slab.Figures) (Run, error) { return h.run(h.middle(f)) }

// run follows one world.
func (h *Hot) run(w world) (Run, error) {
	sweet, err := slab.NewSweet(sugar.Mix(h.in.Solids, q.Fraction(w.water)), w.off)
	if err != nil {
		return Run{}, err
	}
	b := slab.Batch{Sweet: sweet, MassKg: w.mass, LiftC: w.lift, PourC: math.NaN(), DepthM: float64(h.in.Depth), Pulled: float64(h.in.Pulled),
		PullRate: h.in.Room.Times.PullRate / 60, PullMost: slab.UsualPull, Board: h.in.Board, AirC: float64(h.in.Room.Air), Table: h.table,
		Figures: w.figures, Hands: w.hands, Below: w.below, Top: w.top, Side: slab.UsualSide * w.side}
	b.PullRate *= w.pulls
	if h.in.Depth == 0 {
		b.DepthM = w.depth * float64(slab.UsualDepth)
	}
	if h.in.Pour != 0 {
		b.PourC = float64(h.in.Pour)
	}
	if h.in.Hook != nil && h.in.Hook.MostOne > 0 {
		b.PullMost = float64(h.in.Hook.MostOne)
	}
	c, err := b.Run()
	if err != nil {
		return Run{}, err
	}
	r := Run{Course: c, MassKg: w.mass, Rate: h.rate / 60 * math.Exp(w.figures[slab.Rate])}
	r.Feeding = roller.Feeding{MassKg: w.mass, FromC: c.ReadyC, Rate: r.Rate, GoneC: c.Windows.RollTo, Sweet: sweet.Matter, Takes: c.Waits.Takes, For: c.Waits.For,
		PairKg: h.pairKg(), AirC: b.AirC, Thick: roller.SheetThickness(h.piece, sweet.Matter.Density)}
	r.Fed = r.Feeding.Run()
	return r, nil
}

// Largest returns the most on the slab that is rolled in condition with certain figures
// [kg], up to a mass. A batch that is pulled waits the longer the larger it is, so each
// is followed from its pour.
func (h *Hot) Largest(f slab.Figures, most float64) (float64, error) {
	fits := func(mass float64) (bool, error) {
		w := h.middle(f)
		w.mass = mass
		r, err := h.run(w)
		if err != nil && fault.KindOf(err) != fault.KindInternal { // so large a batch is beyond the models
			return false, nil
		}
		return err == nil && r.Fed.LastS <= r.Fed.GoneS, err
	}
	if ok, err := fits(most); ok || err != nil {
		return most, err
	}
	low, high := 0.0, most
	for range 12 {
		mid := (low + high) / 2
		ok, err := fits(mid)
		if err != nil {
			return 0, err
		}
		if ok {
			low = mid
		} else {
			high = mid
		}
	}
	return low, nil
}

func (h *Hot) pairKg() float64 {
	if h.in.Rolls != nil && h.in.Rolls.Mass > 0 {
		return float64(h.in.Rolls.Mass)
	}
	return roller.UsualPairKg
}

// Scatter from batch to batch, and what the models themselves are off, one standard
// deviation of a logarithm unless said otherwise (judgement; k and the heat capacity by
// package sugar).
const (
	lieBatchSD   = 0.15 // of the contact: oil, a draught under the skin
	loseBatchSD  = 0.7  // K between lift and slab
	rateBatchSD  = 0.08
	habitBatchSD = 0.12 // decades: at which thickness it is begun this time
	everySD      = 0.20 // of the time between two turns
	touchSD      = 0.10
	topSD        = 0.20
	sideSD       = 0.60
	depthSD      = 0.10 // of the depth as poured, where nobody measured it
	deepSD       = 0.10 // of the depth it is worked at
	pullSD       = 0.25 // of the rate of pulling: 0.3 to 0.8 kg/min where 0.5 is stated
	ropesSD      = 0.12 // of what pulled sugar loses: 20 to 30 W/(m² K) (source key model-heat)
)

// The folds before it is kneaded (source key practice), and over how much of the table it
// is kneaded, by what it covers (judgement).
const (
	foldsLeast, foldsMost   = 5, 8
	spreadLeast, spreadMost = 1, 3
)

// worlds draws so many worlds. Where the boil has more draws than are wanted, they are
// taken at even steps.
func (h *Hot) worlds(n int) (out []world, columns []Column) {
	e := numeric.NewEnsemble(n, h.in.Seed)
	held := h.HeldOwn()
	base := h.middle(held.Mean)
	out = make([]world, n)
	var z [slab.Unknowns][]float64
	for u := range slab.Unknowns {
		z[u] = e.Normal("room:hot:" + u.String())
	}
	batch := "batch:" + h.in.Batch + ":"
	own := map[string][]float64{}
	for _, name := range []string{"every", "touch", "depth", "deep", "pulls", "ropes"} {
		own[name] = e.Normal(batch + name)
	}
	folds, spread := e.Uniform(batch+"folds"), e.Uniform(batch+"spread")
	thick, capacity, conducts := e.Normal("shop:viscosity"), e.Normal("shop:heat-capacity"), e.Normal("shop:conductivity")
	below, top, side := e.Normal("table:"+h.in.Slab.ID+":below"), e.Normal("shop:air"), e.Normal("table:"+h.in.Slab.ID+":side")
	// When a batch was rolled also tells how thick the room's sugar is: what is learned of
	// the habit has the models' errors of viscosity and glass transition in it.
	_, unlearned := slab.Habit.Prior()
	thickLeft := math.Min(1, h.HeldOwn().SD(slab.Habit)/unlearned)
	pick := func(column []float64, i int, or float64) float64 {
		if len(column) == 0 {
			return or
		}
		return column[i*len(column)/n]
	}
	for i := range out {
		w := base
		w.mass, w.water = pick(h.in.Draws.Mass, i, w.mass), pick(h.in.Draws.Water, i, w.water)
		if len(h.in.Draws.Lift) > 0 { // the after-heat goes with the boil as intended
			w.lift += pick(h.in.Draws.Lift, i, 0) - mean(h.in.Draws.Lift)
		}
		var at slab.Figures
		for u := range slab.Unknowns {
			at[u] = z[u][i]
		}
		w.figures = held.At(at)
		w.off = slab.Off{Thick: thickLeft * thick[i], Capacity: capacity[i], Conducts: conducts[i], Stands: thickLeft * pick(h.in.Draws.Stands, i, 0)}
		w.hands.Every *= math.Exp(everySD * own["every"][i])
		w.hands.Touch = math.Min(1, w.hands.Touch*math.Exp(touchSD*own["touch"][i]))
		w.hands.Folds = foldsLeast + int(folds[i]*(foldsMost+1-foldsLeast))
		w.hands.Spread = spreadLeast + spread[i]*(spreadMost-spreadLeast)
		w.hands.Deep, w.hands.Ropes = math.Exp(deepSD*own["deep"][i]), math.Exp(ropesSD*own["ropes"][i])
		w.depth, w.pulls = math.Exp(depthSD*own["depth"][i]), math.Exp(pullSD*own["pulls"][i])
		w.below, w.top, w.side = math.Exp(h.table.BelowSD()*below[i]), math.Exp(topSD*top[i]), math.Exp(sideSD*side[i])
		out[i] = w
	}
	col := func(says string, of func(w world) float64) {
		c := Column{Says: says, Draws: make([]float64, n)}
		for i, w := range out {
			c.Draws[i] = of(w)
		}
		columns = append(columns, c)
	}
	col("how well the sugar lies on the slab", func(w world) float64 { return w.figures[slab.Lies] })
	col("the temperature it is poured at", func(w world) float64 { return w.lift - w.figures[slab.Loses] })
	col("the water left in it", func(w world) float64 { return w.water })
	col("how thick the sugar is", func(w world) float64 { return w.off.Thick })
	col("what it stands up to", func(w world) float64 { return w.off.Stands })
	col("when these hands begin to roll", func(w world) float64 { return w.figures[slab.Habit] })
	col("how these hands knead", func(w world) float64 { return w.figures[slab.Works] })
	col("what the board loses", func(w world) float64 { return w.figures[slab.Keeps] })
	col("how fast the rolls are fed", func(w world) float64 { return w.figures[slab.Rate] })
	col("how much is poured", func(w world) float64 { return w.mass })
	col("the water under the slab", func(w world) float64 { return w.below })
	col("the air of the room", func(w world) float64 { return w.top })
	return out, columns
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v / float64(len(x))
	}
	return sum
}

// Column is the draws of one thing that outcomes hang on.
type Column struct {
	Says  string
	Draws []float64
}

// members follows so many worlds, on every core there is; what comes of world i is at i.
// A world beyond the models is left out, and lost says how many are.
func (h *Hot) members(n int) (runs []Run, columns []Column, lost int, err error) {
	worlds, columns := h.worlds(n)
	all, errs := make([]Run, n), make([]error, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := range next {
				all[i], errs[i] = h.run(worlds[i])
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	for i := n - 1; i >= 0; i-- {
		if errs[i] == nil {
			continue
		}
		switch fault.KindOf(errs[i]) {
		case fault.KindOutOfRange, fault.KindInvalid:
			err = errs[i]
			lost++
			all = slices.Delete(all, i, i+1)
			for k := range columns {
				columns[k].Draws = slices.Delete(columns[k].Draws, i, i+1)
			}
		default:
			return nil, nil, 0, errs[i]
		}
	}
	if lost*4 > n { // too many to speak of the rest
		return nil, nil, 0, err
	}
	return all, columns, lost, nil
}
