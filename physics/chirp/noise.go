package chirp

import (
	"math"
	"slices"
)

// stride is how many points apart those are that count as independent.
func stride(window, spacing float64) int { return max(1, int(math.Ceil(1.2*window/spacing))) }

// noise is a robust estimate of the rms of the independent error of each point, from every step-th one: the residual
// against the cubic through the two neighbours on either side, y0 - (4(y1 + y-1) - (y2 + y-2))/6, whose variance is
// 1 + 34/36 times that of white noise; its median magnitude is 0.6745 of its rms if it is normal.
func noise(y []float64, step int) float64 {
	var left []float64
	for i := 2 * step; i+2*step < len(y); i++ {
		left = append(left, math.Abs(y[i]-(4*(y[i+step]+y[i-step])-y[i+2*step]-y[i-2*step])/6))
	}
	if len(left) < 12*step {
		return 0
	}
	slices.Sort(left)
	return 1.4826 * left[len(left)/2] / math.Sqrt(1+34./36)
}
