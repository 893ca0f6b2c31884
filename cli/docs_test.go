package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Every `console` block of the README and of docs/ is run: a line that starts with `$ knobwise` is a command, the lines
// below it its output up to a line with nothing but `[…]`, which stands for the rest. A `yaml` block whose first line
// is `# file: NAME` is written to a file of that name first. UPDATE_GOLDEN=1 renews the outputs.
func TestDocumentsTellTheTruth(t *testing.T) {
	root, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	documents, err := filepath.Glob(filepath.Join(root, "docs", "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	commands := 0
	for _, name := range append(documents, filepath.Join(root, "README.md")) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			t.Chdir(t.TempDir())
			source, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			got, ran := rerun(t, string(source))
			commands += ran
			if got == string(source) {
				return
			}
			if os.Getenv("UPDATE_GOLDEN") != "" {
				if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			t.Errorf("the document does not tell what the program does (UPDATE_GOLDEN=1 renews it):\n%s", cmp.Diff(string(source), got))
		})
	}
	if commands < 8 {
		t.Errorf("only %d commands were run", commands)
	}
}

// rest stands for output that a document leaves out.
const rest = "[…]"

// rerun returns the document with the outputs that its commands give now, and how many commands it has.
func rerun(t *testing.T, source string) (document string, commands int) {
	lines := strings.Split(source, "\n")
	var out []string
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		switch {
		case lines[i] == "```yaml" && strings.HasPrefix(lines[i+1], "# file: "):
			name := strings.TrimPrefix(lines[i+1], "# file: ")
			var content []string
			for i++; lines[i] != "```"; i++ {
				out = append(out, lines[i])
				content = append(content, lines[i])
			}
			out = append(out, lines[i])
			if err := os.WriteFile(name, []byte(strings.Join(content, "\n")+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		case lines[i] == "```console":
			i++
			for lines[i] != "```" {
				command, ok := strings.CutPrefix(lines[i], "$ knobwise")
				if !ok {
					t.Fatalf("line %d: a console block has a command at its start: %q", i+1, lines[i])
				}
				out = append(out, lines[i])
				i++
				kept := 0
				shortened := false
				for ; lines[i] != "```" && !strings.HasPrefix(lines[i], "$ "); i++ {
					if lines[i] == rest {
						shortened = true
						continue
					}
					kept++
				}
				var stdout, stderr bytes.Buffer
				Run(words(command), &stdout, &stderr)
				commands++
				printed := strings.Split(strings.TrimSuffix(stdout.String()+stderr.String(), "\n"), "\n")
				if len(printed) == 1 && printed[0] == "" {
					printed = nil
				}
				if shortened {
					if kept == 0 || kept > len(printed) {
						kept = min(24, len(printed))
					}
					printed = append(printed[:kept:kept], rest)
				}
				for _, line := range printed {
					out = append(out, strings.TrimRight(line, " "))
				}
			}
			out = append(out, lines[i])
		}
	}
	return strings.Join(out, "\n"), commands
}

// words splits a command line at spaces outside quotes.
func words(line string) []string {
	var all []string
	var word strings.Builder
	quoted, started := false, false
	for _, r := range line {
		switch {
		case r == '\'' || r == '"':
			quoted, started = !quoted, true
		case r == ' ' && !quoted:
			if started {
				all = append(all, word.String())
			}
			word.Reset()
			started = false
		default:
			word.WriteRune(r)
			started = true
		}
	}
	if started {
		all = append(all, word.String())
	}
	return all
}
