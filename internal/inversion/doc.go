// Package inversion holds how fast sucrose falls into invert sugar (glucose and
// fructose in equal parts) in a boil: how sour the boil's water is, the rate that
// gives at a temperature, and what a whole boil, slow or fast, large or a trial,
// inverts along its curve of time, temperature and water.
//
// # The chain
//
//	acids, alkali of water and sugar  →  [Bath.PH] in the water that is left
//	pH, temperature, water            →  [Rate], first order in sucrose
//	the curve of a boil               →  [Boil.Along]: exposure, share inverted
//	the same with the stated errors   →  [Boil.Draws] for an ensemble
//	cook-back, boiled again and again →  [CookBack]
//
// # How far it can be trusted
//
// The rate is checked against laboratories in dilute acid from 25 to 45 °C and
// against boiled syrups of about 66 %, 104 °C. Above 115 °C and 85 % solids, where
// a boil for drops spends its last minutes, nothing published checks it: every
// answer that passes there carries a caution. Without a measured boil of the same
// kettle and water the exposure is right to a factor of two; with one
// ([Boil.Factor]) to about a quarter.
//
// It knows nothing of kettles and recipes; the curve is the caller's.
package inversion
