package trace

import (
	"fmt"
	"math"
	"slices"

	"knobwise/bench/fault"
	"knobwise/bench/quantity"
	"knobwise/physics/chirp"
)

const (
	// offGrid is how far, in steps, a sample may stand off its place on the grid beyond the rounding of its time in the file.
	offGrid = 0.25
	// mostHoles and mostEmpty bound what counts as a record with holes: how many there are, and how many times as long as its
	// samples it is.
	mostHoles = 1000
	mostEmpty = 8
)

// grid places the samples of a record by their times: even steps, but for holes of several steps in which samples are missing.
// Times without a hole stand as the mean step has them. It returns the values on the grid.
func (t *Trace) grid(times, values []float64) (chirp.Sampling, []chirp.Hole, []float64, error) {
	n := len(times)
	s := chirp.Sampling{Start: times[0], Interval: (times[n-1] - times[0]) / float64(n-1), Count: n}
	if n < 4 || !(s.Interval > 0) {
		return s, nil, values, nil
	}
	step, rounding := evenStep(times)
	at := make([]int, n)
	holes := 0
	for i := 1; i < n; i++ {
		by := 1
		if d := times[i] - times[i-1]; d > 1.5*step+rounding {
			by = int(math.Round(min(d/step, mostEmpty*float64(n))))
			holes++
		}
		at[i] = at[i-1] + by
	}
	if holes > 0 && holes <= mostHoles && at[n-1] < mostEmpty*n {
		s.Start, s.Interval = line(at, times)
		s.Count = at[n-1] + 1
	}
	off := func(i int) bool {
		return math.Abs(times[i]-s.Time(at[i])) > offGrid*s.Interval+rounding+1e-12*math.Abs(times[i])
	}
	if holes > mostHoles || at[n-1] >= mostEmpty*n {
		return s, nil, nil, t.irregular(times, step, 0, n-1)
	}
	even := true
	for i := range times {
		even = even && !off(i)
	}
	if !even {
		// Where they leave the grid of the most frequent step.
		sorted := sortedSteps(times)
		middle := sorted[len(sorted)/2]
		first, last := 0, n-1
		for i := range times {
			if math.Abs(times[i]-times[0]-float64(at[i])*middle) > offGrid*step+rounding {
				first = max(0, i-1)
				break
			}
		}
		for last > first+1 && math.Abs(times[last]-times[last-1]-middle*float64(at[last]-at[last-1])) <= 1e-3*step+rounding {
			last--
		}
		return s, nil, nil, t.irregular(times, step, first, last)
	}
	if holes == 0 {
		return s, nil, values, nil
	}
	var all []chirp.Hole
	placed := make([]float64, s.Count)
	for i, v := range values {
		placed[at[i]] = v
		if i > 0 && at[i] > at[i-1]+1 {
			all = append(all, chirp.Hole{First: at[i-1] + 1, Behind: at[i]})
		}
	}
	return s, all, placed, nil
}

// sortedSteps are the steps, the shortest first.
func sortedSteps(times []float64) []float64 {
	steps := make([]float64, 0, len(times)-1)
	for i := 1; i < len(times); i++ {
		steps = append(steps, times[i]-times[i-1])
	}
	slices.Sort(steps)
	return steps
}

// evenStep is the step between most samples, and by how much rounding in the file may move a time: where times are written so
// coarsely that many are the same, or steps vary by themselves, as much as one unit of them.
func evenStep(times []float64) (step, rounding float64) {
	sorted := sortedSteps(times)
	middle := sorted[len(sorted)/2]
	like := 0
	for _, d := range sorted {
		if math.Abs(d-middle) <= offGrid*middle {
			like++
		}
	}
	if middle == 0 || float64(like) < 0.9*float64(len(sorted)) {
		for _, d := range sorted {
			if d > 0 {
				rounding = d
				break
			}
		}
		// Where the unit is finer than a step, the steps take two neighbouring numbers of it.
		for _, d := range sorted {
			if d > rounding*1.001 && d < 1.5*middle {
				rounding = max(d-rounding, rounding/2)
				break
			}
		}
	}
	sum, count := 0.0, 0.0
	for _, d := range sorted {
		if d <= 1.5*middle+2*rounding {
			sum, count = sum+d, count+1
		}
	}
	return sum / count, rounding
}

// line is the straight line through times over their places, by least squares.
func line(at []int, times []float64) (start, step float64) {
	n := float64(len(at))
	var mean, middle float64
	for i, k := range at {
		mean, middle = mean+times[i]/n, middle+float64(k)/n
	}
	var product, square float64
	for i, k := range at {
		d := float64(k) - middle
		product, square = product+d*(times[i]-mean), square+d*d
	}
	step = product / square
	return mean - step*middle, step
}

// irregular refuses times that are no grid.
func (t *Trace) irregular(times []float64, step float64, first, last int) error {
	seconds := func(x float64) string { return quantity.Format(x, quantity.Second, 4) }
	return fault.New(fault.Request, fmt.Sprintf("%s: its samples are not taken in even steps, nor in even steps with holes: from %s to %s they stand off the steps of %s",
		t.File, seconds(times[first]), seconds(times[last]), seconds(step)),
		"export the record as it was sampled, or a part of it that is even")
}

// holes tells where samples are missing.
func (t *Trace) holes(s chirp.Sampling, start float64, all []chirp.Hole) {
	seconds := func(x float64) string { return quantity.Format(x+start, quantity.Second, 4) }
	if len(all) == 0 {
		return
	}
	missing := 0
	for _, h := range all {
		missing += h.Behind - h.First
	}
	longest := slices.MaxFunc(all, func(a, b chirp.Hole) int { return (a.Behind - a.First) - (b.Behind - b.First) })
	where := fmt.Sprintf("between %s and %s", seconds(s.Time(longest.First-1)), seconds(s.Time(longest.Behind)))
	if len(all) > 1 {
		where = fmt.Sprintf("in %d holes, the longest %s", len(all), where)
	}
	verb := "are"
	if missing == 1 {
		verb = "is"
	}
	t.Notices = append(t.Notices, fmt.Sprintf("%s: %s %s missing %s; the trace has no points there", t.File, counted(missing, "sample"), verb, where))
}

// counted is a number of things.
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
