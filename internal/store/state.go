package store

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/reading"
	"slabside/internal/record"
)

// State is what a log says the book is, built by going through it from the
// first act. Its methods return what is wrong with an entry and then go on with
// the entry as it stands, so that one fault is told once.
type State struct {
	Seq       int64
	Hash      string
	Revisions int64
	ToMake    []Make
	Row       BookRow

	things  map[Name]*Thing
	names   []Name // in the order they first appeared
	order   map[string][]string
	devices map[string]int64
	ids     map[string]bool
	body    ActBody
	marks   []Mark          // of the act at hand, still to come
	touched map[string]bool // kinds whose list the act at hand changes
	records map[string][]record.Kept
	lots    map[string][]lot.Kept
	jots    map[jotKey]Jots

	attached map[string][]KeptAttachment // by what they are of
	sums     map[string]Attachment       // as the bytes came first
	wants    *Attachment                 // whose bytes are still to come

	readings []reading.Kept // of the thermometer and time at hand
}

// Thing is the state of one thing.
type Thing struct {
	Name
	N       int // of the head revision
	SHA256  string
	Retired bool
}

// BookRow is what a store needs to know of a book before reading it.
type BookRow struct {
	Name     string `json:"name"`
	TimeZone string `json:"time_zone"`
	Units    string `json:"units"`
	Currency string `json:"currency"`
	Market   string `json:"market"`
}

// RowOf returns the row that goes with a shop's definition.
func RowOf(shop []byte) (BookRow, error) {
	v, err := read[book.Shop](KindShop, shop, false)
	return BookRow{v.Name, v.TimeZone, string(v.Units.System()), v.Currency, v.Market}, err
}

// NewState returns the state of an empty book.
func NewState() *State {
	return &State{Hash: FirstHash, things: map[Name]*Thing{}, order: map[string][]string{}, devices: map[string]int64{},
		ids: map[string]bool{}, touched: map[string]bool{}, records: map[string][]record.Kept{}, lots: map[string][]lot.Kept{}, jots: map[jotKey]Jots{},
		attached: map[string][]KeptAttachment{}, sums: map[string]Attachment{}}
}

// Act takes the next act. The revisions it marks must follow before Settle.
func (s *State) Act(a Act) []string {
	var p []string
	say := func(format string, v ...any) { p = append(p, fmt.Sprintf(format, v...)) }
	if a.Seq != s.Seq+1 {
		say("act %d follows act %d", a.Seq, s.Seq)
	}
	if a.PrevHash != s.Hash {
		say("it does not hold on to the act before it")
	}
	if HashAct(a) != a.Hash {
		say("its content does not match its hash")
	}
	if a.DeviceSeq != s.devices[a.Device]+1 {
		say("entry %d of device %s follows entry %d", a.DeviceSeq, a.Device, s.devices[a.Device])
	}
	if a.ID == "" || s.ids[a.ID] {
		say("its id is missing or used twice")
	}
	if !slices.Contains([]string{ActImport, ActToMake, ActRetire, ActBatch, ActLot, ActJot, ActAttach}, a.Kind) {
		say("there is no kind of act called %q", fault.Clip(a.Kind, fault.Echo))
	}
	if a.Corrects < 0 || a.Corrects >= a.Seq {
		say("it corrects act %d, which is not before it", a.Corrects)
	}
	if err := CheckMeta(Meta{Person: a.Person, At: a.At, Reason: a.Reason}); err != nil {
		say("%s", err)
	}
	if !a.At.Equal(a.At.Truncate(time.Millisecond)) || !a.Received.Equal(a.Received.Truncate(time.Millisecond)) {
		say("its times are not whole milliseconds")
	}
	body, err := DecodeBody(a.Body)
	if err != nil {
		say("its body cannot be read")
		body = ActBody{}
	}
	s.Seq, s.Hash, s.devices[a.Device], s.ids[a.ID] = a.Seq, a.Hash, a.DeviceSeq, true
	s.body, s.marks = body, body.Revisions
	for _, text := range s.enter(a, body) {
		say("%s", text)
	}
	return p
}

// enter takes the entry of an act into the record of its batch.
func (s *State) enter(a Act, body ActBody) []string {
	switch e := body.Entry; {
	case a.Kind == ActAttach || body.Attachment != nil:
		return s.attach(a, body)
	case a.Kind == ActJot || body.Jot != nil:
		return s.enterJot(a, body)
	case a.Kind == ActLot || body.Lot != nil:
		return s.enterLot(a, body)
	case a.Kind != ActBatch && e == nil && a.Corrects == 0:
		return nil
	case a.Kind != ActBatch || e == nil:
		return []string{"it writes down something of a batch, or does not, against its kind"}
	default:
		var p []string
		if err := record.Follow(s.records[e.Batch], *e, a.Corrects); err != nil {
			p = append(p, err.Error())
		}
		if b := e.Begun; b != nil && b.Book >= a.Seq {
			p = append(p, fmt.Sprintf("it is made by state %d of the book, which is not before it", b.Book))
		}
		p = append(p, s.enterLots(a, body)...)
		s.records[e.Batch] = append(s.records[e.Batch], KeptOf(a, *e))
		return p
	}
}

// KeptOf returns an entry as the act that wrote it keeps it.
func KeptOf(a Act, e record.Entry) record.Kept {
	return record.Kept{Entry: e, Act: a.Seq, At: a.At, Received: a.Received, Person: a.Person, Reason: a.Reason, Corrects: a.Corrects}
}

// Batches returns the numbers of the batches that have a record, sorted.
func (s *State) Batches() []string { return slices.Sorted(maps.Keys(s.records)) }

// Record returns what is kept of a batch.
func (s *State) Record(batch string) []record.Kept { return s.records[batch] }

// Body returns what the act at hand did.
func (s *State) Body() ActBody { return s.body }

// Revision takes the next revision of the act at hand.
func (s *State) Revision(r Revision) []string {
	var p []string
	say := func(format string, v ...any) { p = append(p, fmt.Sprintf(format, v...)) }
	name := Name{r.Kind, r.Slug}
	if err := CheckName(name); err != nil {
		say("%s", err)
	}
	if r.ID != s.Revisions+1 {
		say("revision %d follows revision %d", r.ID, s.Revisions)
	}
	if r.Act != s.Seq {
		say("it names act %d and stands at act %d", r.Act, s.Seq)
	}
	if Sum(r.Body) != r.SHA256 {
		say("its content does not match its sum")
	}
	if len(s.marks) == 0 {
		say("act %d does not know of it", s.Seq)
	} else {
		if s.marks[0] != (Mark{name, r.N, r.SHA256}) {
			say("act %d has another revision here", s.Seq)
		}
		s.marks = s.marks[1:]
	}
	var whole book.Book
	if err := Place(&whole, r.Kind, r.Body, true); err != nil {
		say("its content is not the definition of a %s", fault.Clip(r.Kind, fault.Echo))
	}
	t := s.things[name]
	if t == nil {
		t = &Thing{Name: name}
		s.things[name] = t
		s.names = append(s.names, name)
		s.touched[r.Kind] = true
	}
	if r.N != t.N+1 {
		say("revision number %d follows %d", r.N, t.N)
	}
	t.N, t.SHA256 = r.N, r.SHA256
	s.Revisions = r.ID
	if r.Kind == KindShop {
		s.Row, _ = RowOf(r.Body) // a shop that cannot be read has been told of above
	}
	return p
}

// Settle ends the act at hand.
func (s *State) Settle() []string {
	var p []string
	say := func(format string, v ...any) { p = append(p, fmt.Sprintf(format, v...)) }
	if len(s.marks) > 0 {
		say("%d of the revisions of act %d are missing", len(s.marks), s.Seq)
	}
	if s.wants != nil {
		say("the bytes of what act %d attaches are missing", s.Seq)
		s.wants = nil
	}
	turn := func(names []Name, retired bool) {
		for _, n := range names {
			t := s.things[n]
			if t == nil || t.Retired == retired {
				say("act %d retires or brings back what it cannot: %s", s.Seq, n)
				continue
			}
			t.Retired = retired
			s.touched[n.Kind] = true
		}
	}
	turn(s.body.Retired, true)
	turn(s.body.Back, false)
	for _, o := range s.body.Order {
		s.order[o.Kind] = o.Slugs
		s.touched[o.Kind] = true
	}
	for _, kind := range Kinds() {
		if Single(kind) || !s.touched[kind] {
			continue
		}
		var live []string
		for _, n := range s.names {
			if n.Kind == kind && !s.things[n].Retired {
				live = append(live, n.Slug)
			}
		}
		slices.Sort(live)
		if order := slices.Sorted(slices.Values(s.order[kind])); !slices.Equal(live, order) {
			say("act %d leaves an order of the %s list that does not fit it", s.Seq, kind)
			s.order[kind] = live
		}
	}
	if s.body.ToMake != nil {
		s.ToMake = *s.body.ToMake
		for i, m := range s.ToMake {
			if t := s.things[Name{KindProduct, m.Product}]; t == nil || t.Retired {
				say("act %d makes product %q in line %d, which is not there", s.Seq, fault.Clip(m.Product, fault.Echo), i+1)
			}
		}
	}
	s.body, s.marks = ActBody{}, nil
	clear(s.touched)
	return p
}

// Things returns the things in the order they first appeared.
func (s *State) Things() []Thing {
	var all []Thing
	for _, n := range s.names {
		all = append(all, *s.things[n])
	}
	return all
}

// Order returns the live things of a kind in the shop's order.
func (s *State) Order(kind string) []string { return s.order[kind] }

// Device returns the number of the device's last act.
func (s *State) Device(id string) int64 { return s.devices[id] }

// Devices returns the devices that did an act, sorted.
func (s *State) Devices() []string {
	var all []string
	for id := range s.devices {
		all = append(all, id)
	}
	slices.Sort(all)
	return all
}
