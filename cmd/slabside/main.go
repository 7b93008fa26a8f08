// Command slabside is the working book of a room where sugar is boiled: it plans
// the making day, prints its sheets and serves its pages.
package main

import (
	"context"
	"os"
	"time"
	_ "time/tzdata" // a shop's time zone must not hang on the machine's own tables

	"slabside/internal/cli"
)

func main() {
	env := wire()
	env.Args, env.Stdin, env.Stdout, env.Stderr, env.Now = os.Args[1:], os.Stdin, os.Stdout, os.Stderr, time.Now
	os.Exit(cli.Run(context.Background(), env))
}
