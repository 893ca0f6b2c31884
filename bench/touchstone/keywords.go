package touchstone

import (
	"fmt"
	"strconv"
	"strings"
)

// keywords is what the keywords of a version 2 file have said so far.
type keywords struct {
	version       *line // nil in a version 1 file
	seen          map[string]bool
	ports         int
	order         layout // of two-port rows
	ordered       bool
	format        layout // layoutLower or layoutUpper; layoutRows stands for Full
	frequencies   count
	noise         count
	references    []float64
	referenceAt   *line
	informationAt *line // the open [Begin Information]
}

// count is a number of rows that the file announces.
type count struct {
	n  int
	at *line
}

func (k *keywords) inInformation() bool { return k.informationAt != nil }

// wantsReferences reports whether numbers on the next line belong to [Reference].
func (k *keywords) wantsReferences() bool {
	return k.referenceAt != nil && len(k.references) < k.ports
}

// keywordNames maps a keyword in lower case to its spelling and its reader.
var keywordNames = map[string]struct {
	spelling string
	read     func(*reader, *line) error
}{
	"version":                     {"Version", (*reader).version},
	"number of ports":             {"Number of Ports", (*reader).numberOfPorts},
	"two-port data order":         {"Two-Port Data Order", (*reader).twoPortOrder},
	"number of frequencies":       {"Number of Frequencies", (*reader).numberOfFrequencies},
	"number of noise frequencies": {"Number of Noise Frequencies", (*reader).numberOfNoiseFrequencies},
	"reference":                   {"Reference", (*reader).reference},
	"matrix format":               {"Matrix Format", (*reader).matrixFormat},
	"mixed-mode order":            {"Mixed-Mode Order", (*reader).mixedMode},
	"begin information":           {"Begin Information", (*reader).beginInformation},
	"network data":                {"Network Data", (*reader).networkData},
	"noise data":                  {"Noise Data", (*reader).noiseData},
	"end":                         {"End", (*reader).end},
}

func (p *reader) keyword(l *line) error {
	key, known := keywordNames[l.keyword]
	k := &p.keys
	switch {
	case !known:
		return p.fail(l, l.at, "the keyword ["+shortened(l.keyword)+"] is not known", "use those of version 2.0, as [Number of Ports] or [Network Data]")
	case l.keyword == "version" && (p.last != nil):
		return p.fail(l, l.at, "[Version] stands behind other lines", "put it first; only comments may stand above it")
	case l.keyword != "version" && k.version == nil:
		return p.fail(l, l.at, "["+key.spelling+"] in a file without [Version]", "put [Version] 2.0 first, or leave keywords out")
	case k.seen[l.keyword] && l.keyword != "begin information":
		return p.fail(l, l.at, "["+key.spelling+"] stands twice", "keep one of them")
	}
	if err := p.inPlace(l, key.spelling); err != nil {
		return err
	}
	if k.seen == nil {
		k.seen = map[string]bool{}
	}
	k.seen[l.keyword] = true
	return key.read(p, l)
}

// inPlace checks that a keyword belongs to the section in which it stands.
func (p *reader) inPlace(l *line, spelling string) error {
	if err := p.rowComplete(); err != nil {
		return err
	}
	k := &p.keys
	if l.keyword != "reference" && k.wantsReferences() {
		return p.fail(l, l.at, fmt.Sprintf("[Reference] has %d of %d values before this line", len(k.references), k.ports), "give one for each port")
	}
	if p.section != header && l.keyword != "noise data" && l.keyword != "end" {
		return p.fail(l, l.at, "["+spelling+"] stands behind [Network Data]", "put it above [Network Data]")
	}
	return nil
}

// argument returns the only word behind a keyword.
func (p *reader) argument(l *line, example string) (word, error) {
	if len(l.words) == 0 {
		return word{}, p.fail(l, l.end(), "the keyword has nothing behind it", "write it as in "+example)
	}
	if len(l.words) > 1 {
		return word{}, p.fail(l, l.words[1].at, quoted(l.words[1].text)+" is too much behind the keyword", "write it as in "+example)
	}
	return l.words[0], nil
}

func (p *reader) noArgument(l *line) error {
	if len(l.words) > 0 {
		return p.fail(l, l.words[0].at, quoted(l.words[0].text)+" is too much behind the keyword", "put it on a line of its own")
	}
	return nil
}

// whole returns the whole number ≥ 1 behind a keyword.
func (p *reader) whole(l *line, example string) (int, error) {
	w, err := p.argument(l, example)
	if err != nil {
		return 0, err
	}
	n, bad := strconv.ParseUint(w.text, 10, 31)
	if bad != nil || n == 0 {
		return 0, p.fail(l, w.at, quoted(w.text)+" is no whole number from 1 up", "write it as in "+example)
	}
	return int(n), nil
}

func (p *reader) version(l *line) error {
	w, err := p.argument(l, "[Version] 2.0")
	if err != nil {
		return err
	}
	if w.text != "2.0" && w.text != "2.1" {
		return p.fail(l, w.at, "version "+quoted(w.text)+" is not known", "write [Version] 2.0, or for version 1 leave all keywords out")
	}
	p.keys.version = l
	p.data.Version = w.text
	return nil
}

func (p *reader) numberOfPorts(l *line) error {
	n, err := p.whole(l, "[Number of Ports] 2")
	if err != nil {
		return err
	}
	if n > 2 {
		e := p.fail(l, l.words[0].at, "", "")
		return tooManyPorts(e.File, e.Line, e.Column, e.SourceLine, n)
	}
	if p.ports != 0 && p.ports != n {
		return p.fail(l, l.words[0].at, fmt.Sprintf("the file has %d port(s) where %d are expected", n, p.ports), fmt.Sprintf("name the file .s%dp, or give one with %d port(s)", n, p.ports))
	}
	p.keys.ports = n
	return nil
}

func (p *reader) twoPortOrder(l *line) error {
	w, err := p.argument(l, "[Two-Port Data Order] 12_21")
	if err != nil {
		return err
	}
	switch w.text {
	case "12_21":
		p.keys.order = layoutRows
	case "21_12":
		p.keys.order = layoutColumns
	default:
		return p.fail(l, w.at, "the order "+quoted(w.text)+" is not known", "write 12_21 or 21_12")
	}
	p.keys.ordered = true
	if p.keys.ports == 1 {
		return p.fail(l, l.at, "[Two-Port Data Order] in a one-port file", "leave it out")
	}
	return nil
}

func (p *reader) numberOfFrequencies(l *line) error {
	n, err := p.whole(l, "[Number of Frequencies] 401")
	p.keys.frequencies = count{n, l}
	return err
}

func (p *reader) numberOfNoiseFrequencies(l *line) error {
	n, err := p.whole(l, "[Number of Noise Frequencies] 5")
	p.keys.noise = count{n, l}
	return err
}

func (p *reader) reference(l *line) error {
	if p.keys.ports == 0 {
		return p.fail(l, l.at, "[Reference] stands above [Number of Ports]", "put it below")
	}
	p.keys.referenceAt = l
	return p.referenceValues(l, l.words)
}

// referenceValues takes values of [Reference], on its own line or on those below.
func (p *reader) referenceValues(l *line, words []word) error {
	k := &p.keys
	for _, w := range words {
		if len(k.references) == k.ports {
			return p.fail(l, w.at, fmt.Sprintf("[Reference] has more than %d value(s)", k.ports), "give one for each port")
		}
		v, err := parseReference(p.scanner, l, w)
		if err != nil {
			return err
		}
		k.references = append(k.references, v)
	}
	return nil
}

func (p *reader) matrixFormat(l *line) error {
	w, err := p.argument(l, "[Matrix Format] Full")
	if err != nil {
		return err
	}
	switch strings.ToLower(w.text) {
	case "full":
	case "lower":
		p.keys.format = layoutLower
	case "upper":
		p.keys.format = layoutUpper
	default:
		return p.fail(l, w.at, "the matrix format "+quoted(w.text)+" is not known", "write Full, Lower or Upper")
	}
	return nil
}

func (p *reader) mixedMode(l *line) error {
	return p.fail(l, l.at, "mixed-mode data can not be used", "export the parameters of the single ports (S11, S12, S21, S22)")
}

func (p *reader) beginInformation(l *line) error {
	p.keys.informationAt = l
	return nil
}

// information skips the lines up to [End Information].
func (p *reader) information(l *line) error {
	switch l.keyword {
	case "end information":
		p.keys.informationAt = nil
	case "network data", "noise data", "end", "begin information":
		at := p.keys.informationAt
		return p.fail(at, at.at, "[Begin Information] is not closed before line "+strconv.Itoa(l.number), "write [End Information] behind its content")
	}
	return nil
}

func (p *reader) networkData(l *line) error {
	k := &p.keys
	missing := ""
	switch {
	case p.chosen == nil:
		return p.fail(l, l.at, "no option line stands above [Network Data]", "put a line such as # MHz S RI R 50 below [Version]")
	case k.ports == 0:
		missing = "[Number of Ports]"
	case k.frequencies.at == nil:
		missing = "[Number of Frequencies]"
	case k.ports == 2 && !k.ordered:
		missing = "[Two-Port Data Order]"
	}
	if missing != "" {
		return p.fail(l, l.at, "no "+missing+" stands above [Network Data]", "put it there")
	}
	if err := p.noArgument(l); err != nil {
		return err
	}
	if err := p.setShape(k.ports); err != nil {
		return err
	}
	if k.referenceAt != nil {
		p.data.Reference = k.references
	}
	p.row.layout = k.order
	if k.format != layoutRows {
		p.row.layout = k.format
	}
	p.section = network
	return nil
}

func (p *reader) noiseData(l *line) error {
	switch {
	case p.section != network:
		return p.fail(l, l.at, "[Noise Data] stands above [Network Data]", "put it below the network data")
	case p.keys.ports != 2:
		return p.fail(l, l.at, "[Noise Data] in a one-port file", "leave it out")
	case p.keys.noise.at == nil:
		return p.fail(l, l.at, "no [Number of Noise Frequencies] stands above [Network Data]", "put it there")
	}
	p.section = noise
	return p.noArgument(l)
}

func (p *reader) end(l *line) error {
	if p.section == header {
		return p.fail(l, l.at, "[End] stands above [Network Data]", "put it at the end of the file")
	}
	p.section = ended
	return p.noArgument(l)
}

// countsAgree compares the rows found with those announced.
func (p *reader) countsAgree() error {
	for _, c := range []struct {
		count
		found int
		what  string
	}{
		{p.keys.frequencies, len(p.data.Frequencies), "frequencies"},
		{p.keys.noise, len(p.data.Noise), "noise frequencies"},
	} {
		if c.at != nil && c.n != c.found {
			return p.fail(c.at, c.at.words[0].at, fmt.Sprintf("%d %s are announced, %d are there", c.n, c.what, c.found),
				fmt.Sprintf("write %d, or give the missing rows", c.found))
		}
	}
	return nil
}

func shortened(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
