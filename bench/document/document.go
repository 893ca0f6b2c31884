// Package document reads the YAML of box, setup and measurement files strictly, keeps every place, and writes single
// changes back.
//
// What it accepts is the part of YAML 1.2 that a person writes by hand: maps, lists and scalars in block or flow
// style, comments, quotes. Scalars stay text: what they mean (a number, a quantity, a name) is for the reader of the
// field, so that `no`, `017` or `1e3` never turn into something else. Refused by name: anchors, aliases, tags and
// merge keys, a second document, duplicate keys, control characters, deep nesting, very long lines and files, text
// that is not UTF-8.
//
// A document keeps its source bytes; Edit changes single entries and leaves every other byte as it was.
package document

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"

	"knobwise/bench/fault"
)

// Document is one file.
type Document struct {
	Name   string
	Source []byte // as read, without a byte order mark
	Root   *Node
	mark   []byte // the byte order mark, where the file has one
	lines  []int  // byte offset of each line
}

var byteOrderMark = []byte("\xef\xbb\xbf")

// Parse reads one document. name is what errors call the file. Errors are *fault.Error with a place.
func Parse(name string, data []byte) (*Document, error) {
	source, marked := bytes.CutPrefix(data, byteOrderMark)
	d := &Document{Name: name, Source: source, lines: []int{0}}
	if marked {
		d.mark = byteOrderMark
	}
	if len(source) > mostBytes {
		return nil, fault.At(fault.Place{File: name}, fmt.Sprintf("the file has %d bytes, more than a box or setup written by hand", len(data)),
			fmt.Sprintf("keep it under %d kB", mostBytes>>10))
	}
	for i, c := range source {
		if c == '\n' {
			d.lines = append(d.lines, i+1)
		}
	}
	if err := d.checkText(); err != nil {
		return nil, err
	}
	// The lexer counts the lines wrong where a comment ends in CR LF. Lines and columns are the same without the CR.
	tokens := lexer.Tokenize(strings.ReplaceAll(string(source), "\r\n", "\n"))
	if err := d.checkTokens(tokens); err != nil {
		return nil, err
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey()) // convertMap refuses them in our words
	if err != nil {
		return nil, d.syntaxError(err)
	}
	var bodies []ast.Node
	for _, doc := range file.Docs {
		if _, comment := doc.Body.(*ast.CommentGroupNode); doc.Body != nil && !comment {
			bodies = append(bodies, doc.Body)
		}
	}
	switch {
	case len(bodies) == 0:
		return nil, fault.At(fault.Place{File: name}, "the file is empty", "start it with a line such as `box: My coupler`")
	case len(bodies) > 1:
		return nil, fault.At(d.place(bodies[1].GetToken().Position.Line, 1, 0), "a second document begins here", "keep one document in a file")
	}
	if d.Root, err = d.convert(bodies[0], 0, false); err != nil {
		return nil, err
	}
	return d, nil
}

// line returns the text of a line, from 1, without its end.
func (d *Document) line(number int) string {
	if number < 1 || number > len(d.lines) {
		return ""
	}
	end := len(d.Source)
	if number < len(d.lines) {
		end = d.lines[number] - 1
	}
	return strings.TrimSuffix(string(d.Source[d.lines[number-1]:end]), "\r")
}

func (d *Document) place(line, column, length int) fault.Place {
	return fault.Place{File: d.Name, Line: line, Column: column, Length: length, Source: d.line(line)}
}

// offset is the byte offset of a line and a column in characters, both from 1.
func (d *Document) offset(line, column int) int {
	if line < 1 || line > len(d.lines) {
		return len(d.Source)
	}
	at := d.lines[line-1]
	for range column - 1 {
		_, size := utf8.DecodeRune(d.Source[at:])
		at += size
	}
	return at
}
