package identify

import (
	"math"
	"slices"
)

// The noise of a trace at a level is √(floor² + (part·level)²) in the trace's own unit: an instrument adds some of its own, and
// its gain is never quite the same. Which of the two rules is found from the residuals.

// ratios are the floors that are tried, as parts of the noise at the highest level.
var ratios = []float64{0, 1e-3, 3e-3, 1e-2, 3e-2, 0.1, 0.3, 1, math.Inf(1)}

// leastNoise bounds the noise from below, as part of the highest level: numbers in a file are rounded.
const leastNoise = 1e-7

// shapeOf finds the floor, as a part of what grows with the level, under which residuals of some traces are the most likely
// (normal, with a robust scale). levels has those of each residual.
func shapeOf(residuals, levels [][]float64) float64 {
	top := 0.0
	for _, l := range levels {
		for _, x := range l {
			top = max(top, math.Abs(x))
		}
	}
	best, most := math.Inf(1), math.Inf(-1)
	for _, ratio := range ratios {
		var scaled []float64
		sum := 0.0
		for i := range residuals {
			for k, r := range residuals[i] {
				w := weightOf(ratio, levels[i][k], top)
				if w == 0 {
					continue
				}
				scaled = append(scaled, r/w)
				sum += math.Log(w)
			}
		}
		scale := spread(scaled)
		if scale == 0 {
			continue
		}
		likely := -sum - float64(len(scaled))*math.Log(scale)
		for _, x := range scaled {
			z := x / scale
			likely -= min(z*z, 9) / 2 // a bad point decides nothing
		}
		if likely > most {
			best, most = ratio, likely
		}
	}
	return best
}

// weightOf is the noise at a level up to a factor; top is the highest level.
func weightOf(ratio, level, top float64) float64 {
	if math.IsInf(ratio, 1) {
		return 1
	}
	return math.Hypot(ratio*top, level)
}

// spread is the standard deviation of what most of some numbers about zero look like: 1.4826 times the median magnitude, as
// for normal numbers (F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383, from memory).
func spread(x []float64) float64 {
	magnitudes := make([]float64, len(x))
	for i, v := range x {
		magnitudes[i] = math.Abs(v)
	}
	return 1.4826 * median(magnitudes)
}

// shrink is how many points each trace's own noise is weighed against that of all.
const shrink = 60

// setNoise gives every point its standard deviation from residuals of all traces in their own units. Traces whose noise the
// file of measurements gives keep that.
// Where few points are left over beside the values, what neighbours do not share counts for more: residuals say little then.
func (s *system) setNoise(residuals [][]float64, freedom float64) {
	s.named()
	for _, kind := range []shape{amplitude, decibel, scattering} {
		var group []int
		for i, m := range s.models {
			if m.kind == kind && m.measured.Noise == 0 {
				group = append(group, i)
			}
		}
		if len(group) == 0 {
			continue
		}
		// Traces with and without reference are in different units; each is measured by its own highest level.
		var r, l [][]float64
		for _, i := range group {
			top := highest(s.models[i].levels)
			r, l = append(r, scaledBy(residuals[i], 1/top)), append(l, scaledBy(s.models[i].levels, 1/top))
		}
		ratio := shapeOf(r, l)
		var all []float64
		own := make([][]float64, len(group))
		for j := range group {
			for k := range r[j] {
				if w := weightOf(ratio, l[j][k], 1); w > 0 {
					own[j] = append(own[j], r[j][k]/w)
				}
			}
			all = append(all, own[j]...)
		}
		common := spread(all)
		for j, i := range group {
			n := float64(len(own[j]))
			mine := spread(own[j])
			scale := math.Sqrt((shrink*common*common+n*mine*mine)/(shrink+n)) * freedom
			top := highest(s.models[i].levels)
			for k := range s.sigma[i] {
				learnt := scale * weightOf(ratio, l[j][k], 1)
				if s.rough != nil {
					before := s.rough[i][k] / top
					learnt = math.Sqrt((trust*before*before + s.left*learnt*learnt) / (trust + s.left))
				}
				s.sigma[i][k] = top * max(leastNoise, learnt)
			}
		}
	}
}

func scaledBy(x []float64, factor float64) []float64 {
	out := slices.Clone(x)
	for i := range out {
		out[i] *= factor
	}
	return out
}

func highest(x []float64) float64 {
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	return top
}

// named gives the points of traces whose noise the file of measurements names that noise.
func (s *system) named() {
	for i, m := range s.models {
		if m.measured.Noise == 0 {
			continue
		}
		for k := range s.sigma[i] {
			switch m.kind {
			case amplitude:
				s.sigma[i][k] = max(m.measured.Noise*m.levels[k], leastNoise*highest(m.levels))
			case decibel:
				s.sigma[i][k] = m.measured.Noise * decibelsPerNeper
			default:
				s.sigma[i][k] = m.measured.Noise
			}
		}
	}
}

// firstNoise gives every point its standard deviation before anything is fitted: from the file of measurements, or from what
// is not common to neighbours.
func (s *system) firstNoise() {
	s.sigma = make([][]float64, len(s.models))
	residuals := make([][]float64, len(s.models))
	for i, m := range s.models {
		s.sigma[i] = make([]float64, len(m.data))
		residuals[i] = m.roughness()
	}
	s.setNoise(residuals, 1)
	s.rough, s.left = clone2(s.sigma), float64(max(0, s.total-s.free()))
}

// roughness is the standard deviation of every point by its trace's roughness, as the models' levels are now.
func (s *system) roughness() [][]float64 {
	plain := &system{models: s.models}
	plain.firstNoise()
	return plain.sigma
}

// roughness is what of each point its neighbours do not share: the fourth difference over √70, to which white noise
// contributes its own standard deviation and any cubic nothing. The ends have that of their neighbours. Traces too short for
// it are taken to be good to 1 %.
func (x *model) roughness() []float64 {
	out := make([]float64, len(x.data))
	per := len(x.data) / len(x.f)
	if len(x.f) < 12 {
		top := highest(x.levels)
		for k := range out {
			out[k] = 0.01 * top
		}
		return out
	}
	n := len(x.f)
	for c := range per {
		at := func(i int) float64 { return x.data[i*per+c] }
		for i := 2; i+2 < n; i++ {
			out[i*per+c] = (at(i-2) - 4*at(i-1) + 6*at(i) - 4*at(i+1) + at(i+2)) / math.Sqrt(70)
		}
		for _, e := range [][2]int{{0, 2}, {1, 2}, {n - 1, n - 3}, {n - 2, n - 3}} {
			out[e[0]*per+c] = out[e[1]*per+c]
		}
	}
	return out
}
