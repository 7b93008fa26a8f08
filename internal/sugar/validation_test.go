package sugar

import (
	"flag"
	"slices"
	"testing"

	"slabside/internal/validation"
)

var update = flag.Bool("update", false, "rewrite testdata/validation.csv")

// Every table of outside origin this package knows, and its own regression rows.
func TestValidation(t *testing.T) {
	t.Parallel()
	tables := slices.Concat(
		steamTables(t), atmosphereTables(t),
		boilingTables(t), stageTables(t), activityTables(t),
		densityTables(t), heatTables(t), glassTables(t), viscosityTables(t),
		spectrumTables(), syrupActivityTables(t), isothermTables(t), dewTables(t),
		regressionTables(t), keepingRegression(t),
	)
	validation.Check(t, *update, tables...)
}
