// Package network analyses small linear networks at one frequency at a time.
//
// A Circuit is a list of elements between named nodes. Every element is one or more branches, tied by as many
// linear equations
//
//	B(ω)·(v − e) = A(ω)·i
//
// with v the branch voltages, i the branch currents (from a branch's first node to its second) and e an emf that
// a caller may put in series with a branch. A coil is B = 1, A = R + jωL; a capacitor with series resistance is
// B = jωC, A = 1 + jωCR; an open contact is B = 0, A = 1 and a closed one B = 1, A = 0: no element needs a
// special case, and none ever needs the inverse of a matrix.
//
// The unknowns are the node voltages and, for elements whose admittance may be large (coils, windings, lines,
// contacts, small resistances), the branch currents too. Stamping those as admittances instead would lose three to
// six digits before any solve. Currents are scaled by a reference impedance, and rows by their largest entry where pivots
// are chosen, so that numbers of like size are compared.
//
// Units are SI base units throughout: hertz, ohm, henry, farad, volt, ampere, watt; angular frequency ω in rad/s.
// Amplitudes are rms. The package knows no files, no prefixes and no knobs.
//
// What it will not do: nonlinear or time-varying elements, noise, transients.
//
// Source of the formulation: modified nodal analysis, C.-W. Ho, A. E. Ruehli, P. A. Brennan, "The modified nodal
// approach to network analysis", IEEE Trans. Circuits and Systems CAS-22 (1975) 504-509; adjoint sensitivities:
// S. W. Director, R. A. Rohrer, "The generalized adjoint network and network sensitivities", IEEE Trans. Circuit
// Theory CT-16 (1969) 318-323 (both from memory).
package network
