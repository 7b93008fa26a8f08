package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
)

// PackRequest is bags that were filled, or the correction of how many they were.
type PackRequest struct {
	Lot        string // that they are added to; empty: a new one, with the next number of the day
	New        bool   // Lot is a number that is taken for a new lot
	Product    string // id; empty: the lot's
	Batches    []string
	Bags       int64
	Tare       q.Kilograms   // of an empty bag; 0: the scale was set to nothing with the bag on it
	Scale      string        // id; empty: the one that is taken for this weight
	BestBefore string        // day on the label; empty: the lot's, else none
	Weighed    []q.Kilograms // what the scale showed of bags that were weighed once more
	Mass       q.Kilograms   // all that went in, if it was weighed; 0: bags by what one usually holds
	Why        string        // more goes in than is known to be left
	Packaging  []string      // lots of packaging that were opened for them, as far as it is said
	Corrects   int64         // act whose number of bags is put right; all else stays as it was there
}

// Pack writes down bags that were filled and returns their lot. They are taken to hold
// what a bag of the product holds on the average, unless all that went in was weighed.
//
// Faults: NotFound or Invalid, at the name of the field of the entry, for a product or a
// batch that is not there, a sweet of the product without a batch and a batch that is not
// of it, and for more than is known to be left of a batch while no reason is given;
// Conflict for a batch or a lot that is on hold.
func (a *App) Pack(ctx context.Context, r PackRequest, who, why string) (string, error) {
	return a.pack(ctx, r, store.Meta{Person: who, At: a.now(), Reason: why})
}

func (a *App) pack(ctx context.Context, r PackRequest, m store.Meta) (string, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return "", err
	}
	today := m.At.In(zoneOf(&b)).Format(time.DateOnly)
	e, err := a.packedAs(ctx, &b, r, today)
	if err != nil {
		return "", err
	}
	if r.Lot != "" {
		e.Ledger, e.Packed.Opens = r.Lot, e.Packed.Opens || r.New
		return r.Lot, a.writePacking(ctx, e, r.Corrects, m)
	}
	const tries = 5 // two tablets may take the same number in the same moment
	for i := 1; ; i++ {
		n, err := a.keeper.NextJot(ctx, store.Packing().Name, e.Packed.On)
		if err != nil {
			return "", err
		}
		e.Ledger, e.Packed.Opens = fmt.Sprintf("b%s-%d", e.Packed.On, n), true
		err = a.writePacking(ctx, e, 0, m)
		if err == nil || i == tries || fault.KindOf(err) != fault.KindConflict {
			return e.Ledger, err
		}
	}
}

// packedAs finds what is asked for in the book and in what is there.
func (a *App) packedAs(ctx context.Context, b *book.Book, r PackRequest, today string) (packing.Entry, error) {
	var was *packing.Packed
	on := today
	switch {
	case r.New:
		if err := packing.CheckLot(r.Lot); err != nil {
			return packing.Entry{}, err
		}
		if on = r.Lot[1 : 1+len(time.DateOnly)]; on > today {
			return packing.Entry{}, fault.Invalid("%s is not there yet", on).At("lot").WithHint("write down what was packed")
		}
	case r.Lot != "":
		kept, err := a.lotKept(ctx, r.Lot)
		if err != nil {
			return packing.Entry{}, err
		}
		if r.Corrects != 0 {
			return corrected(kept, r)
		}
		if was = packing.FoldBags(kept).Packed; was != nil {
			on, r.Product, r.BestBefore = was.On, cmp.Or(r.Product, was.Product), cmp.Or(r.BestBefore, was.BestBefore)
		}
	}
	p, ok := b.Product(r.Product)
	if !ok {
		return packing.Entry{}, fault.NotFound("no product %q in the shop book", fault.Clip(r.Product, fault.Echo)).At("packed.product")
	}
	if r.Bags < 1 || r.Bags > packing.MostBags {
		return packing.Entry{}, fault.Invalid("%d bags cannot be meant", r.Bags).At("packed.bags").WithHint("a whole number from 1 to %d", packing.MostBags)
	}
	h, err := a.packhouseOf(ctx, b, r.Batches)
	if err != nil {
		return packing.Entry{}, err
	}
	chosen, err := h.chosen(p, r.Batches)
	if err != nil {
		return packing.Entry{}, err
	}
	w, err := h.window(p, r.Tare, r.Scale)
	if err != nil {
		return packing.Entry{}, err
	}
	of, err := h.sharesOf(p, chosen, r)
	if err != nil {
		return packing.Entry{}, err
	}
	out := &packing.Packed{On: on, Product: p.ID, Bags: r.Bags, LabelMg: w.LabelMg, TareMg: w.TareMg, FromMg: w.FromMg, ToMg: w.ToMg, Scale: w.Scale, BestBefore: r.BestBefore, Of: of, Why: r.Why}
	if out.Opened, err = a.openedFor(ctx, b, p, r.Bags, r.Packaging, "packed.opened"); err != nil {
		return packing.Entry{}, err
	}
	for _, m := range r.Weighed {
		out.Weighed = append(out.Weighed, m.Milligrams())
	}
	return packing.Entry{Packed: out}, nil
}

// corrected is the entry of an act with another number of bags, what went in with them.
func corrected(kept []packing.Kept, r PackRequest) (packing.Entry, error) {
	for _, k := range kept {
		p := k.Entry.Packed
		if p == nil || k.Act != r.Corrects {
			continue
		}
		if r.Bags < 1 || r.Bags > packing.MostBags {
			return packing.Entry{}, fault.Invalid("%d bags cannot be meant", r.Bags).At("packed.bags").WithHint("a whole number from 1 to %d, or take the entry back", packing.MostBags)
		}
		n := *p
		n.Bags, n.Of, n.Opened = r.Bags, slices.Clone(p.Of), slices.Clone(p.Opened)
		for i, o := range p.Opened {
			n.Opened[i].Pieces = max(1, o.Pieces/p.Bags*r.Bags)
		}
		for i := range n.Of {
			n.Of[i].MassMg = max(1, int64(float64(p.Of[i].MassMg)*float64(r.Bags)/float64(p.Bags)+0.5))
		}
		return packing.Entry{Packed: &n}, nil
	}
	return packing.Entry{}, fault.NotFound("act %d packed nothing of lot %s", r.Corrects, r.Lot).At("corrects").WithHint("its page shows the act of each entry")
}

// goesTo is where an entry lets something go, empty for another ledger or nowhere that it
// says; false if nothing goes.
func goesTo(e packing.Entry) (packing.Out, bool) {
	switch {
	case e.Moved != nil:
		return e.Moved.To, true
	case e.Taken != nil:
		return e.Taken.To, true
	}
	return "", e.Packed != nil || e.Filled != nil || e.Emptied != nil
}

// onItsDay gives a correction that says no day the day of what it corrects: what went on
// one day is put right on another.
func (a *App) onItsDay(ctx context.Context, e packing.Entry, corrects int64) (packing.Entry, error) {
	moved, taken := e.Moved, e.Taken
	if corrects == 0 || (moved == nil || moved.On != "") && (taken == nil || taken.On != "") {
		return e, nil
	}
	kept, err := a.ledgerKept(ctx, e.Ledger)
	for _, k := range kept {
		switch was := k.Entry; {
		case k.Act != corrects:
		case moved != nil && was.Moved != nil:
			x := *moved
			x.On = was.Moved.On
			e.Moved = &x
		case taken != nil && was.Taken != nil:
			x := *taken
			x.On = was.Taken.On
			e.Taken = &x
		}
	}
	return e, err
}

// WritePacking writes an entry of the packing, corrects one, or takes one back. Faults
// are those of [packing.Follow], NotFound for a batch that has no record, and Conflict for
// what holds something of a stopped thing. A correction without a day keeps that of what
// it corrects.
func (a *App) WritePacking(ctx context.Context, e packing.Entry, corrects int64, who, why string) error {
	return a.writePacking(ctx, e, corrects, store.Meta{Person: who, At: a.now(), Reason: why})
}

func (a *App) writePacking(ctx context.Context, e packing.Entry, corrects int64, m store.Meta) error {
	e, err := a.onItsDay(ctx, e, corrects)
	if err != nil {
		return err
	}
	if err := e.Check(); err != nil {
		return err
	}
	if packing.IsLoose(e.Ledger) {
		if _, err := a.recordOf(ctx, e.Ledger[1:]); err != nil {
			return err
		}
	}
	if to, goes := goesTo(e); goes && corrects == 0 { // what has gone is put right, whatever was stopped since
		if err := a.mayLeave(ctx, e.Ledger, to); err != nil {
			return err
		}
	}
	_, err = store.Packing().Enter(ctx, a.keeper, e, corrects, m)
	return err
}

// HoldPacked freezes a bag lot or a jar at once; why may come later. One that is on hold
// stays so.
func (a *App) HoldPacked(ctx context.Context, id, why, who string) error {
	return a.holdPacked(ctx, id, why, store.Meta{Person: who, At: a.now()})
}

func (a *App) holdPacked(ctx context.Context, id, why string, m store.Meta) error {
	err := a.writePacking(ctx, packing.Entry{Ledger: id, Placed: &packing.Placed{As: packing.Hold, Why: why}}, 0, m)
	if fault.KindOf(err) != fault.KindConflict {
		return err
	}
	kept, err2 := a.ledgerKept(ctx, id)
	if err2 == nil && len(kept) > 0 && (packing.FoldBags(kept).Status == packing.Hold) {
		return nil // somebody was quicker
	}
	return err
}

// OpenBags opens bags of a lot into a jar: they leave the lot, and the jar holds their
// batches. It is two acts; if the second cannot be written the fault says that the first
// is.
func (a *App) OpenBags(ctx context.Context, lot string, bags int64, jar, who, why string) error {
	kept, err := a.lotKept(ctx, lot)
	if err != nil {
		return err
	}
	l := packing.FoldBags(kept)
	b, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	on := a.Today(b)
	out := packing.Entry{Ledger: lot, Moved: &packing.Moved{On: on, Bags: bags, To: packing.ToJar, Jar: jar}}
	if err := packing.Follow(kept, out, 0); err != nil {
		return err
	}
	in := packing.Entry{Ledger: jar, Filled: &packing.Filled{On: on, Lot: lot, Bags: bags}}
	for _, s := range l.Holds() {
		s.MassMg = max(1, int64(float64(s.MassMg)*float64(bags)/float64(l.Balance.Packed)+0.5))
		in.Filled.Of = append(in.Filled.Of, s)
	}
	there, err := a.ledgerKept(ctx, jar)
	if err != nil {
		return err
	}
	if err := packing.Follow(there, in, 0); err != nil {
		return err
	}
	if err := a.WritePacking(ctx, out, 0, who, why); err != nil {
		return err
	}
	if err := a.WritePacking(ctx, in, 0, who, why); err != nil {
		text, _ := fault.Said(err)
		return fault.Conflict("the bags are written out of lot %s, and not into %s: %s", lot, jar, text).At("jar").WithHint("write the jar down by itself")
	}
	return nil
}

// FillRequest is sweets that went into a jar.
type FillRequest struct {
	Jar   string
	Batch string
	Mass  q.Kilograms
	Why   string // more goes in than is known to be left
}

// FillJar writes down what went into a jar. Faults are those of [App.Pack].
func (a *App) FillJar(ctx context.Context, r FillRequest, who, why string) error {
	return a.fillJar(ctx, r, store.Meta{Person: who, At: a.now(), Reason: why})
}

func (a *App) fillJar(ctx context.Context, r FillRequest, m store.Meta) error {
	b, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	h, err := a.packhouseOf(ctx, &b, []string{r.Batch})
	if err != nil {
		return err
	}
	x, ok := h.batch(r.Batch)
	if !ok {
		return fault.NotFound("batch %s has no record", fault.Clip(r.Batch, fault.Echo)).At("filled.of")
	}
	if err := x.mayPack("filled.of"); err != nil {
		return err
	}
	if err := x.enough(b.Shop.Units, r.Mass.Milligrams(), r.Why, "filled.why"); err != nil {
		return err
	}
	f := &packing.Filled{On: m.At.In(zoneOf(&b)).Format(time.DateOnly), Of: []packing.Share{{Batch: r.Batch, Recipe: x.begun.Recipe, MassMg: r.Mass.Milligrams()}}, Why: r.Why}
	return a.writePacking(ctx, packing.Entry{Ledger: r.Jar, Filled: f}, 0, m)
}

// ledgerKept returns what is kept of a ledger, nothing if there is none.
func (a *App) ledgerKept(ctx context.Context, id string) ([]packing.Kept, error) {
	found, err := store.Packing().Find(ctx, a.keeper, store.FindJots{Subject: id, Limit: 1})
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return found[0], nil
}

// lotKept returns what is kept of a bag lot. NotFound if there is none.
func (a *App) lotKept(ctx context.Context, id string) ([]packing.Kept, error) {
	if err := packing.CheckLot(id); err != nil {
		return nil, err
	}
	kept, err := a.ledgerKept(ctx, id)
	if err == nil && len(kept) == 0 {
		err = fault.NotFound("there is no bag lot %s", id).At("lot").WithHint("the packing page lists those that are there")
	}
	return kept, err
}

// recordOf returns the record of a batch. NotFound if it was not begun.
func (a *App) recordOf(ctx context.Context, id string) (record.Record, error) {
	if err := record.CheckID(id); err != nil {
		return record.Record{}, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: id, Limit: 1})
	if err == nil && (len(list) == 0 || list[0].Begun() == nil) {
		err = fault.NotFound("batch %s has no record", id).At("batch").WithHint("begin one under Batch records")
	}
	if err != nil {
		return record.Record{}, err
	}
	return list[0], nil
}

// packhouse is what there is to pack, and what is packed of it.
type packhouse struct {
	b       *book.Book
	today   string
	ledgers [][]packing.Kept // newest first; all that may hold something of the batches
	bags    []packing.Bags   // of them, as they stand
	batches []trayed         // oldest first
	records []record.Record  // of them
	cut     bool             // there are more ledgers than are looked at
}

// trayed is a batch with what is left of it.
type trayed struct {
	id    string
	begun *record.Begun
	made  *record.Made
	place record.Placed
	loose packing.Loose
	fresh bool // begun within days: something of it may be there though it was not weighed
}

// The packing looks back over six weeks of batches, over one for those that were not
// weighed; what is older and still there is found by its number. (Judgement: drops are
// packed within days.)
const (
	packingDays  = 42
	freshDays    = 7
	mostPackings = 3000
)

// packhouseOf gathers what there is now, back to the oldest of the batches that are named.
func (a *App) packhouseOf(ctx context.Context, b *book.Book, named []string) (*packhouse, error) {
	h := &packhouse{b: b, today: a.Today(*b)}
	day, err := time.Parse(time.DateOnly, h.today)
	if err != nil {
		return nil, fault.Internal(err, "today is no date")
	}
	fresh := day.AddDate(0, 0, -freshDays).Format(time.DateOnly)
	since := day.AddDate(0, 0, -packingDays).Format(time.DateOnly)
	from := since
	for _, id := range named {
		if record.CheckID(id) == nil {
			from = min(from, id[:len(time.DateOnly)])
		}
	}
	recent, err := store.Packing().Find(ctx, a.keeper, store.FindJots{From: from, Limit: mostPackings + 1})
	if err != nil {
		return nil, err
	}
	live, err := store.Packing().Find(ctx, a.keeper, store.FindJots{Live: true, Limit: mostPackings + 1})
	if err != nil {
		return nil, err
	}
	h.cut = len(recent) > mostPackings || len(live) > mostPackings
	seen := map[string]bool{}
	for _, kept := range append(recent, live...) {
		if id := kept[0].Entry.Ledger; !seen[id] {
			seen[id] = true
			h.ledgers = append(h.ledgers, kept)
			if packing.IsBags(id) {
				h.bags = append(h.bags, packing.FoldBags(kept))
			}
		}
	}
	list, err := a.keeper.Records(ctx, store.Find{From: since, To: h.today, Limit: mostRecords})
	if err != nil {
		return nil, err
	}
	for _, id := range named {
		if record.CheckID(id) != nil || slices.ContainsFunc(list, func(r record.Record) bool { return r.ID == id }) {
			continue
		}
		more, err := a.keeper.Records(ctx, store.Find{Batch: id, Limit: 1})
		if err != nil {
			return nil, err
		}
		list = append(list, more...)
	}
	slices.Reverse(list)
	h.records = list
	for _, r := range list {
		if r.Begun() == nil {
			continue
		}
		x := trayed{id: r.ID, begun: r.Begun(), made: r.Made(), place: r.Place(), fresh: r.Begun().On >= fresh}
		made := int64(0)
		if x.made != nil {
			made = x.made.SoundMg
		}
		x.loose = packing.LooseOf(r.ID, made, h.ledgers)
		h.batches = append(h.batches, x)
	}
	return h, a.freeze(ctx, h)
}

func (h *packhouse) batch(id string) (trayed, bool) {
	i := slices.IndexFunc(h.batches, func(x trayed) bool { return x.id == id })
	if i < 0 {
		return trayed{}, false
	}
	return h.batches[i], true
}

// weighed reports whether the sound pieces were: without that nobody knows what is left.
func (x trayed) weighed() bool { return x.loose.MadeMg > 0 }

// packable reports whether something of the batch can be packed.
func (x trayed) packable() bool {
	return x.place.As.Packs() && (x.loose.LeftMg > 0 || !x.weighed() && x.fresh)
}

// mayPack refuses a batch that is put aside.
func (x trayed) mayPack(field string) error {
	if x.place.As.Packs() {
		return nil
	}
	says := map[record.Place]string{record.OnHold: "is on hold", record.Reboiled: "goes back into a kettle", record.Binned: "goes into the bin"}[x.place.As]
	if x.place.Why != "" {
		says += ": " + x.place.Why
	}
	return fault.Conflict("batch %s %s", x.id, says).At(field).WithHint("take another batch; its record says what is to be done with this one")
}

// enough refuses more than is known to be left, unless it is said why.
func (x trayed) enough(u q.Reader, mg int64, why, field string) error {
	if mg <= x.loose.LeftMg || !x.weighed() || why != "" {
		return nil
	}
	return fault.Invalid("%s of batch %s would go in, and %s is known to be left", u.Mass(kilograms(mg)), x.id, u.Mass(kilograms(x.loose.LeftMg))).At(field).
		WithHint("say why there was more, or take another batch too")
}

// chosen returns the batches that are named, refusing what does not make the product.
func (h *packhouse) chosen(p bag.Product, ids []string) ([]trayed, error) {
	var out []trayed
	for i, id := range ids {
		if slices.Contains(ids[:i], id) {
			continue
		}
		x, ok := h.batch(id)
		switch {
		case !ok:
			return nil, fault.NotFound("batch %s has no record", fault.Clip(id, fault.Echo)).At("packed.of").WithHint("begin one under Batch records")
		case !slices.ContainsFunc(p.Parts, func(part bag.Part) bool { return part.Recipe == x.begun.Recipe }):
			return nil, fault.Invalid("batch %s is not of a sweet that is in %s", id, p.Name).At("packed.of").WithHint("take a batch of its recipes")
		}
		if err := x.mayPack("packed.of"); err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	for _, part := range p.Parts {
		if !slices.ContainsFunc(out, func(x trayed) bool { return x.begun.Recipe == part.Recipe }) {
			r, _ := h.b.Recipe(part.Recipe)
			return nil, fault.Invalid("it is not said which batch of %s went in", cmp.Or(r.Name, part.Recipe)).At("packed.of").WithHint("choose one")
		}
	}
	return out, nil
}

// pieceKg is what a piece of a sweet weighs: as counted of the last batch of which that
// was done, else by its rolls. False: nobody knows.
func (h *packhouse) pieceKg(recipe string) (float64, bool) {
	for _, x := range slices.Backward(h.batches) {
		if x.begun.Recipe != recipe || x.made == nil {
			continue
		}
		if n, ok := x.made.PieceCount(); ok && n > 0 && x.made.SoundMg > 0 {
			return kg(x.made.SoundMg) / n, true
		}
	}
	r, ok := h.b.Recipe(recipe)
	if !ok {
		return 0, false
	}
	rolls, ok := h.b.RollsOf(r.Rolls)
	piece := float64(rolls.PieceMass()) * (1 + float64(r.FinishGain))
	return piece, ok && piece > 0
}

// sweets are the portions of the recipes of products, with their pieces.
func (h *packhouse) sweets(products ...bag.Product) ([]bag.Sweet, error) {
	var out []bag.Sweet
	seen := map[string]bool{}
	for _, p := range products {
		for _, part := range p.Parts {
			r, ok := h.b.Recipe(part.Recipe)
			if !ok || seen[part.Recipe] {
				continue
			}
			seen[part.Recipe] = true
			piece, ok := h.pieceKg(part.Recipe)
			if !ok {
				return nil, fault.Invalid("nobody knows what a piece of %s weighs", r.Name).At("recipe").WithHint("give its rolls the mass of a piece, or count a sample of a batch")
			}
			for _, portion := range r.Portions {
				out = append(out, bag.Sweet{Recipe: r.ID, Portion: portion.ID, Share: portion.Share, Piece: q.Kilograms(piece)})
			}
		}
	}
	return out, nil
}

// sweetKey names a sweet that can be told apart.
type sweetKey struct{ recipe, portion string }

// perBag is what a bag of a product holds of each sweet on the average [kg].
func (h *packhouse) perBag(p bag.Product) (map[sweetKey]float64, error) {
	sweets, err := h.sweets(p)
	if err != nil {
		return nil, err
	}
	blend, err := bag.NewBlend(p, sweets)
	if err != nil {
		return nil, err
	}
	out := map[sweetKey]float64{}
	for _, x := range blend.Makeup(sweets).Holdings {
		out[sweetKey{x.Recipe, x.Portion}] += float64(x.Mass)
	}
	return out, nil
}

// sharesOf lays what went into the bags on the batches: of each sweet the first batch
// that is named is used up before the next is begun.
func (h *packhouse) sharesOf(p bag.Product, chosen []trayed, r PackRequest) ([]packing.Share, error) {
	sweets, err := h.perBag(p)
	if err != nil {
		return nil, err
	}
	each, scale, all := map[string]float64{}, float64(r.Bags), 0.0
	for key, m := range sweets {
		each[key.recipe] += m
		all += m
	}
	if r.Mass > 0 {
		if float64(r.Mass) < float64(p.Net)*float64(r.Bags)*0.5 {
			return nil, fault.Invalid("%s is not what %d bags hold", h.b.Shop.Units.Mass(r.Mass), r.Bags).At("packed.mass").WithHint("weigh all that went in, or leave it out")
		}
		scale = float64(r.Mass) / all
	}
	var out []packing.Share
	for _, part := range p.Parts {
		if slices.ContainsFunc(out, func(s packing.Share) bool { return s.Recipe == part.Recipe }) {
			continue // two portions of one boil
		}
		of := slices.DeleteFunc(slices.Clone(chosen), func(x trayed) bool { return x.begun.Recipe != part.Recipe })
		need := max(1, q.Kilograms(each[part.Recipe]*scale).Milligrams())
		for i, x := range of {
			mg := need
			if i < len(of)-1 && x.weighed() {
				mg = min(mg, x.loose.LeftMg)
			}
			if mg <= 0 {
				continue
			}
			if err := x.enough(h.b.Shop.Units, mg, r.Why, "packed.why"); err != nil {
				return nil, err
			}
			if need -= mg; mg > 0 {
				out = append(out, packing.Share{Batch: x.id, Recipe: part.Recipe, MassMg: mg})
			}
		}
	}
	return out, nil
}
