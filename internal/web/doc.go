// Package web serves the pages of the shop book: the making day on one page,
// the bags to make, a batch sheet, the recipes and the boiling room.
//
// It is plain net/http and html/template. A page is one Go file, which turns
// what the use cases answer into strings, and one folder of templates, which
// only places them. Everything works without script; the one script file adds
// the now-line, the next act and the plan that follows while lines are typed.
//
// It knows no physics and plans nothing: numbers, reasons and cautions come
// from package app and are printed in the shop's units. Pages are for the
// machine the program runs on: [Listen] refuses any address but loopback.
//
// Under /api/v1 a program on this machine asks and changes the same in JSON. One
// table of endpoints makes its routes, reads its queries and describes it.
package web
