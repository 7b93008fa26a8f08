// Package app holds the use cases: one function is one thing the shop does.
// Commands, pages and prints all call it, so they cannot differ. It wires the
// rooms together, turns their findings into plain words, and knows no flags,
// no HTTP and no SQL.
package app
