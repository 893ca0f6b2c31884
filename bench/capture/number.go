package capture

import (
	"bytes"
	"math"
	"strconv"
)

// number is a cell read as sign, digits and power of ten.
type number struct {
	negative bool
	digits   uint64 // as one whole number
	long     bool   // more digits than digits holds
	power    int    // of ten
	sign     byte   // the decimal sign met, or 0
	mantissa int    // bytes of the cell before the exponent
}

// scanNumber reads [sign] digits [decimal sign digits] [e [sign] digits]. Digits may be missing on one side of a decimal
// point; a decimal comma needs one behind it, since a comma behind a number is more often a delimiter.
func scanNumber(cell []byte, decimal byte) (n number, ok bool) {
	i := 0
	if i < len(cell) && (cell[i] == '-' || cell[i] == '+') {
		n.negative = cell[i] == '-'
		i++
	}
	count, significant, behind := 0, 0, 0
	for ; i < len(cell); i++ {
		c := cell[i]
		if c == decimal && n.sign == 0 {
			n.sign = decimal
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		count++
		if significant > 0 || c != '0' {
			significant++
		}
		if significant > 19 { // 10^19 - 1 is the longest run of nines that a uint64 holds
			n.long = true
		}
		if !n.long {
			n.digits = n.digits*10 + uint64(c-'0')
		}
		if n.sign != 0 {
			behind++
		}
	}
	n.mantissa = i
	n.power = -behind
	if count == 0 || n.sign == ',' && behind == 0 {
		return n, false
	}
	if i == len(cell) {
		return n, true
	}
	if cell[i] != 'e' && cell[i] != 'E' {
		return n, false
	}
	exponent, ok := scanExponent(cell[i+1:])
	n.power += exponent
	return n, ok
}

// largestExponent is beyond what matters to a float64 whatever digits go with it in a line of bounded length.
const largestExponent = 1e6

func scanExponent(b []byte) (exponent int, ok bool) {
	negative := false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative = b[0] == '-'
		b = b[1:]
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		exponent = min(exponent*10+int(c-'0'), largestExponent)
	}
	if negative {
		exponent = -exponent
	}
	return exponent, len(b) > 0
}

// value is the float64 nearest to the number times ten to the power shift; infinite where that is too large.
//
// Digits below 2^53 and a power of ten up to 10^22 are both exact in a float64, so one multiplication or division of the
// two rounds once (W. D. Clinger, How to read floating point numbers accurately, 1990, section 4). The rest is left
// to strconv.
func (n *number) value(cell []byte, shift int) float64 {
	power := n.power + shift
	if !n.long && n.digits < 1<<53 && power >= -22 && power <= 22 {
		v := float64(n.digits)
		if power < 0 {
			v /= powers[-power]
		} else {
			v *= powers[power]
		}
		if n.negative {
			v = -v
		}
		return v
	}
	var room [64]byte
	b := append(room[:0], cell[:n.mantissa]...)
	behind := 0
	if n.sign != 0 {
		point := bytes.IndexByte(b, n.sign)
		b[point] = '.'
		behind = n.mantissa - point - 1
	}
	b = append(b, 'e')
	b = strconv.AppendInt(b, int64(power+behind), 10)
	v, _ := strconv.ParseFloat(string(b), 64) // a range error gives the infinity that the caller looks for
	return v
}

var powers = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// parse reads a finite number times ten to the power shift.
func parse(cell []byte, decimal byte, shift int) (v float64, sign byte, ok bool) {
	n, ok := scanNumber(cell, decimal)
	if !ok {
		return 0, 0, false
	}
	v = n.value(cell, shift)
	return v, n.sign, !math.IsInf(v, 0)
}

// class is what a cell looks like.
type class byte

const (
	isVoid   class = iota // nothing in it
	isNumber              // a number
	isBad                 // meant as a number, but none that can be used
	isText                // anything else
)

// classify says what a cell looks like.
func classify(cell []byte, decimal byte) class {
	if len(cell) == 0 {
		return isVoid
	}
	if _, _, ok := parse(cell, decimal, 0); ok {
		return isNumber
	}
	c := cell[0]
	if (c == '-' || c == '+' || c == '.') && len(cell) > 1 {
		c = cell[1]
	}
	if c >= '0' && c <= '9' {
		return isBad
	}
	if notFinite(cell) {
		return isBad
	}
	return isText
}

// notFinite tells the words that programs write for what is no finite number.
func notFinite(cell []byte) bool {
	word := bytes.ToLower(bytes.TrimLeft(cell, "+-"))
	switch string(word) {
	case "nan", "inf", "infinity", "∞", "overflow", "****":
		return true
	}
	return bytes.HasPrefix(word, []byte("1.#")) || bytes.HasPrefix(word, []byte("nan("))
}

// overflowMark tells the numbers that instruments write where they have no value: 9.9e37 for infinity, 9.91e37 for none (SCPI
// 1999, volume 1, section 7.2.1, from memory), and their like.
func overflowMark(cell []byte, decimal byte) bool {
	v, _, ok := parse(cell, decimal, 0)
	return ok && math.Abs(v) >= 9.9e36 && math.Abs(v) < 1e39
}

// incomplete tells a cell that is the beginning of a number, as where a file breaks off.
func incomplete(cell []byte, decimal byte) bool {
	if len(cell) == 0 {
		return true
	}
	for _, tail := range []string{"0", "e0"} {
		if _, ok := scanNumber(append(bytes.Clone(cell), tail...), decimal); ok {
			return true
		}
	}
	return false
}
