package document

import (
	"bytes"
	"strings"
)

// Remark puts a comment at the end of the line on which a value ends, behind one that is there already. A text that would break the
// line is refused.
func (e *Edits) Remark(n *Node, text string) {
	switch {
	case n.end < 0:
		e.refuse(n, "no comment can be put behind this value")
	case strings.ContainsAny(text, "\r\n"):
		e.refuse(n, "a comment of several lines")
	default:
		at := len(bytes.TrimSuffix(e.doc.Source[:e.doc.lineEnd(n.end)], []byte("\r")))
		e.remarks[at] = append(e.remarks[at], text)
	}
}

// remarked appends the comments.
func (e *Edits) remarked(all []splice) []splice {
	for at, texts := range e.remarks {
		line := e.doc.Source[bytes.LastIndexByte(e.doc.Source[:at], '\n')+1 : at]
		lead := "  # "
		if commented(line) {
			lead = "; "
		}
		all = append(all, splice{at, at, lead + strings.Join(texts, "; ")})
	}
	return all
}

// commented reports whether a line ends in a comment: a sign # at its beginning or behind a space, outside quotes.
func commented(line []byte) bool {
	quote := byte(0)
	for i, c := range line {
		switch {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			if i == 0 || strings.IndexByte(" [{,:", line[i-1]) >= 0 {
				quote = c
			}
		case c == '#' && (i == 0 || line[i-1] == ' ' || line[i-1] == '\t'):
			return true
		}
	}
	return false
}
