package web

import (
	"bytes"
	"net/http"
	"strings"

	"knobwise/answer"
	"knobwise/bench/fault"
	"knobwise/figure"
	"knobwise/figure/schematic"
	"knobwise/study/sweep"
)

// types are the forms that the page may ask for, and their media types.
var types = map[string]string{
	"csv": "text/csv; charset=utf-8", "json": "application/json", "s2p": "text/plain; charset=us-ascii",
	"svg": "image/svg+xml", "circuit": "image/svg+xml", "png": "image/png", "pdf": "application/pdf",
}

// export answers with a file: POST /api/export.
func (s *Server) export(w http.ResponseWriter, r *http.Request) {
	var q ExportRequest
	if err := decode(r.Body, &q); err != nil {
		fail(w, err)
		return
	}
	data, err := s.exported(q)
	if err != nil {
		fail(w, err)
		return
	}
	ending := "." + q.Format
	if q.Format == "circuit" {
		ending = "-circuit.svg"
	}
	attach(w, q.Box, ending, types[q.Format], data)
}

// attach answers with a file that is named after a box.
func attach(w http.ResponseWriter, boxFile, ending, mediaType string, data []byte) {
	name := strings.TrimSuffix(boxFile, boxEnding) + ending
	w.Header().Set("Content-Type", mediaType)
	w.Header().Set("Content-Disposition", `attachment; filename="`+strings.Map(plainName, name)+`"`)
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write(data) // the page may be gone
}

// plainName keeps a file name to signs that need no escape in a header.
func plainName(r rune) rune {
	if r <= ' ' || r > '~' || strings.ContainsRune(`"\/;`, r) {
		return '-'
	}
	return r
}

func (s *Server) exported(q ExportRequest) ([]byte, error) {
	if types[q.Format] == "" {
		return nil, fault.New(fault.Usage, "unknown format "+q.Format, "ask for csv, json, svg, png, pdf, s2p or circuit")
	}
	a, err := s.prepare(q.SweepRequest)
	if err != nil {
		return nil, err
	}
	if q.Format == "circuit" {
		return a.circuit(q.Dark)
	}
	if q.Format == "s2p" {
		reference := q.Reference
		if reference == 0 {
			reference = 50
		}
		if !(reference > 0) {
			return nil, fault.New(fault.Usage, "the reference is not above zero", "give ohms, or leave it out for 50")
		}
		r, err := sweep.RunScattering(a.box, a.setting, a.over, reference)
		if err != nil {
			return nil, err
		}
		return answer.ScatteringTouchstone(a.box, r)
	}
	r, err := sweep.Run(a.hookup, a.question(q.SweepRequest, sweep.LoadVoltage, sweep.InsertionGain, sweep.Transducer))
	if err != nil {
		return nil, err
	}
	switch q.Format {
	case "csv":
		return answer.SweepCSV(r), nil
	case "json":
		return answer.JSON(answer.OfSweep(r))
	}
	var b bytes.Buffer
	r.Features = r.Features[:1] // the picture marks the load voltage alone, as the command's does
	err = answer.SweepPicture(&b, q.Format, a.box, r, q.Dark)
	return b.Bytes(), err
}

// circuit is the drawing of the box as the page shows it.
func (a asked) circuit(dark bool) ([]byte, error) {
	drawing, err := schematic.Layout(a.box, a.setting, a.labels())
	if err != nil {
		return nil, err
	}
	theme := figure.Light
	if dark {
		theme = figure.Dark
	}
	var b bytes.Buffer
	err = drawing.SVG(&b, theme)
	return b.Bytes(), err
}
