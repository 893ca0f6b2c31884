// Package seeded makes property tests repeatable: the same cases on every run, unless the command line asks for others
// with -rapid.seed or -rapid.checks.
package seeded

import (
	"flag"
	"fmt"
	"testing"

	_ "pgregory.net/rapid" // registers its flags
)

// Run runs a package's tests with a seed and a number of cases per property, and returns the exit status for TestMain.
func Run(m *testing.M, seed uint64, checks int) int {
	flag.Parse()
	given := map[string]bool{}
	flag.Visit(func(f *flag.Flag) { given[f.Name] = true })
	for name, value := range map[string]string{"rapid.seed": fmt.Sprint(seed), "rapid.checks": fmt.Sprint(checks)} {
		if given[name] {
			continue
		}
		if err := flag.Set(name, value); err != nil {
			panic(err) // the library has renamed its flag
		}
	}
	return m.Run()
}
