package box_test

import (
	"errors"
	"io/fs"
	"math/cmplx"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
)

// FuzzBox: no text makes the reader panic, and a box that is accepted wires at its start setting and solves, or says as a
// fault why not.
func FuzzBox(f *testing.F) {
	names, err := demo.Files().List(".box.yaml")
	if err != nil || len(names) == 0 {
		f.Fatal("no seeds: ", err)
	}
	for _, name := range names {
		data, err := fs.ReadFile(demo.FS(), name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	for kind, samples := range kindSamples {
		for _, fields := range samples {
			f.Add(sampleBox(kind, fields))
		}
	}
	for _, c := range badBoxes {
		f.Add(head + c.text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		b, err := box.Parse(bench, "f.box.yaml", []byte(text))
		if err == nil {
			var h *hookup.Hookup
			if h, err = hookup.Connect(b, b.Start(), generic); err == nil {
				r, solveErr := h.Response(1.234e6)
				if err = solveErr; err == nil && cmplx.IsNaN(r.Load) {
					t.Fatalf("NaN without an error\n%s", text)
				}
			}
		}
		if err == nil {
			return
		}
		fault, ok := errors.AsType[*fault.Error](err)
		if !ok {
			t.Fatalf("not a fault: %v", err)
		}
		if fault.What == "" || fault.Kind == 0 {
			t.Fatalf("a fault that says nothing: %#v", fault)
		}
		_ = fault.Excerpt()
	})
}
