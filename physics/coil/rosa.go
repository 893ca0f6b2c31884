package coil

import "math"

// RosaA returns Rosa's correction A for the self-inductance of a turn of round wire against a strip as wide as the
// pitch, A = 5/4 - ln(2p/d) (Rosa 1906, eq. 26; also called G); dimensionless. The argument is wire diameter over
// pitch, above 0 and up to 1. A is 0.557 for a close winding, zero at 0.573 and negative for wider spacing, so a
// spaced coil has more inductance than its current sheet. It is NaN for an argument that is not positive.
func RosaA(wireOverPitch float64) float64 {
	if !(wireOverPitch > 0) {
		return math.NaN()
	}
	return 1.25 - math.Ln2 + math.Log(wireOverPitch)
}

// RosaB returns Rosa's correction B for the mutual inductances of the turns (Rosa 1906, eq. 27; also called H);
// dimensionless, 0 for one turn, rising towards ln 2π - 3/2 = 0.3379 for many. It is 0 below one turn, where there
// is nothing to correct, and NaN for a NaN or negative argument.
//
// Rosa's sum, with the geometric mean distance g of two unit strips n apart,
//
//	B = (2/N) Σ (N-n)(ln n - ln g(n)), n = 1..N-1,
//	ln g(n) = ½(n+1)² ln(n+1) + ½(n-1)² ln(n-1) - n² ln n - 3/2,
//
// has a closed form. With f(n) = ½n² ln n, ln g(n) is the second difference of f less 3/2, which sums by parts to
// f(N); and Σ (N-n) ln n = ln(1!·2!···(N-1)!) = ln G(N+1), Barnes' G-function. So
//
//	B = (2/N) [ ¾N(N-1) + ln G(N+1) - ½N² ln N ],
//
// the same number for every whole N, smooth in between (so a coil of 26.1 turns needs no interpolation), and no
// slower for a million turns.
func RosaB(turns float64) float64 {
	switch {
	case math.IsNaN(turns) || turns < 0:
		return math.NaN()
	case turns <= 1:
		return 0
	case turns >= barnesFrom:
		return rosaBMany(turns)
	}
	// G(z+1) = Γ(z) G(z) (DLMF 5.17.1) leads up to where the asymptotic series holds.
	n := turns
	lnG := 0.0
	for n < barnesFrom {
		n++
		lnGamma, _ := math.Lgamma(n)
		lnG -= lnGamma
	}
	lnG += n/2*rosaBMany(n) - 0.75*n*(n-1) + 0.5*n*n*math.Log(n)
	return 2 / turns * (0.75*turns*(turns-1) + lnG - 0.5*turns*turns*math.Log(turns))
}

// barnesFrom is the argument from which the first five terms of Barnes' series are good to 1e-15.
const barnesFrom = 12

// rosaBMany is RosaB from the asymptotic series of ln G(N+1) (DLMF 5.17.5 with Stirling's series 5.11.1; with
// Bernoulli numbers b and ζ'(-1) = 1/12 - ln A, A being Glaisher's constant, DLMF 5.17.6):
//
//	ln G(N+1) = ½N² ln N - ¾N² + ½N ln 2π - (1/12) ln N + ζ'(-1) + Σ b(2k+2)/(4k(k+1) N^2k), k = 1, 2, …
//
// The terms in N² cancel against Rosa's by algebra, before any rounding.
func rosaBMany(n float64) float64 {
	const zetaPrime = -0.16542114370045092921
	if math.IsInf(n, 1) {
		return math.Log(2*math.Pi) - 1.5
	}
	u := 1 / (n * n)
	series := u * (-1.0/240 + u*(1.0/1008+u*(-1.0/1440+u*(1.0/1056-u*691.0/327600))))
	return math.Log(2*math.Pi) - 1.5 - math.Log(n)/(6*n) + 2/n*(zetaPrime+series)
}
