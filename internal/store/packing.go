package store

import "slabside/internal/packing"

// Packing is the journal of what became of sweets after the sieve: bag lots, jars, and
// the loose sweets of batches.
var Packing = register(Journal[packing.Entry]{Name: "packing", Follow: packing.Follow, Row: packing.RowOf})
