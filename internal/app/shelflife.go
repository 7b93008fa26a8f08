package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/bag"
	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/keeping"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/verdict"
)

// ShelfLifeRequest asks how long a product keeps in its pack.
type ShelfLifeRequest struct {
	Product  string
	At       *q.Celsius     // of the store; nil: the warmest of the room's
	Humidity *q.Fraction    // of the store; nil: the room's
	Before   []keeping.Step // places it is in before, one after another
}

// ShelfLifeResult answers a ShelfLifeRequest; JSON is the contract of the shelf-life
// command. The sweet that keeps least long decides for all.
type ShelfLifeResult struct {
	Keeping
	AtC      q.Number  `json:"at_c"`
	Humidity q.Number  `json:"humidity_frac"`
	Parts    []Keeping `json:"parts"` // one for each sweet in it
	Units    q.Reader  `json:"units"`
}

// Keeping is how long one sweet keeps in a pack.
type Keeping struct {
	Bound string      `json:"bound"` // about, at least, at most, never, none; not known
	Days  *q.Estimate `json:"days"`  // null for never and not known
	Text  string      `json:"text"`
	Why   []string    `json:"why"`

	Product     string `json:"product"`
	ProductName string `json:"product_name"`
	Pack        string `json:"pack"` // its name
	Recipe      string `json:"recipe"`
	Name        string `json:"name"`
	Portion     string `json:"portion,omitempty"` // its colour, where a recipe has several that differ

	LimitWater   *q.Estimate  `json:"limit_water_frac"`   // of the sugar phase; null in a pack that is open
	StartWater   *q.Estimate  `json:"start_water_frac"`   // the same, as it is made
	BalanceWater *q.Number    `json:"balance_water_frac"` // the same, in the end, in the air of the store
	PassesGDay   *q.Estimate  `json:"passes_g_day_kpa"`   // what the pack lets through for each kPa of vapour
	Weighed      int          `json:"weighings"`          // that it is from; 0: from a table
	Log          *keeping.Log `json:"-"`                  // for the slip; null in a pack that is open
	Cautions     []Caution    `json:"cautions"`
	Sources      []string     `json:"sources"`
}

// Says prints how long it keeps, without where.
func (k Keeping) Says(u q.Reader) string {
	if k.Days == nil {
		return k.Bound
	}
	return keeping.Say(u, keeping.Bound(k.Bound), *k.Days)
}

// ReadSteps reads places of storage as a person writes them: days, temperature and
// humidity with commas between them, "3,35C,60%".
func ReadSteps(list []string) ([]keeping.Step, error) {
	var out []keeping.Step
	for _, s := range list {
		step, err := readStep(s)
		if err != nil {
			return nil, err
		}
		out = append(out, step)
	}
	return out, nil
}

func readStep(s string) (keeping.Step, error) {
	form := fault.Invalid("a place %q cannot be read", fault.Clip(s, fault.Echo)).At("before").WithHint("write days, temperature and humidity: 3,35C,60%%")
	parts := strings.Split(s, ",")
	if len(parts) != 3 {
		return keeping.Step{}, form
	}
	var step keeping.Step
	days, err := strconv.ParseFloat(strings.TrimSpace(parts[0]), 64)
	if err != nil || !(days > 0 && days <= keeping.Horizon) {
		return step, form
	}
	step.Days = days
	if step.At.UnmarshalText([]byte(strings.TrimSpace(parts[1]))) != nil || step.Humidity.UnmarshalText([]byte(strings.TrimSpace(parts[2]))) != nil {
		return step, form
	}
	return step, nil
}

// ShelfLife works out how long a product keeps in its pack, each of its sweets boiled as
// a whole boil of its recipe.
//
// Faults: NotFound for a product that is not in the book; Invalid where no pack, or
// nothing of its wall, is stated; OutOfRange for a store outside the models.
func (a *App) ShelfLife(ctx context.Context, r ShelfLifeRequest) (*ShelfLifeResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	p, ok := b.Product(r.Product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", fault.Clip(r.Product, fault.Echo)).At("product").WithHint("slabside export definitions lists them")
	}
	w, err := wrapped(&b, p)
	if err != nil {
		return nil, err
	}
	w.at(or(r.At, storeMost(b.Room)), or(r.Humidity, b.Room.Humidity), r.Before)
	last := w.steps[len(w.steps)-1]
	out := &ShelfLifeResult{AtC: q.Number(last.At), Humidity: q.Number(last.Humidity), Units: b.Shop.Units}
	taught, err := a.taught(ctx, &b)
	if err != nil {
		return nil, err
	}
	least, first := math.Inf(1), 0
	for i, part := range p.Parts {
		rec, ok := b.Recipe(part.Recipe)
		if !ok {
			return nil, fault.NotFound("no recipe %q in the shop book", part.Recipe)
		}
		res, err := boiled(&b, taught, rec)
		if err != nil {
			return nil, err
		}
		middle, keep, err := w.first(rec, part.Portion, res)
		if err != nil {
			return nil, err
		}
		k, err := keep()
		if err != nil {
			return nil, err
		}
		out.Parts = append(out.Parts, *k)
		if i == 0 || middle < least {
			least, first = middle, i
		}
	}
	out.Keeping = out.Parts[first]
	if len(out.Parts) > 1 {
		out.Text += ": " + out.Name + " sticks first"
		out.Cautions = append(slices.Clone(out.Cautions), Caution{Code: "keeping-mixture", Text: "in a mixture water goes from the dampest sweet to the driest: each is reckoned as if the pack held it alone"})
	}
	return out, nil
}

// boiled works out a whole boil of a recipe.
func boiled(b *book.Book, taught Taught, rec recipe.Recipe) (boil.Result, error) {
	req := BoilRequest{Recipe: rec.ID, Taught: taught}
	charge, err := req.charge(b, rec)
	if err != nil {
		return boil.Result{}, err
	}
	in, err := req.inputs(b, rec, charge)
	if err != nil {
		return boil.Result{}, err
	}
	p, err := batch.Predict(in)
	return p.Boil, err
}

// storeMost is the warmest that packed sweets get in the room's store.
func storeMost(r rig.Room) q.Celsius { return cmp.Or(r.StoreMost, rig.UsualStoreMost) }

// keepsLeast says in which of its products' packs a sweet keeps least long, in the room's
// store, and of which packs that is not told and why; nil where no product says what it
// is packed in.
func keepsLeast(b *book.Book, rec recipe.Recipe, res boil.Result) (*Keeping, []Caution, error) {
	least, cautions := math.Inf(1), []Caution(nil)
	var keep func() (*Keeping, error)
	for _, p := range b.Products {
		if p.In == "" {
			continue
		}
		for _, part := range p.Parts {
			if part.Recipe != rec.ID {
				continue
			}
			middle, k, err := keepsIn(b, p, part, rec, res)
			switch {
			case err != nil && fault.KindOf(err) == fault.KindInternal:
				return nil, nil, err
			case err != nil:
				why, _ := fault.Said(err)
				c := Caution{Code: "keeping-not-told", Text: fmt.Sprintf("how long it keeps in %s is not told: %s", p.Name, why)}
				if !slices.Contains(cautions, c) {
					cautions = append(cautions, c)
				}
			case keep == nil || middle < least:
				least, keep = middle, k
			}
		}
	}
	if keep == nil {
		return nil, cautions, nil
	}
	k, err := keep()
	return k, cautions, err
}

// keepsIn finds how long a sweet keeps in one product, in the room's store.
func keepsIn(b *book.Book, p bag.Product, part bag.Part, rec recipe.Recipe, res boil.Result) (float64, func() (*Keeping, error), error) {
	w, err := wrapped(b, p)
	if err != nil {
		return 0, nil, err
	}
	w.at(storeMost(b.Room), b.Room.Humidity, nil)
	return w.first(rec, part.Portion, res)
}

// wrap is a product in its pack, in some places.
type wrap struct {
	b       *book.Book
	product bag.Product
	pack    bag.Pack
	steps   []keeping.Step
}

func wrapped(b *book.Book, p bag.Product) (*wrap, error) {
	pack, ok := b.Pack(p.In)
	switch {
	case p.In == "":
		return nil, fault.Invalid("what %s is packed in is not stated", p.Name).At("product").WithHint("add the bag or jar as a pack to the shop book, and name it in the product's packed_in")
	case !ok:
		return nil, fault.NotFound("product %q names pack %q, which is not in the shop book", p.ID, p.In)
	}
	return &wrap{b: b, product: p, pack: pack}, nil
}

func (w *wrap) at(t q.Celsius, humidity q.Fraction, before []keeping.Step) {
	w.steps = append(slices.Clone(before), keeping.Step{At: t, Humidity: humidity})
}

// first finds the portion of a recipe that sticks first by the middle figures [days], and
// how to work it out whole.
func (w *wrap) first(rec recipe.Recipe, portion string, res boil.Result) (float64, func() (*Keeping, error), error) {
	k := Keeping{Product: w.product.ID, ProductName: w.product.Name, Pack: w.pack.Name, Recipe: rec.ID, Name: rec.Name}
	if w.pack.Closure == bag.Tied {
		open := w.open(k, res)
		middle := math.Inf(1)
		if open.Days != nil {
			middle = open.Days.Value
		}
		return middle, func() (*Keeping, error) { return open, nil }, nil
	}
	least, chosen := math.Inf(1), -1
	var inputs []keeping.Inputs
	for i, p := range res.Portions {
		inputs = append(inputs, w.inputs(p, res.Stands))
		if portion != "" && p.ID != portion {
			continue
		}
		middle, err := keeping.Middle(inputs[i])
		if err != nil {
			return 0, nil, err
		}
		if chosen < 0 || middle < least {
			least, chosen = middle, i
		}
	}
	if chosen < 0 {
		return 0, nil, fault.NotFound("%s has no portion %q", rec.Name, portion)
	}
	if len(res.Portions) > 1 && portion == "" {
		if p, ok := rec.Portion(res.Portions[chosen].ID); ok {
			k.Portion = cmp.Or(p.Colour, p.ID)
		}
	}
	return least, func() (*Keeping, error) { return w.whole(k, inputs[chosen], res) }, nil
}

// inputs describes a portion on the slab as what is in the pack.
func (w *wrap) inputs(p boil.PortionResult, stands boil.Standing) keeping.Inputs {
	m := p.Makeup
	wet := m.Water + m.Spirit
	sweet := keeping.Sweet{Solids: m.Solids(), Phase: q.Fraction(m.Phase() / m.Mass()), Stands: &keeping.Stands{Mean: stands.Mean, SD: stands.SD}}
	if wet+m.Phase() > 0 {
		sweet.Water = wet / (wet + m.Phase())
	}
	if whole := m.WaterFrac(); whole > 0 {
		sweet.WaterDraws = make([]float64, len(p.WaterDraws))
		for i, x := range p.WaterDraws { // fat and nuts are the same share of every outcome
			sweet.WaterDraws[i] = x * sweet.Water / whole
		}
	}
	return keeping.Inputs{Sweet: sweet, Net: w.product.Net, Pack: w.pack, Steps: w.steps, Units: w.b.Shop.Units, ScaleStep: w.scaleStep()}
}

// scaleStep is that of the finest scale here which takes the pack.
func (w *wrap) scaleStep() q.Kilograms {
	const tare = 1.2 // net and pack
	var step q.Kilograms
	for _, s := range w.b.Scales {
		if s.Capacity >= tare*w.product.Net && (step == 0 || s.Resolution < step) {
			step = s.Resolution
		}
	}
	return step
}

// whole works a pack out with its range.
func (w *wrap) whole(out Keeping, in keeping.Inputs, res boil.Result) (*Keeping, error) {
	k, err := keeping.Of(in)
	if err != nil {
		return nil, err
	}
	balance := q.Number(k.Log.BalanceWater)
	out.Bound, out.Days, out.Text, out.Why = string(k.Bound), k.Days, k.Text, k.Why
	out.LimitWater, out.StartWater, out.PassesGDay, out.BalanceWater = &k.Limit, &k.Log.StartWater, &k.Log.Passes, &balance
	out.Weighed, out.Log, out.Sources, out.Cautions = k.Weighed, &k.Log, source.Strings(k.Sources...), []Caution{}
	for _, c := range k.Cautions {
		out.Cautions = append(out.Cautions, Caution{Code: string(c.Code), Text: c.Text})
	}
	if res.Doctored && res.InvertFrac == nil {
		out.Cautions = append(out.Cautions, Caution{Code: "keeping-invert", Text: "how much invert sugar the acid in the kettle makes is not known here: with it the sweets soften sooner"})
	}
	return &out, nil
}

// open says how long a pack keeps that lets the air in: as long as bare pieces lie open in
// the last of the places.
func (w *wrap) open(out Keeping, res boil.Result) *Keeping {
	last := w.steps[len(w.steps)-1]
	room := w.b.Room
	room.Air, room.Humidity = last.At, last.Humidity
	o := verdict.OpenOf(verdict.Inputs{Boil: res, Room: room, Units: w.b.Shop.Units})
	out.Bound, out.Why, out.Sources, out.Cautions = string(o.Bound), slices.Clone(o.Why), o.Sources, []Caution{}
	if o.TimeS != nil {
		days := o.TimeS.Scale(1.0 / 86400)
		out.Days = &days
	}
	out.Text = o.Text
	out.Cautions = append(out.Cautions, Caution{Code: "keeping-open", Text: fmt.Sprintf("%s is tied: air goes in and out, and the sweets keep as they do in an open dish; a seal or a lid keeps them for weeks", w.pack.Name)})
	return &out
}
