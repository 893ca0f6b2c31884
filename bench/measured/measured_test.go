package measured

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/touchstone"
)

var files = folder.Within(fstest.MapFS{
	"in/one.s1p":    {Data: []byte("# MHz S RI R 75\n1 0.5 0.1\n3 0.4 0.2\n")},
	"in/two.s2p":    {Data: []byte("# MHz S RI R 50\n1 0.1 0 0.9 0 0.9 0 0.1 0\n3 0.1 0 0.8 0 0.8 0 0.1 0\n")},
	"in/four.s4p":   {Data: []byte("# MHz S RI R 50\n")},
	"in/plain.txt":  {Data: []byte("# MHz S RI R 50\n1 0.5 0.1\n")},
	"in/short.s1p":  {Data: []byte("# MHz S RI R 50\n1 0.5 0.1\n2 0.5\n")},
	"in/empty.s1p":  {Data: nil},
	"in/active.s1p": {Data: []byte("# MHz S RI R 50\n1 0.6 0.9\n3 0.4 0.2\n")},
	"in/dir.s1p/x":  {Data: nil},
})

func load(t *testing.T, name string, ports int) (*Ports, error) {
	t.Helper()
	d, err := document.Parse("in/x.box.yaml", []byte("file: "+name+"\n"))
	if err != nil {
		t.Fatal(err)
	}
	return Load(d.Root.Get("file"), files, "in/x.box.yaml", ports)
}

func TestLoad(t *testing.T) {
	for name, ports := range map[string]int{"one.s1p": 1, "two.s2p": 2, "plain.txt": 1} {
		p, err := load(t, name, ports)
		if err != nil {
			t.Error(err)
			continue
		}
		s := make([]complex128, ports*ports)
		if err := p.Eval(1e6, s); err != nil || p.File != "in/"+name || len(p.References) != ports || p.Notice != "" {
			t.Errorf("%s: %v, %+v", name, err, p)
		}
	}
	if p, err := load(t, "one.s1p", 1); err != nil || p.References[0] != 75 {
		t.Errorf("reference: %+v, %v", p, err)
	}
	// |0.6 + 0.9j| = 1.0817
	if p, err := load(t, "active.s1p", 1); err != nil || p.Notice != "in/active.s1p reflects or passes more than it gets (1.08 times the amplitude at 1.0000 MHz); a passive thing cannot: check its calibration" {
		t.Errorf("%+v, %v", p, err)
	}
}

// TestLoadErrors: about the naming place where a file cannot be read, about the file itself where its content is wrong.
func TestLoadErrors(t *testing.T) {
	for _, c := range []struct {
		name  string
		ports int
		want  string
	}{
		{"two.s2p", 1, `in/x.box.yaml:1:7: "two.s2p" is a 2-port file by its name; name a file ending in .s1p`},
		{"one.s1p", 2, `in/x.box.yaml:1:7: "one.s1p" is a 1-port file by its name; name a file ending in .s2p`},
		{"gone.s1p", 1, "in/x.box.yaml:1:7: in/gone.s1p: no such file; check the name and the folder"},
		{"dir.s1p", 1, "in/x.box.yaml:1:7: in/dir.s1p: is a folder where a file belongs; name a file in it"},
		{"short.s1p", 1, "in/short.s1p:3:"},
		{"empty.s1p", 1, "in/empty.s1p"},
		{"four.s4p", 2, "in/"},
	} {
		_, err := load(t, c.name, c.ports)
		f, ok := errors.AsType[*fault.Error](err)
		if !ok || !strings.HasPrefix(err.Error(), c.want) || f.Kind != fault.File {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
		if _, content := errors.AsType[*touchstone.Error](err); content && f.Place.Source != "" && !strings.Contains(f.Excerpt(), "^") {
			t.Errorf("%s: no caret", c.name)
		}
	}
}
