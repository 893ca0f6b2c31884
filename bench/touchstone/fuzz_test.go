package touchstone

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// FuzzRead: no input makes a panic; what is accepted is valid, and writes and reads back to the same bits.
func FuzzRead(f *testing.F) {
	for name, count := range map[string]int{"same": 8, "examples": 5} {
		for _, file := range folder(f, name, count) {
			content, err := os.ReadFile(filepath.Join("testdata", name, file))
			if err != nil {
				f.Fatal(err)
			}
			f.Add(content, strings.HasSuffix(file, ".s1p"))
		}
	}
	for _, c := range badInputs {
		f.Add([]byte(c.text), strings.HasSuffix(c.file, ".s1p"))
	}
	f.Fuzz(func(t *testing.T, content []byte, onePort bool) {
		name := "fuzz.s2p"
		switch {
		case onePort:
			name = "fuzz.s1p"
		case strings.Contains(string(content), "[Number of Ports] 1"):
			name = "fuzz.ts"
		}
		d, err := Read(strings.NewReader(string(content)), name, 0)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.What == "" || e.Instead == "" || e.Line < 1 || e.Column < 1 || strings.ContainsAny(e.Error(), "\n\r") {
				t.Fatalf("error %#v", err)
			}
			return
		}
		if err := d.Check(); err != nil {
			t.Fatal(err)
		}
		text := written(t, d, WriteOptions{})
		back := readBack(t, text, d.Ports)
		if diff := sameBits(d, back); diff != "" {
			t.Fatalf("%s in\n%s", diff, text)
		}
		if again := written(t, back, WriteOptions{}); again != text {
			t.Fatalf("written again:\n%s\nfirst:\n%s", again, text)
		}
		if ip, err := NewInterpolator(d); err == nil {
			low, high := ip.Range()
			for _, f := range []float64{low, low + (high-low)/3, high} {
				if s := eval(t, ip, f); !finite(s[0]) {
					t.Fatalf("%v at %v Hz", s, f)
				}
			}
		}
	})
}
