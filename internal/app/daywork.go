package app

import (
	"fmt"
	"math"
	"slices"
	"time"

	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/day"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/roller"
)

// work is one boil as the day sees it: how long, how much, by how many.
type work struct {
	rec    recipe.Recipe
	recipe int // index into the day's recipes
	charge q.Kilograms
	kettle rig.Kettle // its own; see problem

	litS, watchS       float64
	liftKg, finishedKg float64
	weighLines         int
	packMin            float64 // hand-minutes of packing that fall to this boil

	hot *batch.Run // from the pour to the last sheet; nil: by the room's times
}

// dayline collects what a day.Problem is made of.
type dayline struct {
	b        *book.Book
	opens    time.Time
	ends     time.Time
	recipes  []recipe.Recipe
	channels []channel
	cautions []Caution
	mild     [][2]int // mild before strong: recipes that would be tainted, and by which
	grained  []Grained
	late     bool // it begins in the middle of the making day: what lies on the line lies there at its opening
}

// channel is a residue channel with what it means.
type channel struct {
	day.Channel
	family   string // flavour family
	stain    string // id of the recipe whose colour stains, or yesterday for what was there before
	allergen string // contained allergen
	unstated string // id of an ingredient whose supplier has not said
	grain    string // what grained and left seed
}

// stainWord is how a shop book calls colour left on the line from before.
const (
	stainWord = "stain"
	yesterday = "yesterday"
)

// levelOfOwn is a limit no residue reaches: a sweet does not mind its own flavour.
const levelOfOwn = 2 * recipe.MostLevel

func minutes(d q.Duration) int { return max(0, d.WholeMinutes()) }

// up rounds minutes up to whole ones, forgiving the last bit.
func up(min float64) int { return int(math.Ceil(min - 1e-9)) }

// problem states the day for the solver. lots are the boils in the order of the
// lot plan; lines are what they are for.
//
// A boil has the charge, time and pour of its own kettle. The day has one hot line
// all the same: kettles stand on one flame in turn, each from its charge to its
// rinse, and what the kettle carries over is taken to be in whichever comes next.
func (d *dayline) problem(lots []work, lines []day.Line) (*day.Problem, error) {
	t := d.b.Room.Times
	p := &day.Problem{
		End:      int(d.ends.Sub(d.opens) / time.Minute),
		Closing:  minutes(t.Closing),
		Lines:    lines,
		Mounted:  -1,
		ActMin:   [day.NumActs]int{0, minutes(t.Wipe), minutes(t.Wash), minutes(t.AllergenClean)},
		RollsMin: [day.NumActs]int{0, minutes(t.RollsWipe), minutes(t.RollsWash), minutes(t.RollsAllergen)},

		KettleMin: minutes(t.KettleClean),
	}
	for _, r := range d.recipes {
		p.Recipes = append(p.Recipes, r.Name)
	}
	for i, r := range d.b.Rolls {
		p.Pairs = append(p.Pairs, day.Pair{Name: r.Name, Mount: minutes(r.Change)})
		if r.ID == d.b.Day.Mounted {
			p.Mounted = i
		}
	}
	for _, b := range d.b.Benches {
		p.BenchG += int(math.Round(b.Most.Grams()))
	}
	d.residues(p)
	if err := d.hands(p); err != nil {
		return nil, err
	}
	if err := d.windows(p); err != nil {
		return nil, err
	}
	d.rules(p)
	for i, w := range lots {
		b, err := d.boilOf(w, p)
		if err != nil {
			return nil, err
		}
		b.ID = fmt.Sprintf("%s/%d", w.rec.ID, i+1)
		p.Boils = append(p.Boils, b)
	}
	d.grain(p)
	return p, nil
}

// residues names the channels of the day: flavour families, stain, allergens, and
// one for every ingredient whose supplier has said nothing, since unknown is not none.
func (d *dayline) residues(p *day.Problem) {
	add := func(c channel) {
		if !slices.ContainsFunc(d.channels, func(o channel) bool { return o.Name == c.Name }) {
			d.channels = append(d.channels, c)
		}
	}
	d.channels = nil
	for _, r := range d.recipes {
		add(channel{Channel: day.Channel{Name: r.Flavour.Family}, family: r.Flavour.Family})
	}
	for _, r := range d.recipes {
		if r.Stain != nil && r.Stain.CarryOver > 0 {
			add(channel{Channel: day.Channel{Name: "colour of " + r.Name}, stain: r.ID})
		}
	}
	for _, r := range d.recipes {
		contains, unstated := d.allergensOf(r.Ingredients())
		for _, a := range contains {
			add(channel{Channel: day.Channel{Name: a, Allergen: true}, allergen: a})
		}
		for _, u := range unstated {
			add(channel{Channel: day.Channel{Name: "unstated " + u, Allergen: true}, unstated: u})
		}
	}
	for _, r := range d.b.Day.Residue {
		switch {
		case r.Family == stainWord:
			add(channel{Channel: day.Channel{Name: stainWord}, stain: yesterday})
		case slices.Contains(ingredient.Allergens(), r.Family):
			add(channel{Channel: day.Channel{Name: r.Family, Allergen: true}, allergen: r.Family})
		default:
			add(channel{Channel: day.Channel{Name: r.Family}, family: r.Family})
		}
	}
	if len(d.grained) > 0 {
		add(d.grainChannel())
	}
	p.Levels = make([]int, len(d.channels))
	for i, c := range d.channels {
		p.Channels = append(p.Channels, c.Channel)
		for _, r := range d.b.Day.Residue {
			if r.Family == c.Name {
				p.Levels[i] = r.Level
			}
		}
	}
	// An allergen left from the day before is taken to be in the kettle too.
	p.KettleLevels = p.Levels
}

// allergensOf returns what ingredients contain, and those that nobody has
// stated. Water has no supplier who could.
func (d *dayline) allergensOf(ids []string) (contains, unstated []string) {
	contains, _, unstated = d.b.AllergensIn(ids)
	unstated = slices.DeleteFunc(unstated, func(id string) bool {
		in, ok := d.b.Ingredient(id)
		return ok && in.Kind == ingredient.Water
	})
	return contains, unstated
}

// residueOf says what a recipe leaves on the line and in the kettle, and what it
// tolerates, channel by channel.
func (d *dayline) residueOf(b *day.Boil, r recipe.Recipe) {
	contains, unstated := d.allergensOf(r.Ingredients())
	boiled, unstatedBoiled := d.allergensOf(r.KettleIngredients())
	for _, c := range d.channels {
		e, l, kettle := 0, levelOfOwn, 0
		switch {
		case c.family != "" && c.family == r.Flavour.Family:
			e = r.Flavour.CarryOver
		case c.family != "":
			l = r.Flavour.Limit(c.family)
		case c.stain == r.ID:
			e = r.Stain.CarryOver
		case c.stain != "" && r.Stain != nil:
			l = r.Stain.Limit
		case c.grain != "":
			l = 0
		case c.allergen != "":
			if l = 0; slices.Contains(contains, c.allergen) {
				e, l = 1, levelOfOwn
			}
			if slices.Contains(boiled, c.allergen) {
				kettle = 1
			}
		case c.unstated != "":
			if l = 0; slices.Contains(unstated, c.unstated) {
				e, l = 1, levelOfOwn
			}
			if slices.Contains(unstatedBoiled, c.unstated) {
				kettle = 1
			}
		}
		b.Emit, b.Limit, b.KettleEmit = append(b.Emit, e), append(b.Limit, l), append(b.KettleEmit, kettle)
	}
}

// hands sorts the people into the planner's three nested classes. Who may do
// only part of a class counts in the next lower one, and a caution says so.
func (d *dayline) hands(p *day.Problem) error {
	for _, h := range d.b.Hands {
		from, to := 0, p.End
		var err error
		if h.From != "" {
			if from, err = d.minute(h.From); err != nil {
				return err
			}
		}
		if h.To != "" {
			if to, err = d.minute(h.To); err != nil {
				return err
			}
		}
		from, to = max(from, 0), min(to, p.End)
		bench := h.MayDo(rig.MayWeigh) && h.MayDo(rig.MayPack)
		clean := bench && h.MayDo(rig.MayClean)
		hotTasks := h.MayDo(rig.MayBoil) && h.MayDo(rig.MaySlab) && h.MayDo(rig.MayRoll)
		hot := clean && hotTasks && h.Adult
		some := h.MayDo(rig.MayBoil) || h.MayDo(rig.MaySlab) || h.MayDo(rig.MayRoll)
		switch {
		case !bench:
			d.cautions = append(d.cautions, Caution{Code: "hand-not-planned", At: "day", Text: h.Name + " may not both weigh and pack; the plan does not count on " + h.Name + "."})
			continue
		case some && !hot:
			d.cautions = append(d.cautions, Caution{Code: "hand-not-hot", At: "day", Text: h.Name + " may do only part of the hot work (boil, slab, roll, clean, as an adult); the plan counts on " + h.Name + " for bench work only."})
		}
		if to <= from {
			continue
		}
		p.Hands = append(p.Hands, day.Hand{Name: h.Name, Adult: h.Adult, Hot: hot, Clean: clean, Present: []day.Span{{From: from, To: to}}})
	}
	return nil
}

// minute returns a clock time in minutes from the opening.
func (d *dayline) minute(clock string) (int, error) {
	t, err := time.Parse("15:04", clock)
	if err != nil {
		return 0, fault.Invalid("%q is not a time of day", clock).WithHint("write it as 09:30")
	}
	at := time.Date(d.opens.Year(), d.opens.Month(), d.opens.Day(), t.Hour(), t.Minute(), 0, 0, d.opens.Location())
	return int(at.Sub(d.opens) / time.Minute), nil
}

// windows adds the breaks and the announced pours that still lie ahead.
func (d *dayline) windows(p *day.Problem) error {
	for _, b := range d.b.Day.Breaks {
		from, err := d.minute(b.From)
		if err != nil {
			return err
		}
		to, err := d.minute(b.To)
		if err != nil {
			return err
		}
		if to < 0 || from >= p.End {
			continue // before the room opens, or after the day
		}
		p.Breaks = append(p.Breaks, day.Break{Name: b.Name, From: max(0, from), To: max(0, to), Minutes: minutes(b.Duration)})
	}
	for _, a := range d.b.Day.Pours {
		at, err := d.minute(a.At)
		if err != nil {
			return err
		}
		r := -1
		if a.Recipe != "" {
			r = slices.IndexFunc(d.recipes, func(r recipe.Recipe) bool { return r.ID == a.Recipe })
			if r < 0 {
				r = len(d.recipes) // asked of a recipe that is not boiled today: nobody keeps it
			}
		}
		p.Appoint = append(p.Appoint, day.Appointment{Name: a.Name, At: at, Early: minutes(a.Early), Late: minutes(a.Late), Recipe: r})
	}
	return nil
}

// rules carries the pinned and forbidden neighbours and demanded acts over; a
// rule about a recipe that is not boiled today has nothing to bind.
func (d *dayline) rules(p *day.Problem) {
	index := func(id string) int {
		return slices.IndexFunc(d.recipes, func(r recipe.Recipe) bool { return r.ID == id })
	}
	for _, r := range d.b.Day.Rules {
		target, before := index(r.Recipe), -1
		if r.After != "" {
			if before = index(r.After); before < 0 {
				continue
			}
		}
		if target < 0 {
			continue
		}
		switch r.Kind {
		case "first":
			p.Rules = append(p.Rules, day.Rule{Kind: day.First, A: target})
		case "last":
			p.Rules = append(p.Rules, day.Rule{Kind: day.Last, A: target})
		case "next":
			p.Rules = append(p.Rules, day.Rule{Kind: day.Next, A: before, B: target})
		case "not_next":
			p.Rules = append(p.Rules, day.Rule{Kind: day.NotNext, A: before, B: target})
		case "later":
			p.Rules = append(p.Rules, day.Rule{Kind: day.Before, A: before, B: target})
		case "at_least":
			p.Rules = append(p.Rules, day.Rule{Kind: day.AtLeast, A: before, B: target, Act: actOf(r.Act)})
		}
	}
	if !d.b.Day.StrongAnyTime {
		d.mildFirst(p)
	}
}

// mildFirst puts every recipe before the stronger ones that would taint it
// (common practice, no source: mild before tart before strong spice or mint). A
// wash would do too, and might even be hidden in the kettle's time; but what hangs
// in hook and air no wash takes away. A sweet with an allergen that the stronger
// one is made without is not held before it: allergens last saves the cleans that
// are hardest to get right (common practice, no source), and the levels still ask
// for the wash. A place that the shop book pins stands.
func (d *dayline) mildFirst(p *day.Problem) {
	pinned := func(r int) bool {
		return slices.ContainsFunc(p.Rules, func(rule day.Rule) bool {
			switch rule.Kind {
			case day.First, day.Last:
				return rule.A == r
			case day.Next:
				return rule.A == r || rule.B == r
			}
			return false
		})
	}
	// What a person has ordered stands, through any chain of such rules.
	asked := make([][]bool, len(d.recipes))
	for i := range asked {
		asked[i] = make([]bool, len(d.recipes))
	}
	for _, rule := range p.Rules {
		if rule.Kind == day.Before {
			asked[rule.A][rule.B] = true
		}
	}
	for k := range asked {
		for i := range asked {
			for j := range asked {
				asked[i][j] = asked[i][j] || asked[i][k] && asked[k][j]
			}
		}
	}
	// Rules that follow the order of strength cannot run in a circle with it. One
	// that turns it round might, through others: then the recipes a person has
	// ordered are left to that person.
	free := true
	for a, mild := range d.recipes {
		for b, strong := range d.recipes {
			free = free && !(asked[b][a] && mild.Flavour.CarryOver < strong.Flavour.CarryOver)
		}
	}
	for a, mild := range d.recipes {
		for b, strong := range d.recipes {
			if touched := slices.Contains(asked[a], true) || slices.Contains(asked[b], true) || column(asked, a) || column(asked, b); !free && touched {
				continue
			}
			f, g := mild.Flavour, strong.Flavour
			taints := g.CarryOver > f.Limit(g.Family) && f.CarryOver <= g.Limit(f.Family)
			if a != b && taints && f.CarryOver < g.CarryOver && !pinned(a) && !pinned(b) && d.bears(strong, mild) {
				p.Rules = append(p.Rules, day.Rule{Kind: day.Before, A: a, B: b})
				d.mild = append(d.mild, [2]int{a, b})
			}
		}
	}
}

// bears reports whether a recipe may follow another without an allergen clean: all
// that the other contains or nobody has stated of it is in it too.
func (d *dayline) bears(r, other recipe.Recipe) bool {
	contains, unstated := d.allergensOf(r.Ingredients())
	left, unknown := d.allergensOf(other.Ingredients())
	within := func(a, b []string) bool {
		return !slices.ContainsFunc(a, func(x string) bool { return !slices.Contains(b, x) })
	}
	return within(left, contains) && within(unknown, unstated)
}

// column reports whether any row of a square has its j-th place set.
func column(square [][]bool, j int) bool {
	return slices.ContainsFunc(square, func(row []bool) bool { return row[j] })
}

func actOf(word string) day.Act {
	for a := day.None; int(a) < day.NumActs; a++ {
		if a.String() == word {
			return a
		}
	}
	return day.None
}

// boilOf turns one boil into the solver's block.
func (d *dayline) boilOf(w work, p *day.Problem) (day.Boil, error) {
	t := d.b.Room.Times
	b := day.Boil{
		Recipe:    w.recipe,
		Weigh:     up(t.WeighBase.Minutes() + float64(w.weighLines)*t.WeighLine.Minutes()),
		Charge:    minutes(t.Charge),
		Lit:       max(1, up(w.litS/60)),
		Pour:      max(1, minutes(t.Pour)),
		PourHands: 1,
		Rinse:     minutes(t.Rinse),
		BenchG:    int(math.Ceil(w.finishedKg * 1000)),
		Cool:      minutes(t.Cool),
	}
	b.Watch = min(b.Lit, max(1, up(w.watchS/60)))
	if w.liftKg > float64(d.b.Room.PourAlone) && !w.kettle.TiltStand {
		b.PourHands = 2
	}
	b.Rolls = slices.IndexFunc(d.b.Rolls, func(r rig.Rolls) bool { return r.ID == w.rec.Rolls })
	if b.Rolls < 0 {
		return b, fault.Invalid("recipe %q asks for rolls %q, which the shop book does not have", w.rec.ID, w.rec.Rolls).At("recipe.rolls")
	}
	d.residueOf(&b, w.rec)
	after := 0.0
	if t.SieveRate > 0 {
		after += w.finishedKg / t.SieveRate
	}
	if w.rec.Finish != recipe.Plain && t.FinishRate > 0 {
		after += w.finishedKg / t.FinishRate
	}
	b.After = up(after + w.packMin)
	b.Shapes = d.shapes(w, b)
	return b, nil
}

// rolling is how the rolls eat a boil here.
func (d *dayline) rolling() roller.Rolling {
	return roller.RollingOf(d.b.Room, dayMachine(d.b), dayBoard(d.b))
}

// slabWork is a boil on the slab and at the rolls, in whole minutes.
type slabWork struct {
	turned int  // from the pour until it goes to the hook, or to the rolls
	pulled int  // on the hook; 0: nothing is
	tends  bool // a part lies clear meanwhile and is tended
	roll   int  // all of it through the rolls
	band   int  // in condition from when it could first be rolled
}

// onSlab is a boil as package batch follows it; where that is beyond its models, by the
// room's own times.
func (d *dayline) onSlab(w work) slabWork {
	t := d.b.Room.Times
	pulled := 0.0
	for _, portion := range w.rec.Portions {
		if portion.Work == recipe.Pulled {
			pulled += float64(portion.Share)
		}
	}
	out := slabWork{tends: pulled < 1-1e-9}
	if pulled > 0 && t.PullRate > 0 {
		out.pulled = max(1, up(pulled*w.finishedKg/t.PullRate))
	}
	if w.hot != nil {
		out.turned = max(1, up(w.hot.Ready/60)-out.pulled)
		out.roll, out.band = max(1, up(w.hot.Fed.LastS/60)), int(w.hot.Fed.GoneS/60)
		return out
	}
	// A smaller batch turns sooner, though not in proportion: half of the turning
	// is waiting for the edge (common practice, no source).
	size := 0.5 + 0.5*float64(w.charge/w.kettle.UsualCharge)
	out.turned = max(1, up(t.FirstTurn.Minutes()+t.Turn.Minutes()*size))
	rolling := d.rolling()
	out.roll, out.band = max(1, up(rolling.Minutes(q.Kilograms(w.finishedKg)))), int(rolling.Band.Minutes())
	return out
}

// shapes lays out the slab work of a boil: turning, pulling what is pulled while
// the rest is tended, and rolling early, in the middle or late in the time the
// batch is in condition.
func (d *dayline) shapes(w work, b day.Boil) []day.Shape {
	on := d.onSlab(w)
	steps := []day.Step{{Kind: day.Turn, From: b.Pour, To: b.Pour + on.turned, Hands: 1}}
	hookFrom, hookTo := 0, 0
	if on.pulled > 0 {
		hookFrom, hookTo = b.Pour+on.turned, b.Pour+on.turned+on.pulled
		steps = append(steps, day.Step{Kind: day.Pull, From: hookFrom, To: hookTo, Hands: 1})
		if on.tends {
			steps = append(steps, day.Step{Kind: day.Tend, From: hookFrom, To: hookTo, Hands: 1})
		}
	}
	ready := b.Pour + on.turned + on.pulled
	roll, spare := on.roll, max(0, on.band-on.roll)
	onBoard := false
	for _, board := range d.b.Boards {
		onBoard = onBoard || float64(board.Most) >= w.finishedKg
	}
	var out []day.Shape
	names := []string{"early", "in the middle", "late"}
	offsets := []int{0, spare / 2, spare}
	for i, o := range offsets {
		if i > 0 && o == offsets[i-1] {
			continue
		}
		s := day.Shape{Name: names[i], HookFrom: hookFrom, HookTo: hookTo, RollFrom: ready + o, RollTo: ready + o + roll}
		s.Steps = slices.Clone(steps)
		if o > 0 {
			s.Steps = append(s.Steps, day.Step{Kind: day.Tend, From: ready, To: s.RollFrom, Hands: 1})
		}
		s.Steps = append(s.Steps, day.Step{Kind: day.Roll, From: s.RollFrom, To: s.RollTo, Hands: dayMachine(d.b).RollHands()})
		// With a board that holds it all, the slab is free when rolling begins.
		if s.SlabFree = s.RollTo; onBoard {
			s.SlabFree = s.RollFrom
		}
		out = append(out, s)
	}
	return out
}
