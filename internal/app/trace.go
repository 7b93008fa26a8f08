package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	ledger "slabside/internal/lot"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/supply"
	"slabside/internal/trace"
)

// What a trace is of.
const (
	TraceLot   = "lot"       // of an ingredient
	TracePacks = "packaging" // a lot of it, or of gas or consumables, which nothing holds
	TraceBatch = "batch"     // of sweets
	TraceBags  = "bags"
	TraceJar   = "jar"
)

// codeCutTrace is the code of the caution that a trace is not whole.
const codeCutTrace = "trace-cut"

// TraceResult is what went into a thing and what it went into; JSON is the contract of
// the trace command.
type TraceResult struct {
	ID       string        `json:"id"`
	Kind     string        `json:"kind"` // lot, packaging, batch, bags, jar
	Name     string        `json:"name"`
	On       string        `json:"on"` // day it came, was made or packed
	Stopped  []Halt        `json:"stopped"`
	Up       []TraceStep   `json:"up"`      // of which something is in it, the nearest first
	Down     []TraceStep   `json:"down"`    // in which something of it is, the nearest first
	Bags     *TraceBalance `json:"bags"`    // what became of the bags it is in; null: it is in none
	Allergy  *AllergyCard  `json:"allergy"` // null: it is a lot of an ingredient
	Cautions []Caution     `json:"cautions"`
	Units    q.Reader      `json:"units"`
}

// Halt is why a thing must not leave the house: it is stopped itself, or holds
// something of one that is.
type Halt struct {
	ID  string `json:"id"` // that is stopped
	As  string `json:"as"` // hold, condemned, reboil, bin
	Why string `json:"why"`
}

// TraceStep is a thing on the way.
type TraceStep struct {
	ID     string `json:"id"`
	Kind   string `json:"kind"`
	Name   string `json:"name"`
	On     string `json:"on"`
	Deep   int    `json:"deep"`    // steps away
	MassMg int64  `json:"mass_mg"` // that went from one into the other; 0: not known
	Bags   *int64 `json:"bags"`    // on hand, of a lot of bags; null: it is none
	Says   string `json:"says"`    // where it is, in words
	Frozen bool   `json:"frozen"`  // it must not leave the house
}

// TraceBalance is what became of the bags that hold something of a thing.
type TraceBalance struct {
	Packed      int64    `json:"packed"`
	OnHand      int64    `json:"on_hand"`
	ByName      int64    `json:"by_name"` // went out by order or parcel with its number: somebody can be told
	Kept        int64    `json:"kept"`    // as samples, opened into a jar, or thrown away: they are known still
	Counter     int64    `json:"counter"` // sold over the counter, given, tasted: nobody can
	Unaccounted int64    `json:"unaccounted"`
	Accounted   q.Number `json:"accounted_frac"` // all but what nobody wrote down, of what was packed
	Reachable   q.Number `json:"reachable_frac"` // all but those over the counter and those nobody wrote down, of what was packed
}

// net is what went into what, and what is known of each thing.
type net struct {
	graph   *trace.Graph
	stopped map[string]Halt
	frozen  map[string][]string
	batches map[string]record.Record
	bags    map[string]packing.Bags
	jars    map[string]packing.Jar
	read    map[string]bool // lots whose ledgers are in the graph
	cut     bool
}

// mostTraced is how many records and ledgers a trace looks at.
const mostTraced = 20000

// netSince reads what was made and packed from a day on.
func (a *App) netSince(ctx context.Context, day string) (*net, error) {
	n := newNet()
	list, err := a.keeper.Records(ctx, store.Find{From: day, Limit: mostTraced})
	if err != nil {
		return nil, err
	}
	var edges []trace.Edge
	for _, r := range list {
		edges = append(edges, n.wentInto(r)...)
	}
	found, err := store.Packing().Find(ctx, a.keeper, store.FindJots{From: day, Limit: mostTraced})
	if err != nil {
		return nil, err
	}
	for _, kept := range found {
		id := kept[0].Entry.Ledger
		for _, s := range n.take(kept) {
			edges = append(edges, trace.Edge{From: s.Batch, To: id, MassMg: s.MassMg})
		}
		for _, lot := range n.jars[id].Lots() {
			edges = append(edges, trace.Edge{From: lot, To: id})
		}
		for _, o := range openedAll(n.bags[id]) {
			edges = append(edges, trace.Edge{From: o.Lot, To: id})
		}
	}
	n.cut = len(list) == mostTraced || len(found) == mostTraced
	if n.stopped, err = a.haltedIn(ctx, n); err != nil {
		return nil, err
	}
	used, err := a.usedByHand(ctx, n)
	if err != nil {
		return nil, err
	}
	n.graph = trace.New(append(edges, used...))
	n.frozen = n.graph.Frozen(keysOf(n.stopped))
	return n, nil
}

// wentInto takes in a record and returns what went into its batch.
func (n *net) wentInto(r record.Record) []trace.Edge {
	var out []trace.Edge
	n.batches[r.ID] = r
	for _, k := range r.All(record.Weighing) {
		if k.Weighed.Lot != "" {
			out = append(out, trace.Edge{From: k.Weighed.Lot, To: r.ID, MassMg: k.Weighed.MassMg})
		}
	}
	for _, k := range r.All(record.CookingBack) {
		if k.CookedBack.From != "" {
			out = append(out, trace.Edge{From: k.CookedBack.From, To: r.ID, MassMg: k.CookedBack.MassMg})
		}
	}
	return out
}

// readUp reads the batches above a thing that are older than what was read, until none
// is new: a jar is topped up for months.
func (a *App) readUp(ctx context.Context, n *net, id string) error {
	for more := true; more; {
		var edges []trace.Edge
		for _, s := range append(n.graph.Up(id), trace.Step{ID: id}) {
			if _, read := n.batches[s.ID]; read || record.CheckID(s.ID) != nil {
				continue
			}
			list, err := a.keeper.Records(ctx, store.Find{Batch: s.ID, Limit: 1})
			if err != nil {
				return err
			}
			n.batches[s.ID] = record.Record{ID: s.ID} // one that has no record is not asked for again
			for _, r := range list {
				edges = append(edges, n.wentInto(r)...)
			}
		}
		if more = len(edges) > 0; more {
			n.graph = n.graph.With(edges)
			n.frozen = n.graph.Frozen(keysOf(n.stopped))
		}
	}
	return nil
}

// usedByHand are the uses of lots for batches that were written in the stores and not at
// the scales, of the lots that are stopped.
func (a *App) usedByHand(ctx context.Context, n *net) ([]trace.Edge, error) {
	var out []trace.Edge
	for id := range n.stopped {
		if ledger.CheckID(id) != nil {
			continue
		}
		edges, err := a.usesOf(ctx, id, n.read)
		if err != nil {
			return nil, err
		}
		out = append(out, edges...)
	}
	return out, nil
}

// usesOf are the uses of a lot for batches that were written in the stores, the lots that
// were made of it, and the uses of those; not of lots that are read already.
func (a *App) usesOf(ctx context.Context, id string, read map[string]bool) ([]trace.Edge, error) {
	var out []trace.Edge
	for next := []string{id}; len(next) > 0; next = next[1:] {
		if read[next[0]] {
			continue
		}
		read[next[0]] = true
		l, err := a.ledgerOf(ctx, next[0])
		if err != nil {
			return nil, err
		}
		for _, m := range l.Moves {
			switch u := m.Used; {
			case u == nil:
			case u.Into != "":
				out, next = append(out, trace.Edge{From: l.ID, To: u.Into, MassMg: u.MassMg}), append(next, u.Into)
			case u.Batch != "" && !m.Weighed:
				out = append(out, trace.Edge{From: l.ID, To: u.Batch, MassMg: u.MassMg})
			}
		}
	}
	return out, nil
}

func keysOf[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// haltedIn finds what is stopped by itself: lots of ingredients on hold or condemned,
// batches of which nothing is to leave, bags and jars on hold or condemned.
func (a *App) haltedIn(ctx context.Context, n *net) (map[string]Halt, error) {
	out := map[string]Halt{}
	for _, as := range []ledger.Status{ledger.Hold, ledger.Condemned} {
		list, err := a.keeper.Lots(ctx, store.FindLots{Status: as, Limit: mostLots})
		if err != nil {
			return nil, err
		}
		for _, l := range list {
			out[l.ID] = Halt{l.ID, string(l.Status), l.Why}
		}
	}
	if err := a.haltedSupplies(ctx, out); err != nil {
		return nil, err
	}
	batches, err := a.keeper.Records(ctx, store.Find{Stopped: true, Limit: mostTraced})
	if err != nil {
		return nil, err
	}
	for _, r := range batches {
		p := r.Place()
		out[r.ID] = Halt{r.ID, string(p.As), p.Why}
	}
	live, err := store.Packing().Find(ctx, a.keeper, store.FindJots{Live: true, Limit: mostTraced})
	if err != nil {
		return nil, err
	}
	for _, kept := range live {
		n.take(kept)
		id := kept[0].Entry.Ledger
		if x, ok := n.bags[id]; ok && x.Status != packing.Usable {
			out[id] = Halt{id, string(x.Status), x.Why}
		}
		if x, ok := n.jars[id]; ok && x.Status != packing.Usable {
			out[id] = Halt{id, string(x.Status), x.Why}
		}
	}
	return out, nil
}

// take takes in a ledger of the packing and returns what is in it.
func (n *net) take(kept []packing.Kept) []packing.Share {
	id := kept[0].Entry.Ledger
	switch {
	case packing.IsBags(id):
		x := packing.FoldBags(kept)
		n.bags[id] = x
		return x.Holds()
	case packing.IsJar(id):
		x := packing.FoldJar(kept)
		n.jars[id] = x
		return x.Holds()
	}
	return nil
}

func newNet() *net {
	return &net{stopped: map[string]Halt{}, frozen: map[string][]string{}, graph: trace.New(nil), batches: map[string]record.Record{}, bags: map[string]packing.Bags{}, jars: map[string]packing.Jar{}, read: map[string]bool{}}
}

// frozenNow returns what must not leave the house, each with what stops it; nothing, and
// quickly, while nothing is stopped. It looks back to the first batch that a stopped
// thing can be in.
func (a *App) frozenNow(ctx context.Context) (*net, error) {
	none := newNet()
	roots, err := a.haltedIn(ctx, none)
	if err != nil || len(roots) == 0 {
		return none, err
	}
	since := "9999-12-31"
	for id := range roots {
		if day := dayOfID(id); day != "" {
			since = min(since, day)
		}
	}
	return a.netSince(ctx, since)
}

// dayOfID is the day in the number of a lot, a batch or a lot of bags: nothing it went
// into is older.
func dayOfID(id string) string {
	id = strings.TrimLeft(id, "rbls")
	if len(id) < len(time.DateOnly) || packing.IsJar(id) {
		return ""
	}
	return id[:len(time.DateOnly)]
}

func stoppedWord(as string) string {
	switch as {
	case "hold":
		return "on hold"
	case "bin":
		return "to be thrown away"
	case "reboil":
		return "to be boiled again"
	}
	return as
}

// Trace follows a lot, a batch, a lot of bags or a jar both ways: what is in it, what it
// is in, what became of the bags, what stops it, and what is answered to a customer with
// an allergy.
//
// Faults: Invalid for what is no number of ours, NotFound for one that nothing bears.
func (a *App) Trace(ctx context.Context, id string) (*TraceResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	id = strings.TrimSpace(id)
	kind, ok := traceKind(id)
	if !ok {
		return nil, fault.Invalid("%q is no number of a lot, a batch, bags or a jar", fault.Clip(id, fault.Echo)).At("id").
			WithHint("as r2026-11-28-2, s2026-11-28-2, 2026-11-28-2, b2026-11-28-2 or j-counter-3")
	}
	n, err := a.netSince(ctx, a.since(kind, id))
	if err != nil {
		return nil, err
	}
	out := &TraceResult{ID: id, Kind: kind, Stopped: []Halt{}, Up: []TraceStep{}, Down: []TraceStep{}, Cautions: []Caution{}, Units: b.Shop.Units}
	if err := a.named(ctx, &b, n, out); err != nil {
		return nil, err
	}
	if err := a.readUp(ctx, n, id); err != nil {
		return nil, err
	}
	graph := n.graph
	if kind == TraceLot {
		edges, err := a.usesOf(ctx, id, n.read)
		if err != nil {
			return nil, err
		}
		graph = graph.With(edges)
	}
	if graph, err = a.withSources(ctx, graph, id, n.read); err != nil {
		return nil, err
	}
	for _, root := range n.frozen[id] {
		out.Stopped = append(out.Stopped, n.stopped[root])
	}
	for _, s := range graph.Down(id) {
		out.Down = append(out.Down, a.traceStep(ctx, &b, n, s))
	}
	for _, s := range graph.Up(id) {
		out.Up = append(out.Up, a.traceStep(ctx, &b, n, s))
	}
	out.Bags = n.balance(id, out.Down)
	if n.cut {
		out.Cautions = append(out.Cautions, Caution{Code: codeCutTrace, Text: "there is more than a trace looks at: what is oldest is missing; trace the batches by themselves"})
	}
	if kind != TraceLot && kind != TracePacks {
		if out.Allergy, err = a.allergyCard(ctx, &b, n, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// withSources is the graph with what the lots are made of that a thing is of, or is.
func (a *App) withSources(ctx context.Context, g *trace.Graph, id string, read map[string]bool) (*trace.Graph, error) {
	ids := []string{id}
	for _, s := range g.Up(id) {
		ids = append(ids, s.ID)
	}
	edges, err := a.madeEdges(ctx, ids, read)
	if err != nil {
		return nil, err
	}
	return g.With(edges), nil
}

// since is the day from which a trace looks. Upwards something is older: cook-back and
// jars hold batches of before, which are looked for within a quarter.
func (a *App) since(kind, id string) string {
	const before = 92
	if kind == TraceLot || kind == TracePacks {
		return dayOfID(id)
	}
	day, err := time.Parse(time.DateOnly, dayOfID(id))
	if err != nil { // a jar has no day
		return ""
	}
	return day.AddDate(0, 0, -before).Format(time.DateOnly)
}

func traceKind(id string) (string, bool) {
	switch {
	case ledger.CheckID(id) == nil:
		return TraceLot, true
	case supply.IsLot(id):
		return TracePacks, true
	case record.CheckID(id) == nil:
		return TraceBatch, true
	case packing.IsBags(id):
		return TraceBags, true
	case packing.IsJar(id):
		return TraceJar, true
	}
	return "", false
}

// named finds the thing itself.
func (a *App) named(ctx context.Context, b *book.Book, n *net, out *TraceResult) error {
	switch out.Kind {
	case TraceLot:
		l, err := a.ledgerOf(ctx, out.ID)
		if err != nil {
			return err
		}
		if l.Receipt != nil {
			out.Name, out.On = nameIn(b, l.Receipt.Ingredient), l.Receipt.On
		}
	case TracePacks:
		kept, err := a.supplyKept(ctx, out.ID)
		if err != nil {
			return err
		}
		if l := supply.Fold(kept, nil); l.Receipt != nil {
			out.Name, out.On = entry.NameOf(b, store.KindSupply, l.Receipt.Supply), l.Receipt.On
		}
	case TraceBatch:
		r, err := a.recordOf(ctx, out.ID)
		if err != nil {
			return err
		}
		n.batches[out.ID] = r
		out.Name, out.On = entry.NameOf(b, store.KindRecipe, r.Begun().Recipe), r.Begun().On
	case TraceBags:
		if _, err := a.lotKept(ctx, out.ID); err != nil {
			return err
		}
		if p := n.bags[out.ID].Packed; p != nil {
			out.Name, out.On = entry.NameOf(b, store.KindProduct, p.Product), p.On
		}
	case TraceJar:
		if _, ok := n.jars[out.ID]; !ok {
			return fault.NotFound("there is no jar %s", out.ID).At("id").WithHint("the packing page lists those that are there")
		}
		out.Name, out.On = "jar", n.jars[out.ID].Filled
	}
	return nil
}

// traceStep says what a thing on the way is and where.
func (a *App) traceStep(ctx context.Context, b *book.Book, n *net, s trace.Step) TraceStep {
	kind, _ := traceKind(s.ID)
	x := TraceStep{ID: s.ID, Kind: kind, Deep: s.Deep, Frozen: len(n.frozen[s.ID]) > 0}
	for _, e := range s.By {
		x.MassMg += e.MassMg
	}
	switch kind {
	case TraceLot:
		if l, err := a.ledgerOf(ctx, s.ID); err == nil && l.Receipt != nil {
			x.Name, x.On = nameIn(b, l.Receipt.Ingredient), l.Receipt.On
			x.Says = joined(", ", l.Receipt.Supplier, l.Receipt.SupplierLot)
		}
	case TracePacks:
		if kept, err := a.supplyKept(ctx, s.ID); err == nil {
			if l := supply.Fold(kept, nil); l.Receipt != nil {
				x.Name, x.On = entry.NameOf(b, store.KindSupply, l.Receipt.Supply), l.Receipt.On
				x.Says = joined(", ", l.Receipt.Supplier, l.Receipt.SupplierLot)
			}
		}
	case TraceBatch:
		if begun := n.batches[s.ID].Begun(); begun != nil {
			x.Name, x.On = entry.NameOf(b, store.KindRecipe, begun.Recipe), begun.On
			x.Says = "nothing of it is weighed yet"
			if m := n.batches[s.ID].Made(); m != nil && m.SoundMg > 0 {
				x.Says = b.Shop.Units.Mass(kilograms(m.SoundMg)) + " sound"
			}
		}
	case TraceBags:
		bags := n.bags[s.ID]
		if bags.Packed != nil {
			x.Name, x.On = entry.NameOf(b, store.KindProduct, bags.Packed.Product), bags.Packed.On
		}
		x.Bags, x.Says = &bags.OnHand, fmt.Sprintf("%d of %d bags here, %d by order or parcel, %d kept, opened or thrown away, %d over the counter and the like", bags.OnHand, bags.Balance.Packed, byName(bags), stillKnown(bags), elsewhere(bags))
	case TraceJar:
		x.Name, x.On, x.Says = "jar", n.jars[s.ID].Filled, b.Shop.Units.Mass(kilograms(n.jars[s.ID].OnHandMg))+" in it"
	}
	return x
}

// byName is how many bags went out by an order or a parcel that has a number.
func byName(x packing.Bags) int64 {
	var out int64
	for _, m := range x.Moves {
		if v := m.Entry.Moved; v != nil && (v.To == packing.ToOrder || v.To == packing.ToParcel) && v.For != "" {
			out += v.Bags
		}
	}
	return out
}

// stillKnown is how many went out and are known of: kept as samples, opened into a jar, or
// thrown away.
func stillKnown(x packing.Bags) int64 {
	return x.Out.Of(packing.ToSample) + x.Out.Of(packing.ToJar) + x.Out.Of(packing.ToWaste)
}

// elsewhere is how many went out so that nobody can be told.
func elsewhere(x packing.Bags) int64 { return x.Out.Sum() - byName(x) - stillKnown(x) }

// balance is what became of the bags on the way down, and of the thing itself if it is
// bags.
func (n *net) balance(id string, down []TraceStep) *TraceBalance {
	ids := []string{id}
	for _, s := range down {
		ids = append(ids, s.ID)
	}
	var out TraceBalance
	for _, id := range ids {
		x, ok := n.bags[id]
		if !ok {
			continue
		}
		out.Packed += x.Balance.Packed
		out.OnHand += x.OnHand
		out.ByName += byName(x)
		out.Kept += stillKnown(x)
		out.Counter += elsewhere(x)
		out.Unaccounted += x.Unaccounted
	}
	if out.Packed == 0 {
		return nil
	}
	part := func(n int64) q.Number { return q.Number(float64(n) / float64(out.Packed)) }
	out.Accounted, out.Reachable = 1-part(max(out.Unaccounted, -out.Unaccounted)), part(out.OnHand+out.ByName+out.Kept)
	return &out
}

// HoldAny freezes whatever bears a number: a lot of an ingredient, a batch, bags or a
// jar. What holds something of it is frozen with it. Why may come later.
func (a *App) HoldAny(ctx context.Context, id, why, who string) error {
	kind, ok := traceKind(id)
	switch {
	case !ok:
		return fault.Invalid("%q is no number of a lot, a batch, bags or a jar", fault.Clip(id, fault.Echo)).At("id")
	case kind == TraceLot:
		return a.HoldLot(ctx, id, why, who)
	case kind == TracePacks:
		return a.HoldSupply(ctx, id, why, who)
	case kind == TraceBatch:
		return a.Enter(ctx, record.Entry{Batch: id, Placed: &record.Placed{As: record.OnHold, Why: why}}, 0, who, "")
	}
	return a.HoldPacked(ctx, id, why, who)
}

// Halts is all that is stopped, and what is frozen by each.
type Halts struct {
	Stopped []HaltLine `json:"stopped"`
	Units   q.Reader   `json:"units"`
}

// HaltLine is a thing that is stopped.
type HaltLine struct {
	Halt
	Kind   string      `json:"kind"`
	Name   string      `json:"name"`
	Frozen []TraceStep `json:"frozen"` // with it
}

// OnHold lists what is stopped and what is frozen with it.
func (a *App) OnHold(ctx context.Context) (*Halts, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	n, err := a.frozenNow(ctx)
	if err != nil {
		return nil, err
	}
	out := &Halts{Stopped: []HaltLine{}, Units: b.Shop.Units}
	for _, id := range keysOf(n.stopped) {
		step := a.traceStep(ctx, &b, n, trace.Step{ID: id})
		x := HaltLine{Halt: n.stopped[id], Kind: step.Kind, Name: step.Name, Frozen: []TraceStep{}}
		for _, s := range n.graph.Down(id) {
			x.Frozen = append(x.Frozen, a.traceStep(ctx, &b, n, s))
		}
		out.Stopped = append(out.Stopped, x)
	}
	slices.SortStableFunc(out.Stopped, func(x, y HaltLine) int { return cmp.Compare(kindRank(x.Kind), kindRank(y.Kind)) })
	return out, nil
}

func kindRank(kind string) int {
	return slices.Index([]string{TraceLot, TracePacks, TraceBatch, TraceBags, TraceJar}, kind)
}
