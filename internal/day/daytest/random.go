package daytest

import (
	"fmt"

	"slabside/internal/day"
)

// rng is splitmix64 (Steele, Lea and Flood, "Fast splittable pseudorandom
// number generators", 2014), so that a seed means the same day everywhere.
type rng struct{ state uint64 }

func (r *rng) next() uint64 {
	r.state += 0x9e3779b97f4a7c15
	z := r.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// in returns a whole number of [lo, hi].
func (r *rng) in(lo, hi int) int { return lo + int(r.next()%uint64(hi-lo+1)) }

// one is true once in n times.
func (r *rng) one(n int) bool { return r.in(1, n) == 1 }

// Random returns a small making day of the given number of boils, always the
// same for the same seed and size. Among them are days that are too short,
// days with nobody hot in the room for a while, and boils that cannot be made.
func Random(seed uint64, size int) *day.Problem {
	p := random(&rng{seed*1_000_003 + uint64(size)}, size, false)
	randomKettle(&rng{seed*1_000_033 + uint64(size)}, p)
	return p
}

// random draws all of a day but what is in the kettle, for RandomAllergens if
// allergens is true.
func random(r *rng, size int, allergens bool) *day.Problem {
	p := &day.Problem{Closing: r.in(0, 2), Mounted: -1}

	for i := range r.in(0, 2) {
		p.Channels = append(p.Channels, day.Channel{Name: fmt.Sprint("flavour", i)})
	}
	if allergens || r.one(3) {
		p.Channels = append(p.Channels, day.Channel{Name: "allergen", Allergen: true})
	}
	pairs := r.in(1, 2)
	if allergens {
		pairs = 2
	}
	for i := range pairs {
		p.Pairs = append(p.Pairs, day.Pair{Name: fmt.Sprint("pair", i), Mount: r.in(1, 2)})
	}
	if r.one(2) {
		p.Mounted = r.in(0, len(p.Pairs)-1)
	}
	p.ActMin = [day.NumActs]int{0, 1, r.in(2, 3), r.in(3, 4)}
	p.RollsMin = [day.NumActs]int{0, r.in(0, 1), r.in(1, 2), 2}
	if r.one(3) {
		for range p.Channels {
			p.Levels = append(p.Levels, r.in(0, 3))
		}
	}

	recipes := min(size, r.in(1, 3))
	if size <= 4 && r.one(3) {
		recipes = size // all different
	}
	if allergens {
		recipes = min(size, 3)
	}
	for i := range recipes {
		p.Recipes = append(p.Recipes, fmt.Sprint("recipe", i))
	}
	kettle := randomBoils(r, p, size)
	if allergens {
		toAndFro(r, p)
	}
	hot := randomHot(r, p)
	tail, work := 0, 0
	for _, b := range p.Boils {
		sh := b.Shapes[0]
		tail = max(tail, b.Weigh+sh.RollTo+b.Cool+b.After)
		work += b.Weigh + b.Charge + b.Watch + b.Pour*b.PourHands + b.After + 2 // and a set-up
		for _, st := range sh.Steps {
			work += (st.To - st.From) * st.Hands
		}
	}
	need := max(kettle, work/(hot+1)) + tail + 2
	switch {
	case r.one(8):
		p.End = max(8, need*r.in(40, 80)/100)
	case r.one(3):
		p.End = need + r.in(-2, 1)
	default:
		p.End = need + r.in(1, 5)
	}
	p.End += p.Closing

	randomHands(r, p, hot)
	if r.one(4) {
		p.BenchG = r.in(8, 20)
	}
	randomBreaks(r, p)
	randomAppointments(r, p)
	randomRules(r, p)
	randomLines(r, p)
	return p
}

// randomBoils adds boils, drawn recipe by recipe, and returns their kettle minutes.
func randomBoils(r *rng, p *day.Problem, size int) (kettle int) {
	templates := make([]day.Boil, len(p.Recipes))
	for i := range templates {
		templates[i] = randomBoil(r, p, i)
	}
	for i := range size {
		rec := i
		if i >= len(templates) {
			rec = r.in(0, len(templates)-1)
		}
		b := templates[rec]
		b.ID = fmt.Sprint("boil", i)
		if r.one(5) { // the same recipe in another size
			b.After = r.in(1, 4)
			b.Lit++
		}
		p.Boils = append(p.Boils, b)
		if b.Lit < tooLong {
			kettle += b.Charge + b.Lit + b.Pour + b.Rinse
		}
	}
	return kettle
}

// tooLong is a boil longer than any day here.
const tooLong = 60

func randomBoil(r *rng, p *day.Problem, recipe int) day.Boil {
	b := day.Boil{
		Recipe: recipe, Weigh: r.in(1, 3), Charge: r.in(0, 1), Lit: r.in(2, 5), Pour: 1,
		PourHands: 1, Rinse: r.in(0, 1), Rolls: r.in(0, len(p.Pairs)-1),
		BenchG: r.in(3, 9), Cool: r.in(1, 2), After: r.in(1, 4),
	}
	b.Watch = r.in(0, min(3, b.Lit))
	if r.one(5) {
		b.PourHands = 2
	}
	if r.one(40) {
		b.Lit = tooLong
	}
	for _, c := range p.Channels {
		emit, limit := 0, r.in(0, 4)
		if r.one(2) {
			emit = r.in(1, 4)
		}
		if c.Allergen {
			emit, limit = 0, 3
			if r.one(3) {
				emit = 3
			} else if r.one(2) {
				limit = 0
			}
		}
		b.Emit, b.Limit = append(b.Emit, emit), append(b.Limit, limit)
	}

	turn, pull, roll := r.in(1, 2), 0, r.in(1, 3)
	if r.one(3) {
		pull = r.in(1, 2)
	}
	rollHands := 1
	if r.one(4) {
		rollHands = 2
	}
	for s := range r.in(1, 2) { // the second tends the batch before the rolls take it
		tend := s * r.in(1, 2)
		at := b.Pour
		sh := day.Shape{Name: fmt.Sprint("shape", s)}
		step := func(kind day.StepKind, minutes, hands int) {
			if minutes > 0 {
				sh.Steps = append(sh.Steps, day.Step{Kind: kind, From: at, To: at + minutes, Hands: hands})
			}
			at += minutes
		}
		step(day.Turn, turn, 1)
		if pull > 0 {
			sh.HookFrom = at
			step(day.Pull, pull, 1)
			sh.HookTo = at
			sh.SlabFree = sh.HookFrom + r.in(0, 1)
		}
		step(day.Tend, tend, r.in(0, 1))
		sh.RollFrom = at
		step(day.Roll, roll, rollHands)
		sh.RollTo = at
		if pull == 0 {
			sh.SlabFree = r.in(sh.RollFrom, sh.RollTo)
		}
		b.Shapes = append(b.Shapes, sh)
	}
	return b
}

// randomHot draws how many hands do hot work, mostly enough for every boil.
func randomHot(r *rng, p *day.Problem) int {
	most := 1
	for _, b := range p.Boils {
		most = max(most, b.PourHands, b.Shapes[0].Steps[len(b.Shapes[0].Steps)-1].Hands)
	}
	hot := r.in(1, 3)
	if len(p.Boils) > 3 && !r.one(6) {
		hot = max(hot, 2)
	}
	if !r.one(6) {
		hot = max(hot, most)
	}
	return hot
}

func randomHands(r *rng, p *day.Problem, hot int) {
	hours := func() []day.Span {
		switch r.in(1, 6) {
		case 1: // comes late
			return []day.Span{{From: r.in(1, 8), To: p.End}}
		case 2: // leaves early
			return []day.Span{{From: 0, To: max(1, p.End-r.in(1, 6))}}
		case 3: // away in the middle
			from := r.in(3, max(4, p.End-6))
			return []day.Span{{From: 0, To: from}, {From: from + r.in(1, 4), To: p.End + 5}}
		default:
			return []day.Span{{From: 0, To: p.End}}
		}
	}
	whole := []day.Span{{From: 0, To: p.End}}
	for i := range hot {
		h := day.Hand{Name: fmt.Sprint("hot", i), Adult: true, Hot: true, Clean: true, Present: whole}
		if i > 0 || r.one(5) {
			h.Present = hours()
		}
		p.Hands = append(p.Hands, h)
	}
	if r.one(3) {
		p.Hands = append(p.Hands, day.Hand{Name: "cleaner", Adult: r.one(2), Clean: true, Present: hours()})
	}
	if r.one(2) {
		p.Hands = append(p.Hands, day.Hand{Name: "bench", Adult: r.one(2), Present: hours()})
	}
	if r.one(40) {
		for i := range p.Hands {
			p.Hands[i].Hot = false // nobody may boil at all
		}
	}
}

func randomBreaks(r *rng, p *day.Problem) {
	if !r.one(3) {
		return
	}
	at := 0
	for i := range r.in(1, 2) {
		from := at + r.in(2, max(3, p.End/3))
		b := day.Break{Name: fmt.Sprint("break", i), From: from, To: from + r.in(0, 4), Minutes: r.in(1, 3)}
		at = b.To + b.Minutes + 1 // windows apart
		p.Breaks = append(p.Breaks, b)
	}
}

func randomAppointments(r *rng, p *day.Problem) {
	if !r.one(3) {
		return
	}
	for i := range r.in(1, 2) {
		a := day.Appointment{Name: fmt.Sprint("appointment", i), At: r.in(4, max(5, p.End-6)), Early: r.in(0, 2), Late: r.in(0, 2), Recipe: -1}
		if r.one(2) {
			a.Recipe = r.in(0, len(p.Recipes)-1)
		}
		p.Appoint = append(p.Appoint, a)
	}
}

func randomRules(r *rng, p *day.Problem) {
	n := len(p.Recipes)
	if r.one(8) {
		p.Rules = append(p.Rules, day.Rule{Kind: day.First, A: r.in(0, n-1)})
	}
	if r.one(8) {
		p.Rules = append(p.Rules, day.Rule{Kind: day.Last, A: r.in(0, n-1)})
	}
	if n > 1 && r.one(6) {
		a := r.in(0, n-1)
		p.Rules = append(p.Rules, day.Rule{Kind: day.Next, A: a, B: (a + r.in(1, n-1)) % n})
	}
	if n > 1 && r.one(6) {
		a := r.in(0, n-1)
		p.Rules = append(p.Rules, day.Rule{Kind: day.NotNext, A: a, B: (a + r.in(0, n-1)) % n})
	}
	if r.one(5) {
		p.Rules = append(p.Rules, day.Rule{Kind: day.AtLeast, A: r.in(-1, n-1), B: r.in(0, n-1), Act: day.Act(r.in(1, 3))})
	}
}

// randomLines adds lines in the order they are served, so that needs grow.
func randomLines(r *rng, p *day.Problem) {
	total := make([]int, len(p.Recipes))
	for _, b := range p.Boils {
		total[b.Recipe]++
	}
	needs := make([]int, len(total))
	for i := range r.in(1, 4) {
		rec := r.in(0, len(total)-1)
		if needs[rec] < total[rec] {
			needs[rec] = r.in(needs[rec]+1, total[rec])
		}
		l := day.Line{Name: fmt.Sprint("line", i), Must: r.one(2), Needs: append([]int(nil), needs...)}
		p.Lines = append(p.Lines, l)
	}
	if r.one(2) { // everything
		p.Lines = append(p.Lines, day.Line{Name: "all", Must: r.one(2), Needs: total})
	}
}
