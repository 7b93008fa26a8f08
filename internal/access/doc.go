// Package access knows who may do what with a shop book: the people and their
// roles, the PIN each signs in with for a shift, the tablets that were paired, and
// the tokens programs ask with.
//
// All of it is one [State], small and changed whole: a shop has a handful of
// people and tablets. Its methods take the time and the source of chance as
// values. What gives access is kept as a hash alone: PINs, which are short, by
// argon2id; the secrets of tablets, shifts and programs, which are 256 bits of
// chance, by SHA-256.
//
// A state without an owner who has a PIN is open: whoever sits at the machine may
// do everything, and nobody else is let in.
package access
