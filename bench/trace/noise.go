package trace

import (
	"math"
	"slices"
)

// noise estimates the rms of what is not common to neighbours: the median magnitude of the fourth difference, which takes
// any cubic away and to which white noise contributes √70 of its rms; 1.4826 makes a normal rms of a median magnitude
// (F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383, from memory). Zero for fewer than 16 points.
func noise(level []float64) float64 {
	if len(level) < 16 {
		return 0
	}
	var differences []float64
	for i := 2; i+2 < len(level); i++ {
		differences = append(differences, math.Abs(level[i-2]-4*level[i-1]+6*level[i]-4*level[i+1]+level[i+2]))
	}
	slices.Sort(differences)
	return 1.4826 * differences[len(differences)/2] / math.Sqrt(70)
}
