package chirp

import "math"

// segment is a stretch of the drive, cut out by a smooth step up and one down. All segments together are the drive:
// each step down is the next one's step up.
type segment struct {
	from, to   float64 // s, the middles of the steps
	rise, fall float64 // s, the full widths of the steps
	lo, hi     float64 // Hz, the band that counts
	breaks     float64 // s, where the drive is not smooth; NaN where it is
}

func (s segment) begin() float64 { return s.from - s.rise/2 }
func (s segment) end() float64   { return s.to + s.fall/2 }

func (s segment) window(t float64) float64 {
	return smoothStep((t-s.from)/s.rise) - smoothStep((t-s.to)/s.fall)
}

// layout cuts the drive into segments over the time for which a record asks. Short segments have wide skirts, 8/L on
// either side, long ones sweep far, S·L: the least band is near L = √(8/S). A network that rings longer makes them up
// to four times longer, so that fewer rings lie on top of one another.
type layout struct {
	drive    Drive
	ring     func(lo, hi float64) float64 // a guess, from the network
	lastTime float64                      // s, end of the record
	breakTo  float64                      // the tail beyond the band of a break, relative to the drive
	worst    float64                      // the largest such tail, at kinks
	jump     float64                      // and at a jump of frequency or amplitude
}

// length is the best length of a segment at time t within the sweep.
func (y *layout) length(t float64) float64 {
	law := y.drive.Law
	f := law.Frequency(t)
	rate := math.Abs(law.Rate(f))
	short := math.Sqrt(stepSkirt / rate)
	skirt := stepSkirt/short + rate*short
	wanted := y.ring(f-skirt, f+skirt) / 2
	return min(law.Time/6, max(short, min(wanted, 4*short)))
}

// before is the segment in which the generator waits at the start frequency, long enough for the network to settle.
func (y *layout) before(wait float64) segment {
	first := y.length(0)
	s := segment{from: -first - wait - first, to: -first, rise: first, fall: 1.5 * first, breaks: math.NaN()}
	return y.band(s)
}

// segments are all from the start of the sweep to the end of the record.
func (y *layout) segments() []segment {
	law := y.drive.Law
	first, last := y.length(0), y.length(law.Time)
	var all []segment
	cut := func(from, to, breaks float64) {
		all = append(all, segment{from: from, to: to, breaks: breaks})
	}
	cut(-first, first, 0)
	// One more than reaches the end of the record, whose last sample must lie before any step down that is not followed.
	t := first
	for t < law.Time-last && t < y.lastTime+y.length(t) {
		next := t + y.length(t)
		if next > law.Time-last-y.length(t)/2 {
			next = law.Time - last
		}
		cut(t, next, math.NaN())
		t = next
	}
	if t >= law.Time-last {
		cut(law.Time-last, law.Time+last, law.Time)
	}
	// The frequency stands still now: the farther from the break, the longer, so that no record asks for many.
	length, tail := 64*last, false
	for t := law.Time + last; y.drive.After != Silence && (t < y.lastTime+last || tail && t-length/4 < y.lastTime); t, length = t+length, 2*length {
		cut(t, t+length, math.NaN())
		tail = true
	}
	for i := range all {
		s := &all[i]
		s.rise, s.fall = s.to-s.from, s.to-s.from
		if i == 0 {
			s.rise = 1.5 * first // as the fall of the segment before
		}
	}
	// A step is as wide as the shorter of its two segments, and never reaches a break.
	for i := 1; i < len(all); i++ {
		w := min(all[i-1].to-all[i-1].from, all[i].to-all[i].from)
		if !math.IsNaN(all[i-1].breaks) || !math.IsNaN(all[i].breaks) {
			w = min(w, 0.75*max(0, y.toBreak(all[i].from)))
		}
		all[i-1].fall, all[i].rise = w, w
	}
	if n := len(all) - 1; n >= 0 {
		if !tail { // whose last step, as wide as it is long, begins behind the record
			all[n].fall = min(all[n].fall, 1.5*last)
		}
		if n == 0 {
			all[n].fall = min(all[n].fall, first)
		}
	}
	for i := range all {
		all[i] = y.band(all[i])
	}
	return all
}

// toBreak is twice the distance from t to the nearest break of the drive.
func (y *layout) toBreak(t float64) float64 {
	return 2 * min(math.Abs(t), math.Abs(t-y.drive.Law.Time))
}

// band finds the frequencies that the segment holds: what the sweep passes and the skirts of the steps. A break has
// a slow tail beyond: with a frequency whose slope changes by dS, z” jumps by 2π·dS, the spectrum falls as
// 2π·dS/(2πf)³ and what lies beyond ±b adds up to dS/(4π²b²); a jump of the frequency by dF leaves less than dF/(πb);
// one of the amplitude leaves the order of the drive itself near it.
func (y *layout) band(s segment) segment {
	d := y.drive
	inside := func(t float64) float64 { return min(s.end(), max(s.begin(), t)) }
	lo, hi := math.Inf(1), 0.0
	for _, t := range []float64{s.begin(), s.end(), inside(0), inside(d.Law.Time), inside(math.Nextafter(d.Law.Time, math.Inf(1)))} {
		f := d.Frequency(t)
		lo, hi = min(lo, f), max(hi, f)
	}
	beyond := stepSkirt / min(s.rise, s.fall)
	if !math.IsNaN(s.breaks) {
		// No more than is reasonable to ask of a network, nor to transform.
		most := max(32*max(d.Law.From, d.Law.To), 8*beyond)
		most = min(most, float64(largestTransform)/16/(s.end()-s.begin()))
		kink := math.Abs(d.Law.Rate(d.Frequency(s.breaks))) / (4 * math.Pi * math.Pi)
		wanted := math.Sqrt(kink / y.breakTo)
		jump := 0.0
		if s.breaks > 0 && d.After == Return {
			wanted, jump = most, math.Abs(d.Law.To-d.Law.From)/math.Pi
		}
		if s.breaks > 0 && d.After == Silence {
			wanted, jump = most, 1
		}
		beyond = max(beyond, min(wanted, most))
		y.worst = max(y.worst, kink/(beyond*beyond))
		switch {
		case jump == 1:
			y.jump = 1
		case jump > 0:
			y.jump = min(1, jump/beyond)
		}
	}
	s.lo, s.hi = lo-beyond, hi+beyond
	return s
}
