package web

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"knobwise/bench/box"
	"knobwise/bench/document"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
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
	mentioned   []string // files that boxes and setups name
	changes     int      // counts the times that anything changed
	boxes       map[string]*reading[*box.Box]
	setups      map[string]*reading[*setup.Setup]
}

// reading is one file as last read.
type reading[T any] struct {
	file    string
	version string // of its bytes as they are now
	err     *fault.Error
	good    T    // the last reading without error; the zero value where there was none
	gone    bool // not in the folder at the last look
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
		entries = nil // the folder is gone or closed to us, and so are its files
	}
	var names []string
	for _, e := range entries {
		if e.IsDir() || strings.HasPrefix(e.Name(), ".") {
			continue // a name that begins with a dot is an editor's own, such as its lock
		}
		// What cannot be looked at is read all the same, for its error.
		if info, err := fs.Stat(fsys, e.Name()); err != nil || !info.IsDir() {
			names = append(names, e.Name())
		}
	}
	print := fingerprint(fsys, append(slices.Clone(names), d.mentioned...))
	if print == d.fingerprint && d.changes > 0 {
		return false
	}
	d.changes++
	files := d.files()
	mentioned := readAll(d.boxes, files, names, boxEnding, box.Parse)
	mentioned = append(mentioned, readAll(d.setups, files, names, setupEnding, setup.Parse)...)
	mentioned = append(mentioned, measuredFiles(files, names)...)
	slices.Sort(mentioned)
	d.mentioned = slices.Compact(mentioned)
	d.fingerprint = fingerprint(fsys, append(slices.Clone(names), d.mentioned...))
	return true
}

// fingerprint tells whether any of some files has changed, seen through links.
func fingerprint(fsys fs.FS, names []string) string {
	var print strings.Builder
	for _, name := range names {
		if info, err := fs.Stat(fsys, name); err == nil {
			fmt.Fprintf(&print, "%s %d %d\n", name, info.Size(), info.ModTime().UnixNano())
		} else {
			fmt.Fprintf(&print, "%s\n", name)
		}
	}
	return print.String()
}

// readAll reads every file with an ending anew: a measured file that one of them names may have changed too. It returns
// the files that they name. What has gone is kept aside: an editor may save by moving a file away and writing it anew.
func readAll[T any](into map[string]*reading[T], files folder.Files, names []string, ending string, parse func(folder.Files, string, []byte) (T, error)) (mentioned []string) {
	for _, r := range into {
		r.gone = !slices.Contains(names, r.file)
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
		if d, err := document.Parse(name, data); err == nil {
			mentioned = append(mentioned, filesIn(d.Root)...)
		}
		good, err := parse(files, name, data)
		if err != nil {
			r.err = asFault(err)
			continue
		}
		r.good, r.err = good, nil
	}
	return mentioned
}

// measuredFiles lists what files of measurements name; they are read when they are asked for.
func measuredFiles(files folder.Files, names []string) (all []string) {
	for _, name := range names {
		if !strings.HasSuffix(name, measurement.Suffix) {
			continue
		}
		if data, err := files.Read(name); err == nil {
			if d, err := document.Parse(name, data); err == nil {
				all = append(all, filesIn(d.Root)...)
			}
		}
	}
	return all
}

// filesIn lists the files that a document names.
func filesIn(n *document.Node) (all []string) {
	for _, e := range n.Entries {
		if (e.Key.Text == "file" || e.Key.Text == "reference") && e.Value.Kind == document.Scalar && fs.ValidPath(path.Clean(e.Value.Text)) {
			all = append(all, path.Clean(e.Value.Text))
		}
		all = append(all, filesIn(e.Value)...)
	}
	for _, item := range n.Items {
		all = append(all, filesIn(item)...)
	}
	return all
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
	if r == nil || r.gone || r.good == nothing {
		return snapshot[T]{}, noSuch(file, r != nil && !r.gone)
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

// remarked is the bytes of a file with comments behind some of its values. Errors are *fault.Error.
func remarked(file string, data []byte, remarks []document.Remark) ([]byte, error) {
	if len(remarks) == 0 {
		return data, nil
	}
	doc, err := document.Parse(file, data)
	if err != nil {
		return nil, err
	}
	return doc.Remark(remarks)
}

// save writes changes to a file of which the page last saw a version. Where the file has changed since, nothing is
// written and the conflict is returned.
func (d *desk) save(file, version string, changes []document.Change, remarks []document.Remark) (saved string, c *conflict, err error) {
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
	if changed, err = remarked(file, changed, remarks); err != nil {
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
