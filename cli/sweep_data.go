package cli

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"knobwise/bench/box"
	"knobwise/bench/quantity"
	"knobwise/bench/setup"
	"knobwise/bench/touchstone"
	"knobwise/study/sweep"
)

// sweepColumns is the order of the CSV's columns, and the names of the JSON's arrays. Scripts rely on it.
func sweepColumns(r *sweep.Result) (names []string, columns []column) {
	split := func(z []complex128) (re, im column) {
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
		values column
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

// sweepCSV writes one row per frequency at full precision; a value that does not exist is an empty cell.
func sweepCSV(b *bytes.Buffer, r *sweep.Result) {
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
}

type featuresJSON struct {
	Trace       string          `json:"trace"`
	Where       string          `json:"where"`
	PeakHz      number          `json:"peak_hz"`
	PeakDB      number          `json:"peak_db"`
	Low3        number          `json:"low_3db_hz"`
	High3       number          `json:"high_3db_hz"`
	Bandwidth   number          `json:"bandwidth_hz"`
	LoadedQ     number          `json:"loaded_q"`
	ShapeFactor number          `json:"shape_factor"`
	Others      []peakJSON      `json:"other_peaks"`
	Rejections  []rejectionJSON `json:"rejections"`
}

type peakJSON struct {
	Hz number `json:"frequency_hz"`
	DB number `json:"level_db"`
}

type rejectionJSON struct {
	Hz number `json:"frequency_hz"`
	DB number `json:"rejection_db"`
}

type budgetJSON struct {
	Hz        number      `json:"frequency_hz"`
	Available number      `json:"available_w"`
	Shares    []shareJSON `json:"shares"`
	Sum       number      `json:"sum"`
}

type shareJSON struct {
	Name     string `json:"name"`
	Kind     string `json:"kind"`
	Watts    number `json:"watts"`
	Fraction number `json:"fraction"`
}

// sweepJSON writes the columns as arrays under the CSV's names, and features, power budgets and warnings beside them.
func sweepJSON(r *sweep.Result) ([]byte, error) {
	out := struct {
		Box     string      `json:"box"`
		Setup   string      `json:"setup"`
		Setting box.Setting `json:"setting"`
		EMF     number      `json:"emf_v"`

		Frequency      column `json:"frequency_hz"`
		LoadV          column `json:"load_v"`
		LoadPhase      column `json:"load_phase_deg"`
		StraightV      column `json:"straight_v"`
		InsertionGain  column `json:"insertion_gain_db"`
		TransducerGain column `json:"transducer_gain_db"`
		InputMismatch  column `json:"input_mismatch_db"`
		Dissipation    column `json:"dissipation_db"`
		ZinRe          column `json:"zin_re_ohm"`
		ZinIm          column `json:"zin_im_ohm"`
		ZoutRe         column `json:"zout_re_ohm"`
		ZoutIm         column `json:"zout_im_ohm"`

		Features []featuresJSON `json:"features"`
		Budgets  []budgetJSON   `json:"power_budget"`
		Warnings []string       `json:"warnings"`
	}{Box: r.Box, Setup: r.Setup, Setting: r.Setting, EMF: number(r.EMF), Features: []featuresJSON{}, Budgets: []budgetJSON{}, Warnings: orEmpty(r.Notices)}
	_, c := sweepColumns(r)
	out.Frequency, out.LoadV, out.LoadPhase, out.StraightV = c[0], c[1], c[2], c[3]
	out.InsertionGain, out.TransducerGain, out.InputMismatch, out.Dissipation = c[4], c[5], c[6], c[7]
	out.ZinRe, out.ZinIm, out.ZoutRe, out.ZoutIm = c[8], c[9], c[10], c[11]
	for _, f := range r.Features {
		j := featuresJSON{
			Trace: string(f.Trace), Where: string(f.Where), PeakHz: number(f.Peak.Frequency), PeakDB: number(f.Peak.Level),
			Low3: number(f.Low3), High3: number(f.High3), Bandwidth: number(f.Bandwidth), LoadedQ: number(f.LoadedQ),
			ShapeFactor: number(f.ShapeFactor), Others: []peakJSON{}, Rejections: []rejectionJSON{},
		}
		for _, p := range f.Others {
			j.Others = append(j.Others, peakJSON{number(p.Frequency), number(p.Level)})
		}
		for _, x := range f.Rejections {
			j.Rejections = append(j.Rejections, rejectionJSON{number(x.Frequency), number(x.DB)})
		}
		out.Features = append(out.Features, j)
	}
	for _, b := range r.Budgets {
		j := budgetJSON{Hz: number(b.Frequency), Available: number(b.Available), Sum: number(b.Sum())}
		for _, s := range b.Shares {
			j.Shares = append(j.Shares, shareJSON{s.Name, string(s.Kind), number(s.Watts), number(s.Fraction)})
		}
		out.Budgets = append(out.Budgets, j)
	}
	return toJSON(out)
}

// sweepTouchstone is the box at a setting as a two-port file.
func sweepTouchstone(b *box.Box, s box.Setting, over setup.Sweep, reference string) (data []byte, notices []string, err error) {
	ohms := 50.0
	if reference != "" {
		if ohms, err = value("--reference", reference, quantity.Ohm); err != nil {
			return nil, nil, err
		}
	}
	r, err := sweep.RunScattering(b, s, over, ohms)
	if err != nil {
		return nil, nil, err
	}
	d := &touchstone.Data{Ports: 2, Parameter: 'S', Frequencies: r.Frequency, Reference: []float64{ohms, ohms}}
	for _, x := range r.S {
		d.Values = append(d.Values, x[:])
	}
	comments := []string{
		b.Name,
		"port 1: antenna socket, port 2: receiver socket",
		fmt.Sprintf("computed at the setting %s", b.Describe(s)),
	}
	var out bytes.Buffer
	if err := touchstone.Write(&out, d, touchstone.WriteOptions{Comments: comments}); err != nil {
		return nil, nil, err
	}
	return out.Bytes(), r.Notices, nil
}
