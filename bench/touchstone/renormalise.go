package touchstone

import (
	"fmt"
	"math"
)

// Renormalise returns d as scattering parameters at one reference in ohm for all ports.
//
// With v = √R·(a+b) and i = (a-b)/√R at each port, the waves at another reference R' are a' = D·(a - Γb) and b' = D·(b - Γa),
// where Γ = (R'-R)/(R'+R) and D = (R'+R)/(2√(R'R)) are diagonal, so that S' = D·(S-Γ)·(1-ΓS)⁻¹·D⁻¹ (K. Kurokawa, IEEE Trans.
// MTT-13 (1965) 194-202, for real references; from memory). It fails where d does not pass Check, where the reference is none, and
// where S' has no finite value.
func (d *Data) Renormalise(reference float64) (*Data, error) {
	if !(reference > 0) || math.IsInf(reference, 1) {
		return nil, fmt.Errorf("touchstone data %q: reference %v ohm; use a positive resistance", d.File, reference)
	}
	s, err := d.ToS()
	if err != nil {
		return nil, err
	}
	for i, row := range s.Values {
		if !renormaliseRow(s.Reference, reference, row) {
			return nil, fmt.Errorf("touchstone data %q: S at %s has no finite value at %v ohm; use another reference", d.File, inHertz(d.Frequencies[i]), reference)
		}
	}
	for j := range s.Reference {
		s.Reference[j] = reference
	}
	return s, nil
}

// renormaliseRow takes one matrix to another reference in place and reports whether that was possible.
func renormaliseRow(from []float64, to float64, m []complex128) bool {
	n := len(from)
	var gamma, weight [2]float64
	same := true
	for j, r := range from {
		gamma[j], weight[j] = (to-r)/(to+r), (to+r)/(2*math.Sqrt(to)*math.Sqrt(r))
		same = same && r == to
	}
	if same {
		return true
	}
	// X·(1-ΓS) = S-Γ, solved transposed.
	var left, right [4]complex128
	for j := range n {
		for k := range n {
			left[k*n+j], right[k*n+j] = -complex(gamma[j], 0)*m[j*n+k], m[j*n+k]
			if j == k {
				left[k*n+j]++
				right[k*n+j] -= complex(gamma[j], 0)
			}
		}
	}
	if !solve(n, &left, &right) {
		return false
	}
	for j := range n {
		for k := range n {
			m[j*n+k] = right[k*n+j] * complex(weight[j]/weight[k], 0)
			if !finite(m[j*n+k]) {
				return false
			}
		}
	}
	return true
}
