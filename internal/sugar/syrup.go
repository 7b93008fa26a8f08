package sugar

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"slabside/internal/quantity"
	"slabside/internal/source"
)

// Syrup is one glucose syrup of the composition table.
type Syrup struct {
	Name string
	// DE is the dextrose equivalent: reducing power as per cent dextrose of the solids.
	DE float64
	// Shares of the solids [%] by the number of dextrose units; nil where the
	// source does not say.
	DP1, DP2, DP3, DP4Plus *float64
	Source                 source.Key
}

//go:embed data/glucose-syrup.csv
var syrupTable string

// Syrups returns the composition table, the default syrup (42 DE) first.
// It panics if the embedded table is broken, which a test rules out.
func Syrups() []Syrup {
	r := csv.NewReader(strings.NewReader(syrupTable))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(fmt.Sprintf("sugar: glucose-syrup.csv: %v", err))
	}
	syrups := make([]Syrup, 0, len(rows))
	for _, row := range rows[1:] { // the first row is the header
		syrups = append(syrups, Syrup{
			Name: row[0], DE: *share(row[1]),
			DP1: share(row[2]), DP2: share(row[3]), DP3: share(row[4]), DP4Plus: share(row[5]),
			Source: source.Key(row[7]),
		})
	}
	return syrups
}

// MolarMass returns the number-average molar mass [g/mol] that the reducing power
// stands for: 18016/DE.
func (s Syrup) MolarMass() float64 { return dextroseEquivalentMass / s.DE }

// Spectrum returns the syrup's sugars, their shares brought to one; ok is false where
// the source does not say them all.
func (s Syrup) Spectrum() (spectrum Spectrum, ok bool) {
	if s.DP1 == nil || s.DP2 == nil || s.DP3 == nil || s.DP4Plus == nil {
		return Spectrum{}, false
	}
	sum := *s.DP1 + *s.DP2 + *s.DP3 + *s.DP4Plus
	return Spectrum{quantity.Fraction(*s.DP1 / sum), quantity.Fraction(*s.DP2 / sum), quantity.Fraction(*s.DP3 / sum)}, true
}

// share reads a cell of the table; nil for an empty one.
func share(cell string) *float64 {
	if cell == "" {
		return nil
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic(fmt.Sprintf("sugar: glucose-syrup.csv: %v", err))
	}
	return &v
}
