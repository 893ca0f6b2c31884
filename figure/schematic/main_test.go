package schematic_test

import (
	"flag"
	"os"
	"testing"

	"knobwise/internal/seeded"
)

var (
	update  = flag.Bool("update", false, "rewrite the golden files")
	gallery = flag.String("gallery", "", "folder to write every drawing to, for looking at")
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 20260217, 300)) }
