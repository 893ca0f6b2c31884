package chirp

import (
	"math"
	"slices"
)

// QuantisationError bounds by how much the amplitude of a carrier is off for the steps of a converter, in V, where the samples had
// noise of that rms before it: half a step of noise or more takes the steps out.
//
// A rounder to steps of q adds Σ (-1)^k·q/(πk)·sin(2πkx/q) to x; of A·cos φ that has the amplitude 2q/(πk)·J1(2πkA/q) at
// the carrier, noise of the rms σ damps it by exp(-2π²k²σ²/q²), and a direct voltage turns its sign and size (B. Widrow and
// I. Kollár, Quantization Noise, Cambridge 2008, chapters 9 and 19; from memory).
func QuantisationError(amplitude, step, noise float64) float64 {
	if !(step > 0) {
		return 0
	}
	sum := 0.0
	for k := 1.0; k <= 3; k++ {
		x := 2 * math.Pi * k * amplitude / step
		// The envelope of J1: its beginning, its top, its tail.
		bessel := min(x/2, 0.5819, math.Sqrt(2/(math.Pi*x)))
		each := 2 * step / (math.Pi * k) * bessel * QuantisationDamping(step, k*noise)
		sum += each * each
	}
	return math.Sqrt(sum)
}

// QuantisationDamping is the part of the error by steps that noise of that rms leaves.
func QuantisationDamping(step, noise float64) float64 {
	return math.Exp(-2 * math.Pi * math.Pi * noise * noise / (step * step))
}

// leastRecurring is how many times a level must recur on the average for the samples to be steps, and mostLevels how many levels a
// converter has at most.
const (
	leastRecurring = 4
	mostLevels     = 1 << 16
)

// Step is the step of the converter, or of the digits, that the samples were taken with: the smallest difference between two of
// their levels, of which all the others are multiples; 0 where the samples are not in steps.
func Step(samples []float64) float64 {
	seen := map[float64]struct{}{}
	for _, v := range samples {
		seen[v] = struct{}{}
		if len(seen) > mostLevels || len(seen) > 64 && len(seen)*leastRecurring > len(samples) {
			return 0
		}
	}
	if len(seen)*leastRecurring > len(samples) {
		return 0
	}
	levels := make([]float64, 0, len(seen))
	for v := range seen {
		levels = append(levels, v)
	}
	slices.Sort(levels)
	step := math.Inf(1)
	for i := 1; i < len(levels); i++ {
		step = min(step, levels[i]-levels[i-1])
	}
	if len(levels) < 3 {
		return 0 // a constant, or a logic line
	}
	// Levels are printed with so many digits; the mean of the single steps is closer than any of them.
	sum, count := 0.0, 0.0
	for i := 1; i < len(levels); i++ {
		n := math.Round((levels[i] - levels[i-1]) / step)
		if math.Abs(levels[i]-levels[i-1]-n*step) > 0.2*n*step {
			return 0
		}
		sum, count = sum+levels[i]-levels[i-1], count+n
	}
	return sum / count
}
