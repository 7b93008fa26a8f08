package packing

import (
	"cmp"
	"slices"
	"time"

	"slabside/internal/journal"
)

// Outs is what went out, by where it went: bags, or milligrams of loose sweets.
type Outs struct {
	Counter    int64 `json:"counter_sale"`
	Order      int64 `json:"order"`
	Parcel     int64 `json:"parcel"`
	Sample     int64 `json:"sample"`
	Tasting    int64 `json:"tasting"`
	Gift       int64 `json:"gift"`
	Waste      int64 `json:"waste"`
	Opened     int64 `json:"opened"`      // bags, into a jar
	CookedBack int64 `json:"cooked_back"` // loose sweets
}

// at is the figure of one way out.
func (o *Outs) at(to Out) *int64 {
	switch to {
	case ToOrder:
		return &o.Order
	case ToParcel:
		return &o.Parcel
	case ToSample:
		return &o.Sample
	case ToTasting:
		return &o.Tasting
	case ToGift:
		return &o.Gift
	case ToWaste:
		return &o.Waste
	case ToJar:
		return &o.Opened
	case ToCookBack:
		return &o.CookedBack
	}
	return &o.Counter
}

// Of returns what went out one way.
func (o Outs) Of(to Out) int64 { return *o.at(to) }

// Sum returns all that went out.
func (o Outs) Sum() int64 {
	return o.Counter + o.Order + o.Parcel + o.Sample + o.Tasting + o.Gift + o.Waste + o.Opened + o.CookedBack
}

// Balance is what became of a bag lot, in bags. At any time
//
//	packed − out − unaccounted = on hand.
//
// Unaccounted is what nobody wrote down: what counts found missing, less what they found
// too much. It may be below zero.
type Balance struct {
	Packed      int64 `json:"packed"`
	Out         Outs  `json:"out"`
	Unaccounted int64 `json:"unaccounted"`
	OnHand      int64 `json:"on_hand"`
}

// Move is an entry that stands, with what it did.
type Move struct {
	Kept
	First       time.Time // when what it corrects was first written
	Unaccounted int64     // that it brought to light [bags, or mg]
	OnHand      int64     // after it [bags, or mg]

	order int64 // act that was first written of what it says
}

// standing returns the entries that stand as moves, in their order.
func standing(kept []Kept) []Move {
	first := map[int64]Kept{}
	for _, k := range kept {
		if first[k.Act] = k; k.Corrects != 0 {
			first[k.Act] = first[k.Corrects]
		}
	}
	var out []Move
	for _, k := range journal.Standing(kept) {
		out = append(out, Move{Kept: k, First: first[k.Act].At, order: first[k.Act].Act})
	}
	return out
}

// placeOf follows what may be done: that goes by the entries in the order in which they
// came, and no correction changes it.
func placeOf(kept []Kept) (Status, string) {
	as, why := Usable, ""
	for _, k := range kept {
		if p := k.Entry.Placed; p != nil && (p.As != as || p.Why != "") {
			as, why = p.As, p.Why
		}
	}
	return as, why
}

// Bags is a bag lot as it stands.
type Bags struct {
	ID      string
	Entries []Kept // all, in the order in which they were taken in
	Moves   []Move // what stands, each in the place of the first that it corrects

	Packed *Packed // that opened it, as it stands; nil: it was taken back
	Balance
	Status  Status
	Why     string
	Counted time.Time // last; zero: never
}

// FoldBags reads the entries of a bag lot, in the order in which they were taken in.
// More bags out than there were is no refusal, since they went: it shows that the ledger
// knew too little, and stands as unaccounted below zero.
func FoldBags(kept []Kept) Bags {
	b := Bags{Entries: kept, Moves: standing(kept)}
	if len(kept) > 0 {
		b.ID = kept[0].Entry.Ledger
	}
	b.Status, b.Why = placeOf(kept)
	for i := range b.Moves {
		b.move(&b.Moves[i])
	}
	return b
}

func (b *Bags) move(m *Move) {
	switch e := m.Entry; {
	case e.Packed != nil:
		if b.Packed == nil {
			b.Packed = e.Packed
		}
		b.Balance.Packed += e.Packed.Bags
		b.OnHand += e.Packed.Bags
	case e.Moved != nil:
		*b.Out.at(e.Moved.To) += e.Moved.Bags
		b.OnHand -= e.Moved.Bags
	case e.Counted != nil:
		m.Unaccounted = b.OnHand - e.Counted.Bags
		b.Counted = m.First
	}
	if b.OnHand < 0 && m.Entry.Counted == nil {
		m.Unaccounted = b.OnHand // no shelf holds less than nothing
	}
	b.Unaccounted += m.Unaccounted
	b.OnHand -= m.Unaccounted
	m.OnHand = b.OnHand
}

// Free reports whether bags of the lot may go out: some are there, and nothing stops them.
func (b Bags) Free() bool { return b.Packed != nil && b.Status == Usable && b.OnHand > 0 }

// Holds returns the batches that are in the lot, all that was ever packed of it: what a
// trace needs.
func (b Bags) Holds() []Share {
	var all []Share
	for _, m := range b.Moves {
		if p := m.Entry.Packed; p != nil {
			all = append(all, p.Of...)
		}
	}
	return merged(all)
}

// Weighed returns what bags of the lot held when they were weighed once more, the bag
// taken off [mg].
func (b Bags) Weighed() []int64 {
	var out []int64
	for _, m := range b.Moves {
		if p := m.Entry.Packed; p != nil {
			for _, mg := range p.Weighed {
				out = append(out, mg-p.TareMg)
			}
		}
	}
	return out
}

// merged adds up the masses of each batch, in the order in which they come.
func merged(all []Share) []Share {
	out := []Share{}
	for _, s := range all {
		i := slices.IndexFunc(out, func(x Share) bool { return x.Batch == s.Batch })
		if i < 0 {
			out = append(out, s)
		} else {
			out[i].MassMg += s.MassMg
		}
	}
	return out
}

// JarBalance is what became of what was in a jar [mg]. At any time
//
//	filled − out − unaccounted = on hand.
//
// Of a jar that was emptied, what no entry says was sold over the counter.
type JarBalance struct {
	FilledMg      int64 `json:"filled_mg"`
	OutMg         Outs  `json:"out_mg"`
	UnaccountedMg int64 `json:"unaccounted_mg"`
	OnHandMg      int64 `json:"on_hand_mg"`
}

// Jar is a jar as it stands.
type Jar struct {
	ID      string
	Entries []Kept
	Moves   []Move

	JarBalance
	Status  Status
	Why     string
	Filled  string // day of the last filling; empty: never
	Emptied bool   // nothing was put in since it was emptied
	Fills   int    // since it was last washed

	holds []Share
	lots  []string
}

// FoldJar reads the entries of a jar, in the order in which they were taken in.
func FoldJar(kept []Kept) Jar {
	j := Jar{Entries: kept, Moves: standing(kept), Emptied: true}
	if len(kept) > 0 {
		j.ID = kept[0].Entry.Ledger
	}
	j.Status, j.Why = placeOf(kept)
	for i := range j.Moves {
		j.move(&j.Moves[i])
	}
	return j
}

func (j *Jar) move(m *Move) {
	switch e := m.Entry; {
	case e.Filled != nil:
		for _, s := range e.Filled.Of {
			j.FilledMg += s.MassMg
			j.OnHandMg += s.MassMg
		}
		j.holds = merged(append(j.holds, e.Filled.Of...))
		if lot := e.Filled.Lot; lot != "" && !slices.Contains(j.lots, lot) {
			j.lots = append(j.lots, lot)
		}
		j.Filled, j.Emptied = e.Filled.On, false
		j.Fills++
	case e.Taken != nil:
		*j.OutMg.at(e.Taken.To) += e.Taken.MassMg
		j.OnHandMg -= e.Taken.MassMg
	case e.Left != nil:
		m.Unaccounted = j.OnHandMg - e.Left.FoundMg
	case e.Emptied != nil:
		j.OutMg.Counter += j.OnHandMg
		j.OnHandMg, j.Emptied = 0, true
	case e.Washed != nil:
		j.holds, j.lots, j.Fills = nil, nil, 0
	}
	if j.OnHandMg < 0 && m.Entry.Left == nil {
		m.Unaccounted = j.OnHandMg
	}
	j.UnaccountedMg += m.Unaccounted
	j.OnHandMg -= m.Unaccounted
	m.OnHand = j.OnHandMg
}

// Holds returns the batches of which something may be in the jar: all that went in since
// it was last washed.
func (j Jar) Holds() []Share { return append([]Share{}, j.holds...) }

// Lots returns the lots of bags that were opened into the jar since it was last washed.
func (j Jar) Lots() []string { return slices.Clone(j.lots) }

// Blend reports whether the jar was filled anew without having been emptied and washed:
// it is of all the batches that it holds.
func (j Jar) Blend() bool { return j.Fills > 1 }

// Loose is what became of the sound pieces of a batch [mg]. At any time
//
//	made = packed + jars + out + unaccounted + left.
type Loose struct {
	Batch         string `json:"batch"`
	MadeMg        int64  `json:"made_mg"` // sound pieces, as the record says; 0: they were not weighed
	PackedMg      int64  `json:"packed_mg"`
	JarsMg        int64  `json:"jars_mg"`
	OutMg         Outs   `json:"out_mg"`
	UnaccountedMg int64  `json:"unaccounted_mg"`
	LeftMg        int64  `json:"left_mg"`
}

// LooseOf reads what became of a batch out of all ledgers that may hold something of it,
// each entry in the place of the first that it corrects. Sweets that came into a jar out
// of bags were packed before and do not count again.
func LooseOf(batch string, madeMg int64, ledgers [][]Kept) Loose {
	var moves []Move
	for _, kept := range ledgers {
		moves = append(moves, standing(kept)...)
	}
	slices.SortStableFunc(moves, func(a, b Move) int { return cmp.Compare(a.order, b.order) })
	l := Loose{Batch: batch, MadeMg: madeMg, LeftMg: madeMg}
	for _, m := range moves {
		l.move(m.Entry)
	}
	return l
}

func (l *Loose) move(e Entry) {
	open, own := int64(0), e.Ledger == LooseID(l.Batch)
	switch {
	case e.Packed != nil:
		mg := massOf(e.Packed.Of, l.Batch)
		l.PackedMg, l.LeftMg = l.PackedMg+mg, l.LeftMg-mg
	case e.Filled != nil && e.Filled.Lot == "":
		mg := massOf(e.Filled.Of, l.Batch)
		l.JarsMg, l.LeftMg = l.JarsMg+mg, l.LeftMg-mg
	case own && e.Taken != nil:
		*l.OutMg.at(e.Taken.To) += e.Taken.MassMg
		l.LeftMg -= e.Taken.MassMg
	case own && e.Left != nil:
		open = l.LeftMg - e.Left.FoundMg
	}
	if l.LeftMg < 0 && !(own && e.Left != nil) {
		open = l.LeftMg // no tray holds less than nothing
	}
	l.UnaccountedMg += open
	l.LeftMg -= open
}

func massOf(of []Share, batch string) int64 {
	mg := int64(0)
	for _, s := range of {
		if s.Batch == batch {
			mg += s.MassMg
		}
	}
	return mg
}

// Holding returns the bag lots and jars, by their ids, of which something of a batch may
// be in; a bag lot that has gone out whole is among them.
func Holding(batch string, ledgers [][]Kept) []string {
	var out []string
	for _, kept := range ledgers {
		if len(kept) == 0 {
			continue
		}
		id, of := kept[0].Entry.Ledger, []Share(nil)
		switch {
		case IsBags(id):
			of = FoldBags(kept).Holds()
		case IsJar(id):
			of = FoldJar(kept).Holds()
		}
		if massOf(of, batch) > 0 {
			out = append(out, id)
		}
	}
	return out
}
