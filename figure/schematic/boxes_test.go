package schematic_test

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/figure"
	"knobwise/figure/schematic"
)

// textbook is the folder of circuits that a textbook would show.
var textbook = folder.Within(os.DirFS("testdata/textbook"))

// known loads the demonstration boxes and the textbook circuits by file name.
func known(t *testing.T) map[string]*box.Box {
	t.Helper()
	all := map[string]*box.Box{}
	for _, from := range []folder.Files{demo.Files(), textbook} {
		names, err := from.List(".box.yaml")
		if err != nil || len(names) == 0 {
			t.Fatalf("no boxes: %v", err)
		}
		for _, name := range names {
			b, err := box.Load(from, name)
			if err != nil {
				t.Fatal(err)
			}
			all[strings.TrimSuffix(name, ".box.yaml")] = b
		}
	}
	return all
}

// settings lists every combination of switch positions, the knobs as at the start.
func settings(b *box.Box) []box.Setting {
	all := []box.Setting{b.Start()}
	for _, c := range b.Controls {
		if c.Switch == nil {
			continue
		}
		var more []box.Setting
		for _, s := range all {
			for _, p := range c.Switch.Positions {
				next := maps.Clone(s)
				next[c.Name] = box.Reading{Word: p.Name}
				more = append(more, next)
			}
		}
		all = more
	}
	return all
}

var plain = schematic.Labels{Source: "14 m wire", Load: "field receiver"}

// TestEverySetting draws every known box at all switch settings.
func TestEverySetting(t *testing.T) {
	drawn := 0
	for name, b := range known(t) {
		for i, s := range settings(b) {
			d, err := schematic.Layout(b, s, plain)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			write(t, fmt.Sprintf("%s-%02d", name, i), d)
			examine(t, name+": "+b.Describe(s), b, s, d)
			drawn++
		}
	}
	if drawn < 60 {
		t.Fatalf("only %d drawings", drawn)
	}
}

// write puts a drawing into the gallery, if one was asked for.
func write(t *testing.T, name string, d *schematic.Drawing) {
	t.Helper()
	if *gallery == "" {
		return
	}
	for theme, word := range map[figure.Theme]string{figure.Light: "light", figure.Dark: "dark"} {
		var b bytes.Buffer
		if err := d.SVG(&b, theme); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*gallery, name+"-"+word+".svg"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
