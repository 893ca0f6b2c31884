package touchstone

import (
	"errors"
	"fmt"
	"io"
	"strings"
)

// Read reads one file. name is for messages and, by its ending, for the number of ports of a version 1 file; ports is
// the number that the caller needs (1 or 2), or 0 to take what the file has. Faults of the content are an *Error; a
// failing r gives its error wrapped.
//
// Version 1 files hold Y, Z, G and H divided by the reference; Data holds them in absolute units.
func Read(r io.Reader, name string, ports int) (*Data, error) {
	ports, err := expectedPorts(name, ports)
	if err != nil {
		return nil, err
	}
	content, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if len(content) > maxFile {
		return nil, &Error{File: name, What: "the file is larger than 64 MiB", Instead: "give a file with fewer frequencies"}
	}
	s, err := newScanner(name, content)
	if err != nil {
		return nil, err
	}
	p := &reader{scanner: s, ports: ports, data: &Data{File: name, Version: "1.1"}}
	if err := p.run(); err != nil {
		return nil, err
	}
	return p.finish(), nil
}

// expectedPorts brings together what the caller needs and what the name says; 0 where neither says it.
func expectedPorts(name string, ports int) (int, error) {
	if ports < 0 || ports > 2 {
		return 0, tooManyPorts(name, 0, 0, "", ports)
	}
	named, err := portsInName(name)
	switch {
	case err != nil && !errors.Is(err, errNoEnding):
		return 0, err
	case named > 2:
		return 0, tooManyPorts(name, 0, 0, "", named)
	case ports == 0:
		return named, nil
	case named != 0 && named != ports:
		return 0, &Error{
			File: name, What: fmt.Sprintf("the name says %d port(s) where %d are needed", named, ports),
			Instead: fmt.Sprintf("give a .s%dp file", ports),
		}
	}
	return ports, nil
}

type section int

const (
	header section = iota
	network
	noise
	ended
)

// reader is the state while a file is read.
type reader struct {
	*scanner
	data    *Data
	ports   int // expected; 0 unknown
	section section
	options options
	chosen  *line // the option line that counts: the first
	last    *line // the last line with content
	keys    keywords
	row     row
	flat    []complex128
}

func (p *reader) run() error {
	for {
		l, err := p.next()
		if err != nil {
			return err
		}
		if l == nil {
			return p.complete()
		}
		if err := p.line(l); err != nil {
			return err
		}
		p.last = l
	}
}

func (p *reader) line(l *line) error {
	switch {
	case p.keys.inInformation():
		return p.information(l)
	case p.section == ended:
		return p.fail(l, l.at, "content after [End]", "end the file there")
	case l.keyword != "":
		return p.keyword(l)
	case strings.HasPrefix(l.words[0].text, "#"):
		return p.optionLine(l)
	case p.section == header && p.keys.wantsReferences():
		return p.referenceValues(l, l.words)
	}
	if p.section == header {
		if err := p.enterVersion1(l); err != nil {
			return err
		}
	}
	if p.section == noise {
		return p.noiseRow(l)
	}
	return p.networkRow(l)
}

// optionLine takes the first option line; the specification tells readers to skip the others.
func (p *reader) optionLine(l *line) error {
	if p.chosen != nil {
		return nil
	}
	var err error
	if p.options, err = parseOptions(p.scanner, l); err != nil {
		return err
	}
	p.chosen = l
	if p.keys.version != nil && len(p.options.values) > 1 {
		return p.fail(l, p.options.reference[1].at, "several references on the option line of a file with keywords", "write them behind [Reference]")
	}
	return nil
}

// enterVersion1 settles, at the first row of numbers of a file without keywords, what the rows hold.
func (p *reader) enterVersion1(l *line) error {
	at := l.words[0].at
	if p.keys.version != nil {
		return p.fail(l, at, "data before [Network Data]", "put [Network Data] on a line above the first frequency")
	}
	if p.chosen == nil {
		if _, bad := parseNumber(l.words[0].text, 0); bad != nil {
			return p.fail(l, at, bad.what, "start the file with an option line such as # MHz S RI R 50")
		}
		return p.fail(l, at, "data before the option line", "put a line such as # MHz S RI R 50 above it")
	}
	if p.ports == 0 {
		return p.fail(l, at, "neither the name nor a keyword says how many ports the file has", "name it .s1p or .s2p")
	}
	if err := p.setShape(p.ports); err != nil {
		return err
	}
	p.row.layout = layoutColumns
	p.row.normalised = true
	p.section = network
	return nil
}

// setShape settles ports, parameter and the references of the option line.
func (p *reader) setShape(ports int) error {
	d, o := p.data, p.options
	d.Ports, d.Parameter = ports, o.parameter
	if !validParameter(o.parameter, ports) {
		return p.fail(p.chosen, p.chosen.at, fmt.Sprintf("%c-parameters are defined for two ports only", o.parameter), "write S, Y or Z for a one-port")
	}
	switch len(o.values) {
	case 1:
		d.Reference = make([]float64, ports)
		for i := range d.Reference {
			d.Reference[i] = o.values[0]
		}
	case ports:
		d.Reference = o.values
	default:
		return p.fail(p.chosen, o.reference[0].at, fmt.Sprintf("%d references for %d port(s)", len(o.values), ports), "write one, or one for each port")
	}
	return nil
}

// complete checks, at the end of the file, that nothing is missing.
func (p *reader) complete() error {
	if p.last == nil {
		return &Error{File: p.file, Line: 1, Column: 1, What: "the file is empty", Instead: "give an option line and a row for each frequency"}
	}
	if p.keys.inInformation() {
		return p.fail(p.keys.informationAt, p.keys.informationAt.at, "[Begin Information] is never closed", "write [End Information] behind its content")
	}
	if err := p.rowComplete(); err != nil {
		return err
	}
	if len(p.data.Frequencies) == 0 {
		return p.fail(p.last, p.last.end(), "the file ends without network data", "give a row of numbers for each frequency")
	}
	return p.countsAgree()
}

func (p *reader) finish() *Data {
	d := p.data
	n := d.Ports * d.Ports
	d.Values = make([][]complex128, len(d.Frequencies))
	for i := range d.Values {
		d.Values[i] = p.flat[i*n : (i+1)*n : (i+1)*n]
	}
	d.Comments = p.comments
	return d
}
