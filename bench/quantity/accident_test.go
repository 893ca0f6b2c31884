package quantity_test

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	. "knobwise/bench/quantity"
)

// accidents are texts that must be refused, with the message and the part of the text that it points at.
var accidents = []struct {
	text    string
	unit    Unit
	message string
	marked  string
}{
	// No unit.
	{"330", Farad, "a value needs its unit; write 330 pF", "330"},
	{"104", Farad, "a value needs its unit; write 104 pF, or 100 nF where 104 is the marking of the part", "104"},
	{"0.1", Farad, "a value needs its unit; write 0.1 uF", "0.1"},
	{"3.3e-10", Farad, "a value needs its unit; write 330 pF", "3.3e-10"},
	{"22", Henry, "a value needs its unit; write 22 uH", "22"},
	{"50", Ohm, "a value needs its unit; write 50 ohm", "50"},
	{"7.1", Hertz, "a value needs its unit; write 7.1 MHz", "7.1"},
	{"7100", Hertz, "a value needs its unit; write 7100 kHz", "7100"},
	{"7100000", Hertz, "a value needs its unit; write 7100000 Hz", "7100000"},
	{"32", Metre, "a value needs its unit; write 32 mm or 32 m", "32"},
	{"100", Second, "a value needs its unit; write 100 ms", "100"},
	{"4.7e3", Ohm, "a value needs its unit; write 4.7e3 ohm", "4.7e3"},
	{"14 .. 390", Farad, "a value needs its unit; write 390 pF", "390"},

	// Case.
	{"3 mHz", Hertz, "3 mHz is millihertz; did you mean 3 MHz?", "3 mHz"},
	{"3m", Hertz, "3m is millihertz; did you mean 3 MHz?", "3m"},
	{"3 uHz", Hertz, "3 uHz is microhertz; did you mean 3 MHz?", "3 uHz"},
	{"3 mhz", Hertz, "case matters in mhz; write 3 MHz", "3 mhz"},
	{"3 Khz", Hertz, "case matters in Khz; write 3 kHz", "3 Khz"},
	{"10 PF", Farad, "case matters in PF; write 10 pF", "10 PF"},
	{"10 pf", Farad, "case matters in pf; write 10 pF", "10 pf"},
	{"10 UF", Farad, "case matters in UF; write 10 uF", "10 UF"},
	{"10 MF", Farad, "case matters in MF: M is mega; write 10 uF (micro) or 10 mF (milli)", "10 MF"},
	{"3 MH", Henry, "case matters in MH: M is mega; write 3 mH", "3 MH"},
	{"3 mh", Henry, "case matters in mh; write 3 mH", "3 mh"},
	{"3 UH", Henry, "case matters in UH; write 3 uH", "3 UH"},
	{"4.7 K", Ohm, "kilo is a small k; write 4.7 kohm", "4.7 K"},
	{"4.7K", Ohm, "kilo is a small k; write 4.7 kohm", "4.7K"},
	{"4.7 KOHM", Ohm, "case matters in KOHM; write 4.7 kohm", "4.7 KOHM"},
	{"4.7 MOHM", Ohm, "case matters in MOHM; write 4.7 Mohm", "4.7 MOHM"},
	{"4.7 k ohm", Ohm, "a space stands between prefix and unit; write 4.7 kohm", "4.7 k ohm"},
	{"5 MM", Metre, "case matters in MM; write 5 mm", "5 MM"},
	{"4P7", Farad, "case matters in 4P7; write 4p7", "4P7"},

	// The number.
	{"4,7 pF", Farad, "the decimal mark is a point, not a comma; write 4.7 pF", "4,7 pF"},
	{"4,7k", Ohm, "the decimal mark is a point, not a comma; write 4.7k", "4,7k"},
	{",5 pF", Farad, "the decimal mark is a point, and a digit stands before it; write 0.5 pF", ",5 pF"},
	{"1,000 pF", Farad, "the comma may mark decimals or thousands; write 1.000 pF or 1000 pF", "1,000 pF"},
	{"1,000.5 pF", Farad, "digits are written without commas between them; write 1000.5 pF", "1,000.5 pF"},
	{"1 000 pF", Farad, "digits are written without spaces between them; write 1000 pF", "1 000 pF"},
	{"1.2.3 pF", Farad, "the number has two decimal points; write a capacitance like 330 pF", "1.2.3 pF"},
	{"inf", Ohm, "inf is no finite number; write a resistance like 50 ohm, or ? where it is unknown", "inf"},
	{"-Infinity pF", Farad, "-Infinity pF is no finite number; write a capacitance like 330 pF, or ? where it is unknown", "-Infinity pF"},
	{"NaN", Ohm, "NaN is no finite number; write a resistance like 50 ohm, or ? where it is unknown", "NaN"},
	{"∞", Ohm, "∞ is no finite number; write a resistance like 50 ohm, or ? where it is unknown", "∞"},
	{"1e400 GHz", Hertz, "1e400 GHz is too large or too small for a number; write a frequency like 3 MHz", "1e400 GHz"},
	{"1e-400 F", Farad, "1e-400 F is too large or too small for a number; write a capacitance like 330 pF", "1e-400 F"},
	{"1e99999999999999999999 F", Farad, "1e99999999999999999999 F is too large or too small for a number; write a capacitance like 330 pF", "1e99999999999999999999 F"},
	{"1.7e308 ohm ± 50 %", Ohm, "1.7e308 ohm ± 50 % is too large or too small for a number; write a resistance like 50 ohm", "1.7e308 ohm ± 50 %"},
	{"", Ohm, "nothing is written here; write a resistance like 50 ohm, or ? where it is unknown", ""},
	{"   ", Ohm, "nothing is written here; write a resistance like 50 ohm, or ? where it is unknown", ""},
	{"abc", Farad, "abc is no number; write a capacitance like 330 pF", "abc"},
	{"pF", Farad, "pF stands without a number; write a capacitance like 330 pF", "pF"},

	// The unit.
	{"50 ohm", Farad, "ohm where farad belongs; write a capacitance like 50 pF", "ohm"},
	{"330 pF", Ohm, "farad where ohm belongs; write a resistance like 330 ohm", "pF"},
	{"10pF", Henry, "farad where henry belongs; write an inductance like 10 uH", "pF"}, // not 10 pH of 1 %
	{"10mF", Ohm, "farad where ohm belongs; write a resistance like 10 ohm", "mF"},
	{"180 ohm", One, "ohm where plain number belongs; write a plain number like 180", "ohm"},
	{"66 %", One, "a factor is written without a percent sign; write 0.66", "66 %"},
	{"330 pX", Farad, "pX is no unit of a capacitance; write 330 pF", "pX"},
	{"50 R", Ohm, "R is no unit of a resistance; write 50 ohm", "R"},
	{"5 uuF", Farad, "uuF is the old symbol of pF; write 5 pF", "5 uuF"},
	{"5 µµF", Farad, "µµF is the old symbol of pF; write 5 pF", "5 µµF"},
	{"5 mfd", Farad, "mfd is the old symbol of uF; write 5 uF", "5 mfd"},
	{"550 kc", Hertz, "kc is the old symbol of kHz; write 550 kHz", "550 kc"},
	{"1.5 in", Metre, "inches where metre belongs; write 38.10 mm", "1.5 in"},
	{"10 ft", Metre, "feet where metre belongs; write 3.048 m", "10 ft"},
	{"36 AWG", Metre, "a wire gauge where metre belongs; write 127.0 um", "36 AWG"}, // ASTM B258: 0.005 inch
	{"3 dBm", Decibel, "dBm is no unit of a ratio; write 3 dB", "dBm"},

	// Letter codes.
	{"K", Ohm, "K stands without digits; write a resistance like 4K7", "K"},
	{"4.7K7", Ohm, "a point and a letter both mark the decimals; write 4K7", "4.7K7"},
	{"4X7", Ohm, "X is no letter of the code for ohm; write a resistance like 4K7", "4X7"},
	{"4k7", Farad, "k is no letter of the code for farad; write a capacitance like 4n7", "4k7"},
	{"4K7K", Ohm, "the letter K stands twice, as multiplier and as tolerance; write 4.7 kohm or 4.7 kohm ± 10 %", "4K7K"},
	{"47KK", Ohm, "the letter K stands twice, as multiplier and as tolerance; write 47 kohm or 47 kohm ± 10 %", "47KK"},
	{"4p7F", Farad, "F after the code may be the farad or 1 %; write 4.7 pF or 4.7 pF ± 1 %", "4p7F"},
	{"4p7G", Farad, "below 10 pF the letter G may mean 2 pF or 2 %; write 4.7 pF or 4.7 pF ± 2 %", "4p7G"},
	{"4n7Z", Farad, "Z is no tolerance letter (F 1 %, G 2 %, J 5 %, K 10 %, M 20 %); write 4.7 nF", "4n7Z"},
	{"4n7JK", Farad, "JK is no tolerance letter (F 1 %, G 2 %, J 5 %, K 10 %, M 20 %); write 4n7", "4n7JK"},
	{"7M1", Hertz, "letter codes mark resistors, capacitors and inductors only; write 7.1 MHz", "7M1"},
	{"2m5", Metre, "letter codes mark resistors, capacitors and inductors only; write 2.5 m", "2m5"},

	// Ranges.
	{"390 pF .. 14 pF", Farad, "the range falls from 390 pF to 14 pF; write the lower end first: 14 pF .. 390 pF", "390 pF .. 14 pF"},
	{"14 pF .. 14 pF", Farad, "both ends of the range are 14 pF; write 14 pF for a fixed value", "14 pF .. 14 pF"},
	{"1 nF .. 5", Farad, "the last end of a range needs its unit; write 1 nF .. 5 nF", "5"},
	{"14 pF ..", Farad, "a range needs both ends; write it like 14 pF .. 390 pF", "14 pF .."},
	{".. 14 pF", Farad, "a range needs both ends; write it like 14 pF .. 390 pF", ".. 14 pF"},
	{"14...390 pF", Farad, "three dots; write a range with two dots and spaces round them, like 14 pF .. 390 pF", "14...390 pF"},
	{"14-390 pF", Farad, "a range is written with two dots; write 14 .. 390 pF", "14-390 pF"},
	{"14 pF – 390 pF", Farad, "a range is written with two dots; write 14 pF .. 390 pF", "14 pF – 390 pF"},
	{"14 pF to 390 pF", Farad, "a range is written with two dots; write 14 pF .. 390 pF", "14 pF to 390 pF"},
	{"14…390 pF", Farad, "a range is written with two dots; write 14 .. 390 pF", "14…390 pF"},
	{"4K7J .. 10K", Ohm, "an end of a range has no tolerance of its own; write the limits themselves, like 50 ohm .. 500 ohm", "4K7J"},
	{"14 pF .. 39O pF", Farad, "O pF is no unit of a capacitance; write a capacitance like 330 pF", "O pF"},

	// Tolerances.
	{"330 pF ± 5", Farad, "a tolerance needs its percent sign; write 330 pF ± 5 %", "5"},
	{"330 pF ± 500", Farad, "a tolerance of 500 does not lie between 0 and 100 %; write it like 330 pF ± 5 %, or give limits like 14 pF .. 390 pF", "500"},
	{"330 pF ± 10p5J", Farad, "a tolerance of 10p5J does not lie between 0 and 100 %; write it like 330 pF ± 5 %, or give limits like 14 pF .. 390 pF", "10p5J"},
	{"330 pF ± 5 ohm", Farad, "ohm where farad belongs; write a capacitance like 5 pF", "ohm"},
	{"K47 ± 0", Ohm, "a tolerance of 0 does not lie between 0 and 100 %; write it like 50 ohm ± 5 %, or give limits like 50 ohm .. 500 ohm", "0"},
	{"0R0J", Ohm, "a relative tolerance says nothing of zero; write 0 ohm", "0R0J"},
	{"330 pX 5%", Farad, "a tolerance is marked by ± or +-; write 330 pF ± 5 %", "330 pX 5%"},
	{"330 pF 500%", Farad, "a tolerance is marked by ± or +-; write 330 pF ± 5 %", "330 pF 500%"},
	{"330 pF 5%", Farad, "a tolerance is marked by ± or +-; write 330 pF ± 5 %", "330 pF 5%"},
	{"330 pF (5 %)", Farad, "a tolerance is marked by ± or +-; write 330 pF ± 5 %", "330 pF (5 %)"},
	{"330 pF ±", Farad, "a tolerance needs a value before ± and a percentage after it; write it like 330 pF ± 5 %", "330 pF ±"},
	{"330 pF ± 0 %", Farad, "a tolerance of 0 % does not lie between 0 and 100 %; write it like 330 pF ± 5 %, or give limits like 14 pF .. 390 pF", "0 %"},
	{"330 pF ± 100 %", Farad, "a tolerance of 100 % does not lie between 0 and 100 %; write it like 330 pF ± 5 %, or give limits like 14 pF .. 390 pF", "100 %"},
	{"0 pF ± 5 %", Farad, "a relative tolerance says nothing of zero; give limits like 14 pF .. 390 pF", "0 pF ± 5 %"},
	{"4K7J ± 5 %", Ohm, "the tolerance is written twice, by its letter and by ±; write 4.7 kohm ± 5 %", "4K7J ± 5 %"},

	// The question mark.
	{"22 uH ?", Henry, "the question mark stands behind the value; write it in front: ? 22 uH", "22 uH ?"},
	{"~22 uH", Henry, "a guess is marked with one question mark; write ? 22 uH", "~22 uH"},
	{"about 22 uH", Henry, "a guess is marked with one question mark; write ? 22 uH", "about 22 uH"},
	{"?? 22 uH", Henry, "a guess is marked with one question mark; write ? 22 uH", "? 22 uH"},
	{"14 pF .. ? 390 pF", Farad, "a question mark stands inside the text; write one in front of the whole, like ? 14 pF .. 390 pF", "? 390 pF"},

	// The text itself.
	{"330\tpF", Farad, `the text holds the invisible character '\t'; write one line with plain spaces, like 330 pF`, "\t"},
	{"330\u200bpF", Farad, `the text holds the invisible character '\u200b'; write one line with plain spaces, like 330 pF`, "\u200b"},
	{"330 \xb5F", Farad, "the text is not valid UTF-8; write it in plain ASCII, like 330 pF", "\xb5"},
	{strings.Repeat("9", 300), Farad, "a text of 300 bytes is no value; write a capacitance like 330 pF", strings.Repeat("9", 300)},
}

func TestAccidentsAreNamed(t *testing.T) {
	remedies := 0
	for _, a := range accidents {
		q, err := Parse(a.text, a.unit)
		if err == nil {
			t.Errorf("%q was read as %+v", a.text, q)
			continue
		}
		e := checkError(t, a.text, err)
		if e.Error() != a.message {
			t.Errorf("%q:\n got %s\nwant %s", a.text, e, a.message)
		}
		if marked := a.text[e.Offset : e.Offset+e.Length]; marked != a.marked {
			t.Errorf("%q: marks %q, want %q", a.text, marked, a.marked)
		}
		if e.Unit != a.unit {
			t.Errorf("%q: unit %d", a.text, e.Unit)
		}
		if checkRemedy(t, e) {
			remedies++
		}
	}
	if remedies < 50 {
		t.Errorf("only %d remedies could be read", remedies)
	}
}

// checkError holds what is true of every error: its type, one line of valid text, and a place inside what was read.
func checkError(t testing.TB, text string, err error) *Error {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("%q: error of type %T", text, err)
	}
	if e.Text != text || e.Offset < 0 || e.Length < 0 || e.Offset+e.Length > len(text) {
		t.Fatalf("%q: place %d+%d in %q", text, e.Offset, e.Length, e.Text)
	}
	message := e.Error()
	if e.What == "" || e.Instead == "" || !utf8.ValidString(message) || strings.ContainsAny(message, "\n\r\u2028\u2029\u0085") {
		t.Fatalf("%q: message %q", text, message)
	}
	return e
}

// checkRemedy reads a remedy that is one text to write; it reports false where the remedy is of another kind.
func checkRemedy(t testing.TB, e *Error) bool {
	t.Helper()
	text, found := strings.CutPrefix(e.Instead, "write ")
	for _, more := range []string{" or ", " like ", ":", " for ", ", ", " with "} {
		if !found || strings.Contains(text, more) {
			return false
		}
	}
	// Of two mistakes in one text the first is named; near the limits of a float64 the size may be the second.
	if _, err := Parse(text, e.Unit); err != nil && !strings.Contains(err.Error(), "too large or too small") {
		t.Errorf("%q: the remedy %q leads to: %v", e.Text, e.Instead, err)
	}
	return true
}
