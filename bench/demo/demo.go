// Package demo holds the demonstration bench: boxes, setups, a measured wire and measured traces of an invented place, embedded in the
// program and written out for the user to change.
package demo

import (
	"embed"
	"io/fs"

	"knobwise/bench/folder"
)

//go:embed bench
var embedded embed.FS

// Default is what a demonstration starts with.
const (
	DefaultBox          = "tern-point.box.yaml"
	DefaultSetup        = "bench-50.setup.yaml"
	DefaultMeasurements = "tern-point.measurements.yaml"
	// UnknownMeasurements were taken at a box whose inside cannot be read.
	UnknownMeasurements = "mole-head.measurements.yaml"
)

// FS is the bench as a file system.
func FS() fs.FS {
	bench, err := fs.Sub(embedded, "bench")
	if err != nil {
		panic("demo: " + err.Error()) // the folder is compiled in
	}
	return bench
}

// Files reads from the bench.
func Files() folder.Files { return folder.Within(FS()) }
