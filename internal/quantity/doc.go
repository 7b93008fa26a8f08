// Package quantity holds the units the shop speaks: a handful of small types on
// fixed base units, and the parsing and printing of amounts written by people.
//
// Temperatures on a scale ([Celsius]) and differences of temperature ([Kelvins])
// are two types, so that 20 °C plus 30 °C does not compile. Everything else is
// a defined float64 on its SI (or trade) base unit: kilograms, litres, metres,
// pascals, watts, joules, fractions of one.
//
// An amount travels as text with its unit ("6.35 kg", "14 lb", "310 F",
// "2.5 %"); the types implement encoding.TextMarshaler and TextUnmarshaler, so
// shop-book files, stored revisions and flags all share one grammar. MarshalText
// writes the base unit with the fewest digits that read back to the same value:
// a round trip is exact.
//
// [System] prints amounts for people, in metric or in US customary units.
package quantity
