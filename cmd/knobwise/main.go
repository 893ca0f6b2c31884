// Command knobwise computes what a passive box between antenna and receiver does. See the README.
package main

import (
	"os"

	"knobwise/cli"
)

func main() { os.Exit(cli.Run(os.Args[1:], os.Stdout, os.Stderr)) }
