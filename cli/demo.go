package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/bench/folder"
)

func demoCommand(s *streams) *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:     "demo DIR",
		GroupID: "files",
		Short:   "Write the demonstration bench into a folder",
		Long:    "Demo writes boxes, setups and a measured wire of an invented place into a folder, to be read and changed. It overwrites nothing.",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			format, err := formatFor(format, "", []string{"table", "json"})
			if err != nil {
				return err
			}
			written, err := writeDemo(args[0])
			if err != nil {
				return err
			}
			if format == "json" {
				data, err := answer.JSON(map[string][]string{"files": written})
				if err != nil {
					return err
				}
				return s.deliver(data, "")
			}
			for _, name := range written {
				fmt.Fprintln(s.out, name)
			}
			s.notice("next: knobwise sweep %s --setup %s", filepath.Join(args[0], demo.DefaultBox), filepath.Join(args[0], demo.DefaultSetup))
			return nil
		},
	}
	c.Flags().StringVar(&format, "format", "", "table | json")
	return c
}

// writeDemo writes the bench into a folder, which it makes. It writes nothing where one of the files exists.
func writeDemo(dir string) ([]string, error) {
	entries, err := fs.ReadDir(demo.FS(), ".")
	if err != nil {
		return nil, fmt.Errorf("demo: %w", err)
	}
	for _, e := range entries {
		name := filepath.Join(dir, e.Name())
		if _, err := os.Lstat(name); !errors.Is(err, fs.ErrNotExist) {
			return nil, &fault.Error{Kind: fault.Output, Place: fault.Place{File: name}, What: "exists already, or cannot be looked at", Instead: "name an empty or a new folder"}
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, &fault.Error{Kind: fault.Output, Place: fault.Place{File: dir}, What: "the folder cannot be made", Instead: "check the name and the permissions", Cause: err}
	}
	var written []string
	for _, e := range entries {
		data, err := fs.ReadFile(demo.FS(), e.Name())
		if err != nil {
			return nil, fmt.Errorf("demo: %w", err)
		}
		name := filepath.Join(dir, e.Name())
		if err := folder.Write(name, data); err != nil {
			return nil, err
		}
		written = append(written, name)
	}
	return written, nil
}
