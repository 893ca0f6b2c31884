package folder

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"knobwise/bench/fault"
)

// Write writes a file on disk whole or not at all: into a temporary file beside it, then by renaming. A file that is there
// keeps its permissions, a link keeps pointing at its file.
// Errors are *fault.Error of the kind Output.
func Write(name string, data []byte) error {
	if err := write(name, data); err != nil {
		return &fault.Error{Kind: fault.Output, Place: fault.Place{File: name}, What: "cannot be written: " + reason(err), Instead: "check the folder and its permissions", Cause: err}
	}
	return nil
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

func write(name string, data []byte) (err error) {
	mode := fs.FileMode(0o644)
	if info, statErr := os.Stat(name); statErr == nil {
		switch {
		case info.IsDir():
			return errIsFolder
		case !info.Mode().IsRegular():
			return os.WriteFile(name, data, mode) // a device such as /dev/null cannot be renamed over
		}
		mode = info.Mode().Perm()
		if name, err = filepath.EvalSymlinks(name); err != nil {
			return err
		}
	}
	temporary, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(temporary.Name()) // the first error is the one to tell
		}
	}()
	if err := temporary.Chmod(mode); err != nil {
		return err
	}
	if _, err := temporary.Write(data); err != nil {
		_ = temporary.Close() // likewise
		return err
	}
	if err := temporary.Sync(); err != nil { // or a crash after the rename could leave an empty file
		_ = temporary.Close() // likewise
		return err
	}
	if err := temporary.Close(); err != nil {
		return err
	}
	return os.Rename(temporary.Name(), name)
}
