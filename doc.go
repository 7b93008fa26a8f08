// Package slabside is the map of the house. Slabside is the working book of a
// room where sugar is boiled: from the bags that shelf and orders ask for it
// plans the making day, computes what each boil will do, and prints what the
// people at the scales, the kettle and the slab need to read.
//
// Data walk in one direction, and so do the imports:
//
//	words     internal/quantity   amounts with their units, read and printed
//	          internal/fault      kinds of error, public text, field, hint
//	          internal/source     the bibliography behind every number
//	          internal/caution    the fixed sentences about dangers
//	          docs/schema         the JSON Schemas of the answers
//	physics   internal/numeric    roots, quantiles, quasi-random draws
//	          internal/sugar      what boiling sugar does
//	          internal/inversion  how fast it falls to invert
//	rooms     internal/ingredient raw materials, allergens, lots
//	          internal/recipe     what is boiled and made of it
//	          internal/rig        what stands in the boiling room
//	          internal/boil       one charge in one kettle
//	          internal/verdict    what a boil's figures mean for its keeping
//	          internal/limit      what laws allow in a sweet, dated
//	          internal/roller     from mass to pieces
//	          internal/batch      the chain of both, with one range
//	          internal/bag        products and mixtures
//	          internal/keeping    how long a shut pack of them keeps
//	          internal/demand     bags to boils
//	          internal/record     what is written of a batch
//	          internal/learn      what records teach of a room
//	          internal/day        which order, which minute, whose hands
//	          internal/book       all definitions of one shop, proved
//	          internal/entry      the things of a book as people type them
//	          internal/access     who may do what with it
//	          internal/store      what keeping a book means
//	use cases internal/app        one function is one thing the shop does
//	adapters  internal/bookfile   the TOML shop-book file
//	          internal/store/sqlite  the embedded store
//	          internal/paper      day sheet and batch sheets
//	          internal/web        the pages and the API
//	          internal/certs      the shop's own certificates
//	          internal/cli        the commands
//	command   cmd/slabside        wires them
//
// The rules of who may import whom stand in arch_test.go, a row a package, each
// with its reason.
package slabside
