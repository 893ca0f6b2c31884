package coil

import (
	"math"

	"knobwise/physics/constant"
)

// CurrentSheet returns the inductance in henry of a coil taken as a cylindrical current sheet,
//
//	L = μ0 π (D/2)² N²/l · K(D/l),
//
// with Nagaoka's coefficient K (Lorenz 1879; Nagaoka 1909). Turns need not be whole. Diameter and length
// (turns times pitch) are in metres. It is NaN unless turns, diameter and length are all positive.
func CurrentSheet(turns, diameter, length float64) float64 {
	if !(turns > 0 && diameter > 0 && length > 0) {
		return math.NaN()
	}
	return sheetScale(turns/length, diameter) * length * Nagaoka(diameter/length)
}

// sheetScale is μ0 π (D/2)² n², the inductance of one metre of an endless sheet of n turns per metre, H/m.
func sheetScale(turnsPerMetre, diameter float64) float64 {
	r := diameter / 2 * turnsPerMetre
	return constant.VacuumPermeability * math.Pi * r * r
}

// RoundWire returns the low-frequency inductance in henry of a coil of round wire: the current sheet less Rosa's
// correction μ0 (D/2) N (A+B) (E. B. Rosa, Bull. Bureau of Standards 2 (1906) 161-187). Diameter, length (turns
// times pitch) and the bare wire's diameter are in metres.
//
// The current fills the wire evenly; at radio frequency it crowds to the surface and the inductance is 0.3 % to
// 4 % lower. It is NaN unless all four arguments are positive.
func RoundWire(turns, diameter, length, wire float64) float64 {
	if !(wire > 0) {
		return math.NaN()
	}
	correction := constant.VacuumPermeability * diameter / 2 * turns * (RosaA(wire*turns/length) + RosaB(turns))
	return CurrentSheet(turns, diameter, length) - correction
}
