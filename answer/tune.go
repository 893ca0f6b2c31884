package answer

import (
	"knobwise/bench/box"
	"knobwise/study/tune"
)

// Tune is the JSON of the best settings for some frequencies.
type Tune struct {
	Box     string   `json:"box"`
	Setup   string   `json:"setup"`
	Aim     string   `json:"aim"`
	Results []Tuned  `json:"results"`
	Notices []string `json:"warnings"`
}

// Tuned is the JSON of the best setting for one frequency.
type Tuned struct {
	Frequency Number `json:"frequency_hz"`
	Choice
	Unit       string           `json:"objective_unit"`
	Meaning    string           `json:"objective_meaning"`
	Met        bool             `json:"met"`
	Short      Number           `json:"short_db"`
	Why        string           `json:"why"`
	Peak       Number           `json:"peak_hz"`
	Bandwidth  Number           `json:"bandwidth_hz"`
	LoadedQ    Number           `json:"loaded_q"`
	Tolerance  map[string]Limit `json:"dial_tolerance"`
	Proven     bool             `json:"proven"`
	Gap        Number           `json:"gap_db"`
	RunnersUp  []Choice         `json:"runners_up"`
	Strongest  Choice           `json:"strongest"`
	Sacrificed []string         `json:"sacrificed"`
	Warnings   []string         `json:"warnings"`
}

// Choice is the JSON of a setting and what it does.
type Choice struct {
	Setting    box.Setting `json:"setting"`
	Insertion  Number      `json:"insertion_gain_db"`
	Transducer Number      `json:"transducer_gain_db"`
	Objective  Number      `json:"objective"`
}

// OfTune puts the answer into its JSON form.
func OfTune(r *tune.Result) Tune {
	out := Tune{Box: r.Box, Setup: r.Setup, Aim: string(r.Aim), Results: []Tuned{}, Notices: OrEmpty(r.Notices)}
	for _, a := range r.Answers {
		j := Tuned{
			Frequency: Number(a.Frequency), Choice: ofChoice(a.Choice), Unit: a.Unit, Meaning: a.Meaning, Met: a.Met, Short: Number(a.Short), Why: a.Why,
			Peak: Number(a.Peak), Bandwidth: Number(a.Bandwidth), LoadedQ: Number(a.LoadedQ), Tolerance: map[string]Limit{}, Proven: a.Proven, Gap: Number(a.Gap),
			RunnersUp: []Choice{}, Strongest: ofChoice(a.Strongest), Sacrificed: OrEmpty(a.Sacrificed), Warnings: OrEmpty(a.Notices),
		}
		for _, t := range a.Tolerance {
			j.Tolerance[t.Control] = Limit{Number(t.Low), Number(t.High)}
		}
		for _, c := range a.RunnersUp {
			j.RunnersUp = append(j.RunnersUp, ofChoice(c))
		}
		out.Results = append(out.Results, j)
	}
	return out
}

func ofChoice(c tune.Choice) Choice {
	return Choice{c.Setting, Number(c.InsertionGain), Number(c.TransducerGain), Number(c.Objective)}
}
