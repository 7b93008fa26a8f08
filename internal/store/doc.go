// Package store says what keeping a shop book means: an append-only log of
// acts, things with immutable revisions, and the lines to make. Engines live in
// sub-packages and all pass the one suite in storetest.
package store
