package quantity

import (
	"strings"
)

// ParseQ reads the quality factor of a part: "180", or "180 at 2 MHz" where it holds at one frequency. q is positive and
// finite. atHz is in hertz and positive, or 0 where none is given.
func ParseQ(text string) (q, atHz float64, err error) {
	quality, atHz, err := ParseQuality(text)
	if err != nil {
		return 0, 0, err
	}
	if quality.Form != Exact {
		p := piece{text, 0, len(text)}.trim()
		return 0, 0, p.fail(One, show(p.String())+" where a single known Q belongs", "write it like 180, or 180 at 2 MHz")
	}
	return quality.Value, atHz, nil
}

// ParseQuality is ParseQ for a Q that need not be known: "? 60 .. 200 at 2 MHz".
func ParseQuality(text string) (q Quantity, atHz float64, err error) {
	p, err := enter(text, One)
	if err != nil {
		return Quantity{}, 0, err
	}
	value, atHz, err := cutFrequency(p, One, "180 at 2 MHz")
	if err != nil {
		return Quantity{}, 0, err
	}
	if q, err = parse(value, One); err == nil {
		err = q.require(Positive, value)
	}
	if err != nil {
		return Quantity{}, 0, err
	}
	return q, atHz, nil
}

// FormatQ prints a Q so that ParseQ gives it back; atHz 0 for none.
func FormatQ(q, atHz float64) string {
	if atHz == 0 {
		return FormatExact(q, One)
	}
	return FormatExact(q, One) + " at " + FormatExact(atHz, Hertz)
}

// ParseLoss reads the loss of a line per length at one frequency, as in "4.2 dB/100m at 10 MHz" or "0.1 dB/m at 10 MHz".
// The result is in decibels per metre, zero or more, and in hertz, positive.
func ParseLoss(text string) (dBPerMetre, atHz float64, err error) {
	p, err := enter(text, Decibel)
	if err != nil {
		return 0, 0, err
	}
	const example = "4.2 dB/100m at 10 MHz"
	value, atHz, err := cutFrequency(p, Decibel, example)
	if err != nil {
		return 0, 0, err
	}
	decibels, length, found := value.cut("/")
	switch {
	case !found || decibels.empty() || length.empty():
		return 0, 0, value.fail(Decibel, "a line loss is decibels per length", "write it like "+example)
	case atHz == 0:
		return 0, 0, p.fail(Decibel, "a line loss holds at one frequency", "write "+value.String()+" at 10 MHz")
	}
	loss, err := parseExact(decibels, Decibel)
	if err != nil {
		return 0, 0, err
	}
	if loss < 0 {
		return 0, 0, decibels.fail(Decibel, "a loss of "+show(decibels.String())+" is a gain", "write "+FormatExact(-loss, Decibel))
	}
	metres, err := parsePerLength(length)
	if err != nil {
		return 0, 0, err
	}
	perMetre := loss / metres
	if !finite(perMetre) || (perMetre == 0 && loss != 0) {
		return 0, 0, outOfRange(value, Decibel)
	}
	return perMetre, atHz, nil
}

// FormatLoss prints a line loss so that ParseLoss gives it back.
func FormatLoss(dBPerMetre, atHz float64) string {
	return FormatExact(dBPerMetre, Decibel) + "/m at " + FormatExact(atHz, Hertz)
}

// parsePerLength reads the length below the stroke: "100m", "100 m", or "m" for one metre.
func parsePerLength(p piece) (metres float64, err error) {
	if exponent, ok := unitExponent(p.String(), Metre); ok && strings.HasSuffix(p.String(), "m") {
		metres, _ = number{mantissa: "1"}.times(exponent)
		return metres, nil
	}
	if metres, err = parseExact(p, Metre); err != nil {
		return 0, err
	}
	if metres <= 0 {
		return 0, p.fail(Metre, "the length below the stroke is not above zero", "write dB/100m or dB/m")
	}
	return metres, nil
}

var (
	atWord = pattern(`(?:^|\pZ)at(?:\pZ|$)`)
	atSlip = pattern(`\pZ*(?:@|\bAt\b|\bAT\b)\pZ*`)
)

// cutFrequency splits "value at frequency"; atHz is 0 where there is no frequency.
func cutFrequency(p piece, u Unit, example string) (value piece, atHz float64, err error) {
	found := atWord().FindStringIndex(p.String())
	if found == nil {
		if slip := atSlip().FindStringIndex(p.String()); slip != nil {
			text := p.String()
			return p, 0, p.fail(u, "the frequency stands behind the word at", "write "+text[:slip[0]]+" at "+text[slip[1]:])
		}
		return p, 0, nil
	}
	value = piece{p.whole, p.from, p.from + found[0]}.trim()
	frequency := p.after(found[1])
	if value.empty() || frequency.empty() {
		return p, 0, p.fail(u, "the word at needs a value before it and a frequency after it", "write it like "+example)
	}
	if atHz, err = parseExact(frequency, Hertz); err != nil {
		return p, 0, err
	}
	if atHz <= 0 {
		return p, 0, frequency.fail(Hertz, "a frequency of "+show(frequency.String())+" is not above zero", "write it like "+example)
	}
	return value, atHz, nil
}
