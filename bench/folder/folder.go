// Package folder reads the user's files, from disk or from an embedded bench, and turns what goes wrong into faults
// that say what to do.
package folder

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"knobwise/bench/fault"
)

// most is the size in bytes above which no file is read: measured data of a million points fits.
const most = 64 << 20

// Files is a place that files are read from. The zero value is the disk, seen from the working folder.
type Files struct {
	fsys fs.FS // nil: the disk
}

// Disk reads from the disk.
func Disk() Files { return Files{} }

// Within reads from a file system such as an embedded one; names use forward slashes.
func Within(fsys fs.FS) Files { return Files{fsys} }

// Read returns a file's bytes. Errors are *fault.Error of the kind Missing.
func (f Files) Read(name string) ([]byte, error) {
	file, err := f.open(name)
	if err != nil {
		return nil, missing(name, err)
	}
	defer func() { _ = file.Close() }() // opened for reading: nothing can be lost
	info, err := file.Stat()
	if err != nil {
		return nil, missing(name, err)
	}
	if info.IsDir() {
		return nil, isFolder(name)
	}
	data, err := io.ReadAll(io.LimitReader(file, most+1))
	if err != nil {
		return nil, missing(name, err)
	}
	if len(data) > most {
		return nil, &fault.Error{Kind: fault.Missing, Place: fault.Place{File: name}, What: fmt.Sprintf("the file has more than %d MB", most>>20), Instead: "is this the right file?"}
	}
	return data, nil
}

// Open opens a file of any size, to be read as a stream. Errors are *fault.Error of the kind Missing.
func (f Files) Open(name string) (io.ReadCloser, error) {
	file, err := f.open(name)
	if err != nil {
		return nil, missing(name, err)
	}
	if info, err := file.Stat(); err != nil || info.IsDir() {
		_ = file.Close() // opened for reading: nothing can be lost
		if err != nil {
			return nil, missing(name, err)
		}
		return nil, isFolder(name)
	}
	return file, nil
}

func isFolder(name string) error {
	return &fault.Error{Kind: fault.Missing, Place: fault.Place{File: name}, What: "is a folder where a file belongs", Instead: "name a file in it"}
}

// Beside is the name of a file that another file names relative to itself.
func (f Files) Beside(other, name string) string {
	if f.fsys != nil {
		return path.Join(path.Dir(other), filepath.ToSlash(name))
	}
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(other), filepath.FromSlash(name))
}

// List returns the names of the files whose name ends with suffix, in alphabetical order, from the top folder.
func (f Files) List(suffix string) ([]string, error) {
	fsys := f.fsys
	if fsys == nil {
		fsys = os.DirFS(".")
	}
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, missing(".", err)
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() && strings.HasSuffix(e.Name(), suffix) {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

func (f Files) open(name string) (fs.File, error) {
	// A pipe or a device would make the program wait for ever.
	if f.fsys != nil {
		name = path.Clean(filepath.ToSlash(name))
		info, err := fs.Stat(f.fsys, name)
		if err := openable(info, err); err != nil {
			return nil, err
		}
		return f.fsys.Open(name)
	}
	info, err := os.Stat(name)
	if err := openable(info, err); err != nil {
		return nil, err
	}
	return os.Open(name)
}

func openable(info fs.FileInfo, err error) error {
	if err == nil && !info.Mode().IsRegular() && !info.IsDir() {
		return errIrregular
	}
	return err
}

var errIrregular = errors.New("is no regular file")

func missing(name string, err error) error {
	what, instead := err.Error(), ""
	if e, ok := errors.AsType[*fs.PathError](err); ok {
		what = e.Err.Error()
	}
	switch {
	case strings.Contains(what, "escapes from parent"): // os.Root has no value for it
		what, instead = "leads out of the folder", "put the file itself there"
	case errors.Is(err, fs.ErrNotExist):
		what, instead = "no such file", "check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		what, instead = "the file may not be read", "check its permissions"
	case errors.Is(err, errIrregular):
		instead = "name a file on disk"
	case errors.Is(err, fs.ErrInvalid):
		what, instead = "not a name in this folder", "name a file inside it"
	}
	return &fault.Error{Kind: fault.Missing, Place: fault.Place{File: name}, What: what, Instead: instead, Cause: err}
}
