package capture

import "strings"

// unit is what the text of a unit means.
type unit struct {
	symbol  string  // of the SI base or derived unit, or of what is not converted: s Hz V A W ohm dB… deg rad %
	shift   int     // power of ten of the prefix
	factor  float64 // besides: 60 for minutes
	decibel bool
	slip    bool // the prefix is not the one that was written: MV, mHz
	form    Form
}

// Form is how the size of an alternating voltage is told.
type Form string

// The forms. Unsaid counts as rms for an amplitude.
const (
	Unsaid     Form = ""
	RMS        Form = "rms"
	Peak       Form = "peak"
	PeakToPeak Form = "peak to peak"
)

// formWords are the units that say a form with them.
var formWords = map[string]Form{"vrms": RMS, "vpp": PeakToPeak, "vp-p": PeakToPeak, "vpk": Peak, "vp": Peak}

// decibels are the spellings of levels, in lower case, and how they are written.
var decibels = map[string]string{
	"": "dB", "m": "dBm", "mw": "dBm", "w": "dBW", "v": "dBV", "mv": "dBmV", "uv": "dBuV", "\u00b5v": "dBuV", "\u03bcv": "dBuV",
	"c": "dBc", "fs": "dBFS", "a": "dBA", "ua": "dBuA", "i": "dBi", "d": "dBd",
}

// unitWords are the spellings of units, in lower case. Case is told apart only where it must be.
var unitWords = map[string]string{
	"s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
	"hz": "Hz", "hertz": "Hz",
	"v": "V", "volt": "V", "volts": "V", "vrms": "V", "vpp": "V", "vpk": "V", "vp": "V", "vp-p": "V",
	"a": "A", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A",
	"w": "W", "watt": "W", "watts": "W",
	"ohm": "ohm", "ohms": "ohm", "ω": "ohm", "\u2126": "ohm",
}

// unscaledWords are units that stand as they are.
var unscaledWords = map[string]string{
	"deg": "deg", "degree": "deg", "degrees": "deg", "°": "deg", "rad": "rad", "%": "%",
}

// prefixes are the SI prefixes (BIPM, SI brochure, table 7; IEC 80000-1) as symbols and as words.
var prefixes = []struct {
	symbol, word string
	power        int
}{
	{"f", "femto", -15},
	{"p", "pico", -12},
	{"n", "nano", -9},
	{"u", "micro", -6},
	{"\u00b5", "micro", -6},
	{"\u03bc", "micro", -6},
	{"m", "milli", -3},
	{"k", "kilo", 3},
	{"M", "mega", 6},
	{"G", "giga", 9},
}

// parseUnit reads the text of a unit, which may stand in brackets.
func parseUnit(written string) (u unit, ok bool) {
	t := strings.TrimSpace(written)
	for _, pair := range []string{"()", "[]", "{}"} {
		if len(t) >= 2 && t[0] == pair[0] && t[len(t)-1] == pair[1] {
			t = strings.TrimSpace(t[1 : len(t)-1])
		}
	}
	u.factor = 1
	lower := strings.ToLower(t)
	if symbol, found := unscaledWords[lower]; found {
		u.symbol = symbol
		return u, true
	}
	if rest, found := strings.CutPrefix(lower, "db"); found && decibels[rest] != "" {
		u.symbol, u.decibel = decibels[rest], true
		return u, true
	}
	if lower == "min" || lower == "minutes" { // a unit accepted with the SI: SI brochure, table 8
		u.symbol, u.factor = "s", 60
		return u, true
	}
	if symbol, found := unitWords[lower]; found && t != "a" {
		u.symbol, u.form = symbol, formWords[lower]
		return u, true
	}
	for _, p := range prefixes {
		if rest, found := strings.CutPrefix(t, p.symbol); found && u.take(rest, p.power) {
			return u, true
		}
		if rest, found := strings.CutPrefix(lower, p.word); found && len(rest) > 2 && u.take(rest, p.power) {
			return u, true
		}
	}
	return u.otherCase(t, lower)
}

func (u *unit) take(rest string, power int) bool {
	word := strings.ToLower(strings.TrimSpace(rest))
	symbol, found := unitWords[word]
	if !found {
		return false
	}
	u.symbol, u.shift, u.form = symbol, power, formWords[word]
	switch {
	case power == -3 && symbol == "Hz": // no radio is tuned in millihertz
		u.shift, u.slip = 6, rest == "Hz"
	case power == 6 && (symbol == "s" || symbol == "V" || symbol == "A"): // nor is a megavolt on a probe
		u.shift, u.slip = -3, true
	}
	return true
}

// otherCase reads the prefixes that stand in the wrong case: KHZ, US, NS.
func (u unit) otherCase(t, lower string) (unit, bool) {
	if len(lower) < 2 {
		return u, false
	}
	power, found := map[byte]int{'K': 3, 'U': -6, 'N': -9, 'P': -12, 'g': 9}[t[0]]
	if !found || !u.take(t[1:], power) {
		return u, false
	}
	return u, true
}

// isUnitName tells a head that is a unit and nothing else, in a row of other heads: "MHz", "dBm". Letters that name channels
// or quantities as well are none.
func isUnitName(name string) bool {
	u, known := parseUnit(name)
	return known && (u.decibel || u.symbol == "Hz" || u.symbol == "s" && u.factor == 1 || u.symbol == "V")
}

// suffixes are the units taken where they follow a name behind a blank, a slash or an underscore without brackets. Letters
// that name channels are not among them.
var suffixes = map[string]bool{
	"s": true, "ms": true, "us": true, "\u00b5s": true, "\u03bcs": true, "ns": true, "ps": true, "sec": true, "seconds": true,
	"hz": true, "khz": true, "mhz": true, "ghz": true, "v": true, "mv": true, "uv": true, "\u00b5v": true, "\u03bcv": true, "volt": true, "volts": true,
	"vpk": true, "vpp": true, "vrms": true, "mw": true, "db": true, "dbm": true, "dbw": true, "dbv": true, "dbuv": true, "dbmv": true, "dbc": true,
	"deg": true, "rad": true, "ohm": true,
}

// nameAndUnit cuts the head of a column: "Time (ms)", "Level [dBm]", "Time/ms", "t in us", "load_v", "CH1 V".
func nameAndUnit(head string) (name, written string) {
	head = strings.TrimSpace(head)
	for _, pair := range []string{"()", "[]", "{}"} {
		if !strings.HasSuffix(head, pair[1:]) {
			continue
		}
		open := strings.LastIndex(head, pair[:1])
		if open < 0 {
			continue
		}
		inside := strings.TrimSpace(head[open+1 : len(head)-1])
		if _, known := parseUnit(inside); known || pair == "[]" && inside != "" {
			return strings.TrimSpace(head[:open]), inside
		}
	}
	for _, mark := range []string{" in ", "/", ",", ":", "_", " "} {
		i := strings.LastIndex(head, mark)
		if i <= 0 {
			continue
		}
		rest := strings.TrimSpace(head[i+len(mark):])
		if suffixes[strings.ToLower(rest)] {
			return strings.TrimSpace(head[:i]), rest
		}
	}
	return head, ""
}
