package boil

// GasKWh returns the heat of the gas that the boil burns, by its middle figures [kWh]:
// the burner's power for the time of flame, what goes past the pan too. False without a
// fire, or where its time cannot be told. [Result.EnergyKWh] has its range.
func (p *Plan) GasKWh() (float64, bool) {
	if p.fire == nil {
		return 0, false
	}
	const joulesPerKWh = 3.6e6
	lit, _, err := p.fire.lit(p.power(), p.holdHere())
	return lit * float64(p.in.Kettle.Burner) / joulesPerKWh, err == nil
}
