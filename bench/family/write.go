package family

import (
	"regexp"
	"strings"

	"knobwise/bench/document"
)

// safe is a text that needs no quotes anywhere in a file.
var safe = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9_./ -]*[A-Za-z0-9_])?$`)

// scalar writes a text so that it reads back as it is.
func scalar(text string) string {
	if safe.MatchString(text) {
		return text
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\t", `\t`).Replace(text) + `"`
}

// inline writes a node of another file in brackets; instead stands for the values of some keys.
func inline(n *document.Node, instead map[string]string) string {
	switch n.Kind {
	case document.Map:
		var all []string
		for _, e := range n.Entries {
			value, ok := instead[e.Key.Text]
			if !ok {
				value = inline(e.Value, nil)
			}
			all = append(all, scalar(e.Key.Text)+": "+value)
		}
		return "{" + strings.Join(all, ", ") + "}"
	case document.List:
		var all []string
		for _, item := range n.Items {
			all = append(all, inline(item, nil))
		}
		return "[" + strings.Join(all, ", ") + "]"
	case document.Empty:
		return "{}"
	}
	return scalar(n.Text)
}

// list writes names in brackets.
func list(names ...string) string {
	var all []string
	for _, name := range names {
		all = append(all, scalar(name))
	}
	return "[" + strings.Join(all, ", ") + "]"
}
