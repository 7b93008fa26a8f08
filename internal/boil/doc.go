// Package boil knows what a kettle does to sugar, syrup and water: from the
// masses that go in and the point at which the boil ends to the water left, the
// temperature to read on this glass under today's air, the mass in the kettle,
// what additions bring and lose, what the finished sweet stands up to, how long
// the fire burns, and how every line is weighed.
//
// # The balance
//
// Dry matter is kept, water is what changes:
//
//	in the kettle at the lift = dry matter + water left
//	water off                 = charge − in the kettle at the lift
//	on the slab               = in the kettle − smear + additions − what flashes
//
// The boiling relation holds for the sugar phase, sugars and what is dissolved
// with them plus water. Fat, oils and nuts lie in it undissolved: they add to the
// mass, not to the boiling point. Small dissolved things (tartar, acid, salt) are
// counted as sucrose in that relation.
//
// What flashes off an addition lies between two heat balances, see [Flash]; what each
// brings, loses and does is an [Addition].
//
// # Inversion
//
// Package inversion says what sucrose falls to invert sugar along the boil's own
// course, by the acids in the kettle and the alkali of water and sugar. It binds
// water, lowers what the sweet stands up to and raises the boiling point, so the boil
// takes another time: the plan is worked out again until both agree. What is poured
// goes on inverting on the slab until it has cooled. The boiling curve is that of the
// make-up at the lift, inverted as far as it will be; acid that is folded in on the slab
// is not counted until it comes back as cook-back, see [CookedBack]. Without a fire there is no time, and nothing inverts.
//
// # The ranges
//
// [Simulate] carries an ensemble of draws through the whole balance. Errors that
// are the same for every boil (the boiling equation, the barometer, the glass, a
// delivery of syrup) have a column named after what they belong to; errors of one
// boil (weighing, the moment of the lift, the smear) have one named after the
// boil. Sums over boils therefore keep the shared errors shared.
package boil
