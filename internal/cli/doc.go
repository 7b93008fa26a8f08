// Package cli holds the commands: one file a command, one struct of flags each.
// A command reads its flags, calls one use case and prints the answer, for
// people in the shop book's units or as one JSON object. It opens no file
// format and no page itself; those come in through [Env].
package cli
