// Package storetest is the suite every engine of internal/store passes. An
// engine's own tests call Run; what only that engine can do wrong (files,
// locks, damage) it tests itself.
package storetest
