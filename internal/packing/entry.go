package packing

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"slabside/internal/fault"
	"slabside/internal/journal"
)

// The kinds of entries.
const (
	Packing  = "packed"  // bags were filled
	Moving   = "moved"   // bags went out
	Counting = "counted" // what a count of the bags found
	Placing  = "placed"  // a bag lot or a jar may be sold, or not
	Filling  = "filled"  // sweets went into a jar
	Taking   = "taken"   // something of a jar, or of the loose sweets of a batch, without a bag
	Leaving  = "left"    // what the scale found left of them
	Emptying = "emptied" // nothing is in the jar any more
	Washing  = "washed"  // nor does anything of what was in it cling to it
)

// Entry is one thing written down of a bag lot, a jar, the loose sweets of a batch, or what
// was tapped in vain on a day.
// One of its parts is there; with none it takes back the entry that it corrects.
type Entry struct {
	Ledger  string   `json:"ledger"` // b2026-11-28-2, j-counter-3, l2026-11-28-2, n2026-11-28
	Packed  *Packed  `json:"packed,omitempty"`
	Moved   *Moved   `json:"moved,omitempty"`
	Counted *Counted `json:"counted,omitempty"`
	Placed  *Placed  `json:"placed,omitempty"`
	Filled  *Filled  `json:"filled,omitempty"`
	Taken   *Taken   `json:"taken,omitempty"`
	Left    *Left    `json:"left,omitempty"`
	Emptied *Emptied `json:"emptied,omitempty"`
	Washed  *Washed  `json:"washed,omitempty"`
	Noted   *Noted   `json:"noted,omitempty"`
}

// Kept is an entry as it is kept.
type Kept = journal.Kept[Entry]

// Share is what there is of one batch.
type Share struct {
	Batch  string `json:"batch"`
	Recipe string `json:"recipe"` // id
	MassMg int64  `json:"mass_mg"`
}

// Packed is bags that were filled. The first opens the lot; those after it are of the
// same product, label and date.
type Packed struct {
	On         string   `json:"on"`                    // day of the lot
	Product    string   `json:"product"`               // id
	Bags       int64    `json:"bags"`                  //
	LabelMg    int64    `json:"label_mg"`              // net weight on the label
	TareMg     int64    `json:"tare_mg,omitempty"`     // of an empty bag; 0: the scale was set to nothing with the bag on it
	FromMg     int64    `json:"from_mg"`               // what the scale had to show at least, with the tare
	ToMg       int64    `json:"to_mg"`                 // and at most
	Scale      string   `json:"scale,omitempty"`       // id
	BestBefore string   `json:"best_before,omitempty"` // day on the label; empty: it has none
	Of         []Share  `json:"of"`                    // what went into the bags
	Weighed    []int64  `json:"weighed_mg,omitempty"`  // what the scale showed of bags that were weighed once more, with the tare
	Why        string   `json:"why,omitempty"`         // more went in than was known to be left
	Opened     []Opened `json:"opened,omitempty"`      // packaging that went with them, by its lots
	Opens      bool     `json:"opens,omitempty"`       // the number is taken for a new lot; else bags are added to one
}

// Out says where bags and loose sweets go.
type Out string

// Where they go. Bags are opened into a jar and never cooked back as bags; loose sweets
// go into no parcel.
const (
	ToCounter  Out = "counter sale"
	ToOrder    Out = "order"
	ToParcel   Out = "parcel"
	ToSample   Out = "sample" // kept, or sent to a laboratory
	ToTasting  Out = "tasting"
	ToGift     Out = "gift"
	ToWaste    Out = "waste"
	ToJar      Out = "opened"      // bags: into a jar again
	ToCookBack Out = "cooked back" // loose sweets
)

// BagOuts lists where bags go.
func BagOuts() []Out {
	return []Out{ToCounter, ToOrder, ToParcel, ToSample, ToTasting, ToGift, ToWaste, ToJar}
}

// LooseOuts lists where loose sweets go without a bag.
func LooseOuts() []Out {
	return []Out{ToCounter, ToSample, ToTasting, ToGift, ToWaste, ToCookBack}
}

// Moved is bags that went out.
type Moved struct {
	On   string `json:"on"` // day
	Bags int64  `json:"bags"`
	To   Out    `json:"to"`
	For  string `json:"for,omitempty"` // which order or parcel, by its number: a name could never be erased
	Jar  string `json:"jar,omitempty"` // into which they were opened
}

// Counted is what a count of the bags found.
type Counted struct {
	Bags int64 `json:"bags"`
}

// Status says what may be done with bags or a jar.
type Status string

// The statuses.
const (
	Usable    Status = "usable"
	Hold      Status = "hold"      // nothing goes out, not even as waste
	Condemned Status = "condemned" // goes out as waste only
)

// Statuses lists the statuses.
func Statuses() []Status { return []Status{Usable, Hold, Condemned} }

// Placed says from now on what may be done with a bag lot or a jar.
type Placed struct {
	As  Status `json:"as"`
	Why string `json:"why,omitempty"` // a hold may come first and its reason after
}

// Filled is sweets that went into a jar.
type Filled struct {
	On   string  `json:"on"` // day
	Of   []Share `json:"of"`
	Lot  string  `json:"lot,omitempty"`  // of the bags that were opened into it; empty: loose sweets
	Bags int64   `json:"bags,omitempty"` // how many those were
	Why  string  `json:"why,omitempty"`  // more went in than was known to be left
}

// Taken is something of a jar, or of the loose sweets of a batch, that went out.
type Taken struct {
	On     string `json:"on"` // day
	MassMg int64  `json:"mass_mg"`
	To     Out    `json:"to"`
	For    string `json:"for,omitempty"`
}

// Left is what the scale found left in a jar, or loose of a batch.
type Left struct {
	FoundMg int64 `json:"found_mg"`
	SureMg  int64 `json:"sure_mg,omitempty"` // ± of the scale; 0: not said
}

// Emptied says that nothing is in a jar any more. What was in it and is not in
// another entry was sold over the counter.
type Emptied struct {
	On string `json:"on"` // day
}

// Washed says that a jar was washed.
type Washed struct {
	On string `json:"on"` // day
}

// Subject implements [journal.Entry].
func (e Entry) Subject() string { return e.Ledger }

type part interface {
	check(ledger string) error
}

// parts returns the parts that are there, each by its kind.
func (e Entry) parts() map[string]part {
	all := map[string]part{}
	add := func(kind string, there bool, p part) {
		if there {
			all[kind] = p
		}
	}
	add(Packing, e.Packed != nil, e.Packed)
	add(Moving, e.Moved != nil, e.Moved)
	add(Counting, e.Counted != nil, e.Counted)
	add(Placing, e.Placed != nil, e.Placed)
	add(Filling, e.Filled != nil, e.Filled)
	add(Taking, e.Taken != nil, e.Taken)
	add(Leaving, e.Left != nil, e.Left)
	add(Emptying, e.Emptied != nil, e.Emptied)
	add(Washing, e.Washed != nil, e.Washed)
	add(Noting, e.Noted != nil, e.Noted)
	return all
}

// Kind implements [journal.Entry].
func (e Entry) Kind() string {
	for kind := range e.parts() {
		return kind
	}
	return journal.Taking
}

var (
	bagLot  = regexp.MustCompile(`^b[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{1,3}$`)
	jarID   = regexp.MustCompile(`^j(-[a-z0-9]+)+$`)
	looseID = regexp.MustCompile(`^l[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{1,3}$`)
	batchID = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{1,3}$`)
)

// mostName is how long the id of a jar may be.
const mostName = 48

// IsBags reports whether an id is that of a bag lot.
func IsBags(id string) bool { return bagLot.MatchString(id) }

// IsJar reports whether an id is that of a jar.
func IsJar(id string) bool { return jarID.MatchString(id) && len(id) <= mostName }

// IsLoose reports whether an id is that of the loose sweets of a batch.
func IsLoose(id string) bool { return looseID.MatchString(id) }

// LooseID returns the ledger of the loose sweets of a batch.
func LooseID(batch string) string { return "l" + batch }

// CheckLot refuses what is no number of a bag lot.
func CheckLot(id string) error {
	if !IsBags(id) {
		return fault.Invalid("%q is no number of a bag lot", fault.Clip(id, fault.Echo)).At("lot").WithHint("it is a b, a day and a number, as b2026-11-28-2")
	}
	return nil
}

// CheckJar refuses what is no id of a jar.
func CheckJar(id string) error {
	if !IsJar(id) {
		return fault.Invalid("%q is no name of a jar", fault.Clip(id, fault.Echo)).At("jar").WithHint("it is a j and words in small letters, as j-counter-3")
	}
	return nil
}

// takers are the kinds that each form of ledger takes.
func takers(id string) []string {
	switch {
	case IsBags(id):
		return []string{Packing, Moving, Counting, Placing, journal.Taking}
	case IsJar(id):
		return []string{Filling, Taking, Leaving, Emptying, Washing, Placing, journal.Taking}
	case IsLoose(id):
		return []string{Taking, Leaving, journal.Taking}
	case IsNotes(id):
		return []string{Noting, journal.Taking}
	}
	return nil
}

// Check implements [journal.Entry].
func (e Entry) Check() error {
	all, takes := e.parts(), takers(e.Ledger)
	switch {
	case takes == nil:
		return fault.Invalid("%q is neither a bag lot nor a jar nor the loose sweets of a batch", fault.Clip(e.Ledger, fault.Echo)).At("ledger").
			WithHint("as b2026-11-28-2, j-counter-3 or l2026-11-28-2")
	case len(all) > 1:
		return fault.Invalid("an entry writes down one thing").At("ledger")
	case !slices.Contains(takes, e.Kind()):
		return fault.Invalid("that is not written of %s", e.Ledger).At(e.Kind())
	}
	for _, p := range all {
		return p.check(e.Ledger)
	}
	return nil
}

// The widest figures that are meant.
const (
	MostBags = int64(100_000)
	mostMg   = int64(500e6) // of one entry
	mostOf   = 64
	mostEach = 500
)

func (p *Packed) check(ledger string) error {
	switch {
	case !isDate(p.On):
		return noDate("packed.on", p.On)
	case !strings.HasPrefix(ledger, "b"+p.On+"-"):
		return fault.Invalid("lot %s is of another day than %s", ledger, p.On).At("packed.on").WithHint("its number begins with the day it is packed")
	case p.Product == "":
		return fault.Invalid("it is not said what was packed").At("packed.product")
	case p.Bags < 1 || p.Bags > MostBags:
		return fault.Invalid("%d bags cannot be meant", p.Bags).At("packed.bags").WithHint("a whole number from 1 to %d", MostBags)
	case p.LabelMg <= 0 || p.LabelMg > mostMg:
		return fault.Invalid("a label does not say %g g", float64(p.LabelMg)/1e3).At("packed.label_mg")
	case p.TareMg < 0 || p.TareMg > mostMg:
		return fault.Invalid("a bag does not weigh %g g", float64(p.TareMg)/1e3).At("packed.tare_mg")
	case p.FromMg <= 0 || p.ToMg < p.FromMg || p.ToMg > 2*mostMg:
		return fault.Invalid("the scale cannot have had to show %g to %g g", float64(p.FromMg)/1e3, float64(p.ToMg)/1e3).At("packed.from_mg")
	case p.BestBefore != "" && !isDate(p.BestBefore):
		return noDate("packed.best_before", p.BestBefore)
	case p.BestBefore != "" && p.BestBefore < p.On:
		return fault.Invalid("it was past its date when it was packed").At("packed.best_before")
	case len(p.Weighed) > mostEach:
		return fault.Invalid("more than %d bags are weighed in one entry", mostEach).At("packed.weighed_mg").WithHint("write them down in two")
	}
	for _, mg := range p.Weighed {
		if mg <= p.TareMg || mg > 2*mostMg {
			return fault.Invalid("a full bag does not weigh %g g", float64(mg)/1e3).At("packed.weighed_mg").WithHint("what the scale showed, with the bag")
		}
	}
	if err := checkShares("packed", p.Of); err != nil {
		return err
	}
	if err := checkOpened(p.On, p.Opened); err != nil {
		return err
	}
	return fault.Texts("packed", p.Product, p.Scale, p.Why)
}

// checkShares refuses a list of batches that cannot be meant.
func checkShares(part string, of []Share) error {
	if len(of) == 0 || len(of) > mostOf {
		return fault.Invalid("it is not said of which batches it is").At(part+".of").WithHint("one batch at least, %d at most", mostOf)
	}
	seen := map[string]bool{}
	for _, s := range of {
		switch {
		case !batchID.MatchString(s.Batch):
			return fault.Invalid("%q is no number of a batch", fault.Clip(s.Batch, fault.Echo)).At(part + ".of").WithHint("it is a day and a number, as 2026-11-28-2")
		case seen[s.Batch]:
			return fault.Invalid("batch %s stands in it twice", s.Batch).At(part + ".of").WithHint("add the masses up")
		case s.Recipe == "":
			return fault.Invalid("it is not said what batch %s is of", s.Batch).At(part + ".of")
		case s.MassMg <= 0 || s.MassMg > mostMg:
			return fault.Invalid("%g kg of a batch cannot be meant", float64(s.MassMg)/1e6).At(part + ".of")
		}
		seen[s.Batch] = true
		if err := fault.Texts(part, s.Recipe); err != nil {
			return err
		}
	}
	return nil
}

func (m *Moved) check(string) error {
	switch {
	case !isDate(m.On):
		return noDate("moved.on", m.On)
	case m.Bags < 1 || m.Bags > MostBags:
		return fault.Invalid("%d bags cannot be meant", m.Bags).At("moved.bags").WithHint("a whole number from 1 to %d", MostBags)
	case !slices.Contains(BagOuts(), m.To):
		return fault.Invalid("%q is nowhere that bags go", fault.Clip(string(m.To), fault.Echo)).At("moved.to").WithHint("one of %s", list(BagOuts()))
	case (m.To == ToOrder || m.To == ToParcel) && strings.TrimSpace(m.For) == "":
		return fault.Invalid("it is not said for which order").At("moved.for").WithHint("its number: a recall goes by it, and what is written here is never erased, so no names")
	case m.To == ToWaste && strings.TrimSpace(m.For) == "":
		return fault.Invalid("it is not said why it was thrown away").At("moved.for").WithHint("torn, damp, past its date")
	case (m.To == ToJar) != (m.Jar != ""):
		return fault.Invalid("bags that are opened go into a jar, and no others").At("moved.jar")
	}
	if m.Jar != "" {
		if err := CheckJar(m.Jar); err != nil {
			return fault.Invalid("%q is no name of a jar", fault.Clip(m.Jar, fault.Echo)).At("moved.jar")
		}
	}
	return fault.Texts("moved", m.For)
}

func (c *Counted) check(string) error {
	if c.Bags < 0 || c.Bags > MostBags {
		return fault.Invalid("a count does not find %d bags", c.Bags).At("counted.bags")
	}
	return nil
}

func (p *Placed) check(string) error {
	switch {
	case !slices.Contains(Statuses(), p.As):
		return fault.Invalid("%q is no place for bags", fault.Clip(string(p.As), fault.Echo)).At("placed.as").WithHint("one of %s", list(Statuses()))
	case p.As != Hold && strings.TrimSpace(p.Why) == "":
		return fault.Invalid("it is not said why").At("placed.why").WithHint("what was looked at, and what was found")
	}
	return fault.Texts("placed", p.Why)
}

func (f *Filled) check(string) error {
	switch {
	case !isDate(f.On):
		return noDate("filled.on", f.On)
	case f.Lot != "" && !IsBags(f.Lot):
		return fault.Invalid("%q is no number of a bag lot", fault.Clip(f.Lot, fault.Echo)).At("filled.lot")
	case (f.Lot != "") != (f.Bags > 0) || f.Bags < 0 || f.Bags > MostBags:
		return fault.Invalid("it is not said how many bags of which lot were opened").At("filled.bags")
	}
	if err := checkShares("filled", f.Of); err != nil {
		return err
	}
	return fault.Texts("filled", f.Why)
}

func (t *Taken) check(ledger string) error {
	switch {
	case !isDate(t.On):
		return noDate("taken.on", t.On)
	case t.MassMg <= 0 || t.MassMg > mostMg:
		return fault.Invalid("%g kg cannot have been taken", float64(t.MassMg)/1e6).At("taken.mass_mg").WithHint("write more than zero")
	case !slices.Contains(LooseOuts(), t.To):
		return fault.Invalid("%q is nowhere that loose sweets go", fault.Clip(string(t.To), fault.Echo)).At("taken.to").WithHint("one of %s", list(LooseOuts()))
	case t.To == ToWaste && strings.TrimSpace(t.For) == "":
		return fault.Invalid("it is not said why it was thrown away").At("taken.for").WithHint("fell on the floor, stuck together")
	}
	return fault.Texts("taken", t.For)
}

func (l *Left) check(string) error {
	if l.FoundMg < 0 || l.FoundMg > mostMg || l.SureMg < 0 || l.SureMg > mostMg {
		return fault.Invalid("that much cannot have been found").At("left.found_mg")
	}
	return nil
}

func (e *Emptied) check(string) error {
	if !isDate(e.On) {
		return noDate("emptied.on", e.On)
	}
	return nil
}

func (w *Washed) check(string) error {
	if !isDate(w.On) {
		return noDate("washed.on", w.On)
	}
	return nil
}

func list[T ~string](words []T) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return strings.Join(out, ", ")
}

func isDate(text string) bool {
	on, err := time.Parse(time.DateOnly, text)
	return err == nil && on.Year() >= 1900
}

func noDate(field, text string) error {
	return fault.Invalid("%q is no date", fault.Clip(text, fault.Echo)).At(field).WithHint("write it as 2026-11-28")
}
