package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
)

// Codes of the cautions of the packing.
const (
	codeCoarse    = "scale-too-coarse"  // its step hides more than a measurement may be off
	codeNoScale   = "no-scale"          // none of the book carries that much
	codeNoRule    = "weights-unjudged"  // no rule of the market is known for this label
	codeUnweighed = "sound-not-weighed" // nobody knows what is left of a batch
	codeMoreIn    = "more-than-left"    // more went in than was known to be left
	codeShort     = "bags-short"        // bags that were weighed are short
	codeBlend     = "jar-is-a-blend"    // it holds several batches
	codeNoPlan    = "day-unplanned"     // the day could not be planned
	codeCut       = "more-packings"     // not all ledgers were looked at
	codeMaybe     = "bags-uncertain"    // the low end of what comes is fewer
)

// PackWindow is what the scale may show of a bag of a product.
type PackWindow struct {
	Product string `json:"product"`
	Name    string `json:"name"`
	packing.Window
	Scale     string    `json:"scale"` // id; empty: the book has none that carries it
	ScaleName string    `json:"scale_name"`
	Rule      string    `json:"rule"`  // of the market; empty: none is known for this label
	Basis     string    `json:"basis"` // in words
	Cautions  []Caution `json:"cautions"`
	Sources   []string  `json:"sources"`
	Units     q.Reader  `json:"units"`
}

// PackWindow works out what the scale may show of a bag of a product, with the bag on
// it. Tare 0: the scale is set to nothing with the bag on it. Scale empty: the one that
// is taken for this weight.
//
// Faults: NotFound for a product or scale that is not in the book, Invalid for a tare
// that cannot be and a piece of which nobody knows what it weighs.
func (a *App) PackWindow(ctx context.Context, product string, tare q.Kilograms, scale string) (*PackWindow, error) {
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
	return h.window(p, tare, scale)
}

// heaviest is how much a drop may be heavier than the mean of its kind: a tenth
// (judgement: common practice, no source).
const heaviest = 1.1

// wholeGram is the step that is taken where no scale is known [mg].
const wholeGram = 1000

func (h *packhouse) window(p bag.Product, tare q.Kilograms, scale string) (*PackWindow, error) {
	piece := 0.0
	for _, part := range p.Parts {
		m, ok := h.pieceKg(part.Recipe)
		if !ok {
			r, _ := h.b.Recipe(part.Recipe)
			return nil, fault.Invalid("nobody knows what a piece of %s weighs", cmp.Or(r.Name, part.Recipe)).At("product").WithHint("give its rolls the mass of a piece, or count a sample of a batch")
		}
		piece = max(piece, m*heaviest)
	}
	s, there, err := scaleFor(h.b, p.Net+tare, scale)
	if err != nil {
		return nil, err
	}
	step := int64(wholeGram)
	if there && s.Resolution > 0 {
		step = max(1, s.Resolution.Milligrams())
	}
	w, err := packing.WindowOf(h.b.Shop.Market, p.Net.Milligrams(), tare.Milligrams(), step, q.Kilograms(piece).Milligrams())
	if err != nil {
		return nil, err
	}
	out := &PackWindow{Product: p.ID, Name: p.Name, Window: w, Cautions: []Caution{}, Sources: source.Strings(source.Practice), Units: h.b.Shop.Units}
	if there {
		out.Scale, out.ScaleName = s.ID, cmp.Or(s.Name, s.ID)
	}
	rule, known := packing.RuleOf(h.b.Shop.Market, w.LabelMg)
	if known {
		out.Rule, out.Sources = rule.Name, append(source.Strings(rule.Sources...), out.Sources...)
	}
	out.Basis = h.basis(w, rule, known)
	out.caution(h.b, s, there, known)
	return out, nil
}

// basis says why the window is what it is.
func (h *packhouse) basis(w packing.Window, rule packing.Rule, known bool) string {
	u := h.b.Shop.Units
	g := func(mg int64) string { return u.Weight(kilograms(mg), kilograms(w.StepMg)) }
	tare := "the scale set to nothing with the bag on it"
	if w.TareMg > 0 {
		tare = g(w.TareMg) + " of bag"
	}
	parts := []string{fmt.Sprintf("label %s and %s, up to the step of the scale; to that one piece of at most %s", g(w.LabelMg), tare, u.Mass(kilograms(w.PieceMg)))}
	switch {
	case !known:
	case rule.FewMg > 0:
		parts = append(parts, fmt.Sprintf("%s: the mean reaches the label, one bag in forty at most is more than %s short, none more than %s", rule.Name, u.Mass(kilograms(rule.FewMg)), u.Mass(kilograms(rule.MostMg))))
	default:
		parts = append(parts, fmt.Sprintf("%s: the mean reaches the label, and no bag is more than %s short", rule.Name, u.Mass(kilograms(rule.MostMg))))
	}
	return strings.Join(parts, ". ")
}

func (w *PackWindow) caution(b *book.Book, s rig.Scale, there, known bool) {
	add := func(code, text string) { w.Cautions = append(w.Cautions, Caution{Code: code, Text: text, At: "pack"}) }
	fixed := func(c caution.Code) { add(string(c), caution.Text(c)) }
	switch {
	case !there:
		add(codeNoScale, "no scale of the shop book carries a bag: steps of a gram are taken")
		fixed(caution.TradeScale)
	case !s.Approved:
		add(string(caution.TradeScale), cmp.Or(s.Name, s.ID)+": "+caution.Text(caution.TradeScale))
	}
	if w.Coarse() {
		add(codeCoarse, fmt.Sprintf("the scale's step of %s is coarse for this label: take a finer one", b.Shop.Units.Mass(kilograms(w.StepMg))))
	}
	if !known {
		add(codeNoRule, "by how much a bag of this label may be short is not known here for this market: the window goes by the label alone")
	}
	fixed(caution.NotLegal)
}

// scaleFor returns the scale that is named, else the one that is taken for a weight: of
// those that carry it an approved one, and of these the finest. False: there is none.
func scaleFor(b *book.Book, m q.Kilograms, id string) (rig.Scale, bool, error) {
	if id != "" {
		i := slices.IndexFunc(b.Scales, func(s rig.Scale) bool { return s.ID == id })
		if i < 0 {
			return rig.Scale{}, false, fault.NotFound("no scale %q in the shop book", fault.Clip(id, fault.Echo)).At("scale")
		}
		if s := b.Scales[i]; s.Capacity < m {
			return rig.Scale{}, false, fault.Invalid("%s carries %s only", cmp.Or(s.Name, s.ID), b.Shop.Units.Mass(s.Capacity)).At("scale")
		}
		return b.Scales[i], true, nil
	}
	var best rig.Scale
	found := false
	for _, s := range b.Scales {
		if s.Capacity < m || found && (best.Approved && !s.Approved || best.Approved == s.Approved && best.Resolution <= s.Resolution) {
			continue
		}
		best, found = s, true
	}
	return best, found, nil
}
