package touchstone

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// sameBits compares two Data without file name, version and comments; signed zeros are told apart.
func sameBits(a, b *Data) string {
	bits := cmp.Comparer(func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) })
	complexBits := cmp.Comparer(func(x, y complex128) bool {
		return math.Float64bits(real(x)) == math.Float64bits(real(y)) && math.Float64bits(imag(x)) == math.Float64bits(imag(y))
	})
	return cmp.Diff(a, b, bits, complexBits, cmpopts.IgnoreFields(Data{}, "File", "Version", "Comments"))
}

func written(t rapid.TB, d *Data, opts WriteOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, d, opts); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func readBack(t rapid.TB, text string, ports int) *Data {
	t.Helper()
	d, err := Read(strings.NewReader(text), "back", ports)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return d
}

// anyData draws data of every kind, with any finite numbers.
func anyData(t *rapid.T) *Data {
	number := rapid.Float64Range(-math.MaxFloat64, math.MaxFloat64)
	positive := rapid.Float64Range(math.SmallestNonzeroFloat64, math.MaxFloat64)
	d := &Data{Ports: rapid.IntRange(1, 2).Draw(t, "ports")}
	kinds := []byte("SYZ")
	if d.Ports == 2 {
		kinds = []byte("SYZGH")
	}
	d.Parameter = rapid.SampledFrom(kinds).Draw(t, "parameter")
	d.Frequencies = rapid.SliceOfNDistinct(rapid.Float64Range(0, math.MaxFloat64), 1, 5, rapid.ID).Draw(t, "frequencies")
	slices.Sort(d.Frequencies)
	for range d.Frequencies {
		row := make([]complex128, d.Ports*d.Ports)
		for e := range row {
			row[e] = complex(number.Draw(t, "re"), number.Draw(t, "im"))
		}
		d.Values = append(d.Values, row)
	}
	d.Reference = []float64{positive.Draw(t, "reference")}
	if d.Ports == 2 {
		second := d.Reference[0]
		if rapid.Bool().Draw(t, "two references") {
			second = positive.Draw(t, "second")
		}
		d.Reference = append(d.Reference, second)
		if rapid.Bool().Draw(t, "noise") {
			d.Noise = []NoisePoint{{positive.Draw(t, "f"), number.Draw(t, "F"), number.Draw(t, "m"), number.Draw(t, "a"), number.Draw(t, "r")}}
		}
	}
	d.Comments = rapid.SliceOfN(rapid.String(), 0, 3).Draw(t, "comments")
	return d
}

func TestWrittenReadsBackTheSame(t *testing.T) {
	versions := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		d := anyData(t)
		extra := rapid.SliceOfN(rapid.String(), 0, 2).Draw(t, "extra")
		text := written(t, d, WriteOptions{Comments: extra})
		back := readBack(t, text, d.Ports)
		if diff := sameBits(d, back); diff != "" {
			t.Fatalf("%s in\n%s", diff, text)
		}
		if diff := cmp.Diff(commentLines(d.Comments, extra), back.Comments, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("comments: %s in\n%s", diff, text)
		}
		for _, c := range text {
			if c > '~' || c < ' ' && c != '\n' && c != '\t' {
				t.Fatalf("character %q in %q", c, text)
			}
		}
		exact := d.Parameter == 'S' && oneReference(d) && d.Noise == nil
		if want := map[bool]string{true: "1.1", false: "2.0"}[exact]; back.Version != want {
			t.Fatalf("version %s, want %s", back.Version, want)
		}
		versions[back.Version]++
		if text2 := written(t, back, WriteOptions{}); text2 != text {
			t.Fatalf("written again:\n%s\nfirst:\n%s", text2, text)
		}
	})
	if versions["1.1"] == 0 || versions["2.0"] == 0 {
		t.Errorf("versions written: %v", versions)
	}
	t.Logf("versions written: %v", versions)
}

// Version 1.1 on request holds every parameter to the last bit or two.
func TestVersion11OnRequest(t *testing.T) {
	for _, parameter := range []byte("SYZGH") {
		d := &Data{
			Ports: 2, Parameter: parameter, Frequencies: []float64{1e6, 3e6}, Reference: []float64{73.3, 73.3},
			Values: [][]complex128{{0.1 + 0.7i, 1.0 / 3, -2.2i, 31}, {1, 2, 3, 4}}, Noise: []NoisePoint{{2e6, 1, 0.3, 20, 11.7}},
		}
		text := written(t, d, WriteOptions{Version: "1.1"})
		if strings.Contains(text, "[") {
			t.Errorf("keywords in\n%s", text)
		}
		back := readBack(t, text, 2)
		for i := range d.Values {
			for e := range d.Values[i] {
				if !near(d.Values[i][e], back.Values[i][e], 3e-16) {
					t.Errorf("%c: %v, want %v", parameter, back.Values[i], d.Values[i])
				}
			}
		}
		if len(back.Noise) != 1 || math.Abs(back.Noise[0].Resistance-11.7) > 1e-14 {
			t.Errorf("noise %v", back.Noise)
		}
	}
}

func TestWrittenText(t *testing.T) {
	d := &Data{Ports: 2, Parameter: 'S', Frequencies: []float64{1.5e6}, Reference: []float64{50, 50}, Values: [][]complex128{{0.1, 0.2i, -0.3, 1}}}
	got := written(t, d, WriteOptions{Comments: []string{"two\nlines", "", "25 µH\a \r\nend"}})
	want := "! two\n! lines\n!\n! 25 \\u00b5H\\x07\n! end\n# Hz S RI R 50\n1.5e+06 0.1 0 -0.3 0 0 0.2 1 0\n"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	d.Reference[1] = 75
	got = written(t, d, WriteOptions{})
	want = "[Version] 2.0\n# Hz S RI R 50\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 1\n" +
		"[Reference] 50 75\n[Network Data]\n1.5e+06 0.1 0 0 0.2 -0.3 0 1 0\n[End]\n"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if err := Write(&bytes.Buffer{}, d, WriteOptions{Version: "1.1"}); err == nil {
		t.Error("two references in version 1.1")
	}
	if err := Write(&bytes.Buffer{}, d, WriteOptions{Version: "3"}); err == nil {
		t.Error("version 3")
	}
}

type fullDisk struct{}

var errFull = errors.New("disk full")

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestWriterThatFails(t *testing.T) {
	d := read(t, "a.s1p", "# S RI\n1 0 0\n")
	if err := Write(fullDisk{}, d, WriteOptions{}); !errors.Is(err, errFull) {
		t.Errorf("%v", err)
	}
}

// Data made by hand with faults is refused everywhere, without a panic and without output.
func TestInvalidDataIsRefused(t *testing.T) {
	good := func() *Data {
		return &Data{
			Ports: 2, Parameter: 'S', Frequencies: []float64{1, 2}, Reference: []float64{50, 50},
			Values: [][]complex128{{0, 0, 0, 0}, {0, 0, 0, 0}}, Noise: []NoisePoint{{Frequency: 1}},
		}
	}
	if err := good().Check(); err != nil {
		t.Fatal(err)
	}
	faults := map[string]func(*Data){
		"zero value":          func(d *Data) { *d = Data{} },
		"ports":               func(d *Data) { d.Ports = 3 },
		"parameter":           func(d *Data) { d.Parameter = 'T' },
		"references":          func(d *Data) { d.Reference = d.Reference[:1] },
		"reference":           func(d *Data) { d.Reference[1] = math.NaN() },
		"infinite reference":  func(d *Data) { d.Reference[1] = math.Inf(1) },
		"no frequency":        func(d *Data) { d.Frequencies, d.Values = nil, nil },
		"rows":                func(d *Data) { d.Values = d.Values[:1] },
		"row":                 func(d *Data) { d.Values[1] = d.Values[1][:3] },
		"NaN":                 func(d *Data) { d.Values[1][2] = complex(0, math.NaN()) },
		"infinity":            func(d *Data) { d.Values[1][2] = complex(math.Inf(-1), 0) },
		"negative frequency":  func(d *Data) { d.Frequencies[0] = -1 },
		"NaN frequency":       func(d *Data) { d.Frequencies[1] = math.NaN() },
		"equal frequencies":   func(d *Data) { d.Frequencies[1] = 1 },
		"noise":               func(d *Data) { d.Noise[0].Resistance = math.Inf(1) },
		"noise frequency":     func(d *Data) { d.Noise[0].Frequency = 0 },
		"noise of a one-port": func(d *Data) { d.Ports, d.Reference, d.Values = 1, d.Reference[:1], [][]complex128{{0}, {0}} },
	}
	for name, spoil := range faults {
		d := good()
		spoil(d)
		var b bytes.Buffer
		if err := Write(&b, d, WriteOptions{}); err == nil || b.Len() > 0 {
			t.Errorf("%s: Write gave %v and %d bytes", name, err, b.Len())
		}
		if _, err := d.ToS(); err == nil {
			t.Errorf("%s: ToS", name)
		}
		if _, err := d.At(1); err == nil {
			t.Errorf("%s: At", name)
		}
		if _, err := NewInterpolator(d); err == nil {
			t.Errorf("%s: NewInterpolator", name)
		}
		if g, f := d.MaxGain(); !math.IsNaN(g) || f != 0 {
			t.Errorf("%s: MaxGain %v at %v", name, g, f)
		}
	}
}
