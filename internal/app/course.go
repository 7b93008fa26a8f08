package app

import (
	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// Course is a boil in time, by its middle figures, from the lighting of the flame.
type Course struct {
	Points []CoursePoint `json:"points"`
	Steps  []CourseStep  `json:"steps"`
}

// CoursePoint is what stands in the kettle at one time.
type CoursePoint struct {
	AtS       q.Number `json:"at_s"`
	TrueC     q.Number `json:"true_c"`
	WaterFrac q.Number `json:"water_frac"`
	MassKg    q.Number `json:"mass_kg"`
	DepthM    q.Number `json:"depth_m"` // of the liquid, in a round pan as deep as its radius
}

// CourseStep is one of the boil's own steps.
type CourseStep struct {
	Step      string   `json:"step"`
	What      string   `json:"what"`
	AtS       q.Number `json:"at_s"`
	TrueC     q.Number `json:"true_c"`
	Read      string   `json:"read"` // on the glass, in the shop's units; empty while none is in
	WaterFrac q.Number `json:"water_frac"`
}

// stepWords says what is done at a step of a boil.
func stepWords(s boil.Step) string {
	switch s {
	case boil.StepLight:
		return "flame up; stir until it is dissolved"
	case boil.StepBoils:
		return "it boils: stir no more"
	case boil.StepWash:
		return "lid on, or wash the sides down"
	case boil.StepGlass:
		return "thermometer in"
	case boil.StepHold:
		return "the last moment it can wait"
	case boil.StepLift:
		return "flame off, lift"
	case boil.StepSettled:
		return "has ridden up on the heat of the pan"
	}
	return string(s)
}

// courseOf turns a course into what is shown; nil without one.
func courseOf(c *boil.Course, glass rig.Glass, units q.Reader) *Course {
	if c == nil {
		return nil
	}
	out := &Course{Points: make([]CoursePoint, len(c.Points)), Steps: []CourseStep{}}
	for i, p := range c.Points {
		out.Points[i] = CoursePoint{q.Number(p.AtS), q.Number(p.TempC), q.Number(p.WaterFrac), q.Number(p.MassKg), q.Number(p.DepthM)}
	}
	in := false
	for _, m := range c.Moments {
		s := CourseStep{Step: string(m.Step), What: stepWords(m.Step), AtS: q.Number(m.AtS), TrueC: q.Number(m.TempC), WaterFrac: q.Number(m.WaterFrac)}
		if in = in || m.Step == boil.StepGlass; in {
			s.Read = readOn(units, glass, boil.Mark(glass, q.Celsius(m.TempC)+q.Celsius(glass.Offset)))
		}
		out.Steps = append(out.Steps, s)
	}
	return out
}
