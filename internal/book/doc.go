// Package book is the shop book as a value: everything one shop keeps of its
// definitions and its day, and the proof that it hangs together. It knows no
// file format and no database.
package book
