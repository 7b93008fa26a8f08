// Package care knows what is wrong with the things of a boiling room and what was done
// about it: faults found, what was oiled, mended or tested and with what, and what is
// due. Each thing has a ledger of entries none of which is ever changed; [Fold] reads it
// as it stands. It knows no recipe and no plan: what follows from a thing that is out of
// use is for others to say.
package care
