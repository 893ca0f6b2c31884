package answer

import (
	"bytes"
	"math"
	"strconv"

	"knobwise/bench/box"
	"knobwise/bench/touchstone"
	"knobwise/study/sweep"
)

// sweepColumns is the order of the CSV's columns, and the names of the JSON's arrays. Scripts rely on it.
func sweepColumns(r *sweep.Result) (names []string, columns []Column) {
	split := func(z []complex128) (re, im Column) {
		for _, x := range z {
			re = append(re, real(x))
			im = append(im, imag(x))
		}
		return re, im
	}
	zinRe, zinIm := split(r.InputImpedance)
	zoutRe, zoutIm := split(r.OutputImpedance)
	for _, c := range []struct {
		name   string
		values Column
	}{
		{"frequency_hz", r.Frequency},
		{"load_v", r.LoadV},
		{"load_phase_deg", r.LoadPhase},
		{"straight_v", r.StraightV},
		{"insertion_gain_db", r.InsertionGain},
		{"transducer_gain_db", r.TransducerGain},
		{"input_mismatch_db", r.InputMismatch},
		{"dissipation_db", r.Dissipation},
		{"zin_re_ohm", zinRe},
		{"zin_im_ohm", zinIm},
		{"zout_re_ohm", zoutRe},
		{"zout_im_ohm", zoutIm},
	} {
		names = append(names, c.name)
		columns = append(columns, c.values)
	}
	return names, columns
}

// SweepCSV has one row per frequency at full precision; a value that does not exist is an empty cell.
func SweepCSV(r *sweep.Result) []byte {
	var b bytes.Buffer
	names, columns := sweepColumns(r)
	for i, name := range names {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(name)
	}
	b.WriteByte('\n')
	var digits []byte
	for row := range r.Frequency {
		for i, c := range columns {
			if i > 0 {
				b.WriteByte(',')
			}
			if v := c[row]; !math.IsNaN(v) && !math.IsInf(v, 0) {
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
	Budgets  []Budget   `json:"power_budget"`
	Warnings []string   `json:"warnings"`
}

// OfSweep puts a sweep's result into its JSON form.
func OfSweep(r *sweep.Result) Sweep {
	out := Sweep{Box: r.Box, Setup: r.Setup, Setting: r.Setting, EMF: Number(r.EMF), Features: []Features{}, Budgets: []Budget{}, Warnings: OrEmpty(r.Notices)}
	_, c := sweepColumns(r)
	out.Frequency, out.LoadV, out.LoadPhase, out.StraightV = c[0], c[1], c[2], c[3]
	out.InsertionGain, out.TransducerGain, out.InputMismatch, out.Dissipation = c[4], c[5], c[6], c[7]
	out.ZinRe, out.ZinIm, out.ZoutRe, out.ZoutIm = c[8], c[9], c[10], c[11]
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
