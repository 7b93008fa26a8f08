// Package source is the bibliography: every outside figure in the program, its
// data files and its checks carries the key of a work listed here.
//
// A key is used in one of three ways, all found by this package's own test:
//
//   - in Go, by its constant (source.Starzak1997);
//   - in a comment beside the figure, after the words "source key" (or, for a
//     list, "source keys a, b and c");
//   - in a data file (CSV below a package's data or testdata folder), in the
//     column named key or src; several keys are separated by semicolons, an
//     empty cell has no entry.
//
// A key that is used but not listed fails the test, and so does a key that is
// listed but used nowhere.
//
// The evidence of an entry says how far it can be trusted: published (the text
// of the source, or a text quoting it, was read), memory (recalled, to be
// confirmed), computed (from a stated formula), judgement (a reasoned choice).
// A title in square brackets describes the work; its wording is to be confirmed.
package source
