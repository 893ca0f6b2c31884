package cli

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"knobwise/answer"
	"knobwise/bench/box"
	"knobwise/bench/form"
	"knobwise/bench/measurement"
	"knobwise/bench/setup"
)

// kindRow is one kind of part, source or load for the table of kinds.
type kindRow struct {
	Group  string     `json:"group"`
	Name   string     `json:"kind"`
	About  string     `json:"about"`
	Fields []fieldRow `json:"fields"`
}

type fieldRow struct {
	Name     string `json:"field"`
	Required bool   `json:"required"`
	Write    string `json:"write"`
	About    string `json:"about"`
}

// allKinds lists every kind from the same descriptions that the files are read by.
func allKinds() []kindRow {
	var rows []kindRow
	add := func(group, name, about string, fields []form.Field) {
		row := kindRow{Group: group, Name: name, About: about}
		for _, f := range fields {
			if f.Name != "kind" {
				row.Fields = append(row.Fields, fieldRow{f.Name, f.Required, f.Shape.Describe(), f.About})
			}
		}
		rows = append(rows, row)
	}
	for _, k := range box.Kinds {
		add("part", k.Name, k.About, k.Fields())
	}
	for _, k := range setup.SourceKinds {
		add("source", k.Name, k.About, k.Fields())
	}
	for _, k := range setup.LoadKinds {
		add("load", k.Name, k.About, k.Fields())
	}
	add("setup", "probe", "what looks at the load's voltage, across the load", setup.ProbeFields)
	add("setup", "sweep", "where to look", setup.SweepFields)
	return rows
}

func kindsCommand(s *streams) *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:     "kinds [NAME]",
		GroupID: "files",
		Short:   "Every kind of part, source and load, with its fields",
		Long:    "Kinds prints what may stand in box and setup files. A name, or a part of one, shows only the kinds that it fits.",
		Args:    cobra.ArbitraryArgs,
		RunE: func(_ *cobra.Command, args []string) error {
			format, err := formatFor(format, "", []string{"table", "json"})
			if err != nil {
				return err
			}
			wanted := strings.ToLower(strings.Join(args, " "))
			var rows []kindRow
			var names []string
			for _, row := range allKinds() {
				if !slices.Contains(names, row.Name) {
					names = append(names, row.Name)
				}
				if strings.Contains(row.Name, wanted) || row.Group == wanted {
					rows = append(rows, row)
				}
			}
			if len(rows) == 0 {
				return usage(fmt.Sprintf("there is no kind %q", wanted), "known are "+strings.Join(names, ", "))
			}
			if format == "json" {
				data, err := answer.JSON(map[string][]kindRow{"kinds": rows})
				if err != nil {
					return err
				}
				return s.deliver(data, "")
			}
			var b bytes.Buffer
			kindsTable(&b, rows)
			return s.deliver(b.Bytes(), "")
		},
	}
	c.Flags().StringVar(&format, "format", "", "table | json")
	return c
}

func kindsTable(b *bytes.Buffer, rows []kindRow) {
	for i, row := range rows {
		if i > 0 {
			b.WriteByte('\n')
		}
		fmt.Fprintf(b, "%s: %s\n  %s\n", row.Group, row.Name, row.About)
		for _, f := range row.Fields {
			star := " "
			if f.Required {
				star = "*"
			}
			fmt.Fprintf(b, "  %s %-17s %s\n", star, f.Name, f.Write)
			if f.About != "" {
				fmt.Fprintf(b, "    %-17s %s\n", "", f.About)
			}
		}
	}
	b.WriteString("\n* required\n")
}

func schemaCommand(s *streams) *cobra.Command {
	var out, format string
	schemas := map[string]func() map[string]any{"box": box.Schema, "setup": setup.Schema, "measurements": measurement.Schema}
	c := &cobra.Command{
		Use:       "schema box|setup|measurements",
		GroupID:   "files",
		Short:     "JSON Schema of a file, for editors that complete and check",
		Args:      cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs),
		ValidArgs: []string{"box", "setup", "measurements"},
		RunE: func(_ *cobra.Command, args []string) error {
			if _, err := formatFor(format, "", []string{"json"}); err != nil {
				return err
			}
			data, err := answer.IndentedJSON(schemas[args[0]](), "  ")
			if err != nil {
				return err
			}
			return s.deliver(data, out)
		},
	}
	c.Flags().StringVar(&out, "out", "", "write to a file instead of the standard output")
	c.Flags().StringVar(&format, "format", "", "json (it has no other)")
	return c
}
