package document

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"unicode"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"knobwise/bench/fault"
)

// convert makes a node of the parser's; flow says that it stands inside brackets.
func (d *Document) convert(n ast.Node, depth int, flow bool) (*Node, error) {
	t := n.GetToken()
	out := &Node{doc: d, line: t.Position.Line, column: t.Position.Column, start: -1, end: -1, flow: flow}
	if depth > mostDepth {
		return nil, fault.At(out.Place(), fmt.Sprintf("the file is nested more than %d deep", mostDepth), "is this the right file?")
	}
	switch v := n.(type) {
	case *ast.MappingNode:
		return out, d.convertMap(out, v.Values, v.IsFlowStyle, v.End, depth)
	case *ast.MappingValueNode:
		return out, d.convertMap(out, []*ast.MappingValueNode{v}, false, nil, depth)
	case *ast.SequenceNode:
		out.Kind = List
		for _, item := range v.Values {
			node, err := d.convert(item, depth+1, flow || v.IsFlowStyle)
			if err != nil {
				return nil, err
			}
			out.Items = append(out.Items, node)
			out.end = node.end
		}
		if v.IsFlowStyle {
			d.bracketed(out, v.End, "]")
		}
		return out, nil
	case *ast.LiteralNode:
		out.Kind, out.Text, out.Quoted = Scalar, strings.TrimRight(v.Value.Value, "\n"), true
		d.measureBlock(out)
	case *ast.StringNode:
		out.Kind, out.Text = Scalar, v.Token.Value
		if t.Type == token.DoubleQuoteType || t.Type == token.SingleQuoteType {
			out.Quoted = true
			d.measureQuoted(out)
		} else {
			d.measurePlain(out, t.Origin)
		}
	case *ast.NullNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		// `null` and `~` written out are text like any other; nothing at all is Empty.
		if t.Type == token.ImplicitNullType {
			out.Kind = Empty
			return out, nil
		}
		out.Kind, out.Text = Scalar, strings.Trim(t.Origin, space)
		d.measurePlain(out, t.Origin)
	default:
		return nil, fault.At(out.Place(), fmt.Sprintf("YAML of the kind %s is not read", n.Type()), "write a plain value, a map or a list")
	}
	for _, r := range out.Text { // written with an escape
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return nil, fault.At(out.Place(), fmt.Sprintf("the text holds the control character U+%04X", r), "leave it out")
		}
	}
	return out, nil
}

func (d *Document) convertMap(m *Node, entries []*ast.MappingValueNode, flow bool, end *token.Token, depth int) error {
	m.Kind = Map
	lines := map[string]int{}
	for _, e := range entries {
		key, err := d.convert(e.Key, depth+1, m.flow || flow)
		if err != nil {
			return err
		}
		if key.Kind != Scalar {
			return fault.At(key.Place(), "a key must be plain text", "write `name: value`")
		}
		if line, twice := lines[key.Text]; twice {
			return fault.At(key.Place(), fmt.Sprintf("%q stands here a second time; it is already in line %d", key.Text, line), "delete one of the two, or give it another name")
		}
		lines[key.Text] = key.line
		value, err := d.convert(e.Value, depth+1, m.flow || flow)
		if err != nil {
			return err
		}
		if value.Kind == Empty { // point at the key: there is nothing else to point at
			value.line, value.column = key.line, key.column
			value.start = d.behindColon(key)
			value.end = value.start
		}
		m.Entries = append(m.Entries, Entry{key, value})
		m.end = value.end
	}
	if flow {
		d.bracketed(m, end, "}")
	} else {
		first := m.Entries[0].Key
		m.line, m.column, m.start = first.line, first.column, first.start
	}
	return nil
}

// space is what may stand round a plain scalar.
const space = " \t\r\n"

// bracketed sets the extent of a map or list in brackets.
func (d *Document) bracketed(n *Node, end *token.Token, closing string) {
	n.brackets, n.end = true, -1
	at := d.offset(n.line, n.column)
	if end == nil || end.Value != closing || at >= len(d.Source) || (d.Source[at] != '{' && d.Source[at] != '[') {
		return
	}
	if last := d.offset(end.Position.Line, end.Position.Column); bytes.HasPrefix(d.Source[last:], []byte(closing)) {
		n.start, n.end = at, last+1
	}
}

// behindColon is the place behind a key's colon, or -1.
func (d *Document) behindColon(key *Node) int {
	if key.start < 0 {
		return -1
	}
	at := key.end
	for at < len(d.Source) && d.Source[at] == ' ' {
		at++
	}
	if at < len(d.Source) && d.Source[at] == ':' {
		return at + 1
	}
	return -1
}

// measurePlain finds the extent of an unquoted scalar: its place must show the text that the lexer took for it.
func (d *Document) measurePlain(n *Node, origin string) {
	raw := strings.Trim(origin, space)
	start := d.offset(n.line, n.column)
	at := start
	for i := range len(raw) {
		if raw[i] == '\n' && bytes.HasPrefix(d.Source[at:], []byte("\r")) {
			at++
		}
		if at >= len(d.Source) || d.Source[at] != raw[i] {
			return
		}
		at++
	}
	if at > start {
		n.start, n.end = start, at
	}
}

// measureQuoted finds the closing quote.
func (d *Document) measureQuoted(n *Node) {
	start := d.offset(n.line, n.column)
	if start >= len(d.Source) || (d.Source[start] != '"' && d.Source[start] != '\'') {
		return
	}
	quote := d.Source[start]
	for at := start + 1; at < len(d.Source); at++ {
		switch {
		case d.Source[at] == '\\' && quote == '"':
			at++
		case d.Source[at] != quote:
		case quote == '\'' && bytes.HasPrefix(d.Source[at:], []byte("''")):
			at++
		default:
			n.start, n.end = start, at+1
			return
		}
	}
}

var plainHeader = regexp.MustCompile(`^[|>][+-]?[ \t]*\r?$`)

// measureBlock finds the extent of a block of text, `|` or `>`: the lines behind its header that are blank or indented at
// least as far as the first that is not blank. Blank lines at the end do not count. One whose header holds a comment or
// an indentation of its own is left unmeasured.
func (d *Document) measureBlock(n *Node) {
	start := d.offset(n.line, n.column)
	header, _, _ := bytes.Cut(d.Source[start:], []byte("\n"))
	if !plainHeader.Match(header) {
		return
	}
	n.start = start
	n.end = start + len(bytes.TrimRight(header, space))
	indent := -1
	for number := n.line + 1; number <= len(d.lines) && n.Text != ""; number++ {
		line := d.line(number)
		text := strings.TrimLeft(line, " ")
		if text == "" {
			continue
		}
		if indent < 0 {
			indent = len(line) - len(text)
		}
		if len(line)-len(text) < indent {
			return
		}
		n.end = d.lines[number-1] + len(line)
	}
}
