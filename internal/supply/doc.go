// Package supply knows what a shop needs and no sweet is made of: bags, labels and jars,
// gas, gloves and the like. A [Supply] is a thing of the shop book; what came of it is
// lots, each with a ledger of entries none of which is ever changed, in whole pieces or
// whole milligrams. [Fold] reads a ledger together with what the packing took of it, and
// says openly what nobody wrote down.
package supply
