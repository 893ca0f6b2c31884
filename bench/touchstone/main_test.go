package touchstone

import (
	"flag"
	"os"
	"testing"
)

// TestMain fixes the seed of the property tests, unless -rapid.seed asks for another.
func TestMain(m *testing.M) {
	flag.Parse()
	if seed := flag.Lookup("rapid.seed"); seed.Value.String() == seed.DefValue {
		if err := flag.Set("rapid.seed", "20260101"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
