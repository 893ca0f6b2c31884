package cli

import (
	"bytes"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/demo"
	"knobwise/bench/folder"
	"knobwise/figure"
	"knobwise/figure/schematic"
)

func drawCommand(s *streams) *cobra.Command {
	var b bench
	var out, format string
	var dark bool
	c := &cobra.Command{
		Use:     "draw [BOX]",
		GroupID: "ask",
		Short:   "The circuit of a box at one setting, as a picture",
		Long: `Draw lays out the circuit from the antenna to the receiver at one setting: what stands in the way of the signal along
one line, what goes to ground below it, dials beside the parts that they turn, switches at the contacts that they make,
and pale what no current takes.`,
		Example: "  knobwise draw --demo --out coupler.svg\n  knobwise draw coupler.box.yaml --set Range=mid --out mid.svg",
		Args:    oneAtMost("box file"),
		RunE: func(c *cobra.Command, args []string) error {
			format, err := formatFor(format, out, []string{"svg", "json"})
			if err != nil {
				return err
			}
			if err := usable(c, format, picturesOnly); err != nil {
				return err
			}
			files, name := folder.Disk(), ""
			if len(args) > 0 {
				name = args[0]
			}
			if b.demo {
				files = demo.Files()
				if name == "" {
					name = demo.DefaultBox
				}
			}
			if name == "" {
				return usage("no box file", "name one, or try --demo")
			}
			bx, err := box.Load(files, name)
			if err != nil {
				return err
			}
			setting, err := b.settingOf(bx)
			if err != nil {
				return err
			}
			drawing, err := schematic.Layout(bx, setting, schematic.Labels{Source: "antenna", Load: "receiver"})
			if err != nil {
				return err
			}
			if format == "json" {
				data, err := answer.JSON(drawing)
				if err != nil {
					return err
				}
				return s.deliver(data, out, name)
			}
			theme := figure.Light
			if dark {
				theme = figure.Dark
			}
			var picture bytes.Buffer
			if err := drawing.SVG(&picture, theme); err != nil {
				return err
			}
			return s.deliver(picture.Bytes(), out, name)
		},
	}
	b.boxFlags(c)
	c.Flags().StringVar(&format, "format", "", "svg | json (default: by the ending of --out, else svg)")
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().BoolVar(&dark, "dark", false, "on a dark ground")
	return c
}
