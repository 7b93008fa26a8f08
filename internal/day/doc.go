// Package day decides which boil is made when, with whose hands: the order of
// the boils, the cleaning and the change of rolls between them, and the minute
// of every pour, proved best for a normal day.
//
// # The model
//
// Time runs in whole minutes from the opening of the room; intervals are
// half-open. There is one hot line: a kettle, a slab, a hook, one drop machine.
// A boil poured at minute t with shape s occupies
//
//	kettle   [t−Lit−Charge, t+Pour+Rinse), from KettleMin earlier if it is cleaned
//	flame    [t−Lit, t)           at least one adult in the room in every minute
//	charge   [t−Lit−Charge, t−Lit)  one hot hand
//	watch    [t−Watch, t)         one hot hand that may do droppable work (elastic work) only
//	pour     [t, t+Pour)          PourHands hot hands
//	steps    [t+From, t+To)       Hands hot hands each
//	slab     [t, t+s.SlabFree)
//	hook     [t+s.HookFrom, t+s.HookTo), if not empty
//	rolls    [t+s.RollFrom, t+s.RollTo)
//	bench    [t+s.RollFrom, t+s.RollTo+Cool), BenchG of the bench's room
//
// and nothing in it waits. Two boils never overlap on kettle, slab, hook or
// rolls; the bench holds at most Problem.BenchG at any minute.
//
// Between consecutive boils i and j (and before the first, from minute 0):
//
//   - one cleaning act, Problem.ActMin[act] minutes in one piece by one hand
//     at a time that may clean, within [max(slab free, hook free) of i, pour of j);
//   - if the pair of rolls differs, a change of rolls of Pair.Mount minutes; if
//     it stays, a cleaning of the mounted rolls of Problem.RollsMin[act]
//     minutes; in one piece by one hand at a time that may clean, within [rolls free of
//     i, rolling start of j). Before the first boil the pair Problem.Mounted is
//     on the machine (−1: none);
//   - an allergen clean of the kettle, if it is decided on: Problem.KettleMin
//     minutes by one hand at a time that may clean, in the minutes
//     [t−Lit−Charge−KettleMin, t−Lit−Charge) of j, so that nothing gets in between
//     it and the charge.
//
// Residue on the line (slab, hook, machine) is an integer level on every channel. An act comes first: a wipe
// lowers the level of a channel by 2 (not below 0), a wash sets it to 0, and
// neither touches an allergen channel; an allergen clean sets every channel to
// 0. Then level_c ≤ Limit_c must hold for every channel c at the pour, and
// afterwards level_c becomes max(level_c−1, Emit_c), on an allergen channel
// max(level_c, Emit_c).
//
// The kettle has a level of its own on every allergen channel. Its clean sets
// all of them to 0. Then level_c ≤ Limit_c must hold when the charge begins, and
// afterwards level_c becomes max(level_c, KettleEmit_c).
//
// A pair of rolls is soiled when it is changed off the machine while, before the
// act, an allergen channel of the line has a level above 0. A soiled pair that
// goes on again is cleaned in the same piece of work, which takes
// Problem.RollsMin[AllergenClean] minutes more than the change, and is clean then.
//
// # Hands
//
// Hands form three nested classes: hot hands may do everything, cleaning hands
// all but hot work, bench hands only elastic work. With present(class, τ) the
// hands of at least that class in the room in minute τ (zero while a break runs):
//
//	hot + charge + watch              ≤ present(hot, τ)
//	hot + charge + watch + setups     ≤ present(clean, τ)
//	hot + charge + setups + elastic   ≤ present(bench, τ)
//
// Elastic work can be interrupted and shared at will: weighing (Weigh
// hand-minutes a boil, open from minute 0, done before that boil's charge
// begins, boils served in pour order) and after-work (After hand-minutes of
// breaking, sieving, finishing and packing, open from the moment the sheets are
// cool at t+RollTo+Cool). The day's work ends at the first minute E by which
// all blocks (kettle included), benches, acts and elastic work of the boils made are done. No boils: E = 0.
// E + Closing may not exceed End.
//
// # Breaks, appointments, rules
//
// A break of Minutes starts at some minute of [From, To]; while it runs no flame
// is lit, no charge, hot step or set-up is going on and no elastic work is
// done. (Kettle rinse, cooling sheets and an idle slab may stand.) It must be
// taken unless the day's work ends at or before its To.
//
// An appointment is kept by a boil (of its Recipe, or any if −1) poured within
// [At−Early, At+Late]; a boil keeps at most one. Rules bind the order and the acts, see [Rule].
//
// Two boils may be on hook or rolls in another order than they are poured, as
// long as they do not meet there; an act waits for the hook of the boil before it only.
//
// Boils of one recipe are made in index order, so a state of the search is how
// many of each recipe are made. Any subset closed under that order may be made.
//
// # Objective
//
// Lexicographic, least first: must-lines not made, appointments missed,
// should-lines not made, end of the work E, cleaning minutes (acts, cleans of the kettle and
// of rolls that stay or go on soiled; changes of rolls do not count). A line is made when for every
// recipe r at least Needs[r] boils are made.
package day
