// Package schema holds the JSON Schemas of what the commands and the API answer.
// They are written by the schema test of the command and only read here.
package schema

import "embed"

//go:embed *.schema.json
var files embed.FS

// Of returns the schema of a name, such as "plan".
func Of(name string) ([]byte, error) { return files.ReadFile(name + ".schema.json") }
