// Package learn draws from the records of batches what they say of this room: how far
// the boiling equation, the thermometer, the glass transition and the kettle's
// efficiency are off here. It starts from what is held without records (the priors),
// which are the very errors that package boil draws, and moves them by Bayes' rule.
//
// # What is seen of a batch
//
// With w the water of its sugar at the lift, which nobody knows, and all errors in
// standard deviations z of their priors:
//
//	read on the glass   = boiling point(w, z_model) + offset + class · z_glass + how it is read
//	kettle on the scale = water that goes with w + what deliveries bring more · z_delivery + how it is weighed
//	a measured moisture = water that goes with w + how it is measured
//	pulled, rolled at   = temperature of a thickness(w, z_stands, z_thickness) + this maker's habit + how it is read
//	time of flame       = by the kettle's efficiency(z_fire) + what differs from boil to boil
//
// Each is straightened where the plan has it, so that means and covariances are all
// there is to carry: a [numeric.Belief]. Each batch's w is taken in wide, and let go
// once its batch has taught what it can. An error that is seen only in a sum stays as
// wide as it must: a reading and a weighing tell equation and glass together, a check
// of the glass tells them apart.
//
// # Records that contradict each other
//
// Where what is seen misses what is expected by more than its own errors allow, all
// of these are widened in one proportion, so that the misses are as large as they
// should be (R. T. Birge, The calculation of errors by the method of least squares,
// Phys. Rev. 40:207, 1932; from memory), and the ranges with them.
//
// # What is not learned
//
// How much sugar a boil inverts: nobody measures it in a shop. What the slab takes
// away, and how long the sugar can be rolled, is another model's.
package learn
