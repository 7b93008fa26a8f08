// Package limit holds what a finished sweet holds of colours, acids and flavour
// compounds against dated tables: the law of a market, and what surveys say that
// makers use, which is advice and never law.
//
// A table is a file of data/, named by its market and the day from which it holds; a
// new edition is a new file. A rule is confirmed only if every source it names was
// read. What no table has a row for, what an ingredient does not state and what a
// table does not cover is "not judged", never "within".
//
// Every amount is a share of the finished sweet by mass, and its range decides: see
// [Judge]. Nothing is taken to flash off, so that an amount is the most there can be.
package limit
