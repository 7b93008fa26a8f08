// Package bookfile reads and writes the shop book as a TOML file that people
// edit by hand. Reading reports every problem of a file at once, each with its
// line: broken TOML, keys nobody knows, values of the wrong kind, amounts
// without a unit, and whatever does not hang together. Writing loses nothing:
// what is written reads back to the same book. [Keeper] keeps a book in such a
// file, without a history.
package bookfile
