package capture

import (
	"errors"
	"fmt"
	"io"
)

const (
	headSize = 256 << 10 // bytes at the start of a file that the guess is made from; also the size of the buffer
	maxLine  = 64 << 10  // bytes; 256 columns at full precision have about 6 KiB
	maxLines = 400e6     // a file of blank lines ends too
)

// lines cuts a stream into lines. LF, CR LF and a lone CR end a line; so does the end of the file, where the end-of-file
// mark of CP/M and DOS (0x1A) is dropped.
type lines struct {
	name       string
	r          io.Reader
	buf        []byte
	start, end int
	eof        bool
	afterCR    bool // a LF that comes next belongs to the line before
	number     int  // of the line that next gave, from 1
	terminated bool // whether that line had an end
}

func newLines(r io.Reader, name string) *lines {
	return &lines{name: name, r: r, buf: make([]byte, headSize)}
}

// head fills the buffer from the start of the file and gives its content, without taking it.
func (l *lines) head() ([]byte, error) {
	for !l.eof && l.end < len(l.buf) {
		if err := l.fill(); err != nil {
			return nil, err
		}
	}
	return l.buf[:l.end], nil
}

// fill reads once into the free part of the buffer.
func (l *lines) fill() error {
	n, err := l.r.Read(l.buf[l.end:])
	l.end += n
	switch {
	case errors.Is(err, io.EOF):
		l.eof = true
	case err != nil:
		return unreadable(l.name, err)
	}
	return nil
}

// next gives the next line without its end, or io.EOF. The line is good until the next call.
func (l *lines) next() ([]byte, error) {
	if l.number >= maxLines {
		return nil, wholeFile(l.name, fmt.Sprintf("the file has more than %.0f lines", float64(maxLines)), "cut the record into shorter ones")
	}
	l.number++
	for i := l.start; ; {
		for i < l.end && plain(l.buf[i]) {
			i++
		}
		switch {
		case i < l.end && l.buf[i] == '\n' && i == l.start && l.afterCR:
			l.start++
			i++
			l.afterCR = false
			continue
		case i < l.end && (l.buf[i] == '\n' || l.buf[i] == '\r'):
			line := l.buf[l.start:i]
			l.start = i + 1
			l.afterCR = l.buf[i] == '\r'
			l.terminated = true
			return line, l.tooLong(line)
		case i < l.end && !onlyEnds(l.buf[i:l.end]):
			return nil, l.binary(i)
		case i < l.end && l.eof:
			l.end = i
			continue
		case l.eof:
			line := l.buf[l.start:i]
			l.start = i
			l.terminated = false
			if len(line) == 0 {
				return nil, io.EOF
			}
			return line, l.tooLong(line)
		}
		if err := l.tooLong(l.buf[l.start:l.end]); err != nil {
			return nil, err
		}
		i -= l.start
		l.end = copy(l.buf, l.buf[l.start:l.end])
		l.start = 0
		if err := l.fill(); err != nil {
			return nil, err
		}
	}
}

// plain tells a byte that stands inside a line of text.
func plain(c byte) bool { return c >= ' ' || c == '\t' || c == '\f' || c == '\v' }

// onlyEnds reports whether an end-of-file mark has nothing but its like and line ends behind it.
func onlyEnds(rest []byte) bool {
	const mark = 0x1A
	for _, c := range rest {
		if c != mark && c != '\n' && c != '\r' {
			return false
		}
	}
	return true
}

func (l *lines) tooLong(line []byte) error {
	if len(line) <= maxLine {
		return nil
	}
	return at(l.name, l.number, line[:80], 0, 0, fmt.Sprintf("the line has more than %d bytes", maxLine),
		"give a text file with one row of numbers on each line")
}

func (l *lines) binary(i int) error {
	return at(l.name, l.number, l.buf[l.start:i+1], i-l.start, 1, fmt.Sprintf("byte 0x%02X is no text", l.buf[i]),
		"give a text file, not a binary one; save UTF-16 with its byte order mark, or as UTF-8")
}
