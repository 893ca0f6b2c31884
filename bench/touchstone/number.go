package touchstone

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// complaint says why a word is no number, and what to write instead.
type complaint struct{ what, instead string }

// parseNumber reads a decimal number times ten to the power shift. The result is the float64 nearest to that product:
// 75.05 GHz is 75050000000 Hz exactly, which multiplying by 1e9 would not promise.
func parseNumber(s string, shift int) (float64, *complaint) {
	mantissa, exponent, ok := cutDecimal(s)
	if !ok {
		return 0, complain(s)
	}
	text := s
	if shift != 0 {
		text = mantissa + "e" + strconv.Itoa(exponent+shift)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, &complaint{quoted(s) + " is too large", "write a number below 1e308"}
	}
	return v, nil
}

// cutDecimal checks that s is [sign] digits [. digits] [e [sign] digits] with at least one digit before the exponent,
// and cuts it. Exponents beyond ±99999 are cut to that: the value is 0 or too large either way.
func cutDecimal(s string) (mantissa string, exponent int, ok bool) {
	i := 0
	skipSign := func() {
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
	}
	skipDigits := func() int {
		from := i
		for i < len(s) && '0' <= s[i] && s[i] <= '9' {
			i++
		}
		return i - from
	}
	skipSign()
	digits := skipDigits()
	if i < len(s) && s[i] == '.' {
		i++
		digits += skipDigits()
	}
	mantissa = s[:i]
	if digits == 0 {
		return "", 0, false
	}
	if i == len(s) {
		return mantissa, 0, true
	}
	if s[i] != 'e' && s[i] != 'E' {
		return "", 0, false
	}
	i++
	from := i
	skipSign()
	if skipDigits() == 0 || i != len(s) {
		return "", 0, false
	}
	e, err := strconv.Atoi(s[from:])
	switch {
	case err != nil && s[from] == '-', e < -99999:
		e = -99999
	case err != nil, e > 99999:
		e = 99999
	}
	return mantissa, e, true
}

// complain recognises common accidents.
func complain(s string) *complaint {
	bare := strings.ToLower(strings.TrimLeft(s, "+-"))
	dotted := strings.Replace(s, ",", ".", 1)
	_, _, decimal := cutDecimal(dotted)
	switch {
	case strings.HasPrefix(bare, "nan"), strings.HasPrefix(bare, "inf"), strings.HasPrefix(bare, "1.#"), strings.HasPrefix(bare, "∞"):
		return &complaint{quoted(s) + " is not a finite number", "leave the row out, or write a very low level such as -300 where the format is DB"}
	case strings.Count(s, ",") == 1 && !strings.HasSuffix(s, ",") && decimal:
		return &complaint{quoted(s) + " has a decimal comma", "write " + dotted}
	case strings.ContainsAny(s, ",;"):
		return &complaint{quoted(s) + " is not a number", "separate numbers with blanks, not with commas or semicolons"}
	}
	return &complaint{quoted(s) + " is not a number", "write a decimal number such as 0.25 or -1.5e-3"}
}

// quoted quotes a word, shortened where it is long.
func quoted(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return fmt.Sprintf("%q", s)
}
