// Package numeric holds the few numerical tools the models share: a bracketed
// root finder, an ensemble of draws for carrying errors along a chain of
// models, and the quantiles that turn an ensemble into a printed range.
//
// It knows floats only: no units, no sugar, no clock and no global randomness.
package numeric
