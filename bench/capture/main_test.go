package capture

import (
	"os"
	"testing"

	"knobwise/internal/seeded"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 20260501, 200)) }
