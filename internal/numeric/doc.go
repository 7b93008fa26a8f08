// Package numeric holds the few numerical tools the models share: a bracketed
// root finder, an ensemble of draws for carrying errors along a chain of
// models, the quantiles that turn an ensemble into a printed range, and two ways
// to learn unknowns from what was seen: a belief, exact where the model is a
// straight line in them, and a least squares fit for those that are not.
//
// It knows floats only: no units, no sugar, no clock and no global randomness.
package numeric
