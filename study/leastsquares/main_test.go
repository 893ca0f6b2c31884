package leastsquares

import (
	"os"
	"testing"

	"knobwise/internal/seeded"
)

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1944, 300)) }
