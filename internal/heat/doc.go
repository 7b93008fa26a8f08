// Package heat computes conduction through layers in one dimension: a sheet of candy on
// a plate over water or air, under air and the cold walls of a room; and what belongs
// to it, folding the candy, lumps that are kneaded or pulled in the air, and the nip of
// a pair of rolls.
//
// # The layers
//
// Every layer is cut into cells of equal mass. A cell's state is its enthalpy h, and its
// temperature follows by the matter's [Curve]; so a heat capacity that jumps at the
// glass transition loses nothing:
//
//	w dh_i/dt = q_{i-1/2} − q_{i+1/2}         w mass of a cell by area [kg/m²]
//	q_{i+1/2} = (T_i − T_{i+1}) / R           R = Δ/2k_i + r_contact + Δ/2k_{i+1}
//	q at a face = (T_face − T_ambient)·h(T_face), with the half cell before it
//
// Conductivities and the coefficients of the faces are those of the temperatures at the
// end of each stage, not of its beginning.
//
// # Time
//
// Steps are those of the trapezoidal rule followed by the second backward difference
// formula, as one singly diagonally implicit pair: second order, stiffly accurate,
// L-stable, with an embedded third-order result from which the step's error is told. A
// step whose error is larger than the bound is done again, shorter; so is one that
// warms or cools any cell beyond what is around it, which nature never does. What
// passes the faces is summed with the weights of the step, so that heat is kept to
// rounding, whatever Newton's method has left over.
//
// References: space, source key patankar1980; time, source key hosea-shampine1996.
package heat
