// Package sugar holds what a mixture of sucrose, glucose syrup, invert sugar and
// water, with a little acid or salt in it, does: where it boils, how much water it
// then holds, how thick, heavy and warm it is, below which temperature it stands as a
// glass, and in what air it keeps.
//
// It knows one model for each property, with the range it was made or checked
// for and its error; outside the range the answer is a fault of kind out of
// range, never a number. It knows nothing of kettles, slabs or recipes.
//
// Doors take the types of package quantity; a bare float64 carries its unit in
// its name and in the comment of its function. Kernels (unexported) take SI
// float64 and assume what the doors have checked.
//
// Two ways to use an error: the SD functions give one standard deviation, for
// a draw in an ensemble; [PropertiesOf] gives every property as an estimate with
// its 5 % and 95 % points. The error of the boiling equation is one draw for
// the whole shop, not one a batch: what the equation gets wrong it gets wrong
// every day. [BoilingPointWith] and [WaterAtBoilWith] apply such a draw.
//
// The models and how well they meet tables of outside origin are listed in
// docs/validation.md.
package sugar
