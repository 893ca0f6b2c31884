package capture

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf16"
)

// captures are made by hand: one for each habit of instruments that the package knows.
var captures = []struct {
	name, text string
	options    Options
	x          []float64
	channels   [][]float64
	guess      []string // parts of Guess.String
	warnings   []string // parts of the warnings, in their order; all of them
}{
	{
		name: "plain", text: "Time (s),CH1 (V)\n0,1.5\n1e-6,2.5\n2e-6,-3\n",
		x: []float64{0, 1e-6, 2e-6}, channels: [][]float64{{1.5, 2.5, -3}},
		guess: []string{"UTF-8; delimiter comma, decimal point, 1 header line;", `column 1 "Time": time in s;`, `column 2 "CH1": channel in V`},
	},
	{
		name: "decimal comma, semicolons, BOM, CR LF, line of units", text: "\xEF\xBB\xBFZeit;Kanal A;Kanal B\r\n(ms);(mV);(V)\r\n\r\n-0,1;1,5;2\r\n0,0;2,5;3\r\n0,1;3,5;4\r\n",
		x: []float64{-1e-4, 0, 1e-4}, channels: [][]float64{{1.5e-3, 2.5e-3, 3.5e-3}, {2, 3, 4}},
		guess: []string{"UTF-8 with BOM; delimiter semicolon, decimal comma, 3 header lines", `"Zeit": time in ms;`, `"Kanal A": channel in mV;`},
	},
	{
		name: "Latin-1", text: "Fr\xe9quence (kHz);Amplitude (\xb5V)\n1;2,5\n2;3,5\n",
		x: []float64{1e3, 2e3}, channels: [][]float64{{2.5e-6, 3.5e-6}},
		guess: []string{"Latin-1; delimiter semicolon", `"Fréquence": frequency in kHz;`, `"Amplitude": channel in µV`},
	},
	{
		name: "a line of units that names the axis, under one that names the channels", text: "Record Length,3,Points\n,CH1,CH2\nTIME,V,mV\n0,1,2\n1,2,5\n2,4,3\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{1, 2, 4}, {2e-3, 5e-3, 3e-3}},
		guess:    []string{`column 1 "TIME": time;`, `column 2 "CH1": channel in V;`, `column 3 "CH2": channel in mV`},
		warnings: []string{`no unit stands with "TIME"`},
	},
	{
		name: "a unit in other letters than its own", text: "f (MHZ),v (V)\n1,2\n2,3\n",
		x: []float64{1e6, 2e6}, channels: [][]float64{{2, 3}}, guess: []string{"frequency in MHZ (times 1 MHz);"},
	},
	{
		name: "truncated last line", text: "t/us\tv/mV\n0\t1\n1\t2\n2\t",
		x: []float64{0, 1e-6}, channels: [][]float64{{1e-3, 2e-3}},
		guess:    []string{"delimiter tab", `"t": time in us`},
		warnings: []string{`the last line, 4, breaks off and is left out: "v" is empty here`},
	},
	{
		name: "truncated inside a number", text: "t/us;v/mV\n0;1\n1;2\n2;1.5e-",
		x: []float64{0, 1e-6}, channels: [][]float64{{1e-3, 2e-3}},
		warnings: []string{`the last line, 4, breaks off and is left out: "1.5e-"`},
	},
	{
		name: "truncated to a shorter number", text: "t (s),v (V)\n0,1.25e-03\n1,1.25e-03\n2,1.25e-03\n3,1.25e-03\n4,1.26e-03\n5,1.25e-03\n6,1.25e-03\n7,1.25e-03\n8,1.25e-0",
		x: []float64{0, 1, 2, 3, 4, 5, 6, 7}, channels: [][]float64{{1.25e-3, 1.25e-3, 1.25e-3, 1.25e-3, 1.26e-3, 1.25e-3, 1.25e-3, 1.25e-3}},
		warnings: []string{"the last line, 10, breaks off and is left out: its last number, 1.25e-0, is shorter"},
	},
	{
		name: "no end of the last line", text: "t (s),v (V)\n0,1.25\n1,1.5",
		x: []float64{0, 1}, channels: [][]float64{{1.25, 1.5}},
	},
	{
		name: "preamble of keys and values", text: "Model,none\nDate,2024-05-06\nRecord length,3\nSample Interval,2.0E-06,s\nVertical Units,mV\nSample,CH1\n0,1\n1,2\n2,4\n",
		x: []float64{0, 2e-6, 4e-6}, channels: [][]float64{{1e-3, 2e-3, 4e-3}},
		guess: []string{"6 header lines", `"Sample": index`, "time counted in steps of 2 us from 0 s (line 4, \"Sample Interval\")"},
	},
	{
		name: "heads with the interval below them", text: "Index,CH1,Start,Increment,\n,V,-1.0e-3,1e-6,\n10,0.5,,\n11,1.5,,\n13,2.5,,\n",
		x: []float64{-1e-3, -1e-3 + 1e-6, -1e-3 + 3*1e-6}, channels: [][]float64{{0.5, 1.5, 2.5}},
		guess:    []string{`"CH1": channel in V;`, `steps of 1 us from -1 ms (line 1, "Increment", line 1, "Start")`},
		warnings: []string{"steps of time are uneven"},
	},
	{
		name: "preamble beside the numbers", text: strings.Replace("Points,4,,0,0.1\nSample Interval,1e-6,,1e-6,0.2\nUnits,V,,2e-6,0.3\n,,,3e-6,0.4\n,,,4e-6,0.3\n,,,5e-6,0.2\n,,,6e-6,0.1\n", "\n", "\r", -1),
		x: []float64{0, 1e-6, 2e-6, 3e-6, 4e-6, 5e-6, 6e-6}, channels: [][]float64{{0.1, 0.2, 0.3, 0.4, 0.3, 0.2, 0.1}},
		guess: []string{"0 header lines", "column 1: empty", "column 4: time"},
		warnings: []string{
			"nothing says what column 4 is; by its size it is taken as a time in s", "column 1 is empty but for 3 cells", "column 2 is empty but for 3 cells",
			"column 3 is empty",
		},
	},
	{
		name: "single column with a rate", text: "Sampling rate: 1 MSa/s\nStart time: -2 us\n\nVoltage (mV)\n1\n2\n3\n",
		x: []float64{-2e-6, -2e-6 + 1e-6, -2e-6 + 2*1e-6}, channels: [][]float64{{1e-3, 2e-3, 3e-3}},
		guess: []string{"delimiter none", `steps of 1 us from -2 us (line 1, "Sampling rate", line 2, "Start time")`},
	},
	{
		name: "two channels and no time", text: "# dt = 0.5 ms\n# CH1 (V) | CH2 (V)\n0.5 | 4\n1.5 | 3\n2.5 | 1\n",
		x: []float64{0, 0.5e-3, 1e-3}, channels: [][]float64{{0.5, 1.5, 2.5}, {4, 3, 1}},
		guess: []string{"delimiter pipe", "2 header lines", `column 1 "CH1": channel in V`},
	},
	{
		name: "trigger, constant and empty channel", text: "Second,Volt,,\n\"Time\",\"CH1\",\"EXT\",\"CH2\",\"CH3\"\n0,0.1,0,5,\n1,0.2,0,5,\n2,0.4,0,5,\n3,0.3,1,5,\n4,0.2,1,5,\n5,0.1,1,5,\n6,0.05,1,5,\n7,0.1,1,5,\n",
		x: []float64{0, 1, 2, 3, 4, 5, 6, 7}, channels: [][]float64{{0.1, 0.2, 0.4, 0.3, 0.2, 0.1, 0.05, 0.1}, {0, 0, 0, 1, 1, 1, 1, 1}, {5, 5, 5, 5, 5, 5, 5, 5}},
		guess:    []string{`"Time": time in Second`, `"CH1": channel in Volt`, `"EXT": digital channel`, `"CH2": constant`, `"CH3": empty`},
		warnings: []string{`"CH2" has the same value in all rows, 5`, `"CH3" is empty`},
	},
	{
		name: "frequencies that fall, decibels", text: "Frequency (MHz) | Level (dBm)\n75.05 | -20\n2 | -21\n1|-22\n",
		x: []float64{1e6, 2e6, 75050000}, channels: [][]float64{{-22, -21, -20}},
		guess:    []string{`"Frequency": frequency in MHz;`, `"Level": channel in dBm, not converted`},
		warnings: []string{"from high to low frequency"},
	},
	{
		name: "columns of this project", text: "frequency_hz,load_v,load_phase_deg,insertion_gain_db\n1e6,0.5,-90,-3.5\n2e6,0.25,10,-4\n",
		x: []float64{1e6, 2e6}, channels: [][]float64{{0.5, 0.25}, {-90, 10}, {-3.5, -4}},
		guess: []string{`"frequency": frequency in hz`, `"load": channel in v`, `"load_phase": channel in deg`, `"insertion_gain": channel in db, not converted`},
	},
	{
		name: "blanks, comments, no head", text: "% a comment, 1, 2\n  1000   0.5 \n// another\n\t2000\t\t1e-1\n\n3000 2\n",
		x: []float64{1000, 2000, 3000}, channels: [][]float64{{0.5, 0.1, 2}},
		guess:    []string{"delimiter blank", "column 1: frequency"},
		warnings: []string{"nothing says what column 1 is; by its size it is taken as a frequency in Hz"},
	},
	{
		name: "heads cut at other places than numbers", text: "Time (us)  Output (V)\n1,5 0,25\n2,5 0,5\n",
		x: []float64{1.5e-6, 2.5e-6}, channels: [][]float64{{0.25, 0.5}},
		guess: []string{"delimiter blank, decimal comma", `"Time": time in us`, `"Output": channel in V`},
	},
	{
		name: "decimal comma that shows late", text: "Zeit [s];U [V]\n0;1\n1;2,5\n2;3\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{1, 2.5, 3}}, guess: []string{"decimal comma"},
	},
	{
		name: "quotes", text: "\"Time, (s)\" , \"He said \"\"V\"\" (mV)\"\n \"0\",\" 1 \"\n\"1\" ,\"2\"\n",
		x: []float64{0, 1}, channels: [][]float64{{1e-3, 2e-3}}, guess: []string{`"He said \"V\""`},
	},
	{
		name: "trailing delimiters", text: "t (s);v (V);\n0;1;\n1;2;\n2;3\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{1, 2, 3}},
	},
	{
		name: "clock times beside a time", text: "clock,t (s),v (V)\n12:00:00,0,1\n12:00:01,1,2\n12:00:02,2,3\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{1, 2, 3}},
		guess: []string{`"clock": text;`}, warnings: []string{`left out: "clock"`},
	},
	{
		name: "repeated times", text: "t (s),v (V)\n0,1\n0,2\n1,3\n1,4\n2,5\n",
		x: []float64{0, 0, 1, 1, 2}, channels: [][]float64{{1, 2, 3, 4, 5}},
		warnings: []string{"2 rows repeat the time of the row before, first at 0 s", "uneven: 0 s to 1.000 s, from 0 s on, 500.0 ms on average"},
	},
	{
		name: "clipped above", text: "t (s),v (V)\n0,0\n1,0.5\n2,0.9\n3,1\n4,1\n5,1\n6,1\n7,1\n8,0.8\n9,0.2\n",
		x: []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, channels: [][]float64{{0, 0.5, 0.9, 1, 1, 1, 1, 1, 0.8, 0.2}},
		warnings: []string{`"v" looks clipped: 50 % of its samples stand at its highest value, 1 V, between 3 s and 7 s`},
	},
	{
		name: "clipped below", text: "t (s),v (V)\n0,0\n1,-1\n2,-1\n3,-1\n4,-1\n5,-1\n6,0.8\n7,0.2\n",
		x: []float64{0, 1, 2, 3, 4, 5, 6, 7}, channels: [][]float64{{0, -1, -1, -1, -1, -1, 0.8, 0.2}},
		warnings: []string{`"v" looks clipped: 62.5 % of its samples stand at its lowest value, -1 V, between 1 s and 5 s`},
	},
	{
		name: "end-of-file mark", text: "t (s),v (V)\n0,1\n1,2\n\x1a\x1a",
		x: []float64{0, 1}, channels: [][]float64{{1, 2}},
	},
	{
		name: "head in ISO 8859-1", text: "t (\xb5s),v (V)\n0,1\n1,2\n",
		x: []float64{0, 1e-6}, channels: [][]float64{{1, 2}},
	},
	{
		name: "slips of case", text: "TIME (US),CH1 (MV),F (mHz)\n0,1,1\n1,2,2\n",
		x: []float64{0, 1e-6}, channels: [][]float64{{1e-3, 2e-3}, {1e6, 2e6}},
		warnings: []string{`the unit MV of "CH1" is taken as 1 mV`, `the unit mHz of "F" is taken as 1 MHz`},
	},
	{
		name: "bare numbers above the heads", text: "3,2\nt (s),v (V)\n0,1.5\n1,2\n2,2.5\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{1.5, 2, 2.5}},
		warnings: []string{"1 row of numbers above the table taken as header"},
	},
	{
		name: "whole numbers and commas", text: "0,5\n2,7\n4,9\n",
		x: []float64{0, 2, 4}, channels: [][]float64{{5, 7, 9}},
		warnings: []string{"the comma is taken as delimiter of two columns", "nothing says what column 1 is"},
	},
	{
		name: "interval that does not fit the times", text: "Sample interval: 1 us\nTime,v (V)\n0,1\n1,2.5\n2,3\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{1, 2.5, 3}},
		warnings: []string{`no unit stands with "Time"`, `line 1, "Sample interval" says 1 us, but the rows are 1 s apart on average; is the unit right?`},
	},
	{
		name: "decimal comma in quotes", text: "\"t (s)\",\"v (V)\"\n\"0,5\",\"1,5\"\n\"1,5\",\"2,5\"\n",
		x: []float64{0.5, 1.5}, channels: [][]float64{{1.5, 2.5}}, guess: []string{"delimiter comma, decimal comma"},
	},
	{
		name: "frequencies counted", text: "Start frequency: 1 MHz\nFrequency step: 0.5 MHz\nLevel [dBm]\n-3\n-2\n-4\n",
		x: []float64{1e6, 1.5e6, 2e6}, channels: [][]float64{{-3, -2, -4}}, guess: []string{"frequency counted in steps of 500 kHz from 1 MHz"},
	},
	{
		name: "unit of the axis in the preamble", text: "Horizontal Units;kHz\n1,5;0,1\n2,5;0,2\n",
		x: []float64{1500, 2500}, channels: [][]float64{{0.1, 0.2}}, guess: []string{"column 1: frequency in kHz"},
	},
	{
		name: "units that are not known", text: "Time [fathom];U [counts]\n1,5;0,1\n2,5;0,2\n",
		x: []float64{1.5, 2.5}, channels: [][]float64{{0.1, 0.2}},
		warnings: []string{`the unit "counts" of "U" is not known`, `the unit "fathom" of "Time" is not known; its numbers are taken as seconds`},
	},
	{
		name: "interval longer than the steps", text: "Sample interval: 1 s\nTime (us),v (V)\n0,1\n1,2.5\n2,3\n",
		x: []float64{0, 1e-6, 2e-6}, channels: [][]float64{{1, 2.5, 3}},
		warnings: []string{`says 1 s, but the rows are 1 us apart on average`},
	},
	{
		name: "two intervals", text: "dt: 1 s\nSampling rate: 2 Hz\nv (V)\n1\n2\n",
		x: []float64{0, 1}, channels: [][]float64{{1, 2}},
		warnings: []string{`line 1, "dt" says 1, but line 2, "Sampling rate" says 0.5; the first is used`},
	},
	{
		name: "units alone below a preamble", text: "Vertical Units;V\ns;V\n0;1.5\n1;2.5\n",
		x: []float64{0, 1}, channels: [][]float64{{1.5, 2.5}}, guess: []string{`column 1 "s": time in s; column 2 "V": channel in V`},
	},
	{
		name: "head of a single column with decimal commas", text: "Interval: 1 s\nU (mV)\n0,5\n-0,7\n1,05\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{0.5e-3, -0.7e-3, 1.05e-3}},
		guess: []string{`column 1 "U": channel in mV`}, warnings: []string{"the comma is taken as decimal sign of a single column"},
	},
	{
		name: "a control character in a unit", text: "t (s);v [a\x7fb]\n0;1.5\n1;2.5\n",
		x: []float64{0, 1}, channels: [][]float64{{1.5, 2.5}}, guess: []string{`"v": channel in a b`}, warnings: []string{"is not known"},
	},
	{
		name: "more keys than rows", text: "Points,1000\nMemory,5\nAverages,1\nTime (s),CH1 (V),CH2 (V)\n2.5,1.5,3\n",
		x: []float64{2.5}, channels: [][]float64{{1.5}, {3}},
	},
	{
		name: "units among names", text: "MHz,level,dBm,A,min\n1,1.25,-3,1,2\n2,1.5,-4,3,4\n",
		x: []float64{1e6, 2e6}, channels: [][]float64{{1.25, 1.5}, {-3, -4}, {1, 3}, {2, 4}},
		guess: []string{`"MHz": frequency in MHz`, `"level": channel, no unit`, `"dBm": channel in dBm`, `"A": channel, no unit`, `"min": channel, no unit`},
	},
	{
		name: "a footer", text: "t (s),v (V)\n0,1.25\n1,1.5\n\nEND\n# bye\n",
		x: []float64{0, 1}, channels: [][]float64{{1.25, 1.5}},
		warnings: []string{`the last line, 5, has words alone and is left out: "END"`},
	},
	{
		name: "channels with numbers for names", text: "x-axis,1,2\nms,V,mV\n0,1.25,3\n1,1.5,4\n",
		x: []float64{0, 0.001}, channels: [][]float64{{1.25, 1.5}, {0.003, 0.004}},
		guess: []string{`column 1 "x-axis": time in ms`, `column 2 "1": channel in V`, `column 3 "2": channel in mV`},
	},
	{
		name: "MHz without a head, in a sweep that is known", text: "7.050,0.0123\n7.060,0.0125\n7.070,0.0123\n", options: Options{Expected: &Expected{From: 8e6, To: 6e6, Time: 0.1}},
		x: []float64{7.05e6, 7.06e6, 7.07e6}, channels: [][]float64{{0.0123, 0.0125, 0.0123}},
		guess: []string{"column 1: frequency in MHz"}, warnings: []string{"it is taken as a frequency in MHz, since that lies within the sweep"},
	},
	{
		name: "kHz without a head, in a sweep that is known", text: "7050;0,0123\n7060;0,0125\n7070;0,0123\n", options: Options{Expected: &Expected{From: 6e6, To: 8e6}},
		x: []float64{7.05e6, 7.06e6, 7.07e6}, channels: [][]float64{{0.0123, 0.0125, 0.0123}},
		guess: []string{"column 1: frequency in kHz"}, warnings: []string{"taken as a frequency in kHz"},
	},
	{
		name: "whole megahertz", text: "1,0.5\n2,0.25\n3,0.125\n", options: Options{Expected: &Expected{From: 1e6, To: 3e6}},
		x: []float64{1e6, 2e6, 3e6}, channels: [][]float64{{0.5, 0.25, 0.125}}, warnings: []string{"taken as a frequency in MHz"},
	},
	{
		name: "times in a sweep that is known", text: "0,0.5\n0.05,0.25\n0.1,0.125\n", options: Options{Expected: &Expected{From: 1e6, To: 3e6, Time: 0.1}},
		x: []float64{0, 0.05, 0.1}, channels: [][]float64{{0.5, 0.25, 0.125}}, warnings: []string{"taken as a time in s"},
	},
	{
		name: "milliseconds in a sweep that is known", text: "4.5,0.5\n54,0.25\n103.5,0.125\n", options: Options{Expected: &Expected{From: 1e6, To: 3e6, Start: 4e-3, Time: 0.1}},
		x: []float64{4.5e-3, 54e-3, 103.5e-3}, channels: [][]float64{{0.5, 0.25, 0.125}}, warnings: []string{"taken as a time in ms"},
	},
	{
		name: "a head without a unit, in a sweep that is known", text: "Frequency,Level\n6.9,-36.5\n7.1,-30\n", options: Options{Expected: &Expected{From: 6e6, To: 8e6}},
		x: []float64{6.9e6, 7.1e6}, channels: [][]float64{{-36.5, -30}}, warnings: []string{`no unit stands with "Frequency"; it is taken as MHz`},
	},
	{
		name: "a head without a unit that fits nowhere", text: "Frequency,Level\n69,-36.5\n71,-30\n", options: Options{Expected: &Expected{From: 6e6, To: 8e6}},
		x: []float64{69, 71}, channels: [][]float64{{-36.5, -30}},
		warnings: []string{"in no unit do the numbers of \"Frequency\" lie within the sweep; write `units: {Frequency: MHz}`", "taken as hertz (another: `units: {Frequency: MHz}`)"},
	},
	{
		name: "what the head says stands against the sweep", text: "Frequency (kHz),Level\n6.9,-36.5\n7.1,-30\n", options: Options{Expected: &Expected{From: 6e6, To: 8e6}},
		x: []float64{6900, 7100}, channels: [][]float64{{-36.5, -30}},
	},
	{
		name: "comma that is a decimal sign", text: "Interval: 1 s\n0,5\n-0,7\n1,05\n",
		x: []float64{0, 1, 2}, channels: [][]float64{{0.5, -0.7, 1.05}},
		guess: []string{"delimiter none, decimal comma"}, warnings: []string{"the comma is taken as decimal sign of a single column"},
	},
}

// TestCaptures, and the same files in UTF-16 of both orders.
func TestCaptures(t *testing.T) {
	for _, c := range captures {
		t.Run(c.name, func(t *testing.T) {
			for _, encoded := range []string{c.text, inUTF16(c.text, false), inUTF16(c.text, true)} {
				table, err := Read(strings.NewReader(encoded), "a.csv", c.options)
				if err != nil {
					t.Fatal(err)
				}
				line := table.Guess.String()
				if !slices.Equal(table.X, c.x) {
					t.Errorf("x %v, want %v; %s", table.X, c.x, line)
				}
				var values [][]float64
				for _, channel := range table.Channels {
					values = append(values, channel.Values)
				}
				if !slices.EqualFunc(values, c.channels, slices.Equal) {
					t.Errorf("channels %v, want %v; %s", values, c.channels, line)
				}
				for _, part := range c.guess {
					if !strings.Contains(line, part) && encoded == c.text {
						t.Errorf("no %q in %q", part, line)
					}
				}
				if len(table.Warnings) != len(c.warnings) {
					t.Fatalf("warnings %q, want %q", table.Warnings, c.warnings)
				}
				for i, part := range c.warnings {
					if !strings.Contains(table.Warnings[i], part) {
						t.Errorf("warning %q, want %q", table.Warnings[i], part)
					}
				}
			}
		})
	}
	if len(captures) < 25 {
		t.Errorf("only %d captures", len(captures))
	}
}

// TestLateSign: a decimal sign that shows behind the head of the file settles what it is; another one is then refused.
func TestLateSign(t *testing.T) {
	whole := strings.Repeat("7;7\n", headSize/4+10)
	table := read(t, whole+"8;2,5\n", Options{Axis: Time})
	if last := table.Channels[0].Values[len(table.X)-1]; last != 2.5 || table.Guess.Decimal != "," {
		t.Error(last, table.Guess.String())
	}
	if _, err := Read(strings.NewReader(whole+"8;2,5\n9;2.5\n"), "a.csv", Options{Axis: Time}); err == nil || !strings.Contains(err.Error(), "decimal comma as in the rows before") {
		t.Error(err)
	}
}

// inUTF16 encodes with the standard library, which the package's own decoder does not use.
func inUTF16(s string, bigEndian bool) string {
	units := utf16.Encode([]rune("\ufeff" + strings.TrimPrefix(text([]byte(s)), "\ufeff")))
	b := make([]byte, 0, 2*len(units))
	for _, u := range units {
		low, high := byte(u), byte(u>>8)
		if bigEndian {
			low, high = high, low
		}
		b = append(b, low, high)
	}
	return string(b)
}
