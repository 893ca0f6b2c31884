package coil

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// MaxSections is the largest number of sections a Solenoid may have: far above any coil a switch can tap, and small
// enough that a mistaken file costs no more than a moment.
const MaxSections = 256

// A Solenoid is one single-layer winding of uniform pitch, divided into sections by its taps.
type Solenoid struct {
	Diameter float64   // wire centre to wire centre, m; 1 nm to 1000 km
	Length   float64   // all turns times pitch, m; 1 nm to 1000 km
	Wire     float64   // diameter of the bare wire, m; 1 nm to 1000 km, less than Diameter
	Turns    []float64 // of each section in winding order; 0.001 to 1 million each, need not be whole
}

// These bounds keep every inductance finite and its digits worth something; no real coil comes near them.
const (
	minDimension, maxDimension = 1e-9, 1e6
	minTurns, maxTurns         = 1e-3, 1e6
)

// Validate returns a *FieldError, *FitError or *SectionCountError for a winding that cannot exist, else nil.
func (s Solenoid) Validate() error {
	for _, d := range []struct {
		field string
		value float64
		want  string
	}{
		{"diameter", s.Diameter, "a length from 1 nm to 1000 km, as in 32 mm"},
		{"length", s.Length, "a length from 1 nm to 1000 km, as in 40 mm"},
		{"wire", s.Wire, "a wire diameter from 1 nm to 1000 km, as in 0.5 mm"},
	} {
		if !(d.value >= minDimension && d.value <= maxDimension) { // NaN fails too
			return &FieldError{Field: d.field, Value: d.value, Unit: "m", Want: d.want}
		}
	}
	if len(s.Turns) == 0 || len(s.Turns) > MaxSections {
		return &SectionCountError{Count: len(s.Turns)}
	}
	for i, n := range s.Turns {
		if !(n >= minTurns && n <= maxTurns) {
			return &FieldError{Field: fmt.Sprintf("turns of section %d", i+1), Value: n, Want: "a number of turns from 0.001 to 1 million, as in 8"}
		}
	}
	if s.Wire >= s.Diameter {
		return &FieldError{
			Field: "wire", Value: s.Wire, Unit: "m",
			Want: fmt.Sprintf("a wire thinner than the coil's diameter of %s", millimetres(s.Diameter)),
		}
	}
	turns := s.TotalTurns()
	if turns*s.Wire > s.Length*(1+1e-9) { // a close winding fits, whatever the rounding
		return &FitError{Turns: turns, Wire: s.Wire, Length: s.Length}
	}
	return nil
}

// TotalTurns returns the turns of all sections together.
func (s Solenoid) TotalTurns() float64 {
	total := 0.0
	for _, n := range s.Turns {
		total += n
	}
	return total
}

// Sections returns the inductance matrix of the sections in henry, n x n for n sections: self-inductances on the
// diagonal, mutual inductances (all positive: one winding sense) beside it. It is symmetric and positive definite.
// The error is that of Validate.
//
// Each section is a current sheet, and so is each run of neighbouring sections. The run i..j has
// L(i..j) = the sum of the entries of its block, which holds for every run exactly when
//
//	M(i,j) = ½ [ L(i..j) - L(i..j-1) - L(i+1..j) + L(i+1..j-1) ],   the last term 0 for j = i+1,
//
// (for two sections, the classic L = La + Lb + 2M). The sum of all entries is the current-sheet inductance of the
// whole coil. Computed so, a mutual inductance is off by less than 1e-14 of the whole coil's inductance.
//
// Rosa's round-wire correction is left out. Its term A grows with the turns and so cancels out of a mutual
// inductance; what B leaves is small: -0.4 % of M between 10 and 20 turns of the coil T046 in
// tapped_variable_cap.csv, against -2.9 % of the 10 turns themselves. A whole coil it would change by -2.7 % to
// +7.7 % over the benchmark coils B01 to B12 of single_layer_coil_examples.csv (-0.8 % to -2.7 % where the wire
// fills half the pitch or more; +7.7 % for 12 turns of 2 mm wire spaced over 100 mm). Where that matters measure
// the whole coil, or take RoundWire, and use Scale.
func (s Solenoid) Sections() (*mat.SymDense, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	n := len(s.Turns)
	perMetre := s.TotalTurns() / s.Length
	scale := sheetScale(perMetre, s.Diameter)
	sections := mat.NewSymDense(n, nil)
	for i := range n {
		first := s.Turns[i] / perMetre
		sections.SetSym(i, i, CurrentSheet(s.Turns[i], s.Diameter, first))
		between := 0.0
		for j := i + 1; j < n; j++ {
			last := s.Turns[j] / perMetre
			// Any function linear in the length may be added to the reduced inductance here without changing M;
			// of two such forms take the one with the smaller terms, which loses fewer digits.
			reduced := endEffect
			if first+between+last < s.Diameter/2 {
				reduced = flatSheet
			}
			m := reduced(s.Diameter, first+between+last) - reduced(s.Diameter, first+between) -
				reduced(s.Diameter, between+last) + reduced(s.Diameter, between)
			sections.SetSym(i, j, scale*m/2)
			between += last
		}
	}
	return sections, nil
}

// flatSheet returns a sheet's inductance over μ0 π (D/2)² n², l K(D/l), in metres.
func flatSheet(diameter, length float64) float64 {
	if length == 0 {
		return 0
	}
	return length * Nagaoka(diameter/length)
}

// endEffect returns flatSheet less its part linear in the length, l(K(D/l)-1) + 4D/(3π), in metres. It falls to
// nothing for long coils, where flatSheet grows, and so keeps the digits of distant sections.
//
// For slender coils it is itself a small difference, and comes from K = 2F1(-½,½;2;-x²) - 4x/(3π), x = D/l
// (Lorenz's formula in another form), as l(2F1-1): D²/(8l) - D⁴/(64l³) + …
func endEffect(diameter, length float64) float64 {
	const offset = 4 / (3 * math.Pi)
	if length == 0 {
		return offset * diameter
	}
	x := diameter / length
	if x > 0.5 {
		return length*(Nagaoka(x)-1) + offset*diameter
	}
	sum, term := 0.0, 1.0
	for m := 0.0; math.Abs(term) > 1e-18*math.Abs(sum); m++ {
		term *= (m - 0.5) * (m + 0.5) / ((m + 2) * (m + 1)) * -x * x
		sum += term
	}
	return length * sum
}

// Scale returns the matrix multiplied so that its entries total the inductance whole, in henry: for a coil whose
// inductance was measured and whose form gives the shape only. Couplings stay as they are; the argument is not
// changed. The error is a *ScaleError where whole, or the total as it stands, is not positive and finite.
func Scale(sections mat.Symmetric, whole float64) (*mat.SymDense, error) {
	total := mat.Sum(sections)
	factor := whole / total
	if !(whole > 0 && total > 0 && factor > 0) || math.IsInf(whole, 0) || math.IsInf(factor, 0) {
		return nil, &ScaleError{Whole: whole, Total: total}
	}
	scaled := mat.NewSymDense(sections.SymmetricDim(), nil)
	scaled.ScaleSym(factor, sections)
	return scaled, nil
}
