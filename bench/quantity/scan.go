package quantity

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxLength is the longest text, in bytes, that is read as a value.
const MaxLength = 256

// piece is a part of a text; it keeps the whole, so that an error found in the part names its place in the whole.
type piece struct {
	whole    string
	from, to int
}

func (p piece) String() string { return p.whole[p.from:p.to] }

func (p piece) empty() bool { return p.from == p.to }

// trim drops white space at both ends, the no-break and thin spaces of typeset text among it.
func (p piece) trim() piece {
	left := strings.TrimLeftFunc(p.String(), unicode.IsSpace)
	p.from = p.to - len(left)
	p.to = p.from + len(strings.TrimRightFunc(left, unicode.IsSpace))
	return p
}

// after gives the piece without its first n bytes, trimmed.
func (p piece) after(n int) piece { return piece{p.whole, p.from + n, p.to}.trim() }

// cut splits a piece at the first separator; both parts are trimmed.
func (p piece) cut(separator string) (before, after piece, found bool) {
	i := strings.Index(p.String(), separator)
	if i < 0 {
		return p, piece{}, false
	}
	return piece{p.whole, p.from, p.from + i}.trim(), p.after(i + len(separator)), true
}

func (p piece) fail(u Unit, what, instead string) error {
	return &Error{What: what, Instead: instead, Text: p.whole, Offset: p.from, Length: p.to - p.from, Unit: u}
}

// enter makes a text ready for reading: it must be short, valid UTF-8, and on one line once trimmed; it must say something.
func enter(text string, u Unit) (piece, error) {
	p := piece{text, 0, len(text)}
	if len(text) > MaxLength {
		return p, p.fail(u, "a text of "+strconv.Itoa(len(text))+" bytes is no value", "write "+units[u].quantity+" like "+units[u].example)
	}
	p = p.trim()
	if p.empty() {
		return p, p.fail(u, "nothing is written here", "write "+units[u].quantity+" like "+units[u].example+", or ? where it is unknown")
	}
	for i, r := range p.String() {
		bad := piece{text, p.from + i, p.from + i + 1}
		if r == utf8.RuneError && !strings.HasPrefix(text[bad.from:], string(utf8.RuneError)) {
			return p, bad.fail(u, "the text is not valid UTF-8", "write it in plain ASCII, like "+units[u].example)
		}
		if unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) {
			bad.to = bad.from + utf8.RuneLen(r)
			return p, bad.fail(u, "the text holds the invisible character "+strconv.QuoteRuneToASCII(r), "write one line with plain spaces, like "+units[u].example)
		}
	}
	return p, nil
}

// number is a decimal number found at the start of a piece.
type number struct {
	mantissa string // sign, digits and point, in ASCII
	exponent int    // the written power of ten, or 0
	size     int    // bytes it takes in the text
	digits   bool   // nothing but digits: such a number may begin a letter code
}

// exponentLimit stands for any written exponent beyond what a float64 can hold, whatever its mantissa of at most
// MaxLength digits.
const exponentLimit = 10_000

// scanNumber reads the number at the start of a text. A sign is +, - or the typeset minus U+2212.
func scanNumber(text string) (n number, ok bool) {
	rest := text
	for _, sign := range []string{"-", "\u2212", "+"} {
		if after, found := strings.CutPrefix(rest, sign); found {
			rest = after
			if sign != "+" {
				n.mantissa = "-"
			}
			break
		}
	}
	signed := len(rest) < len(text)
	whole := leadingDigits(rest)
	rest = rest[len(whole):]
	fraction, pointed := "", false
	if after, found := strings.CutPrefix(rest, "."); found {
		fraction = leadingDigits(after)
		pointed = true
		if whole+fraction == "" {
			return number{}, false
		}
		rest = after[len(fraction):]
	}
	if whole+fraction == "" {
		return number{}, false
	}
	n.mantissa += whole
	if fraction != "" {
		n.mantissa += "." + fraction
	}
	powered := false
	if rest != "" && (rest[0] == 'e' || rest[0] == 'E') {
		power := rest[1:]
		sign := ""
		if power != "" && (power[0] == '+' || power[0] == '-') {
			sign, power = power[:1], power[1:]
		}
		if d := leadingDigits(power); d != "" {
			powered = true
			n.exponent = boundedInt(sign, d)
			rest = power[len(d):]
		}
	}
	n.size = len(text) - len(rest)
	n.digits = !signed && !pointed && !powered
	return n, true
}

func leadingDigits(s string) string {
	return s[:len(s)-len(strings.TrimLeft(s, "0123456789"))]
}

// boundedInt reads an exponent and holds it within the limit; digits are digits.
func boundedInt(sign, digits string) int {
	v, err := strconv.Atoi(digits)
	if err != nil || v > exponentLimit {
		v = exponentLimit
	}
	if sign == "-" {
		return -v
	}
	return v
}

// text gives the number as ASCII.
func (n number) text() string {
	if n.exponent == 0 {
		return n.mantissa
	}
	return n.mantissa + "e" + strconv.Itoa(n.exponent)
}

// times gives the float64 nearest to the number times a power of ten. The power joins the decimal text, so the result is
// correctly rounded. ok is false where the value is too large for a float64, or not zero but too small.
func (n number) times(power int) (v float64, ok bool) {
	v, err := strconv.ParseFloat(n.mantissa+"e"+strconv.Itoa(n.exponent+power), 64)
	if err != nil || (v == 0 && strings.ContainsAny(n.mantissa, "123456789")) {
		return 0, false
	}
	return v, true
}
