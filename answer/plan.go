package answer

import (
	"strconv"

	"knobwise/bench/box"
	"knobwise/study/plan"
)

// Plan is the JSON of how a sweep must be taken.
type Plan struct {
	Box        string      `json:"box"`
	Setup      string      `json:"setup"`
	Setting    box.Setting `json:"setting"`
	Peak       Number      `json:"peak_hz"`
	Bandwidth  Number      `json:"bandwidth_hz"`
	LoadedQ    Number      `json:"loaded_q"`
	ShiftLimit Number      `json:"shift_limit_hz"`
	LossLimit  Number      `json:"loss_limit_db"`
	Shortest   Number      `json:"sweep_time_min_s"`
	Time       Number      `json:"sweep_time_s"` // the one that is judged
	PeakShift  Number      `json:"peak_shift_hz"`
	PeakLoss   Number      `json:"peak_loss_db"`
	Broadening Number      `json:"broadening"`
	Points     int         `json:"record_points_min"`
	Exact      int         `json:"record_points_exact"`
	Gaps       []Gap       `json:"false_gaps"`
	Levels     PlanLevels  `json:"levels"`
	Pad        *Pad        `json:"pad"`
	Probe      *ProbeDoes  `json:"probe"`
	Sweeps     []Take      `json:"sweeps"`
	Warnings   []string    `json:"warnings"`
}

// Gap is the JSON of a false gap.
type Gap struct {
	Frequency Number `json:"frequency_hz"`
	Width     Number `json:"width_hz"`
	Time      Number `json:"time_s"`
}

// PlanLevels is the JSON of the voltages at an oscilloscope, peak to peak.
type PlanLevels struct {
	Highest   Number            `json:"highest_vpp"`
	HighestAt Number            `json:"highest_hz"`
	Straight  Number            `json:"straight_vpp"`
	Lowest    Number            `json:"lowest_vpp"`
	LowestAt  Number            `json:"lowest_hz"`
	Screen    Number            `json:"screen_v"`
	Step      map[string]Number `json:"step_at_lowest_db"` // by the converter's bits
}

// Pad is the JSON of a resistor in series with a generator.
type Pad struct {
	Series Number `json:"series_ohm"`
	Source Number `json:"source_ohm"`
}

// ProbeDoes is the JSON of what the probe does to the box.
type ProbeDoes struct {
	Shift Number `json:"peak_shift_hz"`
	Gain  Number `json:"gain_db"`
}

// Take is the JSON of one sweep worth taking.
type Take struct {
	Setting   box.Setting `json:"setting"`
	Shows     string      `json:"shows"`
	Peak      Number      `json:"peak_hz"`
	Bandwidth Number      `json:"bandwidth_hz"`
	Level     Number      `json:"level_dbv"`
	Shortest  Number      `json:"sweep_time_min_s"`
}

// OfPlan puts a plan into its JSON form.
func OfPlan(r *plan.Result) Plan {
	l := r.Levels
	out := Plan{
		Box: r.Box, Setup: r.Setup, Setting: r.Setting, Peak: Number(r.Peak), Bandwidth: Number(r.Bandwidth), LoadedQ: Number(r.LoadedQ),
		ShiftLimit: Number(r.Shift), LossLimit: Number(r.Loss), Shortest: Number(r.Shortest), Time: Number(r.Time), PeakShift: Number(r.PeakShift),
		PeakLoss: Number(r.PeakLoss), Broadening: Number(r.Broadening), Points: r.Points, Exact: r.Exact, Gaps: []Gap{}, Sweeps: []Take{}, Warnings: OrEmpty(r.Notices),
		Levels: PlanLevels{Number(l.Highest), Number(l.HighestAt), Number(l.Straight), Number(l.Lowest), Number(l.LowestAt), Number(l.Screen), map[string]Number{}},
	}
	for bits, dB := range l.Step {
		out.Levels.Step[strconv.Itoa(bits)] = Number(dB)
	}
	for _, g := range r.Gaps {
		out.Gaps = append(out.Gaps, Gap{Number(g.Frequency), Number(g.Width), Number(g.Time)})
	}
	if r.Pad != nil {
		out.Pad = &Pad{Number(r.Pad.Series), Number(r.Pad.Source)}
	}
	if r.Probe != nil {
		out.Probe = &ProbeDoes{Number(r.Probe.Shift), Number(r.Probe.Gain)}
	}
	for _, t := range r.Sweeps {
		out.Sweeps = append(out.Sweeps, Take{t.Setting, t.Shows, Number(t.Peak), Number(t.Bandwidth), Number(t.Level), Number(t.Shortest)})
	}
	return out
}
