package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"knobwise/bench/fault"
	"knobwise/bench/folder"
)

// Store is the folder whose files the page shows and changes. Names are relative to it, with forward slashes; nothing
// outside it can be reached, through links either.
type Store interface {
	// Name is what the page calls the folder.
	Name() string
	// FS reads the files.
	FS() fs.FS
	// Write replaces a file of the folder, whole or not at all.
	Write(name string, data []byte) error
	// Create writes a file that the folder does not have yet.
	Create(name string, data []byte) error
}

// versionOf names the content of a file: the same bytes, the same version.
func versionOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:8])
}

// folderStore is a folder on disk.
type folderStore struct {
	name string
	root *os.Root
}

// OpenFolder opens a folder on disk. Errors are *fault.Error of the kind Missing.
func OpenFolder(dir string) (Store, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		what := "the folder cannot be opened"
		if errors.Is(err, fs.ErrNotExist) {
			what = "no such folder"
		}
		return nil, &fault.Error{Kind: fault.Missing, Place: fault.Place{File: dir}, What: what, Instead: "name a folder with box and setup files", Cause: err}
	}
	return &folderStore{dir, root}, nil
}

func (s *folderStore) Name() string { return s.name }

func (s *folderStore) FS() fs.FS { return s.root.FS() }

func (s *folderStore) Write(name string, data []byte) error {
	return folder.WriteWithin(s.root, name, data)
}

func (s *folderStore) Create(name string, data []byte) error {
	return folder.CreateWithin(s.root, name, data)
}

func unwritable(name string, err error) error {
	if e, ok := errors.AsType[*fs.PathError](err); ok {
		err = e.Err
	}
	return &fault.Error{Kind: fault.Output, Place: fault.Place{File: name}, What: "cannot be written: " + err.Error(), Instead: "check the folder and its permissions", Cause: err}
}

// memoryStore keeps a copy of a file system in memory: changes last as long as the program.
type memoryStore struct {
	name string
	mu   sync.RWMutex
	file map[string]memoryFile
}

type memoryFile struct {
	data []byte
	time time.Time
}

// InMemory copies the top folder of a file system into memory.
func InMemory(name string, from fs.FS) (Store, error) {
	s := &memoryStore{name: name, file: map[string]memoryFile{}}
	entries, err := fs.ReadDir(from, ".")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	for _, e := range entries {
		data, err := fs.ReadFile(from, e.Name())
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		s.file[e.Name()] = memoryFile{data: data}
	}
	return s, nil
}

func (s *memoryStore) Name() string { return s.name }

func (s *memoryStore) FS() fs.FS { return s }

func (s *memoryStore) Write(name string, data []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, ok := s.file[name]; !ok {
		return unwritable(name, fs.ErrNotExist)
	}
	s.file[name] = memoryFile{slices.Clone(data), time.Now()}
	return nil
}

func (s *memoryStore) Create(name string, data []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, ok := s.file[name]; ok {
		return unwritable(name, fs.ErrExist)
	}
	s.file[name] = memoryFile{slices.Clone(data), time.Now()}
	return nil
}

// Open serves the files and the folder itself, as fs.FS asks.
func (s *memoryStore) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	if name == "." {
		d := &openDir{}
		for n, f := range s.file {
			d.entries = append(d.entries, fs.FileInfoToDirEntry(fileInfo{n, f}))
		}
		slices.SortFunc(d.entries, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
		return d, nil
	}
	f, ok := s.file[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &openFile{fileInfo{name, f}, strings.NewReader(string(f.data))}, nil
}

type fileInfo struct {
	name string
	file memoryFile
}

func (i fileInfo) Name() string       { return i.name }
func (i fileInfo) Size() int64        { return int64(len(i.file.data)) }
func (i fileInfo) Mode() fs.FileMode  { return 0o644 }
func (i fileInfo) ModTime() time.Time { return i.file.time }
func (i fileInfo) IsDir() bool        { return false }
func (i fileInfo) Sys() any           { return nil }

type openFile struct {
	info fileInfo
	*strings.Reader
}

func (f *openFile) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *openFile) Close() error               { return nil }

type openDir struct {
	entries []fs.DirEntry
	next    int
}

func (d *openDir) Stat() (fs.FileInfo, error) { return dirInfo{}, nil }
func (d *openDir) Close() error               { return nil }

func (d *openDir) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: ".", Err: errors.New("is a folder")}
}

func (d *openDir) ReadDir(n int) ([]fs.DirEntry, error) {
	rest := d.entries[d.next:]
	if n > 0 {
		rest = rest[:min(n, len(rest))]
		if len(rest) == 0 {
			return nil, io.EOF
		}
	}
	d.next += len(rest)
	return rest, nil
}

type dirInfo struct{ fileInfo }

func (dirInfo) Name() string      { return "." }
func (dirInfo) Mode() fs.FileMode { return fs.ModeDir | 0o755 }
func (dirInfo) IsDir() bool       { return true }
