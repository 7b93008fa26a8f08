// Package slab follows a batch from the lift to the moment the rolls can take it: the
// pour, the edge that lifts, the turns and the kneading, what is pulled meanwhile, and
// the board it waits on.
//
// # The stages
//
//	pour      the sugar loses a few kelvins between the lift and the slab
//	lying     layers of candy over the plate, by package heat; a band along the edge,
//	          which the bar or the air cools from the side too, lifts clean when it has
//	          come to a thickness
//	turns     each folds the candy over, mixes it some way and presses it to a depth
//	kneading  one temperature all through, on a plate that is cooled or warms up, and
//	          always wetting it anew
//	pulling   a portion in the air, as ropes
//	board     what waits for the rolls, on wood and under a lamp
//
// When a thing can be done is a matter of how thick the sugar is: the thicknesses are
// the trade's windows (source key model-sugar), the temperature of a thickness is that of
// package sugar for what this batch is made of and has left of water.
//
// # What nobody knows
//
// How well candy lies on its plate is known to a factor of ten, and what a kettle loses
// on its way to a few kelvins. Such figures have a stated prior (see [Unknowns]), and the
// room's own taps and thermometers move them: see package learn. Nothing here was
// measured on a real table but what a shop measures itself, so all of it says "estimated"
// until then.
package slab
