//go:build race

package sqlite_test

// underRace says that the race detector is at work.
const underRace = true
