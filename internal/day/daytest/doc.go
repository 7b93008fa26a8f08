// Package daytest checks plans of package day from outside. It holds a
// replay of a plan minute by minute, a search through every plan of a small
// day, a maker of random small days, a writer of the same model as a mixed
// integer programme for an outside solver, and a picture of a plan in text.
//
// Nothing here calls the planner and nothing of the planner is used here but
// its types, so that a fault of the one does not hide in the other. All of it
// is written from the package comment of day. Slow and plain is wanted.
package daytest
