package day

// use is what one minute holds, packed so that minutes add and compare as one
// word. Every field has a guard bit above it:
//
//	bits  0– 7  hot hands (guard 7)
//	bits  8–15  set-ups   (guard 15)
//	bits 16–17  hook      (guard 17)
//	bits 18–19  rolls     (guard 19)
//	bits 20–63  bench, g  (guard 63)
type use uint64

const (
	oneSetup use = 1 << 8
	oneHook  use = 1 << 16
	oneRoll  use = 1 << 18
	oneGram  use = 1 << 20
	machines use = 1<<17 | 1<<19 // set when hook or rolls are taken twice
	guards   use = 1<<7 | 1<<15 | 1<<17 | 1<<19 | 1<<63
)

func (u use) hot() int    { return int(u & 0xff) }
func (u use) setups() int { return int(u >> 8 & 0xff) }
func (u use) hands() int  { return u.hot() + u.setups() }
func (u use) grams() int  { return int(u >> 20) }

// within reports whether u holds no more than v in every field.
func (u use) within(v use) bool { return ((v|guards)-u)&guards == guards }

// template is what a boil in one shape takes of every minute from its pour on.
type template struct {
	shape int
	use   []use
	end   int // minutes from the pour to the end of all of it
}

// instance is a problem prepared for the search.
type instance struct {
	residue
	last int // latest end of the work

	hot, clean, all []int // hands of at least that class in every minute before last
	adult           []bool
	same            []int // from every minute on, the first in which hands or adults have changed
	whole           bool  // no boil's hot work has a hole that a break fits in

	order  [][]int // by recipe: its boils in index order
	tmpl   [][]template
	levels []int
	weigh  int // hand-minutes of all boils together
	// longest is the most hand-minutes the set-ups before one boil can take.
	longest int

	stride  []int           // of the mixed-radix count code
	counted map[int32][]int // codes unpacked
	codes   int
	rests   map[int32]*rest // by code
}

func newInstance(p *Problem) *instance {
	in := &instance{residue: newResidue(p), counted: map[int32][]int{}, last: p.End - p.Closing, order: make([][]int, len(p.Recipes)), tmpl: make([][]template, len(p.Boils)), rests: map[int32]*rest{}}
	if in.last < 0 {
		in.last = 0
	}
	in.hot, in.clean, in.all = make([]int, in.last), make([]int, in.last), make([]int, in.last)
	in.adult = make([]bool, in.last)
	for _, h := range p.Hands {
		for _, s := range h.Present {
			for m := s.From; m < min(s.To, in.last); m++ {
				in.all[m]++
				if h.Hot {
					in.hot[m]++
				}
				if h.Clean {
					in.clean[m]++
				}
				if h.Adult {
					in.adult[m] = true
				}
			}
		}
	}
	in.same = make([]int, in.last)
	for m := in.last - 1; m >= 0; m-- {
		n := m + 1
		if n == in.last || in.hot[m] != in.hot[n] || in.clean[m] != in.clean[n] || in.all[m] != in.all[n] || in.adult[m] != in.adult[n] {
			in.same[m] = n
		} else {
			in.same[m] = in.same[n]
		}
	}
	for i := range p.Boils {
		b := &p.Boils[i]
		in.order[b.Recipe] = append(in.order[b.Recipe], i)
		in.weigh += b.Weigh
		for k := range b.Shapes {
			if t, ok := newTemplate(p, b, k); ok {
				in.tmpl[i] = append(in.tmpl[i], t)
			}
		}
	}
	in.whole = true
	for _, q := range p.Breaks {
		for i, ts := range in.tmpl {
			for _, t := range ts {
				in.whole = in.whole && !t.splits(&p.Boils[i], q.Minutes)
			}
		}
	}
	in.levels = in.opening()
	for a := range nActs {
		rolls := p.RollsMin[a]
		for _, q := range p.Pairs {
			rolls = max(rolls, q.Mount+p.RollsMin[AllergenClean])
		}
		in.longest = max(in.longest, p.ActMin[a]+rolls)
	}
	in.codes = 1
	for _, o := range in.order {
		in.stride = append(in.stride, in.codes)
		in.codes *= len(o) + 1
	}
	return in
}

// newTemplate lays out a shape; not ok if more hands are asked in one minute
// than any shop may have.
func newTemplate(p *Problem, b *Boil, k int) (template, bool) {
	s := &b.Shapes[k]
	t := template{shape: k, end: max(b.Pour+b.Rinse, s.SlabFree, s.HookTo, s.RollTo+b.Cool)}
	for _, st := range s.Steps {
		t.end = max(t.end, st.To)
	}
	hands := make([]int, t.end)
	for m := range b.Pour {
		hands[m] += b.PourHands
	}
	for _, st := range s.Steps {
		for m := st.From; m < st.To; m++ {
			hands[m] += st.Hands
		}
	}
	t.use = make([]use, t.end)
	for m, h := range hands {
		if h > maxHands {
			return t, false
		}
		t.use[m] = use(h)
	}
	for m := s.HookFrom; m < s.HookTo; m++ {
		t.use[m] += oneHook
	}
	for m := s.RollFrom; m < s.RollTo; m++ {
		t.use[m] += oneRoll
	}
	if p.BenchG > 0 {
		for m := s.RollFrom; m < s.RollTo+b.Cool; m++ {
			t.use[m] += use(b.BenchG) * oneGram
		}
	}
	n := t.end
	for n > 0 && t.use[n-1] == 0 {
		n--
	}
	t.use = t.use[:n]
	return t, true
}

// splits reports whether a break can begin after the pour and still leave hot
// work, or work on the rolls before it, to be done.
func (t *template) splits(b *Boil, minutes int) bool {
	idle := 0
	for m := range max(len(t.use), b.Shapes[t.shape].RollFrom) {
		hot := m < len(t.use) && t.use[m].hot() > 0
		if !hot {
			idle++
		}
		if idle >= minutes && (hot || m < b.Shapes[t.shape].RollFrom) {
			return true
		}
		if hot {
			idle = 0
		}
	}
	return false
}

// templateOf is the index of the template of a label's last boil.
func (in *instance) templateOf(l *label) int {
	for k, t := range in.tmpl[l.placed.Boil] {
		if t.shape == l.placed.Shape {
			return k
		}
	}
	return 0
}

// allowed reports whether a boil of recipe b may directly follow recipe a
// (−1: be the first), being the first of its recipe or not, and the least act.
func (in *instance) allowed(a, b int, firstOfB bool) (least Act, ok bool) {
	for _, r := range in.p.Rules {
		switch r.Kind {
		case First:
			if a < 0 && b != r.A {
				return 0, false
			}
		case Next:
			if b == r.B && firstOfB && a != r.A {
				return 0, false
			}
		case NotNext:
			if a == r.A && b == r.B {
				return 0, false
			}
		case AtLeast:
			if b == r.B && (a == r.A && a >= 0 || r.A < 0 && a != b) {
				least = max(least, r.Act)
			}
		}
	}
	return least, true
}

// tooLate reports whether a rule wants recipe r made before what is made already.
func (in *instance) tooLate(r int, count []int) bool {
	for _, rule := range in.p.Rules {
		if rule.Kind == Before && rule.A == r && rule.B != r && count[rule.B] > 0 {
			return true
		}
	}
	return false
}

// mayEnd reports whether the day's last boil may be of recipe a.
func (in *instance) mayEnd(a int) bool {
	for _, r := range in.p.Rules {
		if r.Kind == Last && r.A != a {
			return false
		}
	}
	return true
}
