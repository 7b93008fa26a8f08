// Package roller turns a mass on the slab into pieces: what is lost as ends, web,
// chips and dust, how much lighter a pulled piece is, how many pieces a boil
// makes, and how long the rolls take to eat it.
//
// No speed is ever computed from a nip: the overall rate is the shop's own, hand
// feeding included. A boil too large for its rolling time is to be split or made
// smaller, never fed faster.
package roller
