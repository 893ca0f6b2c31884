package web

import (
	"net/http"

	"knobwise/answer"
	"knobwise/bench/fault"
	"knobwise/report"
	"knobwise/study/chart"
)

// mostChartLines bounds a chart that the page asks for.
const mostChartLines = 400

// chart answers with a tuning chart, or with a file of it: POST /api/chart.
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
	found, err := chart.Run(r.Context(), chart.Question{Box: a.box, Setup: a.setup, At: a.setting, Frequencies: q.Frequencies, Turn: 1})
	if err != nil {
		fail(w, asFault(err))
		return
	}
	switch q.Format {
	case "":
		reply(w, http.StatusOK, answer.OfTuningChart(found))
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
