package app

import (
	"fmt"
	"math"
	"slices"

	"slabside/internal/bag"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
)

// estimate summarises draws; it is exact where nothing is uncertain.
func estimate(draws []float64) (q.Estimate, error) {
	s, err := numeric.Summarise(draws)
	if err != nil {
		return q.Estimate{}, fault.Internal(err, "a range could not be summarised")
	}
	if slices.Min(draws) == slices.Max(draws) {
		return q.ExactOf(s.Value), nil
	}
	return q.Estimate{Value: s.Value, Low: s.Low, High: s.High, Basis: q.Estimated}, nil
}

// bags fills the lines in their order, draw by draw, from what the day's boils
// and the loose stock give, and says what is left over.
func (m *making) bags(d *DayPlan) error {
	left := m.madeDraws()
	for i, asked := range m.result.Lines {
		line := m.lines[asked.Line]
		p, _ := m.b.Product(line.Product)
		blend, err := bag.NewBlend(p, m.sweets)
		if err != nil {
			return err
		}
		made, whole := m.fill(blend, asked.ToPack, left)
		out := BagsMade{Product: p.ID, Name: p.Name, Must: line.Must, For: line.For, Due: line.Due, Asked: line.Bags,
			FromStock: asked.FromStock, Chance: q.Number(whole), Planned: m.planned(i)}
		if out.Made, err = estimate(made); err != nil {
			return err
		}
		if len(p.Parts) > 1 {
			if out.Mix, err = m.mix(blend, asked); err != nil {
				return err
			}
		}
		d.Bags = append(d.Bags, out)
	}
	for i, kg := range left {
		sw := m.sweets[i]
		pieces := make([]float64, len(kg))
		for j := range kg {
			pieces[j] = kg[j] / m.pieces[i][j]
		}
		e, err := estimate(kg)
		if err != nil {
			return err
		}
		n, err := estimate(pieces)
		if err != nil {
			return err
		}
		n.Value, n.Low, n.High = math.Round(n.Value), math.Round(n.Low), math.Round(n.High)
		if e.High < 0.001 {
			continue
		}
		d.LeftOver = append(d.LeftOver, LeftOver{Recipe: sw.Recipe, Portion: sw.Portion, Name: m.sweetName(i), Kg: e, Pieces: n, Bags: m.wouldFill(i, e)})
	}
	return nil
}

// planned reports whether the day makes every boil a line waits for.
func (m *making) planned(line int) bool {
	for r, need := range m.result.Best.Lines[line].Own {
		if m.madeOf(r) < need {
			return false
		}
	}
	return true
}

// fill takes bags of a blend out of what is left, at most toPack, and returns how
// many were filled in each draw and the share of draws in which all were.
func (m *making) fill(blend bag.Blend, toPack int, left [][]float64) (made []float64, whole float64) {
	made = make([]float64, planDraws)
	piece, kg := make([]float64, len(m.sweets)), make([]float64, len(m.sweets))
	for d := range made {
		for i := range piece {
			piece[i], kg[i] = m.pieces[i][d], left[i][d]
		}
		n := blend.Fill(toPack, piece, kg)
		for i := range kg {
			left[i][d] = kg[i]
		}
		made[d] = float64(n)
		if n == toPack {
			whole += 1.0 / planDraws
		}
	}
	return made, min(whole, 1)
}

// mix says what turns up in a bag of a mixture when the blend of this line is
// filled blindly.
func (m *making) mix(blend bag.Blend, asked demand.Asked) ([]MixPart, error) {
	if asked.ToPack == 0 {
		return nil, nil
	}
	p := blend.Product
	shares := make([]float64, len(p.Parts))
	makeup := blend.Makeup(m.sweets)
	for _, h := range makeup.Holdings {
		shares[h.Part] += h.Pieces
	}
	c, err := blend.LeastMet(m.sweets, asked.ToPack)
	if err != nil {
		return nil, err
	}
	pool, err := bag.PoolOf(shares, asked.ToPack*c.Pieces)
	if err != nil {
		return nil, err
	}
	held, err := bag.Holds(pool, c.Pieces)
	if err != nil {
		return nil, err
	}
	var out []MixPart
	for i, part := range p.Parts {
		least := make([]int, len(p.Parts))
		least[i] = part.Least
		pl, err := bag.AtLeast(pool, c.Pieces, least)
		if err != nil {
			return nil, err
		}
		r, _ := m.b.Recipe(part.Recipe)
		name := r.Name
		if part.Portion != "" {
			name += ", " + part.Portion
		}
		out = append(out, MixPart{Recipe: part.Recipe, Portion: part.Portion, Name: name, Mean: q.Number(held[i].Mean),
			P05: held[i].P05, P95: held[i].P95, Least: part.Least, PLeast: q.Number(pl)})
	}
	return out, nil
}

// sweetName names a portion, by its recipe alone where there is one.
func (m *making) sweetName(i int) string {
	sw := m.sweets[i]
	r, _ := m.b.Recipe(sw.Recipe)
	if len(r.Portions) == 1 {
		return r.Name
	}
	return r.Name + ", " + sw.Portion
}

// wouldFill says how many bags of a product of this sweet alone the left-over
// fills, of the smallest such product.
func (m *making) wouldFill(i int, kg q.Estimate) string {
	sw := m.sweets[i]
	best, net := "", q.Kilograms(0)
	for _, p := range m.b.Products {
		if len(p.Parts) == 1 && p.Parts[0].Recipe == sw.Recipe && (p.Parts[0].Portion == sw.Portion || m.onlyPortion(sw.Recipe)) &&
			(best == "" || p.Net < net) {
			best, net = p.Name, p.Net
		}
	}
	if best == "" || kg.Low < float64(net) {
		return ""
	}
	low, high := math.Floor(kg.Low/float64(net)), math.Floor(kg.High/float64(net))
	if low == high {
		return fmt.Sprintf("%.0f more bags of %s", low, best)
	}
	return fmt.Sprintf("%.0f to %.0f more bags of %s", low, high, best)
}
