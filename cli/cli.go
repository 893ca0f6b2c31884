// Package cli is the command: it turns a command line into one question, asks a study, and renders the answer.
// It computes nothing itself.
//
// Data goes to the standard output, notices and errors to the standard error. The exit status is 0 when done, 1 where
// the work failed, 2 for a wrong command line (package fault has the table).
package cli

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"knobwise/bench/fault"
	"knobwise/bench/folder"
)

// streams is where a command writes.
type streams struct {
	out, err io.Writer
	quiet    bool
}

// Run runs one command line, without the program's name, and returns its exit status.
func Run(args []string, out, errs io.Writer) int {
	s := &streams{out: out, err: errs}
	root := newRoot(s)
	root.SetArgs(args)
	root.SetOut(out)
	root.SetErr(errs)
	err := root.Execute()
	if err == nil {
		return 0
	}
	f, ok := errors.AsType[*fault.Error](err)
	if !ok { // an error of the command line parser
		f = fault.New(fault.Usage, err.Error(), "run `knobwise --help`, or a command with --help")
	}
	s.tell(f)
	return fault.ExitCode(f)
}

// tell writes an error: one line, and the source line with a caret where a file is at fault.
func (s *streams) tell(f *fault.Error) {
	fmt.Fprintf(s.err, "%s\n", f.Error())
	if excerpt := f.Excerpt(); excerpt != "" {
		fmt.Fprintf(s.err, "%s\n", excerpt)
	}
}

func newRoot(s *streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "knobwise",
		Short: "What a passive radio box does with the antenna and the receiver you have",
		Long: `Knobwise computes what a passive box between antenna and receiver (an antenna coupler, a preselector, a matching
network) does at every position of its knobs and switches, with the antenna and the receiver it really has.

Write down what is inside as a box file and what is connected as a setup file, or begin with the demonstration:

  knobwise sweep --demo        what the demonstration box does
  knobwise demo my-bench       write its files out to change them`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.PersistentFlags().BoolVarP(&s.quiet, "quiet", "q", false, "no notices on the standard error")
	root.AddGroup(&cobra.Group{ID: "ask", Title: "Questions:"}, &cobra.Group{ID: "files", Title: "Files:"})
	root.SetHelpCommandGroupID("files")
	root.SetCompletionCommandGroupID("files")
	root.AddCommand(sweepCommand(s), coverageCommand(s), tuneCommand(s), chartCommand(s), planCommand(s), measureCommand(s), identifyCommand(s), compareCommand(s), nextCommand(s), simulateCommand(s), drawCommand(s), serveCommand(s), checkCommand(s), demoCommand(s), kindsCommand(s), schemaCommand(s))
	return root
}

// notice tells something that is not data.
func (s *streams) notice(format string, args ...any) {
	if !s.quiet {
		fmt.Fprintf(s.err, format+"\n", args...)
	}
}

// notices tells what a study found worth knowing.
func (s *streams) notices(all []string) {
	for _, n := range all {
		s.notice("note: %s", n)
	}
}

// deliver writes a finished result to a file, whole or not at all, or to the standard output.
// inputs are the files that were read, which are never overwritten.
func (s *streams) deliver(data []byte, file string, inputs ...string) error {
	if file == "" {
		if _, err := s.out.Write(data); err != nil {
			return &fault.Error{Kind: fault.Output, What: "the result could not be written: " + err.Error(), Cause: err}
		}
		return nil
	}
	for _, in := range inputs {
		if same(in, file) {
			return fault.New(fault.Usage, fmt.Sprintf("--out %s is a file that this command reads", file), "name another file")
		}
	}
	return folder.Write(file, data)
}

// same reports whether two names are the same file on disk.
func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// usage is a fault of the command line.
func usage(what, instead string) error { return fault.New(fault.Usage, what, instead) }

// exactlyOne takes one name of what is named.
func exactlyOne(what string) cobra.PositionalArgs {
	most := oneAtMost(what)
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return usage(c.Name()+" needs a "+what, "name it: "+c.UseLine())
		}
		return most(c, args)
	}
}

// oneAtMost takes one name of what is named, or none.
func oneAtMost(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) <= 1 {
			return nil
		}
		return usage(fmt.Sprintf("%s takes one %s; %q stands on the command line too", c.Name(), what, args[1]), "leave it out, or say with an option what it is")
	}
}
