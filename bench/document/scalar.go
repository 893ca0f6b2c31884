package document

import (
	"fmt"
	"strings"
	"unicode"
)

// written is a scalar's text as YAML: in the quotes that the bytes before it had, if any; otherwise plain where it reads
// back as it is, in double quotes where not. flow says that it will stand inside brackets.
func written(text string, before []byte, flow bool) string {
	control := strings.ContainsFunc(text, unicode.IsControl)
	switch {
	case len(before) > 0 && before[0] == '\'' && !control:
		return "'" + strings.ReplaceAll(text, "'", "''") + "'"
	case len(before) > 0 && (before[0] == '"' || before[0] == '\''), !plain(text, flow):
		return doubleQuoted(text)
	}
	return text
}

// plain reports whether a text needs no quotes (YAML 1.2.2, section 7.3.3; a little stricter inside brackets).
func plain(text string, flow bool) bool {
	switch {
	case text == "" || strings.ContainsFunc(text, unicode.IsControl),
		strings.Trim(text, " ") != text,
		strings.Contains(text, ": "), strings.HasSuffix(text, ":"), strings.Contains(text, " #"),
		strings.HasPrefix(text, "---"), strings.HasPrefix(text, "..."), text == "-", strings.HasPrefix(text, "- "),
		strings.ContainsRune("?:,[]{}#&*!|>'\"%@`<=", []rune(text)[0]),
		flow && strings.ContainsAny(text, ",[]{}:"):
		return false
	}
	return true
}

func doubleQuoted(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case unicode.IsControl(r):
			fmt.Fprintf(&b, `\x%02x`, r) // which Parse refuses by name
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
