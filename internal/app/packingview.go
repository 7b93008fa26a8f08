package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/source"
	"slabside/internal/store"
)

// PackingResult is what there is to pack today and what is packed; JSON is the contract
// of the pack command.
type PackingResult struct {
	On       string      `json:"on"`
	Lines    []PackLine  `json:"lines"`   // what is asked for, product by product in the order of the lines
	Batches  []LooseLine `json:"batches"` // of which something is left, or nobody knows; the oldest first
	Lots     []BagLine   `json:"lots"`    // of late, the newest first
	Jars     []JarLine   `json:"jars"`
	Notes    []TapNote   `json:"notes"` // tapped in vain, to be read
	Cautions []Caution   `json:"cautions"`
	Units    q.Reader    `json:"units"`
}

// PackLine is a product that is asked for.
type PackLine struct {
	Product string   `json:"product"`
	Name    string   `json:"name"`
	NetMg   int64    `json:"net_mg"`
	Asked   int      `json:"asked"`  // bags, by lines that are due
	Must    int      `json:"must"`   // of them, by orders
	Stock   int      `json:"stock"`  // usable bags of earlier days
	Today   int      `json:"today"`  // packed today
	Left    int      `json:"left"`   // to make
	Fills   int      `json:"fills"`  // that the loose sweets would fill, without regard to other products
	Short   []string `json:"no_of"`  // names of sweets of which nothing that is weighed is left
	Batches []string `json:"offers"` // one of each sweet, the oldest that can be packed
}

// LooseLine is a batch with what became of its sound pieces.
type LooseLine struct {
	packing.Loose
	On      string       `json:"on"`
	Recipe  string       `json:"recipe"`
	Name    string       `json:"name"`
	Place   record.Place `json:"place"`
	Why     string       `json:"why"`     // it is where it is
	Weighed bool         `json:"weighed"` // its sound pieces were; else nobody knows what is left
	Packs   bool         `json:"packs"`   // something of it may be packed
}

// BagLine is a bag lot as it stands.
type BagLine struct {
	Lot        string `json:"lot"`
	On         string `json:"on"`
	Product    string `json:"product"`
	Name       string `json:"name"`
	LabelMg    int64  `json:"label_mg"`
	BestBefore string `json:"best_before"` // on the label; empty: none
	TareMg     int64  `json:"tare_mg"`     // of the bags that were packed last, as the three after it
	FromMg     int64  `json:"from_mg"`
	ToMg       int64  `json:"to_mg"`
	Scale      string `json:"scale"`
	packing.Balance
	Status  packing.Status   `json:"status"`
	Why     string           `json:"why"`
	Of      []packing.Share  `json:"of"`    // the batches in it
	Aside   []string         `json:"aside"` // of them those that are on hold now, or go to waste
	Counted bool             `json:"counted"`
	Opened  []packing.Opened `json:"opened"` // packaging that went with them, by its lots
}

// BagLot is a bag lot with all that is written of it.
type BagLot struct {
	BagLine
	Frozen   string         `json:"frozen"` // what stops it that is in it; empty: nothing does
	Check    *packing.Check `json:"check"`  // of bags that were weighed once more; null: none were
	Rule     string         `json:"rule"`   // of the market, by which they are judged; empty: none is known
	Entries  []BagEntry     `json:"entries"`
	Cautions []Caution      `json:"cautions"`
	Sources  []string       `json:"sources"`
	Units    q.Reader       `json:"units"`
}

// BagEntry is an entry of a ledger of the packing.
type BagEntry struct {
	packing.Kept
	Corrected   bool  `json:"corrected"`   // by a later one
	Stands      bool  `json:"stands"`      // it counts
	Unaccounted int64 `json:"unaccounted"` // that it brought to light [bags; of jars mg]
	OnHand      int64 `json:"on_hand"`     // after it [bags; of jars mg]; 0 where it does not count
}

// JarLine is a jar as it stands.
type JarLine struct {
	Jar string `json:"jar"`
	packing.JarBalance
	Status  packing.Status  `json:"status"`
	Why     string          `json:"why"`
	Of      []packing.Share `json:"of"`    // the batches of which something may be in it: all since it was last washed
	Blend   bool            `json:"blend"` // it was filled anew without having been emptied and washed
	Emptied bool            `json:"emptied"`
	Washed  bool            `json:"washed"` // nothing was put in since
	Filled  string          `json:"filled"` // day of the last filling; empty: never
}

// JarResult is a jar with all that is written of it.
type JarResult struct {
	JarLine
	Frozen   string     `json:"frozen"` // what stops it that is in it; empty: nothing does
	Entries  []BagEntry `json:"entries"`
	Cautions []Caution  `json:"cautions"`
	Units    q.Reader   `json:"units"`
}

// BagQuery says which bag lots are looked for; what is empty does not matter.
type BagQuery struct {
	Product, From, To string
	Live              bool   // those of which bags are left
	Before            string // number of a lot: those that come after it in the list
	Limit             int
}

// BagList is a page of bag lots, the newest first.
type BagList struct {
	Lots []BagLine `json:"lots"`
	Next string    `json:"next,omitempty"` // what to give as before for those that follow
}

// recentLots is how many bag lots the page shows.
const recentLots = 12

// PackingDay returns what there is to pack and what is packed.
func (a *App) PackingDay(ctx context.Context) (*PackingResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	h, err := a.packhouseOf(ctx, &b, nil)
	if err != nil {
		return nil, err
	}
	out := &PackingResult{On: h.today, Lines: h.lines(), Batches: []LooseLine{}, Lots: []BagLine{}, Jars: []JarLine{}, Notes: tapNotes(h.ledgers), Cautions: []Caution{}, Units: b.Shop.Units}
	for _, x := range h.batches {
		if line := h.looseLine(x); line.LeftMg > 0 || line.Packs {
			out.Batches = append(out.Batches, line)
		}
	}
	aside := h.aside()
	for _, kept := range h.ledgers {
		switch id := kept[0].Entry.Ledger; {
		case packing.IsBags(id) && len(out.Lots) < recentLots:
			out.Lots = append(out.Lots, bagLine(&b, packing.FoldBags(kept), aside))
		case packing.IsJar(id):
			out.Jars = append(out.Jars, jarLine(packing.FoldJar(kept)))
		}
	}
	slices.SortStableFunc(out.Lots, func(x, y BagLine) int { return cmp.Compare(y.On, x.On) })
	if h.cut {
		out.Cautions = append(out.Cautions, Caution{Code: codeCut, Text: fmt.Sprintf("there are more lots and jars than the %d that are looked at", mostPackings)})
	}
	return out, nil
}

// PackedFor is what is asked for of a product, whether a line asks for it or not.
//
// Faults: NotFound for a product that is not in the book.
func (a *App) PackedFor(ctx context.Context, product string) (*PackLine, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	p, ok := b.Product(product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", fault.Clip(product, fault.Echo)).At("product")
	}
	h, err := a.packhouseOf(ctx, &b, nil)
	if err != nil {
		return nil, err
	}
	line := h.line(p)
	return &line, nil
}

// lines are the products that the lines to make ask for.
func (h *packhouse) lines() []PackLine {
	out := []PackLine{}
	for _, l := range h.b.ToMake {
		p, ok := h.b.Product(l.Product)
		if ok && !slices.ContainsFunc(out, func(x PackLine) bool { return x.Product == p.ID }) && (l.Due == "" || l.Due <= h.today) {
			out = append(out, h.line(p))
		}
	}
	return out
}

// line says what is asked for of a product and what there is: bags of earlier days and
// those packed today count against what the lines that are due ask for.
func (h *packhouse) line(p bag.Product) PackLine {
	out := PackLine{Product: p.ID, Name: p.Name, NetMg: p.Net.Milligrams(), Short: []string{}, Batches: []string{}}
	for _, l := range h.b.ToMake {
		if l.Product != p.ID || l.Due > h.today {
			continue
		}
		if out.Asked += l.Bags; l.Must {
			out.Must += l.Bags
		}
	}
	for _, x := range h.lots(p.ID) {
		switch {
		case x.Packed != nil && x.Packed.On == h.today:
			out.Today += int(x.Balance.Packed)
		case x.Free() && !h.badLot(x):
			out.Stock += int(x.OnHand)
		}
	}
	out.Stock += h.listed(p.ID)
	out.Left = max(0, out.Asked-out.Stock-out.Today)
	out.Fills = h.fills(p, h.looseKg())
	for _, part := range p.Parts {
		i := slices.IndexFunc(h.batches, func(x trayed) bool { return x.begun.Recipe == part.Recipe && x.packable() && x.weighed() })
		if i < 0 {
			i = slices.IndexFunc(h.batches, func(x trayed) bool { return x.begun.Recipe == part.Recipe && x.packable() })
			out.Short = append(out.Short, entry.NameOf(h.b, store.KindRecipe, part.Recipe))
		}
		if i >= 0 && !slices.Contains(out.Batches, h.batches[i].id) {
			out.Batches = append(out.Batches, h.batches[i].id)
		}
	}
	return out
}

// lots are the bag lots of a product, the newest first.
func (h *packhouse) lots(product string) []packing.Bags {
	return slices.DeleteFunc(slices.Clone(h.bags), func(x packing.Bags) bool { return x.Packed == nil || x.Packed.Product != product })
}

// listed is how many bags of a product the shop book lists; it counts as long as no bag
// of the product was ever packed here.
func (h *packhouse) listed(product string) int {
	n := 0
	if len(h.lots(product)) > 0 {
		return 0
	}
	for _, s := range h.b.Stock {
		if s.Product == product {
			n += s.Bags
		}
	}
	return n
}

// aside are the batches that may not be sold as they are.
func (h *packhouse) aside() map[string]bool {
	out := map[string]bool{}
	for _, x := range h.batches {
		if !x.place.As.Packs() {
			out[x.id] = true
		}
	}
	return out
}

// badLot reports whether a batch in the lot is put aside.
func (h *packhouse) badLot(x packing.Bags) bool {
	aside := h.aside()
	return slices.ContainsFunc(x.Holds(), func(s packing.Share) bool { return aside[s.Batch] })
}

// looseKg is what is left loose of each sweet that may be packed [kg], a batch in the
// portions as made. A recipe that no batch was weighed of is as the shop book lists it.
func (h *packhouse) looseKg() map[sweetKey]float64 {
	out, known := map[sweetKey]float64{}, map[string]bool{}
	for _, x := range h.batches {
		if !x.weighed() {
			continue
		}
		if known[x.begun.Recipe] = true; x.packable() {
			h.share(out, x.begun.Recipe, "", kg(x.loose.LeftMg))
		}
	}
	for _, s := range h.b.Stock {
		if s.Recipe != "" && !known[s.Recipe] {
			h.share(out, s.Recipe, s.Portion, float64(s.Loose))
		}
	}
	return out
}

// share adds a mass of a recipe to that of its sweets: of one portion, or of all as made.
func (h *packhouse) share(to map[sweetKey]float64, recipe, portion string, m float64) {
	if portion != "" {
		to[sweetKey{recipe, portion}] += m
		return
	}
	r, _ := h.b.Recipe(recipe)
	for _, x := range r.Portions {
		to[sweetKey{recipe, x.ID}] += m * float64(x.Share)
	}
}

// fills is how many bags of a product so much of each sweet fills.
func (h *packhouse) fills(p bag.Product, left map[sweetKey]float64) int {
	each, err := h.perBag(p)
	if err != nil || len(each) == 0 {
		return 0
	}
	n := float64(demand.MostBags)
	for key, m := range each {
		n = min(n, left[key]/m*(1+1e-9))
	}
	return int(n)
}

func (h *packhouse) looseLine(x trayed) LooseLine {
	return LooseLine{Loose: x.loose, On: x.begun.On, Recipe: x.begun.Recipe, Name: entry.NameOf(h.b, store.KindRecipe, x.begun.Recipe), Place: x.place.As, Why: x.place.Why, Weighed: x.weighed(), Packs: x.packable()}
}

func bagLine(b *book.Book, x packing.Bags, aside map[string]bool) BagLine {
	out := BagLine{Lot: x.ID, Balance: x.Balance, Status: x.Status, Why: x.Why, Of: x.Holds(), Aside: []string{}, Counted: !x.Counted.IsZero(), Opened: openedAll(x)}
	for _, s := range out.Of {
		if aside[s.Batch] {
			out.Aside = append(out.Aside, s.Batch)
		}
	}
	if p := x.Packed; p != nil {
		out.On, out.Product, out.Name, out.LabelMg, out.BestBefore = p.On, p.Product, entry.NameOf(b, store.KindProduct, p.Product), p.LabelMg, p.BestBefore
	}
	for _, m := range x.Moves {
		if p := m.Entry.Packed; p != nil {
			out.TareMg, out.FromMg, out.ToMg, out.Scale = p.TareMg, p.FromMg, p.ToMg, p.Scale
		}
	}
	return out
}

// openedAll adds up the packaging of a lot of bags, lot by lot.
func openedAll(x packing.Bags) []packing.Opened {
	out := []packing.Opened{}
	for _, o := range x.Opened() {
		i := slices.IndexFunc(out, func(y packing.Opened) bool { return y.Lot == o.Lot })
		if i < 0 {
			out = append(out, o.Opened)
			continue
		}
		out[i].Pieces += o.Pieces
	}
	return out
}

func jarLine(x packing.Jar) JarLine {
	return JarLine{Jar: x.ID, JarBalance: x.JarBalance, Status: x.Status, Why: x.Why, Of: x.Holds(), Blend: x.Blend(), Emptied: x.Emptied, Washed: x.Fills == 0, Filled: x.Filled}
}

// BagLots lists bag lots, the newest first.
func (a *App) BagLots(ctx context.Context, r BagQuery) (BagList, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return BagList{}, err
	}
	if r.Limit < 1 || r.Limit > mostRecords {
		return BagList{}, fault.Invalid("a list gives 1 to %d at once", mostRecords).At("limit")
	}
	for _, d := range []struct{ name, date string }{{"from", r.From}, {"to", r.To}} {
		if d.date == "" {
			continue
		}
		if err := checkDate(d.name, d.date); err != nil {
			return BagList{}, err
		}
	}
	if _, ok := b.Product(r.Product); r.Product != "" && !ok {
		return BagList{}, fault.NotFound("no product %q in the shop book", fault.Clip(r.Product, fault.Echo)).At("product")
	}
	out, before := BagList{Lots: []BagLine{}}, r.Before
	for {
		found, err := store.Packing().Find(ctx, a.keeper, store.FindJots{Of: r.Product, From: r.From, To: r.To, Live: r.Live, Before: before, Limit: r.Limit + 1})
		if err != nil {
			return BagList{}, err
		}
		for _, kept := range found {
			if before = kept[0].Entry.Ledger; !packing.IsBags(before) {
				continue // a jar, or loose sweets
			}
			if len(out.Lots) == r.Limit {
				out.Next = out.Lots[r.Limit-1].Lot
				return out, nil
			}
			line := packing.FoldBags(kept)
			aside, err := a.asideOf(ctx, line.Holds())
			if err != nil {
				return BagList{}, err
			}
			out.Lots = append(out.Lots, bagLine(&b, line, aside))
		}
		if len(found) <= r.Limit {
			return out, nil
		}
	}
}

// asideOf are those of some batches that may not be sold as they are.
func (a *App) asideOf(ctx context.Context, of []packing.Share) (map[string]bool, error) {
	out := map[string]bool{}
	stop, err := a.stopsNow(ctx)
	if err != nil {
		return nil, err
	}
	for _, s := range of {
		halts, err := stop.of(ctx, s.Batch)
		if err != nil {
			return nil, err
		}
		if len(halts) > 0 {
			out[s.Batch] = true
			continue
		}
		list, err := a.keeper.Records(ctx, store.Find{Batch: s.Batch, Limit: 1})
		if err != nil {
			return nil, err
		}
		if len(list) > 0 && !list[0].Place().As.Packs() {
			out[s.Batch] = true
		}
	}
	return out, nil
}

// BagLot returns a bag lot with all that is written of it. NotFound if there is none.
func (a *App) BagLot(ctx context.Context, id string) (*BagLot, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	kept, err := a.lotKept(ctx, id)
	if err != nil {
		return nil, err
	}
	x := packing.FoldBags(kept)
	aside, err := a.asideOf(ctx, x.Holds())
	if err != nil {
		return nil, err
	}
	stop, err := a.stopsNow(ctx)
	if err != nil {
		return nil, err
	}
	halts, err := stop.bags(ctx, x)
	if err != nil {
		return nil, err
	}
	out := &BagLot{Frozen: halted(halts), BagLine: bagLine(&b, x, aside), Entries: bagEntries(kept, x.Moves), Cautions: []Caution{}, Sources: []string{}, Units: b.Shop.Units}
	out.judge(b.Shop.Market, x.Weighed())
	for _, m := range x.Moves {
		if p := m.Entry.Packed; p != nil && p.Why != "" {
			out.Cautions = append(out.Cautions, Caution{Code: codeMoreIn, Text: "more went in than was known to be left of a batch: " + p.Why})
		}
	}
	return out, nil
}

// judge holds bags that were weighed once more against their label.
func (l *BagLot) judge(market string, net []int64) {
	c, ok := packing.CheckOf(market, l.LabelMg, net)
	if !ok {
		return
	}
	l.Check = &c
	if rule, known := packing.RuleOf(market, l.LabelMg); known {
		l.Rule, l.Sources = rule.Name, source.Strings(rule.Sources...)
	}
	u := l.Units
	if c.Never > 0 || c.MeanMg < l.LabelMg {
		text := fmt.Sprintf("%d bags that were weighed hold %s on the average, the label says %s", c.Bags, u.Mass(kilograms(c.MeanMg)), u.Mass(kilograms(l.LabelMg)))
		if c.Never > 0 {
			text = fmt.Sprintf("%d of %d bags that were weighed hold less than any bag may", c.Never, c.Bags)
		}
		l.Cautions = append(l.Cautions, Caution{Code: codeShort, Text: text + ": weigh all of the lot before a bag of it goes out"})
	}
}

func bagEntries(kept []packing.Kept, moves []packing.Move) []BagEntry {
	out := []BagEntry{}
	for _, k := range kept {
		x := BagEntry{Kept: k, Corrected: slices.ContainsFunc(kept, func(y packing.Kept) bool { return y.Corrects == k.Act })}
		for _, m := range moves {
			if m.Act == k.Act {
				x.Stands, x.Unaccounted, x.OnHand = true, m.Unaccounted, m.OnHand
			}
		}
		out = append(out, x)
	}
	return out
}

// Jar returns a jar with all that is written of it. NotFound if there is none.
func (a *App) Jar(ctx context.Context, id string) (*JarResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	if err := packing.CheckJar(id); err != nil {
		return nil, err
	}
	kept, err := a.ledgerKept(ctx, id)
	if err == nil && len(kept) == 0 {
		err = fault.NotFound("nothing is written of a jar %s", id).At("jar").WithHint("fill it first")
	}
	if err != nil {
		return nil, err
	}
	x := packing.FoldJar(kept)
	out := &JarResult{JarLine: jarLine(x), Entries: bagEntries(kept, x.Moves), Cautions: []Caution{}, Units: b.Shop.Units}
	var names []string
	for _, s := range out.Of {
		names = append(names, s.Batch)
	}
	if out.Blend {
		out.Cautions = append(out.Cautions, Caution{Code: codeBlend, Text: "it was filled anew without having been emptied and washed: it is of batches " + Listed(names)})
	}
	stop, err := a.stopsNow(ctx)
	if err != nil {
		return nil, err
	}
	halts, err := stop.ledger(ctx, id)
	out.Frozen = halted(halts)
	return out, err
}

// BatchLeft is what became of the sound pieces of a batch, and where they are.
type BatchLeft struct {
	LooseLine
	In       []string   `json:"in"`      // bag lots and jars that hold something of it, those that went out whole too
	Entries  []BagEntry `json:"entries"` // what was taken and weighed of it without a bag
	Cautions []Caution  `json:"cautions"`
	Units    q.Reader   `json:"units"`
}

// BatchLeft returns what became of the sound pieces of a batch. NotFound if it has no
// record.
func (a *App) BatchLeft(ctx context.Context, id string) (*BatchLeft, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := a.recordOf(ctx, id); err != nil {
		return nil, err
	}
	h, err := a.packhouseOf(ctx, &b, []string{id})
	if err != nil {
		return nil, err
	}
	x, _ := h.batch(id)
	out := &BatchLeft{LooseLine: h.looseLine(x), In: append([]string{}, packing.Holding(id, h.ledgers)...), Entries: []BagEntry{}, Cautions: []Caution{}, Units: b.Shop.Units}
	kept, err := a.ledgerKept(ctx, packing.LooseID(id))
	if err != nil {
		return nil, err
	}
	for _, k := range kept {
		corrected := slices.ContainsFunc(kept, func(y packing.Kept) bool { return y.Corrects == k.Act })
		out.Entries = append(out.Entries, BagEntry{Kept: k, Corrected: corrected, Stands: !corrected && k.Entry.Kind() != "taken back"})
	}
	if !out.Weighed {
		out.Cautions = append(out.Cautions, Caution{Code: codeUnweighed, Text: "its sound pieces were not weighed: nobody knows what is left of it"})
	}
	return out, nil
}
