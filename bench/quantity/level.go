package quantity

import (
	"math"
	"strings"
	"unicode"
)

// LevelKind says what a level is a level of.
type LevelKind int

// The kinds of level.
const (
	Voltage LevelKind = iota // Value in volts rms
	Power                    // Value in watts
)

// Level is the strength of a signal. Value is positive and finite.
type Level struct {
	Kind  LevelKind
	Value float64
	Text  string // as written, trimmed
}

// ParseLevel reads "-73 dBm", "1 mW", "1 V", "1 Vrms", "2 Vpp", "12 uV" and "40 dBuV". A voltage without suffix is rms;
// peak to peak is that of a sine wave, 2√2 times rms. dBm refers to 1 mW, dBuV to 1 µV rms.
func ParseLevel(text string) (Level, error) {
	p, err := enter(text, Volt)
	if err != nil {
		return Level{}, err
	}
	return parseLevel(p)
}

// EMF is the open-circuit voltage, in volts rms, of a source with the level. A voltage is the emf itself. A power is what
// the source can deliver into a matched load, P = E²/(4R), so E = √(4·R·P) for its resistance in ohms, which must be
// positive and finite. (Available power: textbook definition.)
func (l Level) EMF(ohms float64) (voltsRMS float64, err error) {
	if l.Kind == Voltage {
		return l.Value, nil
	}
	whole := piece{l.Text, 0, len(l.Text)}
	if !(ohms > 0) || math.IsInf(ohms, 0) {
		return 0, whole.fail(Volt, "a source of "+Format(ohms, Ohm, 4)+" has no available power", "write the emf as a voltage, like 1 V")
	}
	e := 2 * math.Sqrt(ohms) * math.Sqrt(l.Value) // two roots: the product could overflow
	if !(e > 0) || math.IsInf(e, 0) {
		return 0, outOfRange(whole, Volt)
	}
	return e, nil
}

// String prints the level in volts or watts; ParseLevel gives it back, apart from Text.
func (l Level) String() string {
	if l.Kind == Power {
		return FormatExact(l.Value, Watt)
	}
	return FormatExact(l.Value, Volt)
}

const (
	milliwatt = 1e-3
	microvolt = 1e-6
)

var (
	rmsWords         = []string{"rms", "RMS", "eff"}
	peakToPeakWords  = []string{"pp", "p-p", "PP", "pk-pk"}
	peakWords        = []string{"p", "pk", "peak"} // not taken: too often peak to peak is meant
	peakToPeakFactor = 2 * math.Sqrt2              // of a sine wave, over rms
)

func parseLevel(p piece) (Level, error) {
	text := p.String()
	if strings.HasPrefix(text, "?") {
		return Level{}, p.fail(Volt, show(text)+" where a known level belongs", "write a level like 1 V or -73 dBm")
	}
	n, ok := scanNumber(text)
	if !ok {
		return Level{}, diagnose(p, Volt)
	}
	unit := p.after(n.size)
	l := Level{Text: text}
	known := true
	switch symbol := plainMicro.Replace(unit.String()); {
	case symbol == "dBm":
		l.Kind = Power
		l.Value, ok = fromDecibels(n, 10, milliwatt)
	case symbol == "dBuV":
		l.Value, ok = fromDecibels(n, 20, microvolt)
	default:
		l.Kind, l.Value, known, ok = plainLevel(n, symbol)
	}
	switch {
	case !known:
		return Level{}, levelAccident(p, unit, n)
	case !ok || math.IsInf(l.Value, 0):
		return Level{}, outOfRange(p, Volt)
	case l.Value <= 0:
		return Level{}, p.fail(Volt, "a level of "+show(text)+" is no signal", "write a level above zero, like 1 V")
	}
	return l, nil
}

// plainLevel reads a level that is not in decibels.
func plainLevel(n number, symbol string) (kind LevelKind, v float64, known, ok bool) {
	if exponent, found := unitExponent(symbol, Watt); found && strings.HasSuffix(symbol, "W") {
		v, ok = n.times(exponent)
		return Power, v, true, ok
	}
	scale := 1.0
	if before, found := cutWord(symbol, rmsWords); found {
		symbol = before
	} else if before, found := cutWord(symbol, peakToPeakWords); found {
		symbol, scale = before, peakToPeakFactor
	}
	exponent, found := unitExponent(symbol, Volt)
	if !found {
		return Voltage, 0, false, false
	}
	v, ok = n.times(exponent)
	written := v
	v /= scale
	return Voltage, v, true, ok && (v != 0 || written == 0)
}

// cutWord drops one of the words from behind a symbol of volts.
func cutWord(symbol string, words []string) (before string, found bool) {
	for _, word := range words {
		if before, found = strings.CutSuffix(symbol, word); found {
			before = strings.TrimRightFunc(before, unicode.IsSpace)
			if strings.HasSuffix(before, "V") {
				return before, true
			}
		}
	}
	return symbol, false
}

// fromDecibels is reference·10^(n/perDecade); ok is false where the result is none that a float64 can hold.
func fromDecibels(n number, perDecade, reference float64) (v float64, ok bool) {
	decibels, ok := n.times(0)
	v = reference * math.Pow(10, decibels/perDecade)
	return v, ok && v > 0 && !math.IsInf(v, 0)
}

// levelAccident names what is wrong with the unit of a level.
func levelAccident(p, unit piece, n number) error {
	symbol := plainMicro.Replace(unit.String())
	for _, right := range []string{"dBm", "dBuV"} {
		if strings.EqualFold(symbol, right) {
			return p.fail(Volt, "case matters in "+show(unit.String()), "write "+n.text()+" "+right)
		}
	}
	if strings.EqualFold(symbol, "dB") {
		return p.fail(Volt, "a level in decibels needs its reference", "write "+n.text()+" dBm or "+n.text()+" dBuV")
	}
	if before, found := cutWord(symbol, peakWords); found {
		if exponent, ok := unitExponent(before, Volt); ok {
			if v, ok := n.times(exponent); ok && !math.IsInf(2*v, 0) {
				return p.fail(Volt, "a level is written rms or peak to peak, not peak", "write "+FormatExact(2*v, Volt)+"pp")
			}
		}
	}
	return diagnose(p, Volt)
}
