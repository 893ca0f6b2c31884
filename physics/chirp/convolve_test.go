package chirp

import (
	"context"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// However little room for its ring a segment is first given, it ends with enough: the response is that with plenty.
func TestRoomForTheRing(t *testing.T) {
	m := resonator(90e3, 1e3)
	tb := &table{transfer: m.at}
	err := tb.build(context.Background(), tableRange{
		hi: 300e3, bandLo: 50e3, bandHi: 150e3, highest: 1e9,
		smooth: 3e3, from: 50e3, to: 150e3, tolerance: 1e-10,
	})
	if err != nil {
		t.Fatal(err)
	}
	c := &convolver{drive: anyDrive, network: tb, tolerance: 1e-8, plans: map[int]*fourier.CmplxFFT{}}
	y := &layout{drive: anyDrive, ring: tb.ring, lastTime: 0.01, breakTo: 1e-8}
	compared := 0
	for _, s := range y.segments() {
		sample := func(pad float64) (values []complex128) {
			r, needed, err := c.pass(s, pad)
			if err != nil {
				t.Fatal(err)
			}
			if needed < pad {
				t.Errorf("room of %g s was asked, %g given", pad, needed)
			}
			for k := range 200 {
				at := s.begin() + float64(k)*2e-5
				v := interpolate(r.ring, (at-r.begin)*r.rate, kernelPieces())
				if at > r.end() {
					v = 0
				}
				values = append(values, v*cmplx.Rect(1, 6.283185307179586*fraction(r.centre*(at-r.begin))))
			}
			return values
		}
		short, long := sample(0), sample(20e-3)
		for k := range short {
			compared++
			if off := cmplx.Abs(short[k] - long[k]); !(off < 1e-7) {
				t.Fatalf("segment at %g s, sample %d: off by %.2g", s.from, k, off)
			}
		}
	}
	if compared < 1000 {
		t.Errorf("%d samples compared", compared)
	}
}
