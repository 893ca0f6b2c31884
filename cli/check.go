package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
	"knobwise/bench/trace"
	"knobwise/study/check"
)

// checked is what check has to say about one file.
type checked struct {
	File     string        `json:"file"`
	Kind     string        `json:"kind"`
	Error    *findingJSON  `json:"error"`
	Findings []findingJSON `json:"findings"`
	Notices  []string      `json:"warnings"`
}

type findingJSON struct {
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	What    string `json:"what"`
	Instead string `json:"instead"`

	fault *fault.Error
}

func checkCommand(s *streams) *cobra.Command {
	var format, with string
	var inDemo bool
	c := &cobra.Command{
		Use:     "check FILE…",
		GroupID: "files",
		Short:   "Read box, setup and measurement files, and tell what is suspicious",
		Long: `Check reads box, setup and measurement files, with every trace that they name, as strictly as every command does, and tells
what is legal but suspicious in a box: a
node that only one part touches, a part that carries no current in any switch position, a knob that changes nothing, a
position that shorts a socket or lets nothing through, a coil whose self-resonance lies in the range of the setup's sweep
(without one: 0.1 to 30 MHz).

Exit status: 0 every file can be used, suspicious or not; 1 a file cannot be used; 2 the command line is wrong.`,
		Example: "  knobwise check coupler.box.yaml --setup bench-50.setup.yaml",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			format, err := formatFor(format, "", []string{"table", "json"})
			if err != nil {
				return err
			}
			files := folder.Disk()
			if inDemo {
				files = demo.Files()
			}
			span := check.Shortwave
			if with == "" {
				with = onlySetup(args)
			}
			if with != "" {
				st, err := setup.LoadFile(files, with)
				switch {
				case err == nil:
					span = check.Span{From: st.Sweep.From, To: st.Sweep.To}
				case !slices.Contains(args, with): // otherwise it is told in its turn
					return err
				}
			}
			var all []checked
			err = s.working("files", func(ctx context.Context, progress func(float64)) error {
				for i, name := range args {
					all = append(all, checkFile(ctx, files, name, span))
					progress(float64(i+1) / float64(len(args)))
				}
				return nil
			})
			if err != nil {
				return err
			}
			return reportChecks(s, format, all)
		},
	}
	c.Flags().StringVar(&format, "format", "", "table | json")
	c.Flags().StringVar(&with, "setup", "", "look for self-resonances in the range of this setup's sweep (default: the one setup among the files)")
	c.Flags().BoolVar(&inDemo, "demo", false, "the files are those of the embedded demonstration bench")
	return c
}

// onlySetup is the setup among the files, where there is exactly one.
func onlySetup(files []string) string {
	found := ""
	for _, name := range files {
		if strings.HasSuffix(name, ".setup.yaml") {
			if found != "" {
				return ""
			}
			found = name
		}
	}
	return found
}

func checkFile(ctx context.Context, files folder.Files, name string, span check.Span) checked {
	out := checked{File: name, Kind: "box", Findings: []findingJSON{}, Notices: []string{}}
	if strings.HasSuffix(name, ".setup.yaml") {
		out.Kind = "setup"
		_, err := setup.LoadFile(files, name)
		out.fail(err)
		return out
	}
	if strings.HasSuffix(name, measurement.Suffix) {
		out.Kind = "measurements"
		f, err := measurement.LoadFile(files, name)
		if err != nil {
			out.fail(err)
			return out
		}
		for _, m := range f.Measurements {
			t, err := trace.Load(ctx, files, m)
			if err != nil {
				out.fail(err)
				return out
			}
			out.Notices = append(out.Notices, t.Notices...)
		}
		out.Notices = once(append(out.Notices, f.Notices...))
		return out
	}
	b, err := box.Load(files, name)
	if err != nil {
		out.fail(err)
		return out
	}
	report, err := check.Box(b, span)
	if err != nil {
		out.fail(err)
		return out
	}
	for _, f := range report.Findings {
		out.Findings = append(out.Findings, findingJSON{f.Place.Line, f.Place.Column, f.What, f.Instead, fault.At(f.Place, f.What, f.Instead)})
	}
	out.Notices = answer.OrEmpty(report.Notices)
	return out
}

func (c *checked) fail(err error) {
	if err == nil {
		return
	}
	f, ok := errors.AsType[*fault.Error](err)
	if !ok {
		f = fault.New(fault.File, err.Error(), "")
	}
	c.Error = &findingJSON{f.Place.Line, f.Place.Column, f.What, f.Instead, f}
}

// reportChecks tells everything, and ends with the first error so that the exit status is right.
func reportChecks(s *streams, format string, all []checked) error {
	var b bytes.Buffer
	var failed []*fault.Error
	for _, c := range all {
		if c.Error != nil {
			failed = append(failed, c.Error.fault)
		}
	}
	if format == "json" {
		data, err := answer.JSON(map[string][]checked{"files": all})
		if err != nil {
			return err
		}
		b.Write(data)
	} else {
		for _, c := range all {
			for _, f := range c.Findings {
				fmt.Fprintf(&b, "%s\n%s\n", f.fault.Error(), f.fault.Excerpt())
			}
			switch {
			case c.Error != nil: // told on the standard error
			case len(c.Findings) == 0:
				fmt.Fprintf(&b, "%s: nothing suspicious\n", c.File)
			}
			s.notices(c.Notices)
		}
	}
	if err := s.deliver(b.Bytes(), ""); err != nil {
		return err
	}
	if len(failed) == 0 {
		return nil
	}
	for _, f := range failed[1:] {
		s.tell(f)
	}
	return failed[0]
}
