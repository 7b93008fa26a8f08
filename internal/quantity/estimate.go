package quantity

import (
	"encoding/json"
	"strconv"
)

// Basis says where a number comes from.
type Basis string

// The three bases a computed number can have.
const (
	Exact     Basis = "exact"     // arithmetic on stated inputs
	Estimated Basis = "estimated" // a model, with its stated errors
	Learned   Basis = "learned"   // fitted to this room's own batches
)

// Estimate is the printed end of a prediction: a value with its 5 % and 95 %
// points. An exact number has Low == Value == High. The unit is the caller's
// (it stands in the JSON key or the column head).
type Estimate struct {
	Value   float64
	Low     float64
	High    float64
	Basis   Basis
	Batches int // batches behind a learned figure
}

// ExactOf returns an estimate without spread.
func ExactOf(v float64) Estimate { return Estimate{Value: v, Low: v, High: v, Basis: Exact} }

// Scale returns the estimate in another unit: every point times k.
func (e Estimate) Scale(k float64) Estimate {
	e.Value, e.Low, e.High = e.Value*k, e.Low*k, e.High*k
	if k < 0 {
		e.Low, e.High = e.High, e.Low
	}
	return e
}

// Shift returns the estimate with every point moved by d.
func (e Estimate) Shift(d float64) Estimate {
	e.Value, e.Low, e.High = e.Value+d, e.Low+d, e.High+d
	return e
}

// Spread reports whether the estimate has a range worth showing.
func (e Estimate) Spread() bool { return e.Basis != Exact && e.Low != e.High }

type estimateJSON struct {
	Value   Number `json:"value"`
	Low     Number `json:"low"`
	High    Number `json:"high"`
	Basis   Basis  `json:"basis"`
	Batches int    `json:"batches"`
}

// MarshalJSON writes {"value","low","high","basis","batches"} with numbers to
// 12 significant digits, so that the same book gives the same bytes everywhere.
func (e Estimate) MarshalJSON() ([]byte, error) {
	return json.Marshal(estimateJSON{Number(e.Value), Number(e.Low), Number(e.High), e.Basis, e.Batches})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (e *Estimate) UnmarshalJSON(b []byte) error {
	var j estimateJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return err
	}
	*e = Estimate{float64(j.Value), float64(j.Low), float64(j.High), j.Basis, j.Batches}
	return nil
}

// Number is a float64 that prints as JSON with 12 significant digits.
type Number float64

// MarshalJSON writes the number with at most 12 significant digits.
func (n Number) MarshalJSON() ([]byte, error) {
	s := strconv.FormatFloat(float64(n), 'g', 12, 64)
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return nil, err
	}
	return json.Marshal(v)
}
