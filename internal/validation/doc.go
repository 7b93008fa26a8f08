// Package validation is support for tests: it holds a model against tables, keeps
// a committed summary beside the package that owns the model, and puts all
// summaries together in docs/validation.md.
//
// A package adds a table in its own tests:
//
//	var update = flag.Bool("update", false, "rewrite the committed summaries")
//
//	func TestValidation(t *testing.T) {
//		validation.Check(t, *update, tables...)
//	}
//
// and then runs
//
//	go test ./internal/sugar -update
//	go test ./internal/validation -update
//
// Only rows of outside origin count as a check of a model; those its numbers were
// fitted to are listed apart, and so are exact solutions of a model's own equations
// in numbers that were worked out apart: they check a solver. Rows computed from the
// model itself only guard against accidents: they are listed apart, with their
// share. A rival is another model over the same rows and tolerances; it has to
// fail, or the rows prove nothing.
//
// Rows that have a place (solids and temperature) in a table that covers a property are
// counted into a grid, printed after the tables: an empty cell is the model's word alone.
package validation
