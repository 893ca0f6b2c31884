package trace_test

import (
	"context"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"knobwise/bench/measurement"
	"knobwise/bench/trace"
)

// The examples of the Touchstone 2.0 specification (numbers from memory, see bench/touchstone), read as measured traces:
// S-parameters whatever the file holds. The expected values are written out here by S = (z - 1)/(z + 1) with z over the
// reference, and for the two-ports as the files print them.
func TestSpecificationExamples(t *testing.T) {
	read := func(name string) *trace.Trace {
		t.Helper()
		f, err := os.Open(filepath.Join("..", "touchstone", "testdata", "examples", name))
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Close() }()
		x, err := trace.Read(context.Background(), f, name, trace.Spec{Quantity: measurement.Scattering})
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	polar := func(r, degrees float64) complex128 { return cmplx.Rect(r, degrees*math.Pi/180) }
	near := func(got, want complex128) bool { return cmplx.Abs(got-want) < 1e-12*(1+cmplx.Abs(want)) }
	checked := 0

	normalised := [][2]float64{{0.99, -4}, {0.80, -22}, {0.707, -45}, {0.40, -62}, {0.01, -89}}
	for _, c := range []struct {
		file      string
		reference float64
	}{{"z-normalised.s1p", 75}, {"z-absolute.ts", 20}} {
		x := read(c.file)
		if x.Ports != 1 || x.References[0] != c.reference || len(x.S) != len(normalised) {
			t.Fatalf("%s: %d port(s), reference %v, %d rows", c.file, x.Ports, x.References, len(x.S))
		}
		for i, s := range x.S {
			z := 75 * polar(normalised[i][0], normalised[i][1]) // the same in both files, in ohm
			z /= complex(c.reference, 0)
			checked++
			if want := (z - 1) / (z + 1); !near(s[0], want) || x.Frequency[i] != float64(i+1)*100e6 {
				t.Errorf("%s, row %d: %v at %g Hz, want %v", c.file, i, s[0], x.Frequency[i], want)
			}
		}
	}
	for _, file := range []string{"noise-v1.s2p", "noise-v2.ts"} {
		x := read(file)
		if x.Ports != 2 {
			t.Fatalf("%s: %d ports", file, x.Ports)
		}
		checked++
		if !near(x.S[0][2], polar(3.57, 157)) || !near(x.S[0][1], polar(.04, 76)) {
			t.Errorf("%s: S21 %v, S12 %v", file, x.S[0][2], x.S[0][1])
		}
		if !strings.Contains(strings.Join(x.Notices, " "), "passive") {
			t.Errorf("%s: an amplifier is not told apart from a box: %v", file, x.Notices)
		}
	}
	if x := read("h.s2p"); x.Ports != 2 || x.Frequency[0] != 2000 {
		t.Errorf("h.s2p: %d ports at %v", x.Ports, x.Frequency)
	} else {
		checked++
	}
	if checked != 13 {
		t.Errorf("%d values and files checked, there are 13", checked)
	}
}
