package app

import (
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// Sugar returns the properties of one mixture. It reads no book.
func Sugar(r SugarRequest) (*SugarResult, error) {
	if r.Pressure == 0 {
		r.Pressure = q.StandardAtmospherePa
	}
	if r.Solids < 0 || r.Solids > 1 {
		return nil, fault.Invalid("solids of %s are not between 0 %% and 100 %%", q.Plain.Percent(r.Solids, 2)).At("solids")
	}
	p, err := sugar.PropertiesOf(sugar.State{
		Mixture:  sugar.Mix(sugar.Solids{Syrup: r.SyrupShare, DE: r.SyrupDE}, 1-r.Solids),
		At:       r.At,
		Pressure: r.Pressure,
	})
	if err != nil {
		return nil, err
	}
	out := &SugarResult{BoilingC: p.BoilingC, WaterActivity: p.WaterActivity, DensityKgL: p.DensityKgL,
		ViscosityPaS: p.ViscosityPaS, HeatCapacity: p.HeatCapacityKJKg, Conductivity: p.ConductivityWMK,
		GlassC: p.GlassC, Cautions: []Caution{}, Sources: source.Strings(p.Sources...)}
	for _, c := range p.Cautions {
		out.Cautions = append(out.Cautions, Caution{Code: c.Code, Text: c.Text})
	}
	return out, nil
}
