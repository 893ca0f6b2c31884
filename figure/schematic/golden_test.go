package schematic_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"knobwise/figure"
	"knobwise/figure/schematic"
)

// TestGolden: the demonstration boxes at their start, as data and as pictures. Read the pictures before renewing the
// files with -update.
func TestGolden(t *testing.T) {
	all := known(t)
	used := map[string]bool{}
	compare := func(name string, got []byte) {
		used[name] = true
		path := filepath.Join("testdata", "golden", name)
		if *update {
			if err := os.WriteFile(path, got, 0o644); err != nil {
				t.Fatal(err)
			}
			return
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			at := 0
			for at < min(len(got), len(want)) && got[at] == want[at] {
				at++
			}
			t.Errorf("%s differs from byte %d on:\n got %.200s\nwant %.200s", name, at, got[max(0, at-40):], want[max(0, at-40):])
		}
	}
	for _, name := range []string{"tern-point", "lamp-room", "harbour-t"} {
		b := all[name]
		d, err := schematic.Layout(b, b.Start(), plain)
		if err != nil {
			t.Fatal(err)
		}
		data, err := json.MarshalIndent(d, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		compare(name+".json", append(data, '\n'))
		for theme, word := range map[figure.Theme]string{figure.Light: "light", figure.Dark: "dark"} {
			var svg bytes.Buffer
			if err := d.SVG(&svg, theme); err != nil {
				t.Fatal(err)
			}
			compare(name+"-"+word+".svg", svg.Bytes())
		}
	}
	files, err := os.ReadDir(filepath.Join("testdata", "golden"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !used[f.Name()] {
			t.Errorf("golden file %s is not used", f.Name())
		}
	}
}

// BenchmarkLayout is one drawing of the first demonstration box, and of a box that fits no pattern.
func BenchmarkLayout(b *testing.B) {
	for name, text := range map[string]string{"mesh of 60": edges()["mesh of 60"], "ladder of 60": edges()["ladder of 60"]} {
		b.Run(name, func(b *testing.B) {
			x := parsed(b, text)
			for b.Loop() {
				if _, err := schematic.Layout(x, x.Start(), plain); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
