package capture

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"knobwise/bench/fault"
)

// Options settle what else is guessed; the zero value guesses everything. A column is named by the name that Guess gives
// it, where case does not matter, or by its number in the file, from 1, as "2" or, where a name is like that too, "column 2".
type Options struct {
	Delimiter   string             // one of , ; | tab (or "\t"), blank (or " ": any run of blanks and tabs), none (one column)
	Decimal     string             // "." or ","
	HeaderLines *int               // lines of any kind above the first row of numbers; 0 or more
	Names       []string           // of the columns, from the first; an empty one leaves the guess
	Abscissa    string             // the column with time, frequency or index; "none" where the rows are only counted
	Axis        Role               // what the abscissa is: Time, Frequency or Index; with Interval, what is counted
	Channels    []string           // the columns wanted; none for every one that holds numbers
	Units       map[string]string  // column: unit in place of the one in the header, such as "ms"
	Scale       map[string]float64 // column: factor from the number in the file to the value, in place of the unit's; finite, not 0
	Interval    float64            // from row to row, in s (Hz if Axis is Frequency), above 0: the rows are counted even where there is a column of times; 0 for what the file says
	Start       *float64           // abscissa of the first row, in s or Hz, where rows are counted; nil for what the file says, else 0
	Expected    *Expected          // what is known of the sweep, for a unit that the file does not say; nil for nothing
}

// delimiters are those tried, in the order of preference where the numbers leave a choice.
var delimiters = []struct {
	name  string
	short string
	char  byte
}{
	{"comma", ",", ','},
	{"semicolon", ";", ';'},
	{"tab", "\t", '\t'},
	{"pipe", "|", '|'},
	{"blank", " ", blanks},
	{"none", "none", none},
}

// check refuses options that no file could satisfy.
func (o *Options) check() error {
	if o.Delimiter != "" {
		if _, ok := o.delimiter(); !ok {
			return wrongOption("the `delimiter` "+strconv.Quote(o.Delimiter)+" is not known", "write comma, semicolon, tab, pipe, blank or none")
		}
	}
	switch {
	case o.Decimal != "" && o.Decimal != "." && o.Decimal != ",":
		return wrongOption("the `decimal` sign "+strconv.Quote(o.Decimal)+" is not known", `write "." or ","`)
	case o.HeaderLines != nil && *o.HeaderLines < 0:
		return wrongOption("the number of `header` lines is negative", "give 0 or more")
	case o.Axis != "" && o.Axis != Time && o.Axis != Frequency && o.Axis != Index:
		return wrongOption("the `axis` can not be "+strconv.Quote(string(o.Axis)), "write time, frequency or index")
	case o.Interval != 0 && (!(o.Interval > 0) || o.Interval > maxAbscissa):
		return wrongOption("the `interval` is not above 0 and below 1e200", "give a time or a frequency step, such as 1 us")
	case o.Start != nil && (!(math.Abs(*o.Start) <= maxAbscissa)):
		return wrongOption("the value of the `first` row is not between -1e200 and 1e200", "give a time or a frequency, such as 0 s")
	}
	for _, column := range sortedKeys(o.Scale) {
		if f := o.Scale[column]; f == 0 || math.IsNaN(f) || math.IsInf(f, 0) {
			return wrongOption("the scale of column "+strconv.Quote(column)+" is 0 or not finite", "give a factor such as 0.001")
		}
	}
	return nil
}

// delimiter is the one that is asked for; not ok where none is, or it is not known.
func (o *Options) delimiter() (char byte, ok bool) {
	for _, d := range delimiters {
		if o.Delimiter == d.name || o.Delimiter == d.short {
			return d.char, true
		}
	}
	return 0, false
}

// find gives the index of the column that an option names.
func find(columns []Column, asked, option string) (int, error) {
	if n, numbered := strings.CutPrefix(asked, "column "); numbered {
		if n, err := strconv.Atoi(n); err == nil && n >= 1 && n <= len(columns) {
			return n - 1, nil
		}
	}
	var known []string
	named := -1
	for i, c := range columns {
		if c.Name != "" && strings.EqualFold(c.Name, asked) {
			if named >= 0 {
				return 0, wrongOption(fmt.Sprintf("`%s`: %s is the name of column %d and of column %d", option, c.label(), named+1, i+1), fmt.Sprintf("write `column %d` or `column %d`", named+1, i+1))
			}
			named = i
		}
		if c.Name != "" {
			known = append(known, c.Name)
		}
	}
	if named >= 0 {
		return named, nil
	}
	if n, err := strconv.Atoi(asked); err == nil && n >= 1 && n <= len(columns) {
		return n - 1, nil
	}
	instead := fault.DidYouMean(asked, known)
	number := "write its number, 1 to " + strconv.Itoa(len(columns))
	switch {
	case strings.HasSuffix(instead, "?"):
		number = instead + " Or " + number
	case instead != "":
		number = instead + "; or " + number
	}
	return 0, wrongOption("`"+option+"`: there is no column "+strconv.Quote(asked), number)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// Options are those that settle all of a guess, to be read again as they are or with changes.
func (g *Guess) Options() Options {
	o := Options{
		Delimiter: g.Delimiter, Decimal: g.Decimal, HeaderLines: new(g.HeaderLines), Abscissa: "none", Axis: g.Axis,
		Units: map[string]string{}, Scale: map[string]float64{},
	}
	for i := range g.Columns {
		c := &g.Columns[i]
		column := "column " + strconv.Itoa(c.Number)
		o.Names = append(o.Names, c.Name)
		if i == g.Abscissa {
			o.Abscissa = column
			if c.Role == Index && g.Axis == Time {
				o.Axis = Index
			}
		} else if c.Kept {
			o.Channels = append(o.Channels, column)
		}
		u, known := parseUnit(c.Unit)
		if known {
			o.Units[column] = c.Unit
		}
		if c.Role != Index && (known && c.Scale != u.factor*tenTo(u.shift) || !known && c.Scale != 1) {
			o.Scale[column] = c.Scale
		}
	}
	if g.Interval > 0 {
		o.Interval, o.Start = g.Interval, new(g.Start)
	}
	return o
}
