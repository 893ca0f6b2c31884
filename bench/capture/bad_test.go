package capture

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"

	"knobwise/bench/fault"
)

const twoRows = "t (s),v (V)\n0,1\n1,2\n"

// badInputs: content, options, place as line:column (empty where no line is to blame), part of what is wrong, part of
// what to write instead.
var badInputs = []struct {
	text                 string
	options              Options
	place, what, instead string
}{
	{"", Options{}, "", "the file is empty", "one row of numbers"},
	{"\n \r\n\t\n", Options{}, "", "the file is empty", "one row of numbers"},
	{"\xEF\xBB\xBF", Options{}, "", "the file is empty", "one row of numbers"},
	{"# a\n# b\n", Options{}, "", "comments alone", "one row of numbers"},
	{"Time,Volt\ns,V\n", Options{}, "1:1", "no row of numbers", "one row of numbers"},
	{"<html>\n<body>\n", Options{}, "1:1", "no row of numbers", "one row of numbers"},
	{"nan;nan\nnan;nan\n", Options{}, "1:1", "no row of numbers", ""},
	{twoRows + "2,abc\n", Options{}, "4:3", `"abc" in "v" is not a number`, "write a number such as 0.25"},
	{twoRows + "2,abc\n3,4\n", Options{}, "4:3", `"abc" in "v" is not a number`, "write a number such as 0.25"},
	{twoRows + "2,1e\n3,4\n", Options{}, "4:3", `"1e" in "v" is not a number`, ""},
	{twoRows + "2,0x10\n3,4\n", Options{}, "4:3", `"0x10" in "v" is not a number`, ""},
	{twoRows + "é,1\n3,4\n", Options{}, "4:1", `"é" in "t" is not a number`, ""},
	{twoRows + "2, \"é\n3,4\n", Options{}, "4:4", `"\"é" in "v" is not a number`, ""},
	{twoRows + "2," + strings.Repeat("x", 99) + "\n3,4\n", Options{}, "4:3", strings.Repeat("x", 40) + "…", ""},
	{"0.O1,1.5\n1,2.5\n2,3.5\n", Options{}, "1:1", `"0.O1" in column 1 is not a number`, "`header` lines"},
	{twoRows + "2,NaN\n3,4\n", Options{}, "4:3", `"NaN" in "v" is not a finite number`, "leave row or column out"},
	{twoRows + "2,-inf\n", Options{}, "4:3", `"-inf" in "v" is not a finite number`, "leave row or column out"},
	{"6,900,000;-36.57\n6,910,000;-35.1\n", Options{}, "1:7", `"000;-36.57" has two numbers in one cell`, "without signs between groups of digits"},
	{"f (Hz);level (dBm)\n6,900,000;-36.57\n6,910,000;-35.1\n", Options{}, "2:7", "two numbers in one cell", "name the `delimiter`"},
	{twoRows + "2,3\nEND\n3,4\n", Options{}, "5:1", `"END" in "t" is not a number`, ""},
	{twoRows + "END,2\n", Options{}, "4:1", `"END" in "t" is not a number`, ""},
	{twoRows, Options{Start: new(1.0)}, "", "the value of the first row means nothing", "leave `first` out"},
	{"s,V,V\n0,1,2\n1,2,3\n", Options{Channels: []string{"V"}}, "", `"V" is the name of column 2 and of column 3`, "write `column 2` or `column 3`"},
	{twoRows + "2,9.9E+37\n3,4\n", Options{}, "4:3", `"9.9E+37" in "v" is an instrument's mark for an overflow or no value`, "leave row or column out"},
	{"t;v (mV)\n0;1\n1;-9.91E37\n2;3\n", Options{}, "3:3", "an instrument's mark", "leave row or column out"},
	{twoRows + "2,1.#INF\n", Options{}, "4:3", `"1.#INF" in "v" is not a finite number`, "leave row or column out"},
	{"t (s),v (V)\n0,nan\n1,2\n2,3\n", Options{}, "2:3", `"nan" in "v" is not a finite number`, "leave row or column out"},
	{twoRows + "2,1e999\n", Options{}, "4:3", `"1e999" in "v" is too large`, "1e308"},
	{"t (s),v (kV)\n0,1\n1,1e306\n2,3\n", Options{}, "3:3", `"1e306" in "v" is too large`, "1e308"},
	{twoRows + "2,1e300\n", Options{Scale: map[string]float64{"v": 1e10}}, "4:3", "too large", "1e308"},
	{twoRows + "1e201,1\n", Options{}, "4:1", "this time is beyond any measurement", "name the column"},
	{"n,v\n0,1\n1e17,2\n", Options{Interval: 1}, "3:1", "this index is beyond any measurement", "name the column"},
	{"f (Hz),v (V)\n1e6,0.1\n2e6,NaN\n", Options{}, "3:5", `"NaN" in "v" is not a finite number`, "leave row or column out"},
	{"t (s),volt\n0,1\n", Options{Channels: []string{"vold"}}, "", `there is no column "vold"`, `did you mean "volt"? Or write its number, 1 to 2`},
	{"t (s),v (V)\n0.0150828770719268,1\n0.01,2\n", Options{}, "3:1", "from 15.08288 ms to 10 ms", "rows in order"},
	{twoRows + "2,\n3,4\n", Options{}, "4:3", `"v" is empty here`, "write the number"},
	{twoRows + "2\n3,4\n", Options{}, "4:2", "1 cell in a table of 2 columns", "one number for each column"},
	{"0,1.5,2\n2,3\n3,4\n4,5\n5,6,7\n6,7\n", Options{Interval: 1}, "5:5", "3 cells in a table of 2 columns", ""},
	{"t (s),v (V)\n0,1.5\n2,3,4\n3,4\n", Options{}, "3:5", "3 cells in a table of 2 columns", "one number for each column"},
	{twoRows + "2,3,4\n3,4\n", Options{}, "4:5", "3 cells in a table of 2 columns", "if the comma is the decimal sign too"},
	{twoRows + "0.5,3\n", Options{}, "4:1", "the time runs backwards, from 1 s to 500 ms", "rows in order"},
	{"t (ms);v (V)\n0;1\n1;2\n  0,5;3\n", Options{}, "4:3", "the time runs backwards, from 1 ms to 500 us", "rows in order"},
	{"1.5,1\n1,2\n0.5,3\n", Options{}, "2:1", "the time runs backwards", "name the column"},
	{"n,v\n1,1\n2,2\n1,3\n", Options{Interval: 1}, "4:1", "the index runs backwards, from 2 to 1", "rows in order"},
	{"f (Hz),v\n3,1\n2,2\n2.5,3\n", Options{}, "4:1", "the frequency turns round, from 2 Hz to 2.5 Hz", "sort"},
	{"f (Hz),v\n2,1\n3,2\n2.5,3\n", Options{}, "4:1", "the frequency runs backwards, from 3 Hz to 2.5 Hz", "in order"},
	{"CH1 (V),CH2 (V)\n1,5\n2,6\n", Options{}, "2:1", "no column of times or frequencies, and no interval", "give the `interval`"},
	{"v (V)\n1\n2\n", Options{}, "2:1", "no column of times or frequencies, and no interval", "give the `interval`"},
	{"Sample rate: 0 Hz\nn,v\n1,1\n2,2\n", Options{}, "3:1", "no interval", "give the `interval`"},
	{"n,v\n1,1\n2,2\n", Options{}, "2:1", `"n" counts the rows, and no interval`, "give the `interval`"},
	{"0,5\n1,05\n2,7\n", Options{}, "1:1", "decimal sign of a single column", "give the `interval`"},
	{"t (s)\n1\n2\n", Options{}, "2:1", `no channel beside "t"`, "a column of values"},
	{"0,001,1,25\n0,002,1,35\n", Options{}, "1:1", "the comma looks like delimiter and decimal sign at once", "semicolons or tabs"},
	{"Zeit,U\n1,11,2,25\n2,12,3,35\n", Options{}, "2:1", "the comma looks like delimiter and decimal sign at once", "decimal point"},
	{"t;v\n0;1\n1;\"1,000.5\"\n2;3\n", Options{}, "3:4", `"1,000.5" in "v" is not a number`, "without signs between groups"},
	{"t;v\n0;1,5\n1;1.5\n2;3\n", Options{}, "3:3", `"1.5" in "v" is not a number`, "decimal comma as in the rows before"},
	{"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", Options{}, "2:1", "byte 0x1A is no text", "not a binary one"},
	{"PK\x03\x04\n", Options{}, "1:3", "byte 0x03 is no text", "not a binary one"},
	{"t\x00,\x00v\x00\n\x00", Options{}, "1:2", "byte 0x00 is no text", "UTF-16"},
	{strings.Repeat("x", maxLine+1), Options{}, "1:1", "more than 65536 bytes", "one row of numbers on each line"},
	{strings.Repeat("x", 2*headSize), Options{}, "1:1", "more than 65536 bytes", "one row of numbers on each line"},
	{strings.Repeat("0,1\n", headSize/4) + strings.Repeat("1", 2*maxLine), Options{Interval: 1}, "65537:1", "more than 65536 bytes", ""},
	{strings.Repeat("1,", 300) + "1\n", Options{}, "1:1", "more than 256 columns", "one row for each sample"},
	{strings.Repeat("a b\n", headSize/4) + "1,2\n", Options{}, "1:1", "no row of numbers in the first 256 KiB", ""},

	{twoRows, Options{Delimiter: "x"}, "", `"x" is not known`, "semicolon"},
	{twoRows, Options{Decimal: "x"}, "", `"x" is not known`, `"."`},
	{twoRows, Options{Delimiter: ",", Decimal: ","}, "", "delimiter and decimal sign at once", "another delimiter"},
	{"t;v\n0;1\n", Options{Delimiter: "tab"}, "1:1", "no row of numbers", "how it is written: `delimiter`"},
	{twoRows, Options{HeaderLines: new(-1)}, "", "lines is negative", "0 or more"},
	{twoRows, Options{HeaderLines: new(9)}, "1:1", "no row of numbers", ""},
	{twoRows, Options{Names: []string{"a", "b", "c"}}, "", "3 names for 2 columns", "no more"},
	{twoRows, Options{Abscissa: "w"}, "", `there is no column "w"`, "1 to 2"},
	{"time,volt\n0,1\n", Options{Abscissa: "tine"}, "", `there is no column "tine"`, `did you mean "time"?`},
	{"t,v,w\n0,1,\n", Options{Abscissa: "3"}, "", `"w" holds no numbers`, "name a column"},
	{"t (s),v (V)\n0,1\n", Options{Abscissa: "v"}, "", `"v" is in V, which is no time`, "name another column"},
	{"t (s),v (V)\n0,1\n", Options{Axis: Frequency}, "", `"t" is in s, which is no frequency`, "give its unit"},
	{twoRows, Options{Axis: Signal}, "", `can not be "channel"`, "time, frequency or index"},
	{twoRows, Options{Channels: []string{"0"}}, "", `there is no column "0"`, "1 to 2"},
	{twoRows, Options{Channels: []string{"t"}}, "", `"t" is the abscissa`, "another"},
	{"t,v,w\n0,1,\n", Options{Channels: []string{"w"}}, "", `"w" holds no numbers`, "name a column"},
	{twoRows, Options{Units: map[string]string{"v": "fathom"}}, "", `"fathom" is no unit that is known`, "scale"},
	{twoRows, Options{Units: map[string]string{"x": "V"}}, "", `there is no column "x"`, "1 to 2"},
	{twoRows, Options{Scale: map[string]float64{"v": 0}}, "", `the scale of column "v" is 0 or not finite`, "factor"},
	{twoRows, Options{Scale: map[string]float64{"v": math.NaN()}}, "", "not finite", "factor"},
	{twoRows, Options{Scale: map[string]float64{"x": 1}}, "", `there is no column "x"`, "1 to 2"},
	{twoRows, Options{Interval: -1}, "", "is not above 0", "such as 1 us"},
	{twoRows, Options{Interval: math.NaN()}, "", "is not above 0", "such as 1 us"},
	{twoRows, Options{Start: new(math.Inf(1))}, "", "row is not between", "such as 0 s"},
}

func TestBadInputs(t *testing.T) {
	for i, c := range badInputs {
		_, err := Read(strings.NewReader(c.text), "a.csv", c.options)
		var f *fault.Error
		if !errors.As(err, &f) {
			t.Errorf("%d %.60q: %v", i, c.text, err)
			continue
		}
		place := ""
		if f.Place.Line > 0 {
			place = fmt.Sprintf("%d:%d", f.Place.Line, f.Place.Column)
		}
		if place != c.place || !strings.Contains(f.What, c.what) || !strings.Contains(f.Instead, c.instead) || f.Instead == "" {
			t.Errorf("%d %.60q: got %s; want %s %q %q", i, c.text, f, c.place, c.what, c.instead)
		}
		if kind := f.Kind; kind != fault.File && kind != fault.Request || kind == fault.File && f.Place.File != "a.csv" {
			t.Errorf("%d %.60q: kind %d, file %q", i, c.text, kind, f.Place.File)
		}
	}
	if len(badInputs) < 60 {
		t.Errorf("only %d inputs", len(badInputs))
	}
}

// TestFailingReader: the cause is kept, at the start of the file and in its middle.
func TestFailingReader(t *testing.T) {
	cause := errors.New("cable pulled")
	for _, text := range []string{"", "t", twoRows, strings.Repeat("0,1\n", headSize)} {
		_, err := Read(io.MultiReader(strings.NewReader(text), iotest.ErrReader(cause)), "a.csv", Options{})
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != fault.Missing || !errors.Is(err, cause) || !strings.HasPrefix(f.Error(), "a.csv: the file cannot be read: cable pulled") {
			t.Errorf("%d bytes: %v", len(text), err)
		}
	}
	if _, err := Read(stuck{}, "a.csv", Options{}); !errors.Is(err, io.ErrNoProgress) {
		t.Error(err)
	}
}

// stuck is a reader that never comes to anything.
type stuck struct{}

func (stuck) Read([]byte) (int, error) { return 0, nil }
