package learn

import (
	"fmt"
	"math"

	"slabside/internal/boil"
	"slabside/internal/numeric"
	"slabside/internal/record"
	"slabside/internal/rig"
)

// Batch is a batch that was made, and what was seen of it.
type Batch struct {
	ID     string
	Lift   boil.AtLift // as it was planned, without what records teach
	Kettle rig.Kettle
	Glass  rig.Glass // as it was held to be then, its checks laid over it

	Lifted   *record.Lifted
	ScaleKg  float64 // division of the scale that the kettle stood on
	Moisture *record.Moisture
	Worked   *record.Worked
}

// KettleName names a kettle for what it teaches: another fire is another kettle.
func KettleName(k rig.Kettle) string {
	return fmt.Sprintf("%s %g W %g %g %g", k.ID, float64(k.Burner), float64(k.Efficiency), float64(k.EfficiencyLow), float64(k.EfficiencyHigh))
}

// GlassName names a glass, its checks laid over it, for what it teaches: one that was
// checked again, or whose offset or class is another, is known anew.
func GlassName(g rig.Glass) string {
	return fmt.Sprintf("%s %g K %g K %s", g.ID, float64(g.Offset), float64(g.Class), g.CheckedOn)
}

// Lessons is what the batches of a room teach of its standing errors. Nil teaches
// nothing.
type Lessons struct {
	Widened float64 // how far the errors of what was seen had to be widened; 1: not

	filter
	batches []seen
}

// seen is a batch with its sights.
type seen struct {
	Batch
	sights []sight
	water  float64 // share around which they are straightened
}

// Learn draws what it can from batches; their order does not matter.
func Learn(batches []Batch) *Lessons {
	l := &Lessons{filter: newFilter(1), Widened: 1}
	for _, b := range batches {
		l.batches = append(l.batches, look(b))
	}
	l.takeAll("")
	if r := l.contradiction(); r > 1 {
		l.filter, l.Widened = newFilter(r), r
		l.takeAll("")
	}
	return l
}

// Batches returns the batches as they were given.
func (l *Lessons) Batches() []Batch {
	var out []Batch
	for _, b := range l.list() {
		out = append(out, b.Batch)
	}
	return out
}

// takeAll takes in every batch but one.
func (l *Lessons) takeAll(but string) {
	for _, b := range l.batches {
		if b.ID != but {
			l.take(b)
		}
	}
}

// filter is the belief under way.
type filter struct {
	belief numeric.Belief
	at     map[string]int      // unknowns by name
	taught map[string][]string // batches that taught an unknown
	widen  float64

	misses float64 // squares of what was missed, in standard deviations
	sights int
}

// Names of the unknowns that there is one of.
const (
	ofModel  = "model"
	ofStands = "stands"
	ofThick  = "thickness"
)

func newFilter(widen float64) filter {
	return filter{at: map[string]int{}, taught: map[string][]string{}, widen: widen}
}

// unknown returns the index of an unknown, which begins as one standard deviation.
func (f *filter) unknown(name string) int {
	i, ok := f.at[name]
	if !ok {
		i = f.belief.Add(0, 1)
		f.at[name] = i
	}
	return i
}

// widest is how far off its water a boil may be of which nothing was seen [of the
// sugar], one standard deviation: two points, far more than any boil is.
const widest = 0.02

// take takes in all that was seen of a batch.
func (f *filter) take(b seen) {
	if len(b.sights) == 0 {
		return
	}
	f.open(b)
	f.belief.Drop()
}

// open takes in all that was seen of a batch and leaves its water as the last unknown.
func (f *filter) open(b seen) (water int) {
	for _, s := range b.sights { // before the water, which goes last
		for _, p := range s.of {
			f.unknown(p.name)
		}
	}
	water = f.belief.Add(b.water, widest)
	for _, s := range b.sights {
		for _, p := range s.of {
			if list := f.taught[p.name]; p.teaches && (len(list) == 0 || list[len(list)-1] != b.ID) {
				f.taught[p.name] = append(list, b.ID)
			}
		}
		miss := f.belief.Observe(f.terms(s, water), s.seen+s.water*b.water, s.sd*f.widen)
		f.misses += miss * miss
		f.sights++
	}
	return water
}

// terms are the unknowns of a sight.
func (f *filter) terms(s sight, water int) []numeric.Term {
	out := make([]numeric.Term, 0, len(s.of)+1)
	for _, p := range s.of {
		out = append(out, numeric.Term{Unknown: f.unknown(p.name), Weight: p.weight})
	}
	if s.water != 0 {
		out = append(out, numeric.Term{Unknown: water, Weight: s.water})
	}
	return out
}

// enough is so many sights that are taken to have missed by just what they should
// before any is seen: one odd reading is no contradiction yet (judgement).
const enough = 3

// contradiction is by how much the errors of what was seen are too small for what was
// missed; 1 if they are not.
func (f *filter) contradiction() float64 {
	return math.Max(1, math.Sqrt((f.misses+enough)/float64(f.sights+enough)))
}

// For returns what the lessons say of a boil in a kettle that is read on a glass, its
// checks laid over it; nil if they say nothing.
func (l *Lessons) For(k rig.Kettle, g rig.Glass) *boil.Learned {
	if l == nil {
		return nil
	}
	kettle, glass := KettleName(k), GlassName(g)
	out := &boil.Learned{}
	names := [...]string{boil.ModelError: ofModel, boil.GlassError: ofGlass(glass), boil.StandsError: ofStands, boil.FireError: ofFire(kettle)}
	for i, name := range names {
		out.Batches[i] = len(l.taught[name])
	}
	if out.Batches == [len(names)]int{} {
		return nil
	}
	f := filter{belief: l.belief.Clone(), at: l.at}
	index := make([]int, len(names))
	for i, name := range names {
		at, known := l.at[name]
		if !known {
			at = f.belief.Add(0, 1)
		}
		index[i], out.Mean[i] = at, f.belief.Mean(at)
	}
	for i, row := range f.belief.Root(index) {
		copy(out.Root[i][:], row)
	}
	return out
}
