// Package reading is what thermometers say: a temperature, when and where it was
// measured, and by what it came. A reading is what a thermometer showed, before any
// correction of it. There are far too many of them to be acts of the log: they are kept
// beside it, never changed and never deleted.
package reading
