package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"

	"knobwise/bench/fault"
)

// Write writes a file on disk whole or not at all: into a temporary file beside it, then by renaming. A file that is there
// keeps its permissions, a link keeps pointing at its file.
// Errors are *fault.Error of the kind Output.
func Write(name string, data []byte) error { return unwritable(name, write(name, data)) }

// WriteWithin is Write for a file below a root, which no link leaves.
func WriteWithin(root *os.Root, name string, data []byte) error {
	return unwritable(name, writeWithin(root, filepath.FromSlash(name), data))
}

// CreateWithin writes a new file below a root, whole or not at all; one that is there already is an error and keeps its
// bytes.
func CreateWithin(root *os.Root, name string, data []byte) error {
	return unwritable(name, createWithin(root, filepath.FromSlash(name), data))
}

func createWithin(root *os.Root, name string, data []byte) error {
	file, err := root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600) // holds the name; nobody else's file is replaced below
	if err != nil {
		return err
	}
	if err := file.Close(); err != nil {
		return err
	}
	if err := writeWithin(root, name, data); err != nil {
		_ = root.Remove(name) // the first error is the one to tell
		return err
	}
	return root.Chmod(name, 0o644)
}

func unwritable(name string, err error) error {
	if err == nil {
		return nil
	}
	return &fault.Error{Kind: fault.Output, Place: fault.Place{File: name}, What: "cannot be written: " + reason(err), Instead: "check the folder and its permissions", Cause: err}
}

var errIsFolder = errors.New("it is a folder")

// reason is an error without the path, which the fault already names.
func reason(err error) string {
	if e, ok := errors.AsType[*fs.PathError](err); ok {
		return e.Err.Error()
	}
	if e, ok := errors.AsType[*os.LinkError](err); ok {
		return e.Err.Error()
	}
	return err.Error()
}

func write(name string, data []byte) error {
	if info, err := os.Stat(name); err == nil {
		if !info.IsDir() && !info.Mode().IsRegular() {
			return os.WriteFile(name, data, 0o600) // a device such as /dev/null cannot be renamed over
		}
		if name, err = filepath.EvalSymlinks(name); err != nil {
			return err
		}
	}
	root, err := os.OpenRoot(filepath.Dir(name))
	if err != nil {
		return err
	}
	defer func() { _ = root.Close() }() // nothing is written through it any more
	return writeWithin(root, filepath.Base(name), data)
}

func writeWithin(root *os.Root, name string, data []byte) (err error) {
	mode := fs.FileMode(0o644)
	if info, statErr := root.Stat(name); statErr == nil {
		switch {
		case info.IsDir():
			return errIsFolder
		case !info.Mode().IsRegular():
			return errIrregular
		}
		mode = info.Mode().Perm()
		if name, err = target(root, name); err != nil {
			return err
		}
	}
	temporary, file, err := create(root, name)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = root.Remove(temporary) // the first error is the one to tell
		}
	}()
	if err := fill(file, data, mode); err != nil {
		_ = file.Close() // likewise
		return err
	}
	if err := file.Close(); err != nil {
		return err
	}
	return root.Rename(temporary, name)
}

// mostLinks is how many links in a row are followed.
const mostLinks = 40

// target follows links to the file itself.
func target(root *os.Root, name string) (string, error) {
	for range mostLinks {
		info, err := root.Lstat(name)
		if err != nil || info.Mode()&fs.ModeSymlink == 0 {
			return name, err
		}
		to, err := root.Readlink(name)
		if err != nil {
			return "", err
		}
		if filepath.IsAbs(to) {
			return "", errAbsolute
		}
		name = filepath.Join(filepath.Dir(name), to)
	}
	return "", errLinks
}

var (
	errAbsolute = errors.New("it is a link out of the folder")
	errLinks    = errors.New("its links go round in circles")
)

// create makes a new file beside another.
func create(root *os.Root, name string) (string, *os.File, error) {
	for try := 0; ; try++ {
		temporary := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d.part", filepath.Base(name), rand.Uint32())) //nolint:gosec // no secret: another name is tried where one is taken
		file, err := root.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err == nil || try > 100 || !errors.Is(err, fs.ErrExist) {
			return temporary, file, err
		}
	}
}

func fill(file *os.File, data []byte, mode fs.FileMode) error {
	if err := file.Chmod(mode); err != nil {
		return err
	}
	if _, err := file.Write(data); err != nil {
		return err
	}
	return file.Sync() // or a crash after the rename could leave an empty file
}
