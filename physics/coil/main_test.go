package coil

import (
	"flag"
	"os"
	"testing"
)

// TestMain seeds the property tests; -rapid.seed and -rapid.checks on the command line override it.
func TestMain(m *testing.M) {
	for name, value := range map[string]string{"rapid.seed": "1906", "rapid.checks": "1000"} {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
