// Package keeping knows how long a shut pack of sweets keeps: until the water that
// comes through its wall has brought them, on the average, to where they begin to
// soften.
//
// # The balance
//
// Nothing but water passes, and the sweets in a pack are as damp as each other:
//
//	Ws dX/dt = P A p0(T) (RH − a(X))
//
// with Ws the dry sugars, X their water [g/g], P A what the pack lets through for each
// kPa of vapour, p0 the pressure of saturated steam at the store's temperature, RH its
// humidity, and a(X) the activity of water over boiled sugar ([sugar.SorbedActivity]).
// X is carried over from one place of storage to the next. With u = ln(RH − a) the time
// from a0 to a1 is Ws/(P A p0) times the integral of dX/da over u, which is smooth up to
// the balance; with a mean slope b in place of dX/da it is the log equation
//
//	t = Ws b / (P A p0) · ln((RH − a0) / (RH − a1))
//
// Reference: source keys labuza1981 and robertson for the log equation, source keys
// pocas1995 and tanprasert1999 for the integral over an isotherm, source key kliment1979
// for places one after another.
//
// # The limit
//
// The sweets have kept until their average water is where the glass transition is
// [Margin] above the warmest of the places, or [Gain] more than they began with, whichever
// comes first. Their surface is at the limit before their average is.
//
// # The ranges
//
// What the wall passes, its area, the isotherm, the water at the start and the limit are
// drawn from an ensemble: see [Of]. A pack that was weighed while it took up water
// gives its own P A, and the isotherm's error then nearly falls out, since it was in the
// weighing too.
package keeping
