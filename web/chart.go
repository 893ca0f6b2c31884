package web

import (
	"fmt"
	"net/http"
	"runtime"

	"knobwise/answer"
	"knobwise/bench/fault"
	"knobwise/report"
	"knobwise/study/chart"
)

// mostChartLines bounds a chart that the page asks for.
const mostChartLines = 400

// chart answers in pieces with a tuning chart, or with a file of it: POST /api/chart. A page that goes away ends the work.
func (s *Server) chart(w http.ResponseWriter, r *http.Request) {
	var q ChartRequest
	if err := decode(r.Body, &q); err != nil {
		fail(w, err)
		return
	}
	a, err := s.prepare(q.SweepRequest)
	if err != nil {
		fail(w, err)
		return
	}
	if len(q.Frequencies) > mostChartLines {
		fail(w, fault.New(fault.Request, "that is more lines than the page can use", "ask for at most 400; the command makes longer charts"))
		return
	}
	for _, f := range q.Frequencies {
		if !(f > 0 && f <= mostHertz) {
			fail(w, fault.New(fault.Request, fmt.Sprintf("%g Hz is no frequency of a bench", f), "give some above zero and up to 1 THz"))
			return
		}
	}
	ask := chart.Question{
		Box: a.box, Setup: a.setup, At: a.setting, Frequencies: q.Frequencies, Turn: 1,
		Threads: max(1, runtime.GOMAXPROCS(0)-1), // a knob may be turned meanwhile
	}
	if q.Format == "" {
		out := stepsTo(w)
		ask.Progress = out.progress
		found, err := chart.Run(r.Context(), ask)
		if err != nil {
			out.fail(err)
			return
		}
		whole := answer.OfTuningChart(found)
		out.end(Step{Chart: &whole})
		return
	}
	found, err := chart.Run(r.Context(), ask)
	if err != nil {
		fail(w, asFault(err))
		return
	}
	switch q.Format {
	case "csv":
		attach(w, q.Box, "-chart.csv", types["csv"], answer.TuningChartCSV(a.box, found))
	case "html":
		page, err := report.Chart(a.box, found, nil)
		if err != nil {
			fail(w, err)
			return
		}
		attach(w, q.Box, "-chart.html", "text/html; charset=utf-8", page)
	default:
		fail(w, fault.New(fault.Usage, "unknown format "+q.Format, "ask for html or csv, or leave it out"))
	}
}
