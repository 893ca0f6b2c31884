package chirp

import (
	"context"
	"errors"
	"math"
	"math/cmplx"
	"strings"
	"testing"
)

var anyDrive = Drive{Law: Law{From: 50e3, To: 150e3, Time: 0.01}, Amplitude: 1}

var anyRecord = Sampling{Interval: 1e-5, Count: 1000}

// Every wrong argument is refused in one line that names the field and says what to write.
func TestWrongArguments(t *testing.T) {
	flat := func(float64) (complex128, error) { return 1, nil }
	respond := func(change func(d *Drive, s *Sampling, o *Options)) error {
		d, s, o := anyDrive, anyRecord, Options{}
		change(&d, &s, &o)
		_, err := Respond(context.Background(), flat, d, s, o)
		return err
	}
	read := func(change func(s *Sampling, r *Reading)) error {
		s, r := anyRecord, Reading{Law: anyDrive.Law}
		n := s.Count
		change(&s, &r)
		_, err := ReadBack(context.Background(), make([]float64, n), s, r)
		return err
	}
	plan := func(law Law, f, b float64, l Limits) error { _, err := ShortestSweep(law, f, b, l); return err }
	gaps := func(law Law, interval float64) error { _, err := FalseGaps(law, interval); return err }
	width := func(rate, apparent float64) error { _, err := SteadyWidth(rate, apparent); return err }
	law, nan, inf := anyDrive.Law, math.NaN(), math.Inf(1)
	cases := map[string]error{
		"start frequency is 0 Hz":             respond(func(d *Drive, _ *Sampling, _ *Options) { d.Law.From = 0 }),
		"stop frequency is NaN":               respond(func(d *Drive, _ *Sampling, _ *Options) { d.Law.To = nan }),
		"stop frequency is 50000":             respond(func(d *Drive, _ *Sampling, _ *Options) { d.Law.To = 50e3 }),
		"sweep time is -1 s":                  respond(func(d *Drive, _ *Sampling, _ *Options) { d.Law.Time = -1 }),
		"sweep law is 2":                      respond(func(d *Drive, _ *Sampling, _ *Options) { d.Law.Spacing = 2 }),
		"generator amplitude is -1 V":         respond(func(d *Drive, _ *Sampling, _ *Options) { d.Amplitude = -1 }),
		"generator phase is +Inf":             respond(func(d *Drive, _ *Sampling, _ *Options) { d.Phase = inf }),
		"behaviour after the sweep is 3":      respond(func(d *Drive, _ *Sampling, _ *Options) { d.After = 3 }),
		"record start is NaN":                 respond(func(_ *Drive, s *Sampling, _ *Options) { s.Start = nan }),
		"sample interval is 0 s":              respond(func(_ *Drive, s *Sampling, _ *Options) { s.Interval = 0 }),
		"number of samples is 0":              respond(func(_ *Drive, s *Sampling, _ *Options) { s.Count = 0 }),
		"number of samples is 1e+09":          respond(func(_ *Drive, s *Sampling, _ *Options) { s.Count = 1e9 }),
		"tolerance is 1:":                     respond(func(_ *Drive, _ *Sampling, o *Options) { o.Tolerance = 1 }),
		"lowest frequency of the network is":  respond(func(_ *Drive, _ *Sampling, o *Options) { o.Lowest = -1 }),
		"highest frequency of the network is": respond(func(_ *Drive, _ *Sampling, o *Options) { o.Lowest, o.Highest = 2, 1 }),
		"number of points is 3":               read(func(_ *Sampling, r *Reading) { r.Points = 3 }),
		"number of samples is 1000: write as": read(func(s *Sampling, _ *Reading) { s.Count = 7 }),
		"bandwidth is NaN":                    read(func(_ *Sampling, r *Reading) { r.Bandwidth = nan }),
		"offset is +Inf":                      read(func(_ *Sampling, r *Reading) { r.Offset = inf }),
		"method is 9":                         read(func(_ *Sampling, r *Reading) { r.Method = 9 }),
		"after the sweep is -1":               read(func(_ *Sampling, r *Reading) { r.After = -1 }),
		"samples per period is 0.6":           read(func(_ *Sampling, r *Reading) { r.Method = Analytic }),
		"or a deconvolution":                  read(func(_ *Sampling, r *Reading) { r.Deconvolve = true }),
		"a linear sweep for a deconvolution": read(func(s *Sampling, r *Reading) {
			s.Interval, r.Deconvolve, r.Law.Spacing = 1e-6, true, Logarithmic
		}),
		"part of the sweep within the record": read(func(s *Sampling, _ *Reading) { s.Start = 1 }),
		"resonance frequency is 1 Hz":         plan(law, 1, 1, Limits{Loss: 1}),
		"bandwidth is 0 Hz":                   plan(law, 1e5, 0, Limits{Loss: 1}),
		"limit of the loss is -1 dB":          plan(law, 1e5, 1e3, Limits{Loss: -1}),
		"limit of the shift is NaN":           plan(law, 1e5, 1e3, Limits{Shift: nan}),
		"limit of the shift is 0 Hz":          plan(law, 1e5, 1e3, Limits{}),
		"sample interval is NaN":              gaps(law, nan),
		"apparent bandwidth is 0 Hz":          width(1, 0),
		"sweep rate is +Inf":                  width(inf, 1),
	}
	for want, err := range cases {
		if _, ok := errors.AsType[*FieldError](err); !ok || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "write") || strings.Contains(err.Error(), "\n") {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
	if len(cases) != 33 {
		t.Errorf("%d cases", len(cases))
	}
}

func TestNetworkThatFails(t *testing.T) {
	cause := errors.New("outside the measured file")
	for name, h := range map[string]Transfer{
		"fails":        func(float64) (complex128, error) { return 0, cause },
		"NaN":          func(float64) (complex128, error) { return cmplx.NaN(), nil },
		"fails beyond": func(f float64) (complex128, error) { return 1, map[bool]error{true: cause}[f > 200e3] },
	} {
		_, err := Respond(context.Background(), h, anyDrive, anyRecord, Options{})
		if e, ok := errors.AsType[*TransferError](err); !ok || e.Frequency <= 0 || (name != "NaN" && !errors.Is(err, cause)) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A network known in the swept band alone is taken as constant beyond.
	known := func(f float64) (complex128, error) {
		if f < 40e3 || f > 160e3 {
			return 0, cause
		}
		return 0.5, nil
	}
	r, err := Respond(context.Background(), known, anyDrive, anyRecord, Options{Envelope: true, Lowest: 40e3, Highest: 160e3})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Envelope {
		if cmplx.Abs(e-0.5) > r.Error {
			t.Fatalf("envelope %v, want 0.5", e)
		}
	}
	// A resonance without loss to speak of, one that is no curve, and one that answers before it is asked.
	endless := func(f float64) (complex128, error) { return 1 / complex(1, 2*(f-1e5)/1e-3), nil }
	if _, err := Respond(context.Background(), endless, anyDrive, anyRecord, Options{}); err == nil {
		t.Error("a ring of minutes was taken")
	} else if _, ok := errors.AsType[*RingError](err); !ok {
		t.Error(err)
	}
	wild := func(f float64) (complex128, error) { _, part := math.Modf(f * 12345.678); return complex(part, 0), nil }
	if _, err := Respond(context.Background(), wild, anyDrive, anyRecord, Options{}); err == nil {
		t.Error("noise was taken for a network")
	} else if _, ok := errors.AsType[*DetailError](err); !ok {
		t.Error(err)
	}
	early := func(f float64) (complex128, error) { return cmplx.Rect(1, 2*math.Pi*f*1e-4), nil }
	if _, err := Respond(context.Background(), early, anyDrive, anyRecord, Options{}); err == nil {
		t.Error("an answer before the question was taken")
	} else {
		t.Log(err)
	}
	// No output at all is no reason to fail.
	if r, err := Respond(context.Background(), func(float64) (complex128, error) { return 0, nil }, anyDrive, anyRecord, Options{}); err != nil || r.Voltage[500] != 0 {
		t.Errorf("a network without output: %v", err)
	}
}

// Work that is stopped stops, and progress runs from 0 to 1 and never back.
func TestStopAndProgress(t *testing.T) {
	m := resonator(90e3, 2e3)
	var seen []float64
	if _, err := Respond(context.Background(), m.at, anyDrive, anyRecord, Options{Progress: func(of float64) { seen = append(seen, of) }}); err != nil {
		t.Fatal(err)
	}
	s := Sampling{Interval: 1e-6, Count: 10000}
	var read []float64
	if _, err := ReadBack(context.Background(), make([]float64, s.Count), s, Reading{Law: anyDrive.Law, Progress: func(of float64) { read = append(read, of) }}); err != nil {
		t.Fatal(err)
	}
	for _, steps := range [][]float64{seen, read} {
		if len(steps) < 3 {
			t.Errorf("%d reports", len(steps))
		}
		for i, of := range steps {
			if of < 0 || of > 1 || i > 0 && of < steps[i-1] {
				t.Errorf("progress %v", steps)
			}
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	_, err := Respond(ctx, m.at, anyDrive, anyRecord, Options{Progress: func(float64) { stop() }})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("stopped response: %v", err)
	}
	for _, method := range []Method{Automatic, Analytic, WindowMaximum, PhaseFit} {
		if _, err := ReadBack(ctx, make([]float64, s.Count), s, Reading{Law: anyDrive.Law, Method: method}); !errors.Is(err, context.Canceled) {
			t.Errorf("stopped reading: %v", err)
		}
	}
}
