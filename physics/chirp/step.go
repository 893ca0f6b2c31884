package chirp

import "sync"

// stepBeta sets how fast the spectrum of a smooth step falls: to exp(-β) at β/π over its width.
const stepBeta = 25.0

// stepSkirt is that frequency times the width of the step: beyond it the step has no spectrum that counts (1e-11).
const stepSkirt = 8.0

const stepNodes = 1024

// steps are the running integral of the Kaiser-Bessel window at nodes, and the window itself.
type steps struct{ value, slope [stepNodes + 1]float64 }

var stepTable = sync.OnceValue(func() *steps {
	t := &steps{}
	at := func(i int) float64 { return float64(i)/stepNodes - 1 } // the left half of the window
	// Three-point Gauss quadrature within each interval; its error is of sixth order.
	const g = 0.7745966692414834
	h := 1.0 / stepNodes
	for i := range stepNodes {
		mid := at(i) + h/2
		piece := h / 18 * (5*kaiser(mid-g*h/2, stepBeta) + 8*kaiser(mid, stepBeta) + 5*kaiser(mid+g*h/2, stepBeta))
		t.value[i+1] = t.value[i] + piece
	}
	whole := 2 * t.value[stepNodes]
	for i := range t.value {
		t.value[i] /= whole
		t.slope[i] = kaiser(at(i), stepBeta) / whole
	}
	return t
})

// smoothStep rises from 0 at x = -1/2 to 1 at x = 1/2 as the integral of a Kaiser-Bessel window. smoothStep(x) +
// smoothStep(-x) is 1 exactly, and windows made as differences of steps add up to 1 exactly whatever the steps.
func smoothStep(x float64) float64 {
	switch {
	case x <= -0.5:
		return 0
	case x >= 0.5:
		return 1
	case x > 0:
		return 1 - smoothStep(-x)
	}
	t := stepTable()
	// Cubic Hermite interpolation from value and slope: error h⁴/384 times the third derivative of the window, 1e-12.
	u := (2*x + 1) * stepNodes
	i := min(int(u), stepNodes-1)
	u -= float64(i)
	h := 1.0 / stepNodes
	return t.value[i]*(1+2*u)*(1-u)*(1-u) + t.value[i+1]*u*u*(3-2*u) +
		h*u*(1-u)*(t.slope[i]*(1-u)-t.slope[i+1]*u)
}
