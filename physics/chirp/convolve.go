package chirp

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// largestTransform bounds the samples of one segment.
const largestTransform = 1 << 20

// convolver passes segments through the network, one at a time; its buffers are used again.
type convolver struct {
	drive     Drive
	network   *table
	tolerance float64 // V, what may be left of a ring at its end
	plans     map[int]*fourier.CmplxFFT
	x, fine   []complex128
	left      float64 // V, the most that was left
	longest   float64 // s, the longest ring
}

// rung is the response of one segment, mixed down by centre, as a ring of samples ready for interpolation.
type rung struct {
	begin  float64 // s
	rate   float64 // samples of the ring per second
	centre float64 // Hz
	ring   []complex128
}

// end is the time at which the response has died away.
func (r rung) end() float64 { return r.begin + float64(len(r.ring))/r.rate }

// pass convolves a segment. It starts with the guess pad for the ring, in s, and doubles the room until what is left at
// the end of it is below the tolerance. The result is valid until the next call. It returns the room that was needed.
func (c *convolver) pass(s segment, pad float64) (rung, float64, error) {
	rate := s.hi - s.lo
	centre := (s.lo + s.hi) / 2
	begin := s.begin()
	if !math.IsNaN(s.breaks) {
		// A sample on the break itself, with the mean of both sides, is what the trapezoidal rule needs to stay exact.
		begin = s.breaks - math.Ceil((s.breaks-begin)*rate)/rate
	}
	own := math.Ceil((s.end() - begin) * rate)
	if !(own < largestTransform) {
		return rung{}, 0, &RingError{Frequency: centre, Left: 1}
	}
	used := int(own)
	for {
		n := transformSize(used + 1 + int(min(largestTransform, math.Ceil(pad*rate))))
		n = min(n, largestTransform)
		pad = float64(n-used) / rate
		r := c.transform(s, begin, rate, centre, used, n)
		// The last eighth of the room: twice as fine samples.
		quiet := max(4, (n-used)/8)
		left := 0.0
		for _, v := range r.ring[2*(n-quiet):] {
			left = max(left, real(v)*real(v)+imag(v)*imag(v))
		}
		left = math.Sqrt(left) * kernelSpectrum(0)
		if left <= c.tolerance {
			c.left, c.longest = max(c.left, left), max(c.longest, pad)
			return r, pad, nil
		}
		if n == largestTransform {
			scale := c.drive.Amplitude * c.network.greatest
			return r, pad, &RingError{Frequency: centre, Waited: pad, Left: left / scale}
		}
		pad *= 2
	}
}

// transform samples the segment, n samples with the room for its ring, and takes it through the network's frequencies
// to twice as many samples of the response.
func (c *convolver) transform(s segment, begin, rate, centre float64, used, n int) rung {
	c.x, c.fine = resized(c.x, n), resized(c.fine, 2*n)
	d := c.drive
	middle := begin + float64(used/2)/rate
	if !math.IsNaN(s.breaks) {
		middle = s.breaks
	}
	// The phase counts from the middle, exactly, so that neighbours agree.
	angle := d.Phase + 2*math.Pi*fraction(fraction(d.cycles(middle))-centre*(middle-begin))
	for i := range used + 1 {
		t := begin + float64(i)/rate
		if i == used/2 && math.IsNaN(s.breaks) {
			t = middle
		}
		if !math.IsNaN(s.breaks) && math.Abs(t-s.breaks) < 0.25/rate {
			t = s.breaks
		}
		w := d.Amplitude * s.window(t)
		if d.After == Silence && t >= d.Law.Time {
			w = 0
			if t == d.Law.Time {
				w = d.Amplitude * s.window(t) / 2
			}
		}
		sin, cos := math.Sincos(angle + 2*math.Pi*fraction(d.cyclesFrom(middle, t-middle)-centre*(t-middle)))
		c.x[i] = complex(w*cos, w*sin)
	}
	clear(c.x[used+1:])
	c.plan(n).Coefficients(c.x, c.x)
	slope, value := c.broken(s, centre, angle)
	// Into the middle of a spectrum twice as wide.
	clear(c.fine)
	for k, v := range c.x {
		at, signed := k, k
		if k >= (n+1)/2 {
			at, signed = k+n, k-n
		}
		nu := float64(signed) / float64(2*n)
		h := c.network.at(centre + float64(signed)/float64(n)*rate)
		if !math.IsNaN(s.breaks) {
			// What the trapezoidal rule leaves at the break: h²/12·d/dt(z·exp(-jωt)), the step of it.
			at := 2 * math.Pi * float64(signed) / float64(n)
			v += cmplx.Rect(1./12, -at*math.Round((s.breaks-begin)*rate)) * (slope/complex(rate, 0) - complex(0, at)*value)
			// The tail of a break does not end within the band: cut softly, what is lost does not ring.
			h *= complex(smoothStep(5*(1-4*math.Abs(nu))-0.5), 0)
		}
		c.fine[at] = v * h * complex(1/(float64(n)*kernelSpectrum(nu)), 0)
	}
	c.plan(2*n).Sequence(c.fine, c.fine)
	return rung{begin: begin, rate: 2 * rate, centre: centre, ring: c.fine}
}

// broken is by how much the mixed-down drive's slope and value step up at a break, in V/s and V. angle is its phase
// there.
func (c *convolver) broken(s segment, centre, angle float64) (slope, value complex128) {
	d := c.drive
	if math.IsNaN(s.breaks) || s.breaks <= 0 || d.After == Hold {
		return 0, 0
	}
	z := cmplx.Rect(d.Amplitude, angle)
	left := complex(0, 2*math.Pi*(d.Law.To-centre)) * z
	if d.After == Silence {
		return -left, -z
	}
	return complex(0, 2*math.Pi*(d.Law.From-centre))*z - left, 0
}

func (c *convolver) plan(n int) *fourier.CmplxFFT {
	p, ok := c.plans[n]
	if !ok {
		p = fourier.NewCmplxFFT(n)
		c.plans[n] = p
	}
	return p
}

// transformSize is the next size of the forms 2^k, 3·2^k and 5·2^k, which transform fast.
func transformSize(n int) int {
	best := 1
	for best < n {
		best *= 2
	}
	for _, odd := range []int{3, 5} {
		size := odd
		for size < n {
			size *= 2
		}
		best = min(best, size)
	}
	return best
}

func resized(x []complex128, n int) []complex128 {
	if cap(x) < n {
		return make([]complex128, n)
	}
	return x[:n]
}
