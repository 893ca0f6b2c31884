package chirp

import (
	"context"
	"math"
	"math/cmplx"
	"sort"
)

// Transfer is the network: the complex ratio of output to drive at f in Hz, f > 0. At negative frequencies a real
// network has the conjugate, so it is never asked there.
type Transfer func(f float64) (complex128, error)

const (
	panelPoints  = 16
	basePanels   = 48      // over the swept band: a first look, fine enough to see the flank of any resonance that counts
	evaluations  = 300_000 // at most, in one table
	panelsPerNap = 64
	roughest     = 1e-3 // the largest error of a panel with which a response still means something
)

// panel is the network function between two frequencies as a Chebyshev series of either part.
type panel struct {
	lo, hi float64
	c      [panelPoints]complex128
	left   float64 // the last coefficients: what the series leaves out is of their size
}

// table is the network function over a range as panels that are halved until the series has converged. It costs
// 32 values per halving, and the narrowest panel tells the narrowest feature: a resonance of bandwidth B has its pole
// at B/2 off the axis, so the series on a panel of half-width a converges like (B/2a + √(1+(B/2a)²))^-n.
type table struct {
	transfer Transfer
	panels   []panel
	asked    int
	greatest float64 // of |H| within the swept band
	worst    float64 // largest error of a panel as it counts in the response, relative to greatest
	last     int
}

// tableRange is what a table is made for.
type tableRange struct {
	lo, hi          float64 // Hz, everything
	bandLo, bandHi  float64 // Hz, the swept band
	lowest, highest float64 // Hz, where the network may be asked
	smooth          float64 // Hz, √rate: the width over which the sweep averages the network
	from, to        float64 // Hz, where the generator stands still
	tolerance       float64 // of a value, relative to the greatest of the band
}

// build makes the table. What a panel leaves out counts in full where the generator stands still; elsewhere the sweep
// passes: its spectrum is 1/√rate high, so an error e over the width 2a makes no more than e·2a/√rate in the response.
func (tb *table) build(ctx context.Context, r tableRange) error {
	lo, hi := max(r.lo, r.lowest, 0), min(r.hi, r.highest)
	var queue []panel
	add := func(a, b float64) error {
		a, b = max(a, lo), min(b, hi)
		if !(b > a) {
			return nil
		}
		p, err := tb.fit(a, b)
		queue = append(queue, p)
		return err
	}
	bandLo, bandHi := max(r.bandLo, lo), min(r.bandHi, hi)
	width := (bandHi - bandLo) / basePanels
	if !(width > 0) {
		bandLo, bandHi = lo, lo
		width = (hi - lo) / basePanels
	}
	for a, w := bandHi, width; a < hi; a, w = a+w, 1.5*w {
		if err := add(a, a+w); err != nil {
			return err
		}
	}
	for b, w := bandLo, width; b > lo; b, w = b-w, 1.5*w {
		if err := add(b-w, b); err != nil {
			return err
		}
	}
	// Last in, first refined: the swept band.
	for i := range basePanels {
		if err := add(bandLo+float64(i)*width, min(bandHi, bandLo+float64(i+1)*width)); err != nil {
			return err
		}
	}
	for n := 0; len(queue) > 0; n++ {
		if n%panelsPerNap == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		p := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		still := (r.from >= p.lo-r.smooth && r.from <= p.hi+r.smooth) || (r.to >= p.lo-r.smooth && r.to <= p.hi+r.smooth)
		weight := 1.0
		if !still {
			weight = min(1, (p.hi-p.lo)/r.smooth)
		}
		middle := p.lo + (p.hi-p.lo)/2
		if p.left*weight <= r.tolerance*tb.greatest || tb.asked >= evaluations || p.hi-p.lo < 1e-10*p.hi {
			if p.left*weight > roughest*tb.greatest {
				return &DetailError{Frequency: middle, Width: p.hi - p.lo, Evaluations: tb.asked}
			}
			if tb.greatest > 0 {
				tb.worst = max(tb.worst, p.left*weight/tb.greatest)
			}
			tb.panels = append(tb.panels, p)
			continue
		}
		for _, half := range [][2]float64{{p.lo, middle}, {middle, p.hi}} {
			q, err := tb.fit(half[0], half[1])
			if err != nil {
				return err
			}
			queue = append(queue, q)
		}
	}
	sort.Slice(tb.panels, func(i, j int) bool { return tb.panels[i].lo < tb.panels[j].lo })
	return nil
}

// chebyshevCosines[k][i] is cos(k·angle of point i), with the weight of the coefficient.
var chebyshevCosines, chebyshevNodes = func() (c [panelPoints][panelPoints]float64, x [panelPoints]float64) {
	for i := range panelPoints {
		angle := math.Pi * (float64(i) + 0.5) / panelPoints
		x[i] = math.Cos(angle)
		for k := range panelPoints {
			c[k][i] = 2.0 / panelPoints * math.Cos(float64(k)*angle)
		}
		c[0][i] /= 2
	}
	return c, x
}()

// fit asks the network at the Chebyshev points of the first kind, which lie within the panel: never at 0 Hz.
func (tb *table) fit(lo, hi float64) (panel, error) {
	p := panel{lo: lo, hi: hi}
	var values [panelPoints]complex128
	for i, x := range chebyshevNodes {
		f := lo + (hi-lo)*(1+x)/2
		v, err := tb.transfer(f)
		if err == nil && (cmplx.IsNaN(v) || cmplx.IsInf(v)) {
			err = &TransferError{Frequency: f}
		} else if err != nil {
			err = &TransferError{Frequency: f, Cause: err}
		}
		if err != nil {
			return p, err
		}
		values[i] = v
		tb.greatest = max(tb.greatest, cmplx.Abs(v))
	}
	tb.asked += panelPoints
	for k := range p.c {
		for i, v := range values {
			p.c[k] += v * complex(chebyshevCosines[k][i], 0)
		}
	}
	p.left = cmplx.Abs(p.c[panelPoints-1]) + cmplx.Abs(p.c[panelPoints-2]) + cmplx.Abs(p.c[panelPoints-3])
	return p, nil
}

// at is the network function at f, the conjugate at a negative one; beyond the ends of the table it is that at the end.
func (tb *table) at(f float64) complex128 {
	if f < 0 {
		return cmplx.Conj(tb.at(-f))
	}
	if len(tb.panels) == 0 {
		return 0
	}
	if p := &tb.panels[tb.last]; f < p.lo || f > p.hi {
		tb.last = tb.find(f)
	}
	p := &tb.panels[tb.last]
	x := min(1, max(-1, 2*(f-p.lo)/(p.hi-p.lo)-1))
	// Clenshaw's recurrence (same book, chapter 19), on both parts at once.
	var re1, re2, im1, im2 float64
	for k := panelPoints - 1; k > 0; k-- {
		re1, re2 = 2*x*re1-re2+real(p.c[k]), re1
		im1, im2 = 2*x*im1-im2+imag(p.c[k]), im1
	}
	return complex(x*re1-re2+real(p.c[0]), x*im1-im2+imag(p.c[0]))
}

func (tb *table) find(f float64) int {
	i := sort.Search(len(tb.panels), func(i int) bool { return tb.panels[i].hi >= f })
	return min(i, len(tb.panels)-1)
}

// ring is a first guess of how long the network rings, in s, after being driven between lo and hi: that of the narrowest
// panel there. With B ≥ 3.3 a from the rate of convergence, exp(-πBt) has fallen to 1e-9 at t = 2/a; a pure delay that
// the panel just resolves is shorter still.
func (tb *table) ring(lo, hi float64) float64 {
	if lo < 0 {
		hi, lo = max(-lo, hi), 0
	}
	if len(tb.panels) == 0 {
		return 0
	}
	narrowest := math.Inf(1)
	for i := tb.find(lo); i < len(tb.panels) && tb.panels[i].lo <= hi; i++ {
		narrowest = min(narrowest, (tb.panels[i].hi-tb.panels[i].lo)/2)
	}
	if math.IsInf(narrowest, 1) {
		p := tb.panels[tb.find(hi)]
		narrowest = (p.hi - p.lo) / 2
	}
	return 2 / narrowest
}
