package answer

import (
	"bytes"
	"math"
	"math/cmplx"
	"slices"
	"strconv"

	"knobwise/bench/box"
	"knobwise/bench/touchstone"
	"knobwise/study/sweep"
)

// SweepCSV has one row per frequency at full precision; a value that does not exist is an empty cell.
func SweepCSV(r *sweep.Result) []byte {
	var b bytes.Buffer
	all := OfSweep(r)
	columns := all.columns()
	for i, c := range columns {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(c.name)
	}
	b.WriteByte('\n')
	var digits []byte
	for row := range r.Frequency {
		for i, c := range columns {
			if i > 0 {
				b.WriteByte(',')
			}
			if v := (*c.values)[row]; !math.IsNaN(v) && !math.IsInf(v, 0) {
				digits = strconv.AppendFloat(digits[:0], v, 'g', -1, 64)
				b.Write(digits)
			}
		}
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// Features is the JSON of what stands out in one trace.
type Features struct {
	Trace       string      `json:"trace"`
	Where       string      `json:"where"`
	PeakHz      Number      `json:"peak_hz"`
	PeakDB      Number      `json:"peak_db"`
	Low3        Number      `json:"low_3db_hz"`
	High3       Number      `json:"high_3db_hz"`
	Bandwidth   Number      `json:"bandwidth_hz"`
	LoadedQ     Number      `json:"loaded_q"`
	ShapeFactor Number      `json:"shape_factor"`
	Others      []Peak      `json:"other_peaks"`
	Rejections  []Rejection `json:"rejections"`
}

// Peak is the JSON of one peak.
type Peak struct {
	Hz Number `json:"frequency_hz"`
	DB Number `json:"level_db"`
}

// Rejection is the JSON of one rejected frequency.
type Rejection struct {
	Hz Number `json:"frequency_hz"`
	DB Number `json:"rejection_db"`
}

// Budget is the JSON of one power budget.
type Budget struct {
	Hz        Number  `json:"frequency_hz"`
	Available Number  `json:"available_w"`
	Shares    []Share `json:"shares"`
	Sum       Number  `json:"sum"`
}

// Share is the JSON of one share of the power.
type Share struct {
	Name     string `json:"name"`
	Kind     string `json:"kind"`
	Watts    Number `json:"watts"`
	Fraction Number `json:"fraction"`
}

// Reading is the JSON of what a box does at one frequency, under the names of the columns.
type Reading struct {
	Frequency      Number `json:"frequency_hz"`
	LoadV          Number `json:"load_v"`
	LoadPhase      Number `json:"load_phase_deg"`
	StraightV      Number `json:"straight_v"`
	InsertionGain  Number `json:"insertion_gain_db"`
	TransducerGain Number `json:"transducer_gain_db"`
	InputMismatch  Number `json:"input_mismatch_db"`
	Dissipation    Number `json:"dissipation_db"`
	ZinRe          Number `json:"zin_re_ohm"`
	ZinIm          Number `json:"zin_im_ohm"`
	ZoutRe         Number `json:"zout_re_ohm"`
	ZoutIm         Number `json:"zout_im_ohm"`
}

func ofReading(r sweep.Reading) Reading {
	inRe, inIm := parts([]complex128{r.InputImpedance})
	outRe, outIm := parts([]complex128{r.OutputImpedance})
	return Reading{
		Number(r.Frequency), Number(r.LoadV), Number(r.LoadPhase), Number(r.StraightV), Number(r.InsertionGain), Number(r.TransducerGain),
		Number(r.InputMismatch), Number(r.Dissipation), Number(inRe[0]), Number(inIm[0]), Number(outRe[0]), Number(outIm[0]),
	}
}

// Sweep is the JSON of a sweep: the columns as arrays under the CSV's names, and what was found in them.
type Sweep struct {
	Box     string      `json:"box"`
	Setup   string      `json:"setup"`
	Setting box.Setting `json:"setting"`
	EMF     Number      `json:"emf_v"`

	Frequency      Column `json:"frequency_hz"`
	LoadV          Column `json:"load_v"`
	LoadPhase      Column `json:"load_phase_deg"`
	StraightV      Column `json:"straight_v"`
	InsertionGain  Column `json:"insertion_gain_db"`
	TransducerGain Column `json:"transducer_gain_db"`
	InputMismatch  Column `json:"input_mismatch_db"`
	Dissipation    Column `json:"dissipation_db"`
	ZinRe          Column `json:"zin_re_ohm"`
	ZinIm          Column `json:"zin_im_ohm"`
	ZoutRe         Column `json:"zout_re_ohm"`
	ZoutIm         Column `json:"zout_im_ohm"`

	Features []Features `json:"features"`
	Readings []Reading  `json:"readings"`
	Budgets  []Budget   `json:"power_budget"`
	Warnings []string   `json:"warnings"`
}

// OfSweep puts a sweep's result into its JSON form.
func OfSweep(r *sweep.Result) Sweep {
	out := Sweep{Box: r.Box, Setup: r.Setup, Setting: r.Setting, EMF: Number(r.EMF), Warnings: OrEmpty(r.Notices)}
	out.Features, out.Readings, out.Budgets = []Features{}, []Reading{}, []Budget{}
	out.Frequency, out.LoadV, out.LoadPhase, out.StraightV = r.Frequency, r.LoadV, r.LoadPhase, r.StraightV
	out.InsertionGain, out.TransducerGain, out.InputMismatch, out.Dissipation = r.InsertionGain, r.TransducerGain, r.InputMismatch, r.Dissipation
	out.ZinRe, out.ZinIm = parts(r.InputImpedance)
	out.ZoutRe, out.ZoutIm = parts(r.OutputImpedance)
	for _, f := range r.Features {
		j := Features{
			Trace: string(f.Trace), Where: string(f.Where), PeakHz: Number(f.Peak.Frequency), PeakDB: Number(f.Peak.Level),
			Low3: Number(f.Low3), High3: Number(f.High3), Bandwidth: Number(f.Bandwidth), LoadedQ: Number(f.LoadedQ),
			ShapeFactor: Number(f.ShapeFactor), Others: []Peak{}, Rejections: []Rejection{},
		}
		for _, p := range f.Others {
			j.Others = append(j.Others, Peak{Number(p.Frequency), Number(p.Level)})
		}
		for _, x := range f.Rejections {
			j.Rejections = append(j.Rejections, Rejection{Number(x.Frequency), Number(x.DB)})
		}
		out.Features = append(out.Features, j)
	}
	for _, x := range r.Readings {
		out.Readings = append(out.Readings, ofReading(x))
	}
	for _, b := range r.Budgets {
		j := Budget{Hz: Number(b.Frequency), Available: Number(b.Available), Sum: Number(b.Sum())}
		for _, s := range b.Shares {
			j.Shares = append(j.Shares, Share{s.Name, string(s.Kind), Number(s.Watts), Number(s.Fraction)})
		}
		out.Budgets = append(out.Budgets, j)
	}
	return out
}

// ScatteringTouchstone is the box at a setting as a two-port file.
func ScatteringTouchstone(b *box.Box, r *sweep.Scattering) ([]byte, error) {
	d := &touchstone.Data{Ports: 2, Parameter: 'S', Frequencies: r.Frequency, Reference: []float64{r.Reference, r.Reference}}
	for _, x := range r.S {
		d.Values = append(d.Values, x[:])
	}
	comments := []string{
		b.Name,
		"port 1: antenna socket, port 2: receiver socket",
		"computed at the setting " + b.Describe(r.Setting),
	}
	var out bytes.Buffer
	err := touchstone.Write(&out, d, touchstone.WriteOptions{Comments: comments})
	return out.Bytes(), err
}

// parts splits impedances; where no current flows neither part exists.
func parts(z []complex128) (re, im Column) {
	re, im = make(Column, len(z)), make(Column, len(z))
	for i, x := range z {
		re[i], im[i] = real(x), imag(x)
		if cmplx.IsInf(x) || cmplx.IsNaN(x) {
			re[i], im[i] = math.NaN(), math.NaN()
		}
	}
	return re, im
}

type named struct {
	name   string
	values *Column
}

// columns is the order of the CSV's columns. Scripts rely on it.
func (s *Sweep) columns() []named {
	return []named{
		{"frequency_hz", &s.Frequency},
		{"load_v", &s.LoadV},
		{"load_phase_deg", &s.LoadPhase},
		{"straight_v", &s.StraightV},
		{"insertion_gain_db", &s.InsertionGain},
		{"transducer_gain_db", &s.TransducerGain},
		{"input_mismatch_db", &s.InputMismatch},
		{"dissipation_db", &s.Dissipation},
		{"zin_re_ohm", &s.ZinRe},
		{"zin_im_ohm", &s.ZinIm},
		{"zout_re_ohm", &s.ZoutRe},
		{"zout_im_ohm", &s.ZoutIm},
	}
}

// ForDrawing leaves only the named columns, at the seven digits that a picture can show; the others are empty. Names of
// no column are left alone.
func (s *Sweep) ForDrawing(names []string) {
	for _, c := range s.columns() {
		if !slices.Contains(names, c.name) {
			*c.values = Column{}
			continue
		}
		short := make(Column, len(*c.values))
		for i, v := range *c.values {
			short[i] = rounded(v)
		}
		*c.values = short
	}
}

// rounded keeps seven significant digits.
func rounded(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	// Powers of ten to 22 are exact, and so the quotient is the number nearest to the decimal one. Others are rare.
	if power := 6 - int(math.Floor(math.Log10(math.Abs(v)))); power >= 0 && power <= 22 {
		scale := math.Pow10(power)
		return math.Round(v*scale) / scale
	}
	short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 6, 64), 64) // reads what it has just written
	return short
}
