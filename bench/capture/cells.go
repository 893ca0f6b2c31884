package capture

import (
	"bytes"
	"strings"
)

// The delimiters. blanks stands for any run of blanks and tabs; none for a file of one column.
const (
	none   byte = 0
	blanks byte = ' '
)

// cut takes one cell of a line, from the byte offset from on: the cell without blanks and quotes round it, where it
// begins, and the offset behind its delimiter, or -1 where the line has ended.
//
// Quotes follow RFC 4180, section 2, rules 5 to 7, with two liberties: blanks may stand round a quoted cell, and a quote
// that is not closed in its line is a character like others (as in a comment on a 12" whip). A doubled quote inside is
// left for unquoted.
func cut(line []byte, from int, delimiter byte) (cell []byte, at, next int) {
	for from < len(line) && isBlank(line[from]) && (line[from] != delimiter || delimiter == blanks) {
		from++
	}
	if from < len(line) && line[from] == '"' {
		if cell, next, ok := cutQuoted(line, from, delimiter); ok {
			return cell, from + 1, next
		}
	}
	end := len(line)
	next = -1
	switch delimiter {
	case none:
	case blanks:
		for end = from; end < len(line) && !isBlank(line[end]); {
			end++
		}
		next = skipBlanks(line, end)
	default:
		if n := bytes.IndexByte(line[from:], delimiter); n >= 0 {
			end = from + n
			next = end + 1
		}
	}
	for end > from && isBlank(line[end-1]) {
		end--
	}
	return line[from:end], from, next
}

// cutQuoted is cut where a quote opens at from; not ok where it is not closed, or other text follows it in the cell.
func cutQuoted(line []byte, from int, delimiter byte) (cell []byte, next int, ok bool) {
	end := from + 1
	for {
		if end >= len(line) {
			return nil, 0, false
		}
		if line[end] == '"' {
			if end+1 == len(line) || line[end+1] != '"' {
				break
			}
			end++
		}
		end++
	}
	next = end + 1
	for next < len(line) && isBlank(line[next]) && !ends(line[next], delimiter) {
		next++
	}
	switch {
	case next == len(line):
		next = -1
	case !ends(line[next], delimiter):
		return nil, 0, false
	case delimiter == blanks:
		next = skipBlanks(line, next)
	default:
		next++
	}
	from++
	for from < end && isBlank(line[from]) {
		from++
	}
	for end > from && isBlank(line[end-1]) {
		end--
	}
	return line[from:end], next, true
}

// skipBlanks is where the next cell begins in a line that is cut at blanks, or -1.
func skipBlanks(line []byte, from int) int {
	for from < len(line) && isBlank(line[from]) {
		from++
	}
	if from == len(line) {
		return -1
	}
	return from
}

func ends(c, delimiter byte) bool {
	return delimiter != none && c == delimiter || delimiter == blanks && isBlank(c)
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\f' || c == '\v' }

// split cuts a whole line. Empty cells at its end are left out, but count in all.
func split(line []byte, delimiter byte) (cells [][]byte, all int) {
	filled := 0
	for next := 0; next >= 0; {
		var cell []byte
		cell, _, next = cut(line, next, delimiter)
		cells = append(cells, cell)
		if len(cell) > 0 {
			filled = len(cells)
		}
	}
	return cells[:filled], len(cells)
}

// unquoted is the text of a cell.
func unquoted(cell []byte) string { return strings.ReplaceAll(text(cell), `""`, `"`) }

// isComment tells a comment line, and gives its text.
func isComment(line []byte) (rest []byte, ok bool) {
	from := 0
	for from < len(line) && isBlank(line[from]) {
		from++
	}
	switch {
	case from == len(line):
		return line, false
	case line[from] == '#' || line[from] == '!' || line[from] == '%':
		return line[from+1:], true
	case line[from] == '/' && from+1 < len(line) && line[from+1] == '/':
		return line[from+2:], true
	}
	return line, false
}

// isEmpty tells a line with nothing but blanks and delimiters.
func isEmpty(line []byte, delimiter byte) bool {
	for _, c := range line {
		if !isBlank(c) && (c != delimiter || delimiter == none) {
			return false
		}
	}
	return true
}
