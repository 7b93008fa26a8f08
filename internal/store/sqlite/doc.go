// Package sqlite keeps a shop book in one SQLite file. It is an engine of
// internal/store and passes the suite in internal/store/storetest; the tables
// and the reasons for them are in docs/store.md.
//
// There is one connection that writes and a few that read. Every write is one
// transaction that is on the disk when the call returns. Errors are told apart
// by SQLite's extended result codes (https://www.sqlite.org/rescode.html),
// never by their text.
package sqlite
