package network_test

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"knobwise/physics/network"
)

// coupler is a pi of shunt capacitor, series coil and shunt capacitor, with a capacitor in series with its input
// where that is not zero. The source is at the side of input.
type coupler struct {
	series, input, coil, output float64 // F, F, H, F
	source, load                float64 // ohm
}

// onTheBench has values that a coupler for the lower short waves would have: lossless 4.7 uH between 100 pF and 47 pF,
// and 33 pF in series with the input.
func onTheBench(load float64) coupler {
	return coupler{series: 33e-12, input: 100e-12, coil: 4.7e-6, output: 47e-12, source: 270, load: load}
}

func (c coupler) insertion() *network.Insertion {
	var arms []arm
	if c.series != 0 {
		arms = append(arms, series(capacitance(c.series)))
	}
	arms = append(arms, shunt(capacitance(c.input)), series(inductance(c.coil)), shunt(capacitance(c.output)))
	return ladder(resistance(c.source), resistance(c.load), arms...)
}

// gainOverStraight is the power in the load over that with source and load joined directly.
func gainOverStraight(r network.Response) float64 {
	return math.Pow(cmplx.Abs(r.Load)/cmplx.Abs(r.Straight), 2)
}

// matchedBound is the gain over straight through of a lossless match, (Rs+Rl)²/(4·Rs·Rl): straight through, the load
// has emf²·Rl/(Rs+Rl)² of the available emf²/(4·Rs).
func matchedBound(rs, rl float64) float64 { return (rs + rl) * (rs + rl) / (4 * rs * rl) }

// curve gives the gain over straight through of a coupler in dB at a frequency in Hz.
func (c coupler) curve(t *testing.T) func(f float64) float64 {
	in := c.insertion()
	return func(f float64) float64 {
		r, err := in.Response(f, 1)
		if err != nil {
			t.Fatal(err)
		}
		return decibel(gainOverStraight(r))
	}
}

// peak is the highest point between 0.1 and 100 MHz: frequency in Hz and gain over straight through in dB.
func (c coupler) peak(t *testing.T) (f, gain float64) {
	curve := c.curve(t)
	const steps = 3000
	at := func(i int) float64 { return 0.1e6 * math.Pow(1000, float64(i)/steps) }
	best := 0
	for i := range steps + 1 {
		if curve(at(i)) > curve(at(best)) {
			best = i
		}
	}
	if best == 0 || best == steps {
		t.Fatalf("the highest point of %+v is at the end of the range", c)
	}
	f = lowest(func(f float64) float64 { return -curve(f) }, at(best-1), at(best+1))
	return f, curve(f)
}

// Common practice, no source: a pi of shunt C, series L, shunt C falls like a low-pass; far above its cut-off each of
// the three reactances gives 6.02 dB per octave, 18.06 in all.
func TestPiFallsLikeLowPass(t *testing.T) {
	c := onTheBench(50)
	c.series = 0
	curve := c.curve(t)
	cutOff := 1 / (2 * math.Pi * math.Sqrt(c.coil*c.input*c.output/(c.input+c.output)))
	if low := curve(cutOff / 1e4); !(math.Abs(low) < 1e-4) {
		t.Errorf("far below cut-off the pi should pass as if straight through, it has %g dB", low)
	}
	compared := 0
	for f := cutOff; f < 1000*cutOff; f *= 1.02 {
		compared++
		if !(curve(1.02*f) < curve(f)) {
			t.Errorf("the gain rises from %g to %g dB above cut-off, at %g Hz", curve(f), curve(1.02*f), f)
		}
	}
	octave := curve(100*cutOff) - curve(200*cutOff)
	if want := 60 * math.Log10(2); !(math.Abs(octave-want) < 0.01) {
		t.Errorf("far above cut-off the pi falls by %g dB per octave, want %g", octave, want)
	}
	t.Logf("cut-off at %.2f MHz, falling over %d steps, at a hundred times that by %.3f dB per octave", cutOff/1e6, compared, octave)
	if compared < 300 {
		t.Errorf("compared %d steps only", compared)
	}
}

// Common practice, no source: a few tens of picofarad in series with the input make a band-pass of the pi, and its peak
// stands above straight through. Found here: between 270 and 50 ohm the peak has +1.4 dB with 33 pF and +2.3 dB with
// 47 pF of the 2.8 dB that a match could give; with 22 pF it is 0.3 dB below straight through, so "a few tens" has a
// lower end. Into 1 Mohm it has 13.1 and 11.5 dB.
func TestSeriesCapacitorMakesBandPass(t *testing.T) {
	peaks := 0
	for _, load := range []float64{50, 1e6} {
		for _, picofarad := range []float64{33, 47} {
			c := onTheBench(load)
			c.series = picofarad * 1e-12
			curve := c.curve(t)
			f, gain := c.peak(t)
			peaks++
			t.Logf("%g pF into %g ohm: peak at %.2f MHz, %+.2f dB over straight through", picofarad, load, f/1e6, gain)
			if !(gain > 1) {
				t.Errorf("%g pF into %g ohm: the peak has %g dB over straight through, want more than 1", picofarad, load, gain)
			}
			if bound := decibel(matchedBound(c.source, load)); !(gain <= bound) {
				t.Errorf("%g pF into %g ohm: the peak has %g dB, a match could give %g", picofarad, load, gain, bound)
			}
			if far := max(curve(f/10), curve(f*10)); !(far < gain-15) {
				t.Errorf("%g pF into %g ohm: a decade from the peak of %g dB there are still %g dB", picofarad, load, gain, far)
			}
		}
		// Without it nothing is lost at the bottom.
		c := onTheBench(load)
		c.series = 0
		if low := c.curve(t)(0.01e6); !(math.Abs(low) < 0.01) {
			t.Errorf("without the series capacitor %g dB at 10 kHz into %g ohm, want 0", low, load)
		}
	}
	c := onTheBench(50)
	c.series = 22e-12
	if _, gain := c.peak(t); !(gain < 0 && gain > -1) {
		t.Errorf("with 22 pF into 50 ohm the peak has %g dB, want a little below straight through", gain)
	}
	if peaks != 4 {
		t.Errorf("found %d peaks, want 4", peaks)
	}
}

// Common practice, no source: into a matched load the output capacitor hardly moves the peak, into a megohm it moves
// it more than any other capacitor. Found here, for a capacitor from −10 % to +10 %: into 50 ohm the output capacitor
// moves the peak by 0.26 %, the input capacitor by 7.9 %; into 1 Mohm 7.4 %, against 2.2 % and, of the series
// capacitor, 0.3 %. The load explains it: 47 pF have 520 ohm at the peak of 6.5 MHz and stand across 50 ohm there,
// while into 1 Mohm they are the smaller of the two capacitances in series that tune the coil. It is no law: with an
// output capacitor larger than the input one, the input capacitor moves the peak more into either load.
func TestOutputCapacitorTunesIntoHighLoad(t *testing.T) {
	// travel is the fall of the peak's frequency in percent of it as one value grows from −10 % to +10 %.
	travel := func(load float64, value func(c *coupler) *float64) float64 {
		middle, _ := onTheBench(load).peak(t)
		var ends [2]float64
		for i, factor := range []float64{0.9, 1.1} {
			c := onTheBench(load)
			*value(&c) *= factor
			ends[i], _ = c.peak(t)
		}
		return 100 * (ends[0] - ends[1]) / middle
	}
	output := func(c *coupler) *float64 { return &c.output }
	input := func(c *coupler) *float64 { return &c.input }
	inSeries := func(c *coupler) *float64 { return &c.series }
	for _, load := range []float64{50, 1e6} {
		t.Logf("into %g ohm ±10 %% of a capacitor moves the peak by: output %.2f %%, input %.2f %%, series %.2f %%",
			load, travel(load, output), travel(load, input), travel(load, inSeries))
	}
	if o, i := travel(50, output), travel(50, input); !(math.Abs(o) < 0.5 && math.Abs(i) > 10*math.Abs(o)) {
		t.Errorf("into 50 ohm the output capacitor moves the peak by %g %%, the input capacitor by %g %%", o, i)
	}
	o, i, s := travel(1e6, output), travel(1e6, input), travel(1e6, inSeries)
	if !(o > 5 && o > 2*math.Abs(i) && o > 2*math.Abs(s)) {
		t.Errorf("into 1 Mohm the output capacitor moves the peak by %g %%, the input one by %g %%, the series one by %g %%", o, i, s)
	}
	if matched := travel(50, output); !(o > 10*math.Abs(matched)) {
		t.Errorf("the output capacitor moves the peak by %g %% into 1 Mohm and %g %% into 50 ohm", o, matched)
	}
	// Where the input capacitor is the smaller one the parts are exchanged: the statement is one about these values.
	other := onTheBench(1e6)
	other.output = 220e-12
	exchanged := func(value func(c *coupler) *float64) float64 {
		less, more := other, other
		*value(&less) *= 0.9
		*value(&more) *= 1.1
		below, _ := less.peak(t)
		above, _ := more.peak(t)
		return below - above
	}
	if o, i := exchanged(output), exchanged(input); !(i > o) {
		t.Errorf("with a large output capacitor it should move the peak less than the input one: %g and %g Hz", o, i)
	}
}

// Common practice, no source (it is conservation of energy): no passive network gives the load more than the available power,
// so its gain over straight through is at most matchedBound.
func TestGainOverStraightHasBound(t *testing.T) {
	var solved, lossless, lossy, above int
	closest := 0.0
	rapid.Check(t, func(t *rapid.T) {
		logarithmic := func(what string, lo, hi float64) float64 {
			return math.Exp(rapid.Float64Range(math.Log(lo), math.Log(hi)).Draw(t, what))
		}
		withLoss := rapid.Bool().Draw(t, "lossy")
		loss := func() network.Loss {
			if !withLoss {
				return network.Loss{}
			}
			return network.Loss{Model: network.ConstantQ, Q: logarithmic("Q", 1, 1000)}
		}
		nodes := rapid.SampledFrom([]string{"in", "out", "x", "y", network.Ground})
		branch := func() network.Branch {
			from := nodes.Draw(t, "from")
			to := nodes.Filter(func(n string) bool { return n != from }).Draw(t, "to")
			return network.Branch{From: from, To: to}
		}
		// Values by reactance at the frequency, so that resonances are not rare.
		f := logarithmic("f", 1e5, 3e7)
		w := 2 * math.Pi * f
		ohm := func() float64 { return logarithmic("ohm", 1, 1e4) }
		henry := func() float64 { return ohm() / w }
		c := &network.Circuit{}
		kinds := []string{"coil", "capacitor", "windings"}
		if withLoss {
			kinds = append(kinds, "resistor")
		}
		rs, rl := logarithmic("Rs", 1, 1e5), logarithmic("Rl", 1, 1e6)
		// Half of the networks are an L match more or less out of tune, with a few more branches; the others have two
		// branches from the source to the load and more anywhere.
		var way []network.Branch
		others := 6
		if rapid.Bool().Draw(t, "near a match") {
			others = 2
			high, larger, smaller := "in", max(rs, rl), min(rs, rl)
			if rl > rs {
				high = "out"
			}
			q := math.Sqrt(larger/smaller - 1)
			out := func() float64 { return rapid.Float64Range(0.8, 1.25).Draw(t, "out of tune") }
			c.Add(network.NewCapacitor(high, network.Ground, out()*q/(w*larger), loss()))
			c.Add(network.NewInductor("in", "out", out()*q*smaller/w, loss()))
		} else {
			way = []network.Branch{{From: "in", To: "x"}, {From: "x", To: "out"}}
		}
		for range rapid.IntRange(0, others).Draw(t, "others") {
			way = append(way, branch())
		}
		for _, b := range way {
			switch rapid.SampledFrom(kinds).Draw(t, "kind") {
			case "coil":
				c.Add(network.NewInductor(b.From, b.To, henry(), loss()))
			case "capacitor":
				c.Add(network.NewCapacitor(b.From, b.To, 1/(w*ohm()), loss()))
			case "resistor":
				c.Add(network.NewResistor(b.From, b.To, ohm()))
			case "windings":
				k := rapid.Float64Range(-0.99, 0.99).Draw(t, "k")
				coils, err := network.NewCoupledCoils([]network.Branch{b, branch()}, []float64{henry(), henry()},
					[]network.Coupling{{First: 0, Second: 1, Factor: k}}, loss())
				if err != nil {
					t.Fatal(err)
				}
				c.Add(coils)
			}
		}
		in := network.Insert(c, "in", "out", network.NewResistor("in", network.Ground, rs), network.NewResistor("out", network.Ground, rl))
		r, err := in.Response(f, 1)
		if singular := (*network.SingularError)(nil); errors.As(err, &singular) {
			return
		} else if err != nil {
			t.Fatal(err)
		}
		solved++
		if withLoss {
			lossy++
		} else {
			lossless++
		}
		gain, bound := gainOverStraight(r), matchedBound(rs, rl)
		if !(gain <= bound*(1+1e-9)) {
			t.Fatalf("gain over straight through %g between %g and %g ohm, the bound is %g", gain, rs, rl, bound)
		}
		if gain > 1 {
			above++
		}
		closest = math.Max(closest, gain/bound)
	})

	// The bound is the least one: a lossless match attains it. Elements of an L network from Q = √(R1/R2 − 1),
	// a universal definition.
	matches := 0
	for _, rs := range []float64{51, 270, 1500, 1e5} {
		const f, rl = 7e6, 50
		q := math.Sqrt(rs/rl - 1)
		in := ladder(resistance(rs), resistance(rl), shunt(reactance(-rs/q, f)), series(reactance(rl*q, f)))
		r, err := in.Response(f, 1)
		if err != nil {
			t.Fatal(err)
		}
		matches++
		if gain, bound := gainOverStraight(r), matchedBound(rs, rl); !(math.Abs(gain/bound-1) < 1e-10) {
			t.Errorf("an L network from %g to %g ohm has the gain %g over straight through, want the bound %g", rs, float64(rl), gain, bound)
		}
	}
	t.Logf("%d random networks solved (%d lossless, %d lossy), %d with a gain, the closest at %.4f of the bound; %d matches at the bound",
		solved, lossless, lossy, above, closest, matches)
	if lossless == 0 || lossy == 0 || above == 0 || matches != 4 {
		t.Errorf("%d lossless and %d lossy networks, %d of them with a gain, %d matches", lossless, lossy, above, matches)
	}
}
