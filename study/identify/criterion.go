package identify

import "math"

// Criterion is the corrected information criterion of the fit (H. Akaike 1974; N. Sugiura, Commun. Stat. A7 (1978) 13; C. M. Hurvich
// and C.-L. Tsai, Biometrika 76 (1989) 297; from memory): smaller is better, and half the difference of two is the logarithm of
// how much better. The noise is an unknown
// factor of the traces' roughness, found with the rest; what the dials had to move counts against a circuit.
func (r *Result) Criterion() float64 {
	st := r.state
	s := st.system
	rough := s.roughness()
	var all []float64
	for i, left := range s.residuals(st.res.Residuals) {
		for k, x := range left {
			all = append(all, x/rough[i][k])
		}
	}
	n := float64(len(all))
	likely := heavyTailed(all)
	for j, d := range s.dials {
		k := &s.models[d.model].knobs[d.knob]
		if math.IsInf(k.sd, 1) {
			continue
		}
		off := (st.res.P[len(s.vars)+j] - k.reading) / k.sd
		likely -= off*off/2 + math.Log(k.sd/(k.top-k.low))
	}
	parameters := float64(s.free() + 1)
	return -2*likely + 2*parameters + 2*parameters*(parameters+1)/max(n-parameters-1, 1)
}

// tail is the number of degrees of freedom of the distribution that the differences are held against: a bad point costs its logarithm.
const tail = 5.0

// heavyTailed is the highest logarithm of the likelihood of some numbers about zero under Student's distribution, over its scale.
func heavyTailed(x []float64) float64 {
	at := func(scale float64) float64 {
		sum := 0.0
		for _, v := range x {
			z := v / scale
			sum -= (tail + 1) / 2 * math.Log1p(z*z/tail)
		}
		return sum - float64(len(x))*math.Log(scale)
	}
	scale := max(spread(x), 1e-9)
	// One maximum over the scale; its logarithm is cut by the golden section.
	low, high := math.Log(scale/10), math.Log(scale*10)
	const golden = 0.6180339887498949
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := at(math.Exp(a)), at(math.Exp(b))
	for range 40 {
		if fa > fb {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = at(math.Exp(a))
		} else {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = at(math.Exp(b))
		}
	}
	return max(fa, fb)
}
