package capture

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// style is a way to write a table.
type style struct {
	delimiter, decimal, newline, encoding string
	head                                  string
	quoted, trailing, ended               bool
	gaps                                  bool // blank lines and comments between the rows
	preamble                              []string
}

func drawStyle(r *rapid.T) style {
	s := style{
		delimiter: rapid.SampledFrom([]string{",", ";", "\t", "|", " ", " ; ", "   ", ", "}).Draw(r, "delimiter"),
		decimal:   rapid.SampledFrom([]string{".", ","}).Draw(r, "decimal"),
		newline:   rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(r, "newline"),
		encoding:  rapid.SampledFrom([]string{"plain", "mark", "little", "big"}).Draw(r, "encoding"),
		head:      rapid.SampledFrom([]string{"brackets", "square", "units below", "units above", "units in brackets below", "underscore"}).Draw(r, "head"),
		quoted:    rapid.Bool().Draw(r, "quoted"),
		trailing:  rapid.Bool().Draw(r, "trailing"),
		ended:     rapid.Bool().Draw(r, "ended"),
		gaps:      rapid.Bool().Draw(r, "gaps"),
		preamble: rapid.SliceOfN(rapid.SampledFrom([]string{
			"Model;X 1", "# a comment", "Date:2024-05-06 12:00", "Points;1000", "", "Sample Interval;0.25", "Title of the record", "Memory length = 5 k", "\"quoted\"",
		}), 0, 4).Draw(r, "preamble"),
	}
	if strings.TrimSpace(s.delimiter) == "," && !s.quoted {
		s.decimal = "."
	}
	if strings.TrimSpace(s.delimiter) == "" && s.delimiter != "\t" {
		s.trailing = false
	}
	return s
}

// write writes rows of cells in a style.
func (s *style) write(names, units []string, rows [][]string) string {
	var b strings.Builder
	line := func(cells []string) {
		b.WriteString(strings.Join(cells, s.delimiter))
		if s.trailing {
			b.WriteString(s.delimiter)
		}
		b.WriteString(s.newline)
	}
	for _, p := range s.preamble {
		b.WriteString(strings.ReplaceAll(p, ";", s.delimiter) + s.newline)
	}
	heads := make([]string, len(names))
	for i := range names {
		switch s.head {
		case "brackets":
			heads[i] = names[i] + " (" + units[i] + ")"
		case "square":
			heads[i] = names[i] + "[" + units[i] + "]"
		case "underscore":
			heads[i] = names[i] + "_" + units[i]
		default:
			heads[i] = names[i]
		}
		if s.quoted {
			heads[i] = strconv.Quote(heads[i])
		}
	}
	if s.head == "units above" {
		line(units)
	}
	line(heads)
	if s.head == "units below" {
		line(units)
	}
	if s.head == "units in brackets below" {
		var bracketed []string
		for _, u := range units {
			bracketed = append(bracketed, "("+u+")")
		}
		line(bracketed)
	}
	for i, row := range rows {
		cells := slices.Clone(row)
		for j := range cells {
			cells[j] = strings.Replace(cells[j], ".", s.decimal, 1)
			if s.quoted {
				cells[j] = `"` + cells[j] + `"`
			}
		}
		if s.gaps && i%3 == 1 {
			b.WriteString(" " + s.newline + "# remark, 1" + s.newline + s.newline)
		}
		line(cells)
	}
	out := b.String()
	if !s.ended {
		out = strings.TrimSuffix(out, s.newline)
	}
	switch s.encoding {
	case "mark":
		return "\ufeff" + out
	case "little":
		return inUTF16(out, false)
	case "big":
		return inUTF16(out, true)
	}
	return out
}

// drawNumber draws a number as programs print them. With a decimal comma a whole number says nothing of the sign, so that
// at least one cell of each row has one: fraction asks for that.
func drawNumber(r *rapid.T, fraction bool, label string) string {
	v := rapid.Float64Range(-1e6, 1e6).Draw(r, label)
	formats := []string{"%.3f", "%.6e", "%.1f"}
	if !fraction {
		formats = append(formats, "%g", "%.0f", "%G", "%+.4e")
	}
	return fmt.Sprintf(rapid.SampledFrom(formats).Draw(r, label+" format"), v)
}

// TestAnyStyle: whatever the style, the numbers read back are the nearest float64 to what is written times the prefix.
func TestAnyStyle(t *testing.T) {
	axes := []struct {
		name, unit string
		shift      int
		role       Role
	}{{"Time", "s", 0, Time}, {"t", "us", -6, Time}, {"Zeit", "ms", -3, Time}, {"Frequency", "MHz", 6, Frequency}, {"f", "kHz", 3, Frequency}, {"time", "ns", -9, Time}}
	kinds := []struct {
		unit, si string
		shift    int
	}{{"V", "V", 0}, {"mV", "V", -3}, {"uV", "V", -6}, {"dBm", "dBm", 0}, {"dB", "dB", 0}, {"deg", "deg", 0}}
	seen := map[string]int{}
	rapid.Check(t, func(r *rapid.T) {
		s := drawStyle(r)
		axis := rapid.SampledFrom(axes).Draw(r, "axis")
		names, units := []string{axis.name}, []string{axis.unit}
		channels := rapid.IntRange(1, 4).Draw(r, "channels")
		var si []string
		shifts := []int{axis.shift}
		for i := range channels {
			kind := rapid.SampledFrom(kinds).Draw(r, "kind")
			names, units = append(names, fmt.Sprintf("CH%d", i+1)), append(units, kind.unit)
			si, shifts = append(si, kind.si), append(shifts, kind.shift)
		}
		count := rapid.IntRange(1, 40).Draw(r, "rows")
		if !s.ended {
			count = min(count, enoughRows) // a last number shorter than many others counts as broken off
		}
		at := rapid.Float64Range(-1e3, 1e3).Draw(r, "start")
		var rows [][]string
		want := make([][]float64, len(names))
		for range count {
			at += rapid.Float64Range(1e-3, 10).Draw(r, "step")
			row := []string{fmt.Sprintf("%.5f", at)}
			for range channels {
				row = append(row, drawNumber(r, len(row) == 1, "value"))
			}
			rows = append(rows, row)
			for i, cell := range row {
				want[i] = append(want[i], nearest(r, cell, shifts[i]))
			}
		}
		text := s.write(names, units, rows)
		table, err := Read(strings.NewReader(text), "a.csv", Options{})
		if err != nil {
			r.Fatalf("%v\n%s", err, text)
		}
		line := table.Guess.String()
		if !slices.Equal(table.X, want[0]) || table.Guess.Axis != axis.role || table.Guess.Decimal != s.decimal {
			r.Fatalf("%v, want %v; %s\n%s", table.X, want[0], line, text)
		}
		if len(table.Channels) != channels {
			r.Fatalf("%d channels; %s\n%s", len(table.Channels), line, text)
		}
		for i, c := range table.Channels {
			if !slices.Equal(c.Values, want[i+1]) || c.Name != names[i+1] || c.Unit != si[i] || c.Decibel != strings.HasPrefix(si[i], "dB") {
				r.Fatalf("%+v, want %v; %s\n%s", c, want[i+1], line, text)
			}
		}
		sameAgain(r, text, table)
		seen[table.Guess.Delimiter+" "+s.decimal+" "+s.newline+" "+s.encoding]++
	})
	if !t.Failed() && len(seen) < 60 { // of 108: 9 pairs of delimiter and sign, 3 line ends, 4 encodings
		t.Errorf("only %d styles came up", len(seen))
	}
}

// TestClipping: a sine in any number of levels is clipped where it is cut off, and not elsewhere.
func TestClipping(t *testing.T) {
	for _, clip := range []bool{false, true} {
		rapid.Check(t, func(r *rapid.T) {
			levels := rapid.Float64Range(20, 4000).Draw(r, "levels")
			perPeriod := rapid.Float64Range(200, 5000).Draw(r, "samples per period")
			phase := rapid.Float64Range(0, 2*math.Pi).Draw(r, "phase")
			limit := math.Inf(1)
			if clip {
				limit = levels / 2 * rapid.Float64Range(0.3, 0.7).Draw(r, "limit")
			}
			values := make([]float64, 20000)
			for i := range values {
				v := math.Round(levels / 2 * math.Sin(phase+2*math.Pi*float64(i)/perPeriod))
				values[i] = max(-limit, min(limit, v))
			}
			for _, sign := range []float64{1, -1} {
				if e := extremeOf(values, sign); e.clipped(false) != clip {
					r.Fatalf("%+v", e)
				}
			}
		})
	}
}

// TestClippedSweep: a swept carrier behind a resonance is told to be clipped at any sampling rate, from one sample in ten
// periods to ten in one, and not where it is not.
func TestClippedSweep(t *testing.T) {
	seen := map[bool]int{}
	rapid.Check(t, func(r *rapid.T) {
		const n = 10000
		clip := rapid.Bool().Draw(r, "clip")
		from := math.Pow(10, rapid.Float64Range(-1, 0.95).Draw(r, "log of the first frequency, cycles per sample")) // 0.1 to 9
		to := from * rapid.Float64Range(1.1, 1.5).Draw(r, "span")
		levels := rapid.Float64Range(100, 1000).Draw(r, "levels")
		width := rapid.Float64Range(0.05, 1).Draw(r, "width of the resonance, of the sweep")
		noise := rapid.SampledFrom([]float64{0, 0, 0.002, 0.005}).Draw(r, "noise after the limit, of the highest level")
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "seed"), 1))
		limit := math.Inf(1)
		if clip {
			most := 0.8
			if noise > 0 {
				most, width = 0.5, min(width, 0.3) // what is hardly cut off, or has much as high beside it, is not to be told under noise
			}
			limit = math.Round(levels / 2 * rapid.Float64Range(0.4, most).Draw(r, "limit"))
		}
		var text strings.Builder
		text.WriteString("t (s),v (V)\n")
		for i := range n {
			x := float64(i) / n
			envelope := 1 / math.Hypot(1, 2*(x-0.5)/width)
			v := math.Round(levels / 2 * envelope * math.Cos(2*math.Pi*n*(from*x+(to-from)*x*x/2)))
			fmt.Fprintf(&text, "%d,%g\n", i, math.Round(max(-limit, min(limit, v))+levels/2*noise*random.NormFloat64()))
		}
		told := strings.Join(read(r, text.String(), Options{}).Warnings, "; ")
		// Under noise one side may be told and the other not.
		if n := strings.Count(told, "looks clipped"); clip != (n > 0) || clip && noise == 0 && n != 2 {
			r.Fatalf("clipped %v, told %q", clip, told)
		}
		seen[clip]++
	})
	if !t.Failed() && (seen[true] < 10 || seen[false] < 10) {
		t.Errorf("%v", seen)
	}
}

// TestDigital: two levels with noise on them are a logic line; a resonance, however narrow, and a carrier are none.
func TestDigital(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 6))
	cases := 0
	for _, c := range []struct {
		name  string
		value func(i int) float64
		want  bool
	}{
		{"gate", func(i int) float64 { return map[bool]float64{true: 5}[i > 300 && i < 1700] }, true},
		{"clock", func(i int) float64 { return map[bool]float64{true: 5}[i/20%2 == 1] }, true},
		{"carrier", func(i int) float64 { return 5 * math.Sin(float64(i)/7) }, false},
		{"undersampled carrier", func(i int) float64 { return 5 * math.Sin(float64(i*i)/7000) }, false},
		{"resonance", func(i int) float64 { return 5 / math.Hypot(1, float64(i-900)/40) }, false},
		{"narrow resonance", func(i int) float64 { return 5 / math.Hypot(1, float64(i-900)/2) }, false},
		{"narrowest resonance", func(i int) float64 { return 5 / math.Hypot(1, float64(i-900)*5) }, false},
		{"ramp", func(i int) float64 { return float64(i) / 400 }, false},
	} {
		values := make([]float64, 2000)
		for i := range values {
			values[i] = c.value(i) + 0.02*random.NormFloat64()
		}
		cases++
		if got := isDigital(values); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	if cases != 8 {
		t.Errorf("%d cases", cases)
	}
}

// TestFloor: a level that stays at the noise floor is not clipped, nor is an amplitude that stays at its lowest value.
func TestFloor(t *testing.T) {
	for _, head := range []string{"f (MHz),level (dBm)", "t (ms),level (dBm)", "f (MHz),v (V)", "t (ms),v (V)"} {
		text := head + "\n"
		for i := range 60 {
			v := 5 + max(0, 20-math.Abs(float64(i-30)))
			if strings.Contains(head, "dBm") {
				v -= 100
			}
			text += fmt.Sprintf("%d.5,%g\n", i, v)
		}
		if w := read(t, text, Options{}).Warnings; len(w) > 0 {
			t.Errorf("%s: %q", head, w)
		}
	}
}

// TestExtreme against a count that keeps a whole histogram.
func TestExtreme(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		values := rapid.SliceOfN(rapid.Map(rapid.IntRange(-3, 3), func(i int) float64 { return float64(i) }), 1, 30).Draw(r, "values")
		counts := map[float64]int{}
		for _, v := range values {
			counts[v]++
		}
		top := slices.Max(values)
		want := extreme{value: top, count: counts[top], first: slices.Index(values, top), beyond: slices.Min(values) < 0}
		run := 0
		for i, v := range values {
			if v != top {
				run = 0
				if counts[v] > 0 && (want.nextCount == 0 || v > want.next) {
					want.next, want.nextCount = v, counts[v]
				}
				continue
			}
			run++
			want.run, want.last = max(want.run, run), i
		}
		got := extremeOf(values, 1)
		if got.nextCount == 0 {
			got.next = 0
		}
		if got != want {
			r.Fatalf("%v: %+v, want %+v", values, got, want)
		}
	})
}
