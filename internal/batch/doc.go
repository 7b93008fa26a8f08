// Package batch knows what one boil will do, from the kettle to sound pieces: one
// chain of models carried through one ensemble of draws.
//
// Each uncertainty has a column whose name begins with what shares it: the shop
// (the boiling equation, the barometer), an instrument, a delivery, a pair of
// rolls, a recipe, or this boil alone. Pieces of several boils are therefore
// added draw by draw: a 3 % error of a pair's piece stays 3 % over four boils,
// while what is weighed anew each time averages out. Printed ranges are never
// added up.
package batch
