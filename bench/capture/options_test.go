package capture

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// read reads a text that must be good.
func read(t rapid.TB, text string, o Options) *Table {
	t.Helper()
	table, err := Read(strings.NewReader(text), "a.csv", o)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// TestOptions: each option against a file that is read otherwise without it.
func TestOptions(t *testing.T) {
	const two = "a,b\n0,1\n2,3\n5,4\n"
	const three = "t (s),x (V),y (V)\n0,1,4\n1,2,5\n2,3,7\n"
	for _, c := range []struct {
		name, text string
		options    Options
		x          []float64
		channels   [][]float64
		guess      string
	}{
		{"delimiter", "1;2,5\n2;3,5\n", Options{Delimiter: ",", Interval: 1, Abscissa: "none", HeaderLines: new(0)}, nil, nil, ""},
		{"decimal", "0,5\n1,5\n", Options{Decimal: ",", Interval: 1}, []float64{0, 1}, [][]float64{{0.5, 1.5}}, "delimiter none, decimal comma"},
		{"header lines", two, Options{HeaderLines: new(2)}, []float64{2, 5}, [][]float64{{3, 4}}, "2 header lines"},
		{"names", two, Options{Names: []string{"", "level (dB)"}, Abscissa: "a"}, []float64{0, 2, 5}, [][]float64{{1, 3, 4}}, `column 2 "level (dB)"`},
		{"abscissa", "v (V),lag\n1,0\n3,2\n2,5\n", Options{Abscissa: "LAG"}, []float64{0, 2, 5}, [][]float64{{1, 3, 2}}, `"lag": time`},
		{"abscissa by number", "v (V),lag\n1,0\n3,2\n2,5\n", Options{Abscissa: "2"}, []float64{0, 2, 5}, [][]float64{{1, 3, 2}}, `"lag": time`},
		{"no abscissa", two, Options{Abscissa: "none", Interval: 0.5, Start: new(3.0)}, []float64{3, 3.5, 4}, [][]float64{{0, 2, 5}, {1, 3, 4}}, "time counted in steps of 500 ms from 3 s (as asked)"},
		{"axis", two, Options{Axis: Frequency}, []float64{0, 2, 5}, [][]float64{{1, 3, 4}}, `"a": frequency`},
		{"axis counted", two, Options{Axis: Index, Interval: 2}, []float64{0, 4, 10}, [][]float64{{1, 3, 4}}, `"a": index`},
		{"axis of a count", two, Options{Abscissa: "none", Axis: Frequency, Interval: 2}, []float64{0, 2, 4}, [][]float64{{0, 2, 5}, {1, 3, 4}}, "frequency counted in steps of 2 Hz from 0 Hz"},
		{"count in hertz", "n;v\n0;1\n1;2\n3;4\n", Options{Axis: Frequency, Interval: 2}, []float64{0, 2, 6}, [][]float64{{1, 2, 4}}, `"n": index`},
		{"channel", three, Options{Channels: []string{"y"}}, []float64{0, 1, 2}, [][]float64{{4, 5, 7}}, `"x": channel in V, left out`},
		{"channel in error left out", strings.Replace(three, "2,3,7", "2,bad,7", 1), Options{Channels: []string{"3"}}, []float64{0, 1, 2}, [][]float64{{4, 5, 7}}, ""},
		{"units", three, Options{Units: map[string]string{"t": "ms", "3": "uV"}}, []float64{0, 1e-3, 2e-3}, [][]float64{{1, 2, 3}, {4e-6, 5e-6, 7e-6}}, `"t": time in ms`},
		{"unit of a column without a head", "1 2\n2 3\n4 5\n", Options{Units: map[string]string{"1": "MHz"}}, []float64{1e6, 2e6, 4e6}, [][]float64{{2, 3, 5}}, "column 1: frequency in MHz"},
		{"scale", three, Options{Scale: map[string]float64{"x": 10, "column 3": -1}}, []float64{0, 1, 2}, [][]float64{{10, 20, 30}, {-4, -5, -7}}, `"x": channel in V (times 10 V)`},
		{"interval in place of times", three, Options{Interval: 0.5}, []float64{0, 0.5, 1}, [][]float64{{1, 2, 3}, {4, 5, 7}}, `"t": time in s, left out`},
		{"start", "dt: 1 s\nstart: 4 s\nv (V)\n1\n2\n", Options{Start: new(0.0)}, []float64{0, 1}, [][]float64{{1, 2}}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			table, err := Read(strings.NewReader(c.text), "a.csv", c.options)
			if c.x == nil {
				if err == nil {
					t.Errorf("read as %s", table.Guess.String())
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			var values [][]float64
			for _, channel := range table.Channels {
				values = append(values, channel.Values)
			}
			if !slices.Equal(table.X, c.x) || !slices.EqualFunc(values, c.channels, slices.Equal) || !strings.Contains(table.Guess.String(), c.guess) {
				t.Errorf("%v %v; %s", table.X, values, table.Guess.String())
			}
			sameAgain(t, c.text, table)
		})
	}
}

// TestCapturesAgain: options made of a guess read the same table.
func TestCapturesAgain(t *testing.T) {
	for _, c := range captures {
		sameAgain(t, c.text, read(t, c.text, c.options))
	}
}

func sameAgain(t rapid.TB, text string, table *Table) {
	t.Helper()
	again, err := Read(strings.NewReader(text), "a.csv", table.Guess.Options())
	if err != nil {
		t.Errorf("%q, read as %s, is not read again: %v", text, table.Guess.String(), err)
		return
	}
	if diff := different(table, again); diff != "" {
		t.Errorf("%q: %s\n%s\n%s", text, diff, table.Guess.String(), again.Guess.String())
	}
}

// different compares the numbers of two tables, and what they are.
func different(a, b *Table) string {
	switch {
	case !slices.Equal(a.X, b.X):
		return "X differs"
	case a.Guess.Axis != b.Guess.Axis:
		return "the axis differs"
	case len(a.Channels) != len(b.Channels):
		return "the channels differ"
	}
	for i := range a.Channels {
		p, q := &a.Channels[i], &b.Channels[i]
		if p.Column != q.Column || p.Name != q.Name || p.Unit != q.Unit || p.Decibel != q.Decibel {
			return "the head of a channel differs"
		}
		if !slices.Equal(p.Values, q.Values) {
			return "the values of a channel differ"
		}
	}
	return ""
}

// TestHead: the forms in which a unit stands with a name. Common practice, no source.
func TestHead(t *testing.T) {
	for head, want := range map[string][2]string{
		"Time (ms)": {"Time", "ms"}, "Time [ms]": {"Time", "ms"}, "Time/ms": {"Time", "ms"}, "t in us": {"t", "us"}, "Time, s": {"Time", "s"},
		"load_v": {"load", "v"}, "frequency_hz": {"frequency", "hz"}, "CH1 V": {"CH1", "V"}, "Level {dBm}": {"Level", "dBm"}, "U [counts]": {"U", "counts"},
		"CH1 (10x)": {"CH1 (10x)", ""}, "Channel A": {"Channel A", ""}, "time": {"time", ""}, "V": {"V", ""}, "": {"", ""}, "(V)": {"", "V"}, "in s": {"in", "s"},
	} {
		if name, unit := nameAndUnit(head); name != want[0] || unit != want[1] {
			t.Errorf("%q: %q, %q", head, name, unit)
		}
	}
}

// TestUnits: prefixes from the SI brochure, 9th edition, table 7 (IEC 80000-1 has the same).
func TestUnits(t *testing.T) {
	factors := map[string]float64{"f": 1e-15, "p": 1e-12, "n": 1e-9, "u": 1e-6, "\u00b5": 1e-6, "\u03bc": 1e-6, "m": 1e-3, "": 1, "k": 1e3, "M": 1e6, "G": 1e9}
	checked := 0
	for _, base := range []struct{ symbol, prefixes string }{{"s", "fpnu\u00b5\u03bcmk"}, {"Hz", "kMG"}, {"V", "fpnu\u00b5\u03bcmk"}, {"A", "pnum"}, {"W", "pnumkMG"}, {"ohm", "mkMG"}} {
		for _, p := range append(strings.Split(base.prefixes, ""), "") {
			u, ok := parseUnit(" (" + p + base.symbol + ") ")
			if !ok || u.symbol != base.symbol || u.factor*tenTo(u.shift) != factors[p] || u.slip {
				t.Errorf("%s%s: %+v %v", p, base.symbol, u, ok)
			}
			checked++
		}
	}
	if checked < 30 {
		t.Errorf("only %d units", checked)
	}
	for written, want := range map[string]unit{
		"milliseconds": {symbol: "s", shift: -3, factor: 1}, "Megahertz": {symbol: "Hz", shift: 6, factor: 1}, "KHz": {symbol: "Hz", shift: 3, factor: 1},
		"MHZ": {symbol: "Hz", shift: 6, factor: 1}, "mhz": {symbol: "Hz", shift: 6, factor: 1}, "mHz": {symbol: "Hz", shift: 6, factor: 1, slip: true},
		"US": {symbol: "s", shift: -6, factor: 1}, "NS": {symbol: "s", shift: -9, factor: 1}, "MS": {symbol: "s", shift: -3, factor: 1, slip: true},
		"MV": {symbol: "V", shift: -3, factor: 1, slip: true}, "mVpp": {symbol: "V", shift: -3, factor: 1, form: PeakToPeak}, "Vrms": {symbol: "V", factor: 1, form: RMS}, "uVpk": {symbol: "V", shift: -6, factor: 1, form: Peak}, "dBmW": {symbol: "dBm", factor: 1, decibel: true}, "min": {symbol: "s", factor: 60},
		"dBm": {symbol: "dBm", factor: 1, decibel: true}, "DB": {symbol: "dB", factor: 1, decibel: true}, "dB\u00b5V": {symbol: "dBuV", factor: 1, decibel: true},
		"Ω": {symbol: "ohm", factor: 1}, "k\u2126": {symbol: "ohm", shift: 3, factor: 1}, "%": {symbol: "%", factor: 1}, "°": {symbol: "deg", factor: 1},
	} {
		if u, ok := parseUnit(written); !ok || u != want {
			t.Errorf("%q: %+v %v", written, u, ok)
		}
	}
	for _, written := range []string{"", "x", "m", "a", "b", "CH1", "time", "dBfoo", "()", "k", "div", "Sa"} {
		if u, ok := parseUnit(written); ok {
			t.Errorf("%q is taken as %+v", written, u)
		}
	}
}
