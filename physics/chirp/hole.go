package chirp

// Hole is a stretch of a record that has no samples: those from First to before Behind. What stands at them does not count.
type Hole struct{ First, Behind int }

// mostMissing is the part of a window that may be missing for its fit to count: a single lost sample costs nothing.
const mostMissing = 1. / 8

// missing is the time in s without samples between two times.
func (r *Reading) missing(s Sampling, from, to float64) float64 {
	sum := 0.0
	for _, h := range r.Holes {
		// The samples on either side are there.
		sum += max(0, min(to, s.Time(h.Behind))-max(from, s.Time(h.First-1))-s.Interval)
	}
	return sum
}

// inHole reports whether samples are missing within a reach of a time, both in s.
func (r *Reading) inHole(s Sampling, t, reach float64) bool {
	for _, h := range r.Holes {
		if t+reach > s.Time(h.First-1) && t-reach < s.Time(h.Behind) {
			return true
		}
	}
	return false
}

// present calls for every sample from a to before b that is there.
func (r *Reading) present(a, b int, each func(i int)) {
	for _, h := range r.Holes {
		for i := a; i < min(h.First, b); i++ {
			each(i)
		}
		a = max(a, h.Behind)
	}
	for i := a; i < b; i++ {
		each(i)
	}
}

// holes returns a *FieldError where the holes are none of the record.
func (r *Reading) holes(s Sampling) error {
	behind := 0
	for _, h := range r.Holes {
		if h.First <= behind || h.Behind <= h.First || h.Behind >= s.Count {
			return &FieldError{"hole of the record", float64(h.First), "", "holes in order, between samples that are there"}
		}
		behind = h.Behind
	}
	if len(r.Holes) > 0 && r.Deconvolve {
		return &FieldError{"number of holes", float64(len(r.Holes)), "", "a whole record for a deconvolution"}
	}
	return nil
}
