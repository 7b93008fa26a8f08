package verdict

import (
	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Map shows where a boil lies: water left across, its doctor up.
type Map struct {
	Doctor   string    `json:"doctor"`          // "syrup" or "invert sugar": what is counted up
	Of       string    `json:"of"`              // "dry sugars" or "sweet": what it is a share of
	Dot      MapDot    `json:"dot"`             // the boil
	Lines    []MapLine `json:"lines"`           // right of one it sticks
	RiskFrac q.Number  `json:"grain_risk_frac"` // doctor under which it may grain
	EasyFrac q.Number  `json:"grain_easy_frac"` // and from which it keeps easily
	Top      q.Number  `json:"top_frac"`        // the most doctor that is drawn
	To       *MapTo    `json:"to"`              // which way to move; null where there is no need, or no way
}

// MapDot is a boil on the map. No DoctorFrac: it is somewhere up the whole height.
type MapDot struct {
	WaterFrac  q.Estimate  `json:"water_frac"` // of the sugar phase, additions in
	DoctorFrac *q.Estimate `json:"doctor_frac"`
}

// MapTo is where the boil would lie drier, and where with more syrup.
type MapTo struct {
	WaterFrac  *q.Number `json:"water_frac"`
	DoctorFrac *q.Number `json:"doctor_frac"`
}

// MapLine is where the sweet stands up to a limit and no more.
type MapLine struct {
	Name   string     `json:"name"`
	LimitC q.Number   `json:"limit_c"`
	Points []MapPoint `json:"points"`
}

// MapPoint is a point of a line with the water between which the line runs, by the
// error of the glass transition.
type MapPoint struct {
	DoctorFrac q.Number   `json:"doctor_frac"`
	WaterFrac  q.Estimate `json:"water_frac"`
}

// The most doctor a map shows.
const (
	mapTopSyrup  = 0.60
	mapTopInvert = 0.30
	mapSteps     = 12
)

// mapOf draws the lines through the sweet's own make-up; nil without one.
func (in Inputs) mapOf(s *sweet, v stuck) *Map {
	if s == nil {
		return nil
	}
	perPhase := s.water / s.WaterFrac.Value // of the whole, to of the sugar phase
	m := &Map{Doctor: "syrup", Of: "dry sugars", Dot: MapDot{s.WaterFrac.Scale(perPhase), &in.Boil.DoctorFrac}, RiskFrac: boil.SyrupGrains, EasyFrac: boil.SyrupEasy, Top: mapTopSyrup}
	beside := in.Boil.DoctorFrac.Value - float64(s.solids.Syrup) // honey, and what additions and inversion dilute
	with := func(doctor float64) sugar.Solids {
		x := s.solids
		x.Syrup = min(q.Fraction(max(0, doctor-beside)), 1-x.Invert-x.Beside.Share)
		return x
	}
	if in.byAcid() {
		m.Doctor, m.Of, m.Dot.DoctorFrac, m.RiskFrac, m.EasyFrac, m.Top = "invert sugar", "sweet", in.Boil.InvertFrac, boil.InvertGrains, boil.InvertEasy, mapTopInvert
		perDry := s.Makeup.Mass() / s.Makeup.Phase()
		with = func(doctor float64) sugar.Solids {
			x := s.solids
			x.Invert = q.Fraction(doctor * perDry)
			return x
		}
	}
	for i, l := range v.Limits {
		if l.C == nil || i == 0 && *l.C < *v.Limits[1].C {
			continue // the store asks more than the room
		}
		line := MapLine{Name: l.Name, LimitC: *l.C}
		for i := range mapSteps + 1 {
			doctor := q.Number(float64(m.Top) * float64(i) / mapSteps)
			if e, ok := in.waterAt(with(float64(doctor)), float64(*l.C)); ok {
				line.Points = append(line.Points, MapPoint{doctor, e})
			}
		}
		if len(line.Points) > 1 {
			m.Lines = append(m.Lines, line)
		}
	}
	if v.toWater > 0 || v.toShare > 0 {
		m.To = &MapTo{}
		if v.toWater > 0 {
			m.To.WaterFrac = number(v.toWater)
		}
		if v.toShare > 0 {
			m.To.DoctorFrac = number(v.toShare + beside)
		}
	}
	return m
}

// waterAt returns the water with which solids stand up to t and no more, with the
// range that the error of the glass transition leaves; false outside the model's range.
func (in Inputs) waterAt(s sugar.Solids, t float64) (q.Estimate, bool) {
	mid, err := in.waterAtGlass(s, t, 0)
	if err != nil {
		return q.Estimate{}, false
	}
	const ninety = 1.6448536269514722 // the standard-normal 95 % point
	low, err := in.waterAtGlass(s, t, -ninety)
	if err != nil {
		low = 0 // stands up to that not even dry
	}
	high, err := in.waterAtGlass(s, t, ninety)
	if err != nil {
		return q.Estimate{}, false
	}
	return q.Estimate{Value: mid, Low: low, High: high, Basis: q.Estimated}, true
}
