// Package packing knows what became of sweets after the sieve: bags by the lot, sweets
// in jars, and what was taken of a batch without a bag. Each is a ledger of entries none
// of which is ever changed, see package journal. [FoldBags], [FoldJar] and [LooseOf] read
// them as they stand, to the bag and to the milligram, and say openly what nobody wrote
// down. [WindowOf] says what a scale may show of a bag.
package packing
