package rig

// AsksTest reports whether old pieces of the material may carry lead in solder,
// plating or the alloy itself, so that a test is asked for (FDA Food Code
// 4-101.13 for solder and flux; common practice for tinning and cast rolls).
func (m Material) AsksTest() bool {
	switch m {
	case Copper, TinnedCopper, TinnedSteel, Brass, Bronze:
		return true
	}
	return false
}
