package quantity

import (
	"math"
	"regexp"
	"strings"
	"sync"
	"unicode"
)

// diagnose names the accident in a piece that read has refused. It always returns an error.
func diagnose(p piece, u Unit) error {
	for _, recognise := range []func(piece, Unit) error{doubtMark, notFinite, codeSlip} {
		if err := recognise(p, u); err != nil {
			return err
		}
	}
	n, ok := scanNumber(p.String())
	if !ok {
		return noNumber(p, u)
	}
	unit := p.after(n.size)
	for _, recognise := range []func(piece, piece, number, Unit) error{
		tooLarge, bareNumber, comma, brokenNumber, dashRange, missingPlusMinus, smallHertz, percentOfOne,
		wrongUnit, oldLength, oldSymbol, wrongCase,
	} {
		if err := recognise(p, unit, n, u); err != nil {
			return err
		}
	}
	what := show(unit.String()) + " is no unit of " + units[u].quantity
	if strings.ContainsFunc(unit.String(), func(r rune) bool { return !unicode.IsLetter(r) }) {
		// What stands behind the number may have belonged to it, as in 0x10 or 1_000: repeating it would mislead.
		return unit.fail(u, what, "write "+units[u].quantity+" like "+units[u].example)
	}
	return unit.fail(u, what, "write "+plausible(n, u))
}

// suggest gives the first candidate that can be read, so that no message sends the user from one error to the next.
func suggest(u Unit, candidates ...string) string {
	for _, c := range candidates {
		if _, ok := read(c, u); ok {
			return c
		}
	}
	return units[u].example
}

// plausible puts the number into the unit, with the prefix that such a number most likely wants in radio work.
func plausible(n number, u Unit) string {
	v, ok := n.times(0)
	if !ok {
		return units[u].example
	}
	symbol := units[u].spellings[0]
	size := math.Abs(v)
	switch {
	case u == One:
		return n.text()
	case size > 0 && size < 1e-4:
		return FormatExact(v, u) // somebody has moved the decimal point already
	case u == Farad && size > 0 && size < 1:
		symbol = "uF"
	case u == Farad:
		symbol = "pF"
	case u == Henry:
		symbol = "uH"
	case u == Hertz && size < 1000:
		symbol = "MHz"
	case u == Hertz && size < 100e3:
		symbol = "kHz"
	case u == Metre:
		return n.text() + " mm or " + n.text() + " m"
	case u == Second:
		symbol = "ms"
	}
	return n.text() + " " + symbol
}

// pattern compiles a regular expression when it is first needed: accidents are rare, and starting the program is not.
func pattern(text string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}

// guessWords are written where the question mark belongs.
var guessWords = pattern(`^(?:\?|~|≈|≅|(?i:about|approx\.?|ca\.?)[ \pZ]*)(.*)$`)

func doubtMark(p piece, u Unit) error {
	text := p.String()
	if before, found := strings.CutSuffix(text, "?"); found {
		before = strings.TrimSpace(before)
		return p.fail(u, "the question mark stands behind the value", "write it in front: ? "+suggest(u, before))
	}
	if strings.HasPrefix(text, "?") && !strings.HasPrefix(piece{p.whole, 0, len(p.whole)}.trim().String(), "?") {
		return p.fail(u, "a question mark stands inside the text", "write one in front of the whole, like ? "+exampleRange(u))
	}
	if m := guessWords().FindStringSubmatch(text); m != nil {
		return p.fail(u, "a guess is marked with one question mark", "write ? "+suggest(u, strings.TrimSpace(m[1])))
	}
	return nil
}

var notFiniteShape = pattern(`^[-+]?(?i:inf|infinity|nan|∞)(?:$|\P{L})`)

func notFinite(p piece, u Unit) error {
	if !notFiniteShape().MatchString(p.String()) {
		return nil
	}
	return p.fail(u, show(p.String())+" is no finite number", "write "+units[u].quantity+" like "+units[u].example+", or ? where it is unknown")
}

func noNumber(p piece, u Unit) error {
	text := p.String()
	if strings.HasPrefix(text, ",") {
		if candidate := "0." + text[1:]; suggest(u, candidate) == candidate {
			return p.fail(u, "the decimal mark is a point, and a digit stands before it", "write "+candidate)
		}
	}
	if _, ok := unitExponent(text, u); ok {
		return p.fail(u, show(text)+" stands without a number", "write "+units[u].quantity+" like "+units[u].example)
	}
	return p.fail(u, show(text)+" is no number", "write "+units[u].quantity+" like "+units[u].example)
}

// tooLarge is a well-formed value that a float64 cannot hold.
func tooLarge(p, unit piece, _ number, u Unit) error {
	if _, ok := unitExponent(unit.String(), u); !ok {
		return nil
	}
	return outOfRange(p, u)
}

func outOfRange(p piece, u Unit) error {
	return p.fail(u, show(p.String())+" is too large or too small for a number", "write "+units[u].quantity+" like "+units[u].example)
}

func bareNumber(p, unit piece, n number, u Unit) error {
	if !unit.empty() {
		return nil
	}
	instead := "write " + plausible(n, u)
	if digits := n.mantissa; u == Farad && n.digits && len(digits) == 3 && digits[0] != '0' && digits[2] >= '1' && digits[2] <= '6' {
		// Ceramic capacitors are marked with two digits and a power of ten, in picofarads (IEC 60062, from memory).
		v, _ := number{mantissa: digits[:2]}.times(int(digits[2]-'0') - 12)
		instead += ", or " + FormatExact(v, u) + " where " + digits + " is the marking of the part"
	}
	return p.fail(u, "a value needs its unit", instead)
}

var (
	commaShape  = pattern(`^,([0-9]+)(.*)$`)
	commaGroups = pattern(`^(?:,[0-9]{3})+\.`)
	digitGroups = pattern(`([0-9])\pZ+([0-9])`)
)

// comma is a decimal comma, or a comma between thousands.
func comma(p, unit piece, n number, u Unit) error {
	rest := unit.String()
	m := commaShape().FindStringSubmatch(rest)
	if m == nil {
		return nil
	}
	if commaGroups().MatchString(rest) {
		return p.fail(u, "digits are written without commas between them", "write "+suggest(u, n.mantissa+strings.ReplaceAll(rest, ",", "")))
	}
	whole, fraction := n.mantissa+m[1]+m[2], n.mantissa+"."+m[1]+m[2]
	if len(m[1]) == 3 && suggest(u, whole) == whole && strings.Trim(n.mantissa, "-0") != "" {
		return p.fail(u, "the comma may mark decimals or thousands", "write "+fraction+" or "+whole)
	}
	return p.fail(u, "the decimal mark is a point, not a comma", "write "+suggest(u, fraction))
}

// brokenNumber is a number with spaces between its digits, or with two points.
func brokenNumber(p, unit piece, _ number, u Unit) error {
	switch rest := unit.String(); {
	case rest[0] >= '0' && rest[0] <= '9':
		joined := digitGroups().ReplaceAllString(p.String(), "$1$2") // twice, for single digits between spaces
		joined = digitGroups().ReplaceAllString(joined, "$1$2")
		return p.fail(u, "digits are written without spaces between them", "write "+suggest(u, joined))
	case rest[0] == '.':
		return p.fail(u, "the number has two decimal points", "write "+units[u].quantity+" like "+units[u].example)
	}
	return nil
}

var dashShape = pattern(`^([^-–—…]*?)\pZ*(?:[-–—…]|\bto\b)\pZ*([0-9.].*)$`)

// dashRange is a range written with a dash, an ellipsis or "to".
func dashRange(p, unit piece, n number, u Unit) error {
	m := dashShape().FindStringSubmatch(unit.String())
	if m == nil {
		return nil
	}
	instead := exampleRange(u)
	if _, ok := read(m[2], u); ok {
		candidate := strings.TrimRight(n.text()+" "+m[1], " ") + " .. " + m[2]
		if _, err := Parse(candidate, u); err == nil {
			instead = candidate
		}
	}
	return p.fail(u, "a range is written with two dots", "write "+instead)
}

var percentShape = pattern(`^(\pL*)[\pZ,(]*([0-9.]+)\pZ*%\)?$`)

func missingPlusMinus(p, unit piece, n number, u Unit) error {
	m := percentShape().FindStringSubmatch(unit.String())
	if m == nil {
		return nil
	}
	candidate := n.text() + " " + m[1] + " ± " + m[2] + " %"
	if _, ok := read(n.text()+" "+m[1], u); !ok {
		candidate = units[u].example + " ± 5 %"
	} else if _, err := Parse(candidate, u); err != nil {
		candidate = units[u].example + " ± 5 %"
	}
	return p.fail(u, "a tolerance is marked by ± or +-", "write "+candidate)
}

var smallPrefixes = map[string]string{
	"m": "milli", "u": "micro", "\u00b5": "micro", "\u03bc": "micro", "n": "nano", "p": "pico", "f": "femto",
}

// smallHertz is a frequency below anything in radio, where the shift key was missed.
func smallHertz(p, unit piece, n number, u Unit) error {
	name, small := smallPrefixes[strings.TrimSuffix(unit.String(), "Hz")]
	if u != Hertz || !small {
		return nil
	}
	return p.fail(u, show(p.String())+" is "+name+"hertz", "did you mean "+suggest(u, n.text()+" MHz")+"?")
}

func percentOfOne(p, unit piece, n number, u Unit) error {
	v, ok := n.times(-2)
	if u != One || unit.String() != "%" || !ok {
		return nil
	}
	return p.fail(u, "a factor is written without a percent sign", "write "+FormatExact(v, One))
}

// unitOf finds the unit that a text spells in full, with any of its prefixes.
func unitOf(text string) (u Unit, ok bool) {
	for u = Ohm; u <= percent; u++ {
		for _, symbol := range units[u].spellings {
			if before, found := strings.CutSuffix(text, symbol); found {
				if _, ok = prefixExponent(before, units[u].written); ok {
					return u, true
				}
			}
		}
	}
	return One, false
}

// belongsToAnother reports whether the text spells a unit other than u.
func belongsToAnother(text string, u Unit) bool {
	other, ok := unitOf(text)
	return ok && other != u
}

func wrongUnit(_, unit piece, n number, u Unit) error {
	if !belongsToAnother(unit.String(), u) {
		return nil
	}
	other, _ := unitOf(unit.String())
	return unit.fail(u, other.Name()+" where "+u.Name()+" belongs", "write "+units[u].quantity+" like "+plausible(n, u))
}

const (
	metresPerInch = 0.0254 // exact, international inch
	metresPerFoot = 0.3048 // exact, international foot
)

// oldLength is a length in inches, feet or wire gauge.
func oldLength(p, unit piece, n number, u Unit) error {
	v, ok := n.times(0)
	if u != Metre || !ok {
		return nil
	}
	what := ""
	switch strings.ToLower(unit.String()) {
	case "in", "in.", "inch", "inches", "\"", "″":
		what, v = "inches", v*metresPerInch
	case "ft", "ft.", "foot", "feet", "'", "′":
		what, v = "feet", v*metresPerFoot
	case "awg":
		// ASTM B258: 36 AWG is 0.005 inch, and 39 steps multiply the diameter by 92.
		what, v = "a wire gauge", 0.005*metresPerInch*math.Pow(92, (36-v)/39)
	default:
		return nil
	}
	return p.fail(u, what+" where metre belongs", "write "+suggest(u, Format(v, Metre, 4)))
}

// oldSymbols are units as printed on old parts and in old handbooks, in lower case.
var oldSymbols = map[string]string{
	"uuf": "pF", "mmf": "pF", "mmfd": "pF", "uufd": "pF", "mfd": "uF", "ufd": "uF",
	"c/s": "Hz", "cps": "Hz", "kc": "kHz", "kc/s": "kHz", "mc": "MHz", "mc/s": "MHz",
}

func oldSymbol(p, unit piece, n number, u Unit) error {
	symbol, known := oldSymbols[strings.ToLower(plainMicro.Replace(unit.String()))]
	if !known {
		return nil
	}
	candidate := n.text() + " " + symbol
	if _, ok := read(candidate, u); !ok {
		return nil
	}
	return p.fail(u, show(unit.String())+" is the old symbol of "+symbol, "write "+candidate)
}

// plainMicro writes both code points of the micro sign as u.
var plainMicro = strings.NewReplacer("\u00b5", "u", "\u03bc", "u")

// wrongCase is a unit or prefix in the wrong case, or with a space inside.
func wrongCase(p, unit piece, n number, u Unit) error {
	written := plainMicro.Replace(strings.Join(strings.FieldsFunc(unit.String(), unicode.IsSpace), ""))
	best := ""
	consider := func(candidate, full string) {
		// Where m and M are both units of the field, the case of the prefix is taken at its word.
		if strings.EqualFold(candidate, written) && (best == "" || candidate[0] == written[0]) {
			best = full
		}
	}
	for _, symbol := range units[u].spellings {
		consider(symbol, symbol)
		for _, letter := range units[u].written {
			consider(string(letter)+symbol, string(letter)+u.Symbol())
		}
	}
	for _, letter := range units[u].dropped {
		consider(string(letter), string(letter)+u.Symbol())
	}
	if best == "" {
		return nil
	}
	instead := "write " + suggest(u, n.text()+" "+best)
	what := "case matters in " + show(unit.String())
	switch {
	case strings.Join(strings.Fields(unit.String()), "") == best:
		what = "a space stands between prefix and unit"
	case written == "K":
		what = "kilo is a small k"
	case strings.HasPrefix(written, "M") && strings.HasPrefix(best, "m") && u != Metre:
		what += ": M is mega"
		if u == Farad {
			instead = "write " + n.text() + " uF (micro) or " + n.text() + " mF (milli)"
		}
	}
	return p.fail(u, what, instead)
}

var (
	codeLike   = pattern(`^([0-9]*)(?:\.([0-9]+))?(\pL)([0-9]+)(\pL*)$`)
	codeTail   = pattern(`^[0-9]+\pL\pL$`)
	loneLetter = pattern(`^\pL$`)
)

var codeExamples = map[Unit]string{Ohm: "4K7", Farad: "4n7", Henry: "4u7"}

// codeSlip is what looks like a letter code and is none.
func codeSlip(p piece, u Unit) error {
	text := p.String()
	example := codeExamples[u]
	if example == "" {
		example = units[u].example
	}
	if loneLetter().MatchString(text) {
		return p.fail(u, show(text)+" stands without digits", "write "+units[u].quantity+" like "+example)
	}
	if codeTail().MatchString(text) {
		if c, ok := splitCode(text, u); ok {
			return doubtfulTolerance(p, c, u)
		}
		return nil
	}
	m := codeLike().FindStringSubmatch(text)
	if m == nil {
		return nil
	}
	whole, decimals, letter, fraction, tail := m[1], m[2], m[3], m[4], m[5]
	if letter == "e" || letter == "E" {
		return nil // a power of ten
	}
	if decimals != "" {
		return p.fail(u, "a point and a letter both mark the decimals", "write "+suggest(u, whole+letter+decimals, example))
	}
	if whole == "" {
		whole = "0"
	}
	if codeMultipliers[u] == nil {
		return p.fail(u, "letter codes mark resistors, capacitors and inductors only",
			"write "+suggest(u, decimalFromCode(whole+"."+fraction, letter, u)...))
	}
	if _, known := codeMultipliers[u][letter]; !known {
		for right := range codeMultipliers[u] {
			if strings.EqualFold(right, letter) {
				return p.fail(u, "case matters in "+show(text), "write "+suggest(u, m[1]+right+fraction, example))
			}
		}
		return p.fail(u, letter+" is no letter of the code for "+u.Name(), "write "+units[u].quantity+" like "+example)
	}
	if c, ok := splitCode(text, u); ok {
		return doubtfulTolerance(p, c, u)
	}
	return p.fail(u, show(tail)+" is no tolerance letter (F 1 %, G 2 %, J 5 %, K 10 %, M 20 %)",
		"write "+suggest(u, m[1]+letter+fraction, example))
}

// decimalFromCode are the ways in which a letter in the place of the point may have been meant for a unit without codes.
func decimalFromCode(number, letter string, u Unit) []string {
	if letter == u.Symbol() {
		return []string{number + " " + letter}
	}
	return []string{number + " " + letter + u.Symbol(), number + " " + strings.ToLower(letter) + u.Symbol(), number}
}

// doubtfulTolerance is a letter code that is sound but for its trailing letter, or too large.
func doubtfulTolerance(p piece, c code, u Unit) error {
	v, ok := c.number.times(c.exponent)
	_, why := c.tolerance(u)
	if !ok || why == "" {
		return outOfRange(p, u)
	}
	value := FormatExact(v, u)
	instead := "write " + value
	if relative, known := codeTolerances[c.trailing]; known && v != 0 {
		instead += " or " + value + " ± " + shiftedText(relative, 2) + " %"
	}
	return p.fail(u, why, instead)
}
