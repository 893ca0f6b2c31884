package web

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/setup"
)

// Endings of the files that the page shows.
const (
	boxEnding   = ".box.yaml"
	setupEnding = ".setup.yaml"
)

// desk holds every box and setup of the store as last read. A file in error keeps its last good reading beside the error.
type desk struct {
	store Store
	mu    sync.Mutex // guards everything below, and makes writes one at a time

	fingerprint string
	changes     int // counts the times that anything changed
	boxes       map[string]*reading[*box.Box]
	setups      map[string]*reading[*setup.Setup]
}

// reading is one file as last read.
type reading[T any] struct {
	file    string
	version string // of its bytes as they are now
	err     *fault.Error
	good    T // the last reading without error; the zero value where there was none
}

func newDesk(store Store) *desk {
	return &desk{store: store, boxes: map[string]*reading[*box.Box]{}, setups: map[string]*reading[*setup.Setup]{}}
}

func (d *desk) files() folder.Files { return folder.Within(d.store.FS()) }

// refresh reads what has changed in the store, and reports whether anything has.
func (d *desk) refresh() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.refreshLocked()
}

func (d *desk) refreshLocked() bool {
	fsys := d.store.FS()
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		entries = nil // the folder is gone or closed to us: its files are missing, the last good readings stay
	}
	var names []string
	var print strings.Builder
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue
		}
		fmt.Fprintf(&print, "%s %d %d\n", e.Name(), info.Size(), info.ModTime().UnixNano())
		names = append(names, e.Name())
	}
	if print.String() == d.fingerprint && d.changes > 0 {
		return false
	}
	d.fingerprint = print.String()
	d.changes++
	files := d.files()
	readAll(d.boxes, files, names, boxEnding, box.Parse)
	readAll(d.setups, files, names, setupEnding, setup.Parse)
	return true
}

// readAll reads every file with an ending anew: a measured file that one of them names may have changed too.
func readAll[T any](into map[string]*reading[T], files folder.Files, names []string, ending string, parse func(folder.Files, string, []byte) (T, error)) {
	for file := range into {
		if !slices.Contains(names, file) {
			delete(into, file)
		}
	}
	for _, name := range names {
		if !strings.HasSuffix(name, ending) {
			continue
		}
		r := into[name]
		if r == nil {
			r = &reading[T]{file: name}
			into[name] = r
		}
		data, err := files.Read(name)
		if err != nil {
			r.err = asFault(err)
			continue
		}
		r.version = versionOf(data)
		good, err := parse(files, name, data)
		if err != nil {
			r.err = asFault(err)
			continue
		}
		r.good, r.err = good, nil
	}
}

func asFault(err error) *fault.Error {
	if f, ok := errors.AsType[*fault.Error](err); ok {
		return f
	}
	return &fault.Error{Kind: fault.File, What: err.Error(), Cause: err}
}

// snapshot is what is known of one file at a moment: its last good reading, the version and the error of the file as it
// is now.
type snapshot[T any] struct {
	good    T
	version string
	err     *fault.Error
}

// look takes a snapshot. Errors are *fault.Error: there is no such file, or it was never good.
func look[T comparable](d *desk, from map[string]*reading[T], file string) (snapshot[T], error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	var nothing T
	r := from[file]
	if r == nil || r.good == nothing {
		return snapshot[T]{}, noSuch(file, r != nil)
	}
	return snapshot[T]{r.good, r.version, r.err}, nil
}

// boxWith is a box with changes to its file that are not saved. Errors are *fault.Error.
func (d *desk) boxWith(file string, changes []document.Change) (*box.Box, error) {
	now, err := look(d, d.boxes, file)
	if err != nil || len(changes) == 0 {
		return now.good, err
	}
	data, err := now.good.Document.Change(changes)
	if err != nil {
		return nil, err
	}
	return box.Parse(d.files(), file, data)
}

// setupWith is a setup with changes to its file that are not saved. Errors are *fault.Error.
func (d *desk) setupWith(file string, changes []document.Change) (*setup.Setup, error) {
	now, err := look(d, d.setups, file)
	if err != nil || len(changes) == 0 {
		return now.good, err
	}
	data, err := now.good.Document.Change(changes)
	if err != nil {
		return nil, err
	}
	return setup.Parse(d.files(), file, data)
}

func noSuch(file string, broken bool) error {
	if broken {
		return &fault.Error{Kind: fault.File, Place: fault.Place{File: file}, What: "the file has never been read without error", Instead: "mend it; the page reads it again by itself"}
	}
	return &fault.Error{Kind: fault.Missing, Place: fault.Place{File: file}, What: "no such file in this folder", Instead: "choose another"}
}

// conflict says that a file changed since the page read it.
type conflict struct {
	version string // as it is now
	theirs  []byte // as it is now
	mine    []byte // as the page would have written it
}

// save writes changes to a file of which the page last saw a version. Where the file has changed since, nothing is
// written and the conflict is returned.
func (d *desk) save(file, version string, changes []document.Change) (saved string, c *conflict, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if !strings.HasSuffix(file, boxEnding) && !strings.HasSuffix(file, setupEnding) {
		return "", nil, noSuch(file, false)
	}
	data, err := d.files().Read(file)
	if err != nil {
		return "", nil, err
	}
	doc, err := document.Parse(file, data)
	if err != nil {
		return "", nil, err
	}
	changed, err := doc.Change(changes)
	if err != nil {
		return "", nil, err
	}
	// What cannot be read back is not written.
	if strings.HasSuffix(file, boxEnding) {
		_, err = box.Parse(d.files(), file, changed)
	} else {
		_, err = setup.Parse(d.files(), file, changed)
	}
	if err != nil {
		return "", nil, err
	}
	if now := versionOf(data); now != version {
		return "", &conflict{now, data, changed}, nil
	}
	if err := d.store.Write(file, changed); err != nil {
		return "", nil, err
	}
	d.refreshLocked()
	return versionOf(changed), nil, nil
}
