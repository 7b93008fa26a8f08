// Package lot knows what came into the stores and what became of it: lots of
// ingredients, each with a ledger of entries none of which is ever changed. [Fold]
// reads the ledger as it stands, to the milligram, and says openly what nobody wrote
// down.
package lot
