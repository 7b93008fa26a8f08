// Package heat computes conduction through layers in one dimension: a sheet of candy on
// a plate over water or air, under air and the cold walls of a room; and what belongs
// to it, folding the candy, lumps that are kneaded or pulled in the air, and the nip of
// a pair of rolls.
//
// # The layers
//
// Every layer is cut into cells of equal depth. A cell's state is its enthalpy h, and its
// temperature follows by the matter's [Curve]; so a heat capacity that jumps at the
// glass transition loses nothing:
//
//	w dh_i/dt = A_i q_{i-1/2} − A_{i+1} q_{i+1/2}   w mass of a cell by area [kg/m²]
//	q_{i+1/2} = k(½(T_i + T_{i+1})) (T_i − T_{i+1}) / Δ    within a matter
//	q_{i+1/2} = (T_i − T_{i+1}) / (Δ_i/2k_i + r + Δ_{i+1}/2k_{i+1})    across a contact
//	q at a face = (T_face − T_ambient)·h(T_face), with the half cell before it
//
// Within a matter whose conductivity is straight in the temperature the second line is
// exact for what passes steadily (Kirchhoff's transform). The areas A are those of a
// plane, 1, of a cylinder, r/R, or of a sphere, (r/R)². Conductivities and the
// coefficients of the faces are those of the temperatures at the end of each stage, not of
// its beginning.
//
// # Time
//
// Steps are those of the trapezoidal rule followed by the second backward difference
// formula, as one singly diagonally implicit pair: second order, stiffly accurate,
// L-stable, with an embedded third-order result from which the step's error is told. A
// step whose error is larger than the bound is done again, shorter; so is one that
// warms or cools any cell beyond what is around it, which nature never does. What
// passes the faces is summed with the weights of the step, so that heat is kept to
// rounding, whatever Newton's method has left over: up to a hundredth of the bound.
//
// The error of a whole run falls with the power of two thirds of the bound; at the usual
// one a slab's temperatures are within 0.02 K of those of endlessly short steps, and 40
// cells within 0.05 K of endlessly thin ones (docs/validation.md; the package's tests).
//
// References: space, source key patankar1980; time, source key hosea-shampine1996.
package heat
