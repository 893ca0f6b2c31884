package document

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/token"

	"knobwise/bench/fault"
)

// Limits of a file written by hand. Parsing time grows faster than the depth and length of what is nested, and with
// the square of the number of keys of a map, so these are checked before the parser sees the text.
const (
	mostBytes   = 256 << 10
	mostColumns = 2000
	mostDepth   = 32
	mostTokens  = 20000 // words and signs; a box of a hundred parts has 3000
)

func (d *Document) checkText() error {
	for i := range d.lines {
		line := d.line(i + 1)
		if n := utf8.RuneCountInString(line); n > mostColumns {
			return fault.At(d.place(i+1, mostColumns, 0), fmt.Sprintf("the line is %d characters long", n), fmt.Sprintf("break it; at most %d are read", mostColumns))
		}
		column := 0
		for at, r := range line {
			column++
			if _, size := utf8.DecodeRuneInString(line[at:]); r == utf8.RuneError && size == 1 {
				return fault.At(d.place(i+1, column, 0), "the text is not UTF-8", "save the file with the encoding UTF-8")
			}
			if unicode.IsControl(r) && r != '\t' {
				return fault.At(d.place(i+1, column, 0), fmt.Sprintf("control character U+%04X", r), "delete it; is this a text file?")
			}
		}
	}
	return nil
}

func (d *Document) checkTokens(tokens token.Tokens) error {
	depth := 0
	for i, t := range tokens {
		what, instead := "", ""
		switch t.Type {
		case token.AnchorType, token.AliasType, token.MergeKeyType:
			what, instead = fmt.Sprintf("YAML anchors and aliases (%s) are not read", strings.TrimSpace(t.Value)), "write the value out, or quote the text"
		case token.TagType:
			what, instead = fmt.Sprintf("YAML tags (%s) are not read", strings.TrimSpace(t.Value)), "leave the tag out, or quote the text"
		case token.DirectiveType:
			what, instead = "YAML directives are not read", "delete the line"
		case token.MappingKeyType:
			what, instead = "a lone `?` starts a YAML key", `write an unknown value in quotes: "? 22 uH"`
		case token.MappingStartType, token.SequenceStartType:
			depth++
		case token.MappingEndType, token.SequenceEndType:
			depth--
		}
		if depth > mostDepth {
			what, instead = fmt.Sprintf("brackets are nested more than %d deep", mostDepth), "is this the right file?"
		}
		if i >= mostTokens {
			what, instead = fmt.Sprintf("the file has more than %d words and signs", mostTokens), "keep one box or setup in a file"
		}
		if what != "" {
			return fault.At(d.place(t.Position.Line, t.Position.Column, 0), what, instead)
		}
	}
	return nil
}

var unquotedUnknown = regexp.MustCompile(`[:,\[]\s*\?`)

// syntaxError puts an error of the parser into our words.
func (d *Document) syntaxError(err error) error {
	line, column, message := 0, 0, err.Error()
	if y, ok := errors.AsType[yaml.Error](err); ok {
		message = y.GetMessage()
		if t := y.GetToken(); t != nil && t.Position != nil {
			line, column = t.Position.Line, max(1, t.Position.Column)
		}
	}
	instead := "check the indentation, the brackets and the colons here and in the line above"
	switch {
	case strings.Contains(d.line(line), "\t") && (strings.Contains(message, "tab") || strings.Contains(message, "cannot start any token")):
		message, instead = "a tab where YAML wants spaces", "indent with spaces"
		column = 1 + utf8.RuneCountInString(d.line(line)[:strings.Index(d.line(line), "\t")])
	case unquotedUnknown.MatchString(d.line(line)):
		message, instead = "an unknown value must stand in quotes", `write for example value: "? 22 uH"`
	}
	return fault.At(d.place(line, column, 0), message, instead)
}
