package store

import "slabside/internal/packing"

var packed = register(Journal[packing.Entry]{Name: "packing", Follow: packing.Follow, Row: packing.RowOf})

// Packing is the journal of what became of sweets after the sieve: bag lots, jars, and
// the loose sweets of batches.
func Packing() Journal[packing.Entry] { return packed }
