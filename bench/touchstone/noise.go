package touchstone

import "fmt"

const noiseWidth = 5 // frequency, minimum noise figure, magnitude, angle, resistance

// beginsNoise reports whether l is the first noise row of a version 1 file: five numbers, in a two-port file, at a
// frequency at or below the last one of the network data.
func (p *reader) beginsNoise(l *line) (bool, error) {
	d := p.data
	if p.keys.version != nil || d.Ports != 2 || len(l.words) != noiseWidth || len(d.Frequencies) == 0 {
		return false, nil
	}
	w := l.words[0]
	f, bad := parseNumber(w.text, p.options.shift)
	if bad != nil {
		return false, p.fail(l, w.at, bad.what, bad.instead)
	}
	return f <= d.Frequencies[len(d.Frequencies)-1], nil
}

// noiseRow takes one row of noise parameters. The resistance is divided by the reference in version 1 and in ohm in
// version 2; the reference of port 1 is meant, to which the source is connected.
func (p *reader) noiseRow(l *line) error {
	if err := p.numeric(l); err != nil {
		return err
	}
	if n := len(l.words); n != noiseWidth {
		at := l.end()
		if n > noiseWidth {
			at = l.words[noiseWidth].at
		}
		return p.fail(l, at, fmt.Sprintf("%s in a noise row of %d", numbers(n), noiseWidth),
			"write frequency, minimum noise figure, magnitude and angle of the optimum, and noise resistance")
	}
	var v [noiseWidth]float64
	for i, w := range l.words {
		shift := 0
		if i == 0 {
			shift = p.options.shift
		}
		x, bad := parseNumber(w.text, shift)
		if bad != nil {
			return p.fail(l, w.at, bad.what, bad.instead)
		}
		v[i] = x
	}
	at := l.words[0].at
	if v[0] <= 0 {
		return p.fail(l, at, "the noise frequency "+quoted(l.words[0].text)+" is not positive", "write a frequency above 0")
	}
	d := p.data
	if n := len(d.Noise); n > 0 && v[0] <= d.Noise[n-1].Frequency {
		return p.fail(l, at, fmt.Sprintf("the noise frequency %s does not go up from %s", inHertz(v[0]), inHertz(d.Noise[n-1].Frequency)),
			"sort the noise rows by frequency and keep one of each")
	}
	if p.row.normalised {
		v[4] *= d.Reference[0]
		if !finite(complex(v[4], 0)) {
			return p.fail(l, l.words[4].at, "the noise resistance is too large", "write it divided by the reference")
		}
	}
	d.Noise = append(d.Noise, NoisePoint{v[0], v[1], v[2], v[3], v[4]})
	return nil
}
