package folder

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"knobwise/bench/fault"
)

func TestRead(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.yaml")
	if err := os.WriteFile(name, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	inside := Within(fstest.MapFS{"sub/a.yaml": {Data: []byte("y")}})
	for _, c := range []struct {
		files Files
		name  string
		data  string
		want  string // what follows the name in the error
	}{
		{Disk(), name, "x", ""},
		{Disk(), filepath.Join(dir, "b.yaml"), "", "no such file; check the name and the folder"},
		{Disk(), dir, "", "is a folder where a file belongs; name a file in it"},
		{Disk(), filepath.Join(name, "c"), "", "not a directory"},
		{Disk(), os.DevNull, "", "is no regular file"},
		{Disk(), "a\x00b", "", "invalid argument"},
		{inside, "sub/a.yaml", "y", ""},
		{inside, "./sub/../sub/a.yaml", "y", ""},
		{inside, "sub", "", "is a folder where a file belongs; name a file in it"},
		{inside, "a.yaml", "", "no such file; check the name and the folder"},
		{inside, "", "", "is a folder where a file belongs; name a file in it"},
		{Within(os.DirFS(dir)), "../a.yaml", "", "not a name in this folder; name a file inside it"},
	} {
		data, err := c.files.Read(c.name)
		if string(data) != c.data || (err == nil) != (c.want == "") {
			t.Errorf("%q: %q, %v", c.name, data, err)
			continue
		}
		if err == nil {
			continue
		}
		f, ok := errors.AsType[*fault.Error](err)
		if !ok || f.Kind != fault.Missing || !strings.HasPrefix(f.What+"; "+f.Instead, c.want) || f.Place.File != c.name {
			t.Errorf("%q: %v, want %s", c.name, err, c.want)
		}
	}
}

func TestReadTooMuch(t *testing.T) {
	name := filepath.Join(t.TempDir(), "big")
	if err := os.WriteFile(name, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(name, most+1); err != nil {
		t.Fatal(err)
	}
	if _, err := Disk().Read(name); err == nil || !strings.HasSuffix(err.Error(), "the file has more than 64 MB; is this the right file?") {
		t.Error(err)
	}
}

func TestBesideAndList(t *testing.T) {
	inside := Within(fstest.MapFS{"b.box.yaml": {}, "a.box.yaml": {}, "c.setup.yaml": {}, "d.box.yaml/x": {}})
	names, err := inside.List(".box.yaml")
	if err != nil || !slices.Equal(names, []string{"a.box.yaml", "b.box.yaml"}) {
		t.Error(names, err)
	}
	if got := inside.Beside("sub/a.box.yaml", "../m.s1p"); got != "m.s1p" {
		t.Error(got)
	}
	if got := Disk().Beside("/x/a.box.yaml", "m.s1p"); got != filepath.Join("/x", "m.s1p") {
		t.Error(got)
	}
	if absolute := filepath.Join(t.TempDir(), "m.s1p"); Disk().Beside("/x/a.box.yaml", absolute) != absolute {
		t.Error("an absolute name is kept")
	}
	t.Chdir(t.TempDir())
	if names, err := Disk().List(""); err != nil || len(names) != 0 {
		t.Error(names, err)
	}
}

// TestWrite: a file is written whole, keeps its permissions and the link that leads to it, and leaves nothing beside it.
func TestWrite(t *testing.T) {
	dir := t.TempDir()
	name, link := filepath.Join(dir, "a.yaml"), filepath.Join(dir, "link.yaml")
	if err := Write(name, []byte("one")); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("a.yaml", link); err != nil {
		t.Fatal(err)
	}
	if err := Write(link, []byte("two")); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(name)
	info, statErr := os.Lstat(link)
	if err != nil || statErr != nil || string(data) != "two" || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("%q, %v, %v", data, err, info.Mode())
	}
	if info, err = os.Stat(name); err != nil || info.Mode().Perm() != 0o640 {
		t.Error(info.Mode(), err)
	}
	if err := Write(os.DevNull, []byte("x")); err != nil {
		t.Error(err)
	}
	for bad, want := range map[string]string{
		dir:                             "cannot be written: it is a folder; check the folder and its permissions",
		filepath.Join(dir, "none", "a"): "cannot be written: no such file or directory; check the folder and its permissions",
		filepath.Join(name, "below"):    "cannot be written: not a directory; check the folder and its permissions",
	} {
		err := Write(bad, []byte("x"))
		f, ok := errors.AsType[*fault.Error](err)
		if !ok || f.Kind != fault.Output || f.What+"; "+f.Instead != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 2 {
		t.Errorf("left behind: %v %v", entries, err)
	}
}
