package coil

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"

	"knobwise/physics/constant"
)

// ringMutual is the mutual inductance of two equal coaxial rings of the given radius, distance apart
// (Maxwell, Treatise, art. 701): M = μ0 R [ (2/k - k) K - (2/k) E ], k² = 4R²/(4R²+s²). It shares no formula with
// the package: no current sheet, no Nagaoka. With E = K - k²D it reads μ0 R k (2D - K), which holds its digits for
// distant rings; the complementary modulus holds them for near ones.
func ringMutual(radius, distance float64) float64 {
	all := 4*radius*radius + distance*distance
	kc2 := distance * distance / all
	k := 2 * radius / math.Sqrt(all)
	return constant.VacuumPermeability * radius * k * (2*mathext.EllipticRD(0, kc2, 1)/3 - mathext.EllipticRF(0, kc2, 1))
}

// ringSelf is the low-frequency inductance of one ring of round wire, radius a much below R: μ0 R (ln(8R/a) - 7/4).
func ringSelf(radius, wire float64) float64 {
	return constant.VacuumPermeability * radius * (math.Log(8*radius/(wire/2)) - 1.75)
}

// ringCoil is the inductance of a coil taken as separate rings, turn by turn.
func ringCoil(turns int, diameter, pitch, wire float64) float64 {
	sum := float64(turns) * ringSelf(diameter/2, wire)
	for n := 1; n < turns; n++ {
		sum += 2 * float64(turns-n) * ringMutual(diameter/2, float64(n)*pitch)
	}
	return sum
}

// sheetsMutual is the mutual inductance of two coaxial current sheets of the same diameter, of lengths p and r with
// a gap between them: ringMutual integrated over both, n rings per metre. The two integrals collapse into one over
// the distance s, weighted by the length over which that distance occurs (a trapezium).
func sheetsMutual(perMetre, diameter, p, gap, r float64) float64 {
	short, long := min(p, r), max(p, r)
	integral := func(from, to float64, weight func(float64) float64) float64 {
		if to <= from {
			return 0
		}
		// s = from + (to-from)t⁴ tames the logarithm where the sheets touch.
		return quad.Fixed(func(t float64) float64 {
			s := from + (to-from)*t*t*t*t
			return weight(s) * ringMutual(diameter/2, gap+s) * (to - from) * 4 * t * t * t
		}, 0, 1, 200, quad.Legendre{}, 0)
	}
	return perMetre * perMetre * (integral(0, short, func(s float64) float64 { return s }) +
		integral(short, long, func(float64) float64 { return short }) +
		integral(long, short+long, func(s float64) float64 { return short + long - s }))
}
