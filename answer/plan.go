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
	Points     *int        `json:"record_points_min"`   // null where there is no peak to count by
	Exact      *int        `json:"record_points_exact"` // null without a time
	Rate       Number      `json:"sample_rate_hz"`
	ExactRate  Number      `json:"sample_rate_exact_hz"`
	Window     Number      `json:"greatest_sample_window_hz"`
	Gaps       []Gap       `json:"false_gaps"` // of very many the widest
	GapCount   int         `json:"false_gap_count"`
	Generator  Generator   `json:"generator"`
	Levels     PlanLevels  `json:"levels"`
	Pad        *Pad        `json:"pad"`
	Probe      *ProbeDoes  `json:"probe"`
	Sweeps     []Take      `json:"sweeps"`
	Idle       []string    `json:"controls_without_effect"`
	Warnings   []string    `json:"warnings"`
}

// Gap is the JSON of a false gap.
type Gap struct {
	Frequency Number `json:"frequency_hz"`
	Width     Number `json:"width_hz"`
	Time      Number `json:"time_s"`
}

// Generator is the JSON of how a generator must be set.
type Generator struct {
	EMF       Number `json:"emf_v"`           // rms
	Into50    Number `json:"into_50_ohm_v"`   // rms, at its own socket
	Into50Vpp Number `json:"into_50_ohm_vpp"` // the same
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
	// Across50 is the same across a load of 50 ohm.
	Across50 *ProbeDoes `json:"across_50_ohm,omitempty"`
}

// Take is the JSON of one sweep worth taking.
type Take struct {
	Setting   box.Setting `json:"setting"`
	Shows     string      `json:"shows"`
	Beside    []string    `json:"beside"` // switches that stand otherwise than as set
	Where     string      `json:"where"`
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
		PeakLoss: Number(r.PeakLoss), Broadening: Number(r.Broadening), Points: unlessZero(r.Points), Exact: unlessZero(r.Exact), Rate: Number(r.Rate), ExactRate: Number(r.ExactRate), Window: Number(r.Window),
		Gaps: []Gap{}, GapCount: r.GapCount, Generator: Generator{Number(r.Generator.EMF), Number(r.Generator.Into50), Number(r.Generator.Into50Vpp)}, Idle: OrEmpty(r.Idle), Sweeps: []Take{}, Warnings: OrEmpty(r.Notices),
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
		out.Probe = &ProbeDoes{Shift: Number(r.Probe.Shift), Gain: Number(r.Probe.Gain)}
		if a := r.Probe.Across50; a != nil {
			out.Probe.Across50 = &ProbeDoes{Shift: Number(a.Shift), Gain: Number(a.Gain)}
		}
	}
	for _, t := range r.Sweeps {
		out.Sweeps = append(out.Sweeps, Take{t.Setting, t.Shows, OrEmpty(t.Beside), string(t.Where), Number(t.Peak), Number(t.Bandwidth), Number(t.Level), Number(t.Shortest)})
	}
	return out
}

// unlessZero is a count; nil, which is null, where there is none.
func unlessZero(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}
